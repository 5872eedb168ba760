package working

import (
	"fmt"
	"html"
	"strings"

	"meniscus/chem"
)

// mathML writes an expression in MathML Core.
func mathML(e Expr) string {
	switch e := e.(type) {
	case Number:
		return numberML(e)
	case Symbol:
		return symbolML(e)
	case Sum:
		var b strings.Builder
		for i, t := range e {
			switch {
			case t.Minus:
				b.WriteString(operator("−"))
			case i > 0:
				b.WriteString(operator("+"))
			}
			b.WriteString(bracketedML(e, t.Expr, i == 0 && !t.Minus))
		}
		return row(b.String())
	case Product:
		list := make([]string, len(e))
		for i, f := range e {
			list[i] = bracketedML(e, f, i == 0)
		}
		return row(strings.Join(list, operator("·")))
	case Frac:
		return "<mfrac>" + row(mathML(e.Num)) + row(mathML(e.Den)) + "</mfrac>"
	case Power:
		return "<msup>" + row(bracketedML(e, e.Base, true)) + row(mathML(e.Exp)) + "</msup>"
	case Func:
		if e.Name == "sqrt" {
			return "<msqrt>" + mathML(e.Arg) + "</msqrt>"
		}
		return row("<mi>" + e.Name + "</mi>" + bracketsML(mathML(e.Arg)))
	case Relation:
		return mathML(e.Left) + operator(e.Sign) + mathML(e.Right)
	case Word:
		return "<mtext>" + html.EscapeString(string(e)) + "</mtext>"
	}
	return ""
}

func row(s string) string { return "<mrow>" + s + "</mrow>" }

func operator(sign string) string { return "<mo>" + html.EscapeString(sign) + "</mo>" }

func bracketsML(s string) string {
	return row("<mo>(</mo>" + s + "<mo>)</mo>")
}

func bracketedML(parent, child Expr, first bool) string {
	if parenthesised(parent, child, first, false) {
		return bracketsML(mathML(child))
	}
	return mathML(child)
}

func numberML(n Number) string {
	digits, exp := n.mantissa()
	s := "<mn>" + digits + "</mn>"
	switch {
	case exp == "":
	case digits == "1":
		s = "<msup><mn>10</mn><mn>" + exp + "</mn></msup>"
	default:
		s += operator("×") + "<msup><mn>10</mn><mn>" + exp + "</mn></msup>"
	}
	if n.Unit != "" {
		s += "<mtext>\u00a0" + html.EscapeString(unitText(n.Unit)) + "</mtext>"
	}
	if s == "<mn>"+digits+"</mn>" {
		return s
	}
	return row(s)
}

func symbolML(s Symbol) string {
	s = s.split()
	if s.Letter == "[" {
		t := row(`<mo stretchy="false">[</mo>` + chemML(s.Of) + `<mo stretchy="false">]</mo>`)
		if s.Sub != "" {
			t = "<msub>" + t + "<mtext>" + html.EscapeString(s.Sub) + "</mtext></msub>"
		}
		return t
	}
	base := "<mi>" + html.EscapeString(s.Letter) + "</mi>"
	if len([]rune(s.Letter)) > 1 {
		base = "<mtext>" + html.EscapeString(s.Letter) + "</mtext>"
	}
	sup := ""
	if s.Degree {
		sup += "<mo>°</mo>"
	}
	if s.Prime {
		sup += "<mo>′</mo>"
	}
	sub := "<mtext>" + html.EscapeString(s.Sub) + "</mtext>"
	switch {
	case sup != "" && s.Sub != "":
		base = "<msubsup>" + base + sub + row(sup) + "</msubsup>"
	case sup != "":
		base = "<msup>" + base + row(sup) + "</msup>"
	case s.Sub != "":
		base = "<msub>" + base + sub + "</msub>"
	}
	if s.Of == "" {
		return base
	}
	return row(base + row(`<mo stretchy="false">(</mo>`+chemML(s.Of)+`<mo stretchy="false">)</mo>`))
}

// chemML sets a formula upright, with counts and charge on the piece before.
func chemML(text string) string {
	var b strings.Builder
	parts := chemParts(text)
	for i := 0; i < len(parts); i++ {
		base, sub, sup := "", "", ""
		if parts[i].Script == chem.Normal {
			base = parts[i].Text
			i++
		}
		if i < len(parts) && parts[i].Script == chem.Sub {
			sub = parts[i].Text
			i++
		}
		if i < len(parts) && parts[i].Script == chem.Sup {
			sup = parts[i].Text
			i++
		}
		i--
		b.WriteString(scriptsML(base, sub, sup))
	}
	return row(b.String())
}

func scriptsML(base, sub, sup string) string {
	base, sub, sup = "<mtext>"+html.EscapeString(base)+"</mtext>", html.EscapeString(sub), html.EscapeString(sup)
	switch {
	case sub != "" && sup != "":
		return fmt.Sprintf("<msubsup>%s<mtext>%s</mtext><mtext>%s</mtext></msubsup>", base, sub, sup)
	case sub != "":
		return fmt.Sprintf("<msub>%s<mtext>%s</mtext></msub>", base, sub)
	case sup != "":
		return fmt.Sprintf("<msup>%s<mtext>%s</mtext></msup>", base, sup)
	}
	return base
}
