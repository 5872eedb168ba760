package working

import (
	"strings"

	"meniscus/chem"
)

// parenthesised says whether child needs brackets within parent. flat is for
// writing on one line, where a fraction is a stroke.
func parenthesised(parent, child Expr, first, flat bool) bool {
	switch parent.(type) {
	case Sum:
		if n, ok := child.(Number); ok {
			return n.negative() && !first
		}
		s, ok := child.(Sum)
		return ok && len(s) > 1
	case Product:
		switch c := child.(type) {
		case Sum:
			return len(c) > 1
		case Number:
			return c.negative() && !first
		case Frac:
			return flat
		}
	case Frac:
		if !flat {
			return false
		}
		switch c := child.(type) {
		case Sum:
			return len(c) > 1
		case Number:
			return !c.Pure || c.negative() || strings.Contains(c.Text, "e")
		case Product:
			return !first
		case Frac:
			return true
		}
	case Power:
		if !first {
			return false
		}
		switch c := child.(type) {
		case Number:
			return !c.Pure || c.negative() || strings.Contains(c.Text, "e")
		case Symbol:
			return c.Letter != "[" && c.Of != ""
		case Word:
			return false
		}
		return true
	}
	return false
}

// split takes the signs ° and ′ off the end of the letter.
func (s Symbol) split() Symbol {
	if rest, ok := strings.CutSuffix(s.Letter, "′"); ok && rest != "" {
		s.Letter, s.Prime = rest, true
	}
	if rest, ok := strings.CutSuffix(s.Letter, "°"); ok && rest != "" {
		s.Letter, s.Degree = rest, true
	}
	return s
}

// leadsMinus says whether a sum begins with a minus sign.
func leadsMinus(e Expr) bool {
	s, ok := e.(Sum)
	return ok && len(s) > 0 && s[0].Minus
}

// chemParts returns a species, a couple Fe^3+/Fe^2+ or a reaction in pieces to
// typeset; what chem cannot read stays as it is.
func chemParts(text string) []chem.Part {
	if strings.ContainsAny(text, "=⇌→") || strings.Contains(text, " + ") {
		if r, err := chem.ParseReaction(text); err == nil {
			return r.Parts()
		}
	}
	var parts []chem.Part
	for i, half := range strings.Split(text, "/") {
		if i > 0 {
			parts = append(parts, chem.Part{Text: "/"})
		}
		if s, err := chem.ParseSpecies(half); err == nil {
			parts = append(parts, s.Parts()...)
		} else {
			parts = append(parts, chem.Part{Text: half})
		}
	}
	return parts
}

func chemText(text string) string {
	var b strings.Builder
	for _, p := range chemParts(text) {
		switch p.Script {
		case chem.Sub:
			b.WriteString(scripted(p.Text, lowered))
		case chem.Sup:
			b.WriteString(scripted(p.Text, raised))
		default:
			b.WriteString(p.Text)
		}
	}
	return b.String()
}

var (
	raised  = map[rune]rune{'0': '⁰', '1': '¹', '2': '²', '3': '³', '4': '⁴', '5': '⁵', '6': '⁶', '7': '⁷', '8': '⁸', '9': '⁹', '+': '⁺', '-': '⁻', '−': '⁻'}
	lowered = map[rune]rune{'0': '₀', '1': '₁', '2': '₂', '3': '₃', '4': '₄', '5': '₅', '6': '₆', '7': '₇', '8': '₈', '9': '₉', '+': '₊', '-': '₋', '−': '₋'}
)

// scripted returns s in small characters, or as it is where one is missing.
func scripted(s string, small map[rune]rune) string {
	t, ok := inScript(s, small)
	if !ok {
		return s
	}
	return t
}

func inScript(s string, small map[rune]rune) (string, bool) {
	var b strings.Builder
	for _, r := range s {
		t, ok := small[r]
		if !ok {
			return "", false
		}
		b.WriteRune(t)
	}
	return b.String(), true
}

// A line of working: what stands left and the sign, then an expression.
type line struct {
	left Expr // nil on lines that go on
	sign string
	expr Expr
}

// lines returns the lines of a step: the formula, the same filled in, the
// result. What would repeat the line before is left out.
func (s Step) lines() []line {
	q := s.Quantity
	value := q.Value
	if s.Formula == nil {
		return []line{{q, "=", value}}
	}
	sign := "="
	if s.Approximate {
		sign = "≈"
	}
	list := []line{{q, sign, s.Formula}}
	formula, filled := textExpr(s.Formula), textExpr(Fill(s.Formula))
	if filled != formula {
		list = append(list, line{nil, "=", Fill(s.Formula)})
	}
	if result := textExpr(value); result != filled {
		list = append(list, line{nil, "=", value})
	}
	return list
}
