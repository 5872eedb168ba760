package report

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// textWidth is the longest line of a text report.
const textWidth = 78

// A typist sets plain text in lines of at most textWidth characters.
type typist struct{ strings.Builder }

// line writes one line that is known to be short.
func (t *typist) line(s string) {
	t.WriteString(strings.TrimRight(s, " "))
	t.WriteByte('\n')
}

// heading begins a section.
func (t *typist) heading(s string) {
	if t.Len() > 0 {
		t.WriteByte('\n')
	}
	t.paragraph(0, 0, s)
}

// together finds what should stay on one line: a number and its unit, the two
// sides of ± and of =.
var together = regexp.MustCompile(`([0-9]) (mL|mV|mol/L|V|g|%|°C|±)|(±|=) `)

// paragraph wraps s; its first line is indented by first, the others by rest,
// which is not less.
func (t *typist) paragraph(first, rest int, s string) {
	s = together.ReplaceAllStringFunc(s, func(x string) string { return strings.ReplaceAll(x, " ", "\x00") })
	for i, l := range wrap(s, textWidth-rest) {
		indent := rest
		if i == 0 && first < rest {
			indent = first
		}
		t.line(strings.Repeat(" ", indent) + strings.ReplaceAll(l, "\x00", " "))
	}
}

// items writes a list, each item wrapped under itself.
func (t *typist) items(list []string) {
	for _, s := range list {
		t.paragraph(2, 4, "- "+typeset(s))
	}
}

// wrap breaks s between words; a word longer than width is broken where it
// must be, and never cut off.
func wrap(s string, width int) []string {
	var lines []string
	line, n := "", 0
	flush := func() {
		if n > 0 {
			lines = append(lines, line)
		}
		line, n = "", 0
	}
	for _, word := range strings.Fields(s) {
		for utf8.RuneCountInString(word) > width {
			flush()
			r := []rune(word)
			at := width
			if k := strings.LastIndex(string(r[:width]), "-"); k >= width/2 { // where a reader would break it
				at = utf8.RuneCountInString(word[:k+1])
			}
			lines = append(lines, string(r[:at]))
			word = string(r[at:])
		}
		size := utf8.RuneCountInString(word)
		if n > 0 && n+1+size > width {
			flush()
		}
		if n > 0 {
			line, n = line+" ", n+1
		}
		line, n = line+word, n+size
	}
	flush()
	return lines
}

// table writes rows in columns two blanks apart, the first row being the
// header. The columns that right names are aligned at their right. Where the
// rows are too long the widest column is made narrower and its cells wrapped.
func (t *typist) table(rows [][]string, right string) {
	width := columnWidths(rows, right)
	for _, row := range rows {
		cells := make([][]string, len(row))
		height := 1
		for i, c := range row {
			cells[i] = wrap(c, width[i])
			height = max(height, len(cells[i]))
		}
		for k := range height {
			var b strings.Builder
			for i := range row {
				text := ""
				if k < len(cells[i]) {
					text = cells[i][k]
				}
				pad := strings.Repeat(" ", width[i]-utf8.RuneCountInString(text))
				if right[i] == 'r' {
					b.WriteString("  " + pad + text)
				} else {
					b.WriteString("  " + text + pad)
				}
			}
			t.line(b.String())
		}
	}
}

// columnWidths shares out the width of a page: columns that are too wide together
// give way to their longest word first, or their longest number with its unit, and
// are broken within these only where that does not do.
func columnWidths(rows [][]string, right string) []int {
	width, word := make([]int, len(rows[0])), make([]int, len(rows[0]))
	for k, row := range rows {
		for i, c := range row {
			width[i] = max(width[i], utf8.RuneCountInString(c))
			if right[i] == 'r' && k > 0 {
				word[i] = width[i]
				continue
			}
			for w := range strings.FieldsSeq(c) {
				word[i] = max(word[i], utf8.RuneCountInString(w))
			}
		}
	}
	for {
		sum, widest, slack := 0, 0, -1
		for i, w := range width {
			sum += w + 2
			if w > width[widest] {
				widest = i
			}
			if w > word[i] && (slack < 0 || w > width[slack]) {
				slack = i
			}
		}
		switch {
		case sum <= textWidth || width[widest] <= 4:
			return width
		case slack >= 0 && width[slack] > 4:
			width[slack]--
		default:
			width[widest]--
		}
	}
}
