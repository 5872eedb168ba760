package chem

import "strings"

// A Script says where a Part stands.
type Script int

// Scripts.
const (
	Normal Script = iota
	Sub
	Sup
)

// A Part is a piece of a formula in one Script, for typesetting.
type Part struct {
	Text   string
	Script Script
}

// Parts returns the species in pieces to typeset: counts as Sub, the charge as
// Sup with a true minus sign (U+2212), all else Normal. It looks at Name only.
func (s Species) Parts() []Part {
	var parts []Part
	script, plain := Normal, true // plain: a digit here is a multiplier, not a count
	for _, c := range s.Name {
		digit := '0' <= c && c <= '9'
		switch {
		case c == '^':
			script = Sup
			continue
		case script == Sup && (digit || c == '+' || c == '-'):
			c = typographic(c)
		case digit && !plain:
			script = Sub
		case !digit:
			script = Normal
			plain = c == '·' || plain && (c == '.' || c == '/')
		}
		parts = appendPart(parts, string(c), script)
	}
	return parts
}

func typographic(c rune) rune {
	if c == '-' {
		return '−'
	}
	return c
}

func appendPart(parts []Part, text string, script Script) []Part {
	if n := len(parts); n > 0 && parts[n-1].Script == script {
		parts[n-1].Text += text
		return parts
	}
	return append(parts, Part{text, script})
}

var (
	subscripts = strings.NewReplacer("0", "₀", "1", "₁", "2", "₂", "3", "₃", "4", "₄",
		"5", "₅", "6", "₆", "7", "₇", "8", "₈", "9", "₉")
	superscripts = strings.NewReplacer("0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴",
		"5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹", "+", "⁺", "−", "⁻", "-", "⁻")
)

// Raised sets the digits and signs of a text as superscripts: -8 is ⁻⁸.
func Raised(text string) string { return superscripts.Replace(text) }

// Unicode returns the species as plain text with raised and lowered digits:
// Fe²⁺, SO₄²⁻, (NH₄)₂Fe(SO₄)₂·6H₂O. ParseSpecies reads it back.
func (s Species) Unicode() string { return unicodeText(s.Parts()) }

func unicodeText(parts []Part) string {
	var b strings.Builder
	for _, p := range parts {
		switch p.Script {
		case Sub:
			b.WriteString(subscripts.Replace(p.Text))
		case Sup:
			b.WriteString(superscripts.Replace(p.Text))
		default:
			b.WriteString(p.Text)
		}
	}
	return b.String()
}
