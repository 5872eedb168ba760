package figure

import "strings"

// A Shift says where a run stands against the base line.
type Shift uint8

// The shifts.
const (
	Normal Shift = iota
	Sub
	Sup
)

// A Run is a piece of a line of text.
type Run struct {
	Text  string
	Shift Shift
}

// Plain returns s as one run on the base line.
func Plain(s string) []Run { return []Run{{Text: s}} }

// Sizes and shifts of sub- and superscripts, in ems of the line. They keep a
// charge clear of the line above at the line spacing used here.
const (
	scriptSize = 0.70
	subDrop    = 0.18
	supRise    = 0.36
)

// scale returns the size of the run and how far its base line lies below that
// of the line, both in ems of the line.
func (s Shift) scale() (size, drop float64) {
	switch s {
	case Sub:
		return scriptSize, subDrop
	case Sup:
		return scriptSize, -supRise
	}
	return 1, 0
}

var (
	superscripts = strings.NewReplacer("0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵",
		"6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹", "+", "⁺", "-", "⁻", "−", "⁻", "(", "⁽", ")", "⁾", "n", "ⁿ")
	subscripts = strings.NewReplacer("0", "₀", "1", "₁", "2", "₂", "3", "₃", "4", "₄", "5", "₅",
		"6", "₆", "7", "₇", "8", "₈", "9", "₉", "+", "₊", "-", "₋", "−", "₋", "(", "₍", ")", "₎")
)

// String returns the runs as plain text, with the sub- and superscript
// characters of Unicode where it has them and ^ or _ where it has not.
func String(runs []Run) string {
	var b strings.Builder
	for _, r := range runs {
		b.WriteString(r.plain())
	}
	return b.String()
}

func (r Run) plain() string {
	set, sign := superscripts, "^"
	switch r.Shift {
	case Normal:
		return r.Text
	case Sub:
		set, sign = subscripts, "_"
	}
	raised := set.Replace(r.Text)
	if strings.ContainsFunc(raised, func(c rune) bool { return c < 0x80 }) {
		return sign + r.Text
	}
	return raised
}
