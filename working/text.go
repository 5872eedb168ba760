package working

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// textWidth is where running text breaks.
const textWidth = 88

// WriteText writes the document as plain text. Its equations read from left to
// right on one line, so that they can be read aloud.
func WriteText(w io.Writer, d *Document) error {
	var b strings.Builder
	b.WriteString(d.Title + "\n" + strings.Repeat("=", utf8.RuneCountInString(d.Title)) + "\n")
	if len(d.Lead) > 0 {
		b.WriteString("\n" + wrap(inlineText(d.Lead), "", ""))
	}
	for _, s := range d.Sections {
		if s.NewPage {
			b.WriteString("\f")
		}
		if s.Title != "" {
			b.WriteString("\n" + s.Title + "\n" + strings.Repeat("-", utf8.RuneCountInString(s.Title)) + "\n")
		}
		step := 0
		for _, block := range s.Blocks {
			if _, ok := block.(Step); ok {
				step++
			}
			textBlock(&b, block, step)
		}
	}
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("writing the working as text: %w", err)
	}
	return nil
}

func textBlock(b *strings.Builder, block Block, step int) {
	if _, ok := block.(Definitions); !ok {
		b.WriteString("\n")
	}
	switch block := block.(type) {
	case Paragraph:
		b.WriteString(wrap(inlineText(block), "", ""))
	case Caution:
		b.WriteString(wrap("Caution: "+inlineText(Paragraph(block)), "", ""))
	case List:
		for _, p := range block {
			b.WriteString(wrap(inlineText(p), "* ", "  "))
		}
	case Display:
		if len(block.Say) > 0 {
			b.WriteString(wrap(inlineText(block.Say), "", ""))
		}
		b.WriteString("    " + textExpr(block.Expr) + "\n")
	case Reaction:
		if len(block.Say) > 0 {
			b.WriteString(wrap(inlineText(block.Say), "", ""))
		}
		b.WriteString("    " + chemText(block.Equation) + "\n")
	case Step:
		textStep(b, block, step)
	case Table:
		textTable(b, block)
	case Definitions:
		for i, s := range block {
			lead := "          "
			if i == 0 {
				lead = "    where "
			}
			b.WriteString(wrap(defined(s), lead, "            "))
		}
	}
}

// defined says what a symbol is, with its unit.
func defined(s Symbol) string {
	t := s.Key() + " is " + inlineText(P(s.Meaning))
	if s.Value.Unit != "" {
		t += ", in " + unitText(s.Value.Unit)
	}
	return t
}

func textStep(b *strings.Builder, s Step, n int) {
	number := fmt.Sprintf("%d. ", n)
	b.WriteString(wrap(inlineText(s.Say), number, strings.Repeat(" ", len(number))))
	indent := ""
	for _, l := range s.lines() {
		if l.left != nil {
			left := textExpr(l.left)
			indent = strings.Repeat(" ", utf8.RuneCountInString(left))
			b.WriteString("    " + left)
		} else {
			b.WriteString("    " + indent)
		}
		b.WriteString(" " + l.sign + " " + textExpr(l.expr) + "\n")
	}
	if len(s.Note) > 0 {
		b.WriteString(wrap(inlineText(s.Note), "   ", "   "))
	}
}

func textTable(b *strings.Builder, t Table) {
	if len(t.Caption) > 0 {
		b.WriteString(wrap(inlineText(t.Caption), "", ""))
	}
	rows := [][]string{cells(t.Head)}
	for _, r := range t.Rows {
		rows = append(rows, cells(r))
	}
	width := make([]int, len(t.Head))
	for _, r := range rows {
		for i, c := range r {
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	for _, r := range rows {
		line := "   "
		for i, c := range r {
			line += " " + c + strings.Repeat(" ", width[i]-utf8.RuneCountInString(c)+1)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

func cells(row []Paragraph) []string {
	list := make([]string, len(row))
	for i, p := range row {
		list[i] = inlineText(p)
	}
	return list
}

func inlineText(p Paragraph) string {
	var b strings.Builder
	for _, i := range p {
		switch i := i.(type) {
		case Text:
			b.WriteString(string(i))
		case Chem:
			b.WriteString(chemText(string(i)))
		case Math:
			b.WriteString(textExpr(i.Expr))
		}
	}
	return b.String()
}

// String returns the paragraph as plain text.
func (p Paragraph) String() string { return inlineText(p) }

// wrap breaks text into lines of textWidth that begin with first and then rest.
func wrap(text, first, rest string) string {
	var b strings.Builder
	line, empty := first, true
	for _, w := range strings.Fields(text) {
		if !empty && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(w) > textWidth {
			b.WriteString(line + "\n")
			line, empty = rest, true
		}
		if !empty {
			line += " "
		}
		line, empty = line+w, false
	}
	b.WriteString(line + "\n")
	return b.String()
}

// textExpr writes an expression on one line.
func textExpr(e Expr) string {
	switch e := e.(type) {
	case Number:
		return e.String()
	case Symbol:
		return textSymbol(e)
	case Sum:
		return joined(e, termExprs(e), func(i int) string {
			switch {
			case e[i].Minus && i == 0:
				return "−"
			case e[i].Minus:
				return " − "
			case i == 0:
				return ""
			}
			return " + "
		})
	case Product:
		return joined(e, e, func(i int) string {
			if i == 0 {
				return ""
			}
			return " · "
		})
	case Frac:
		return within(e, e.Num, true) + " / " + within(e, e.Den, false)
	case Power:
		base, exp := within(e, e.Base, true), textExpr(e.Exp)
		if small, ok := inScript(exp, raised); ok {
			return base + small
		}
		if _, plain := e.Exp.(Number); plain {
			return base + "^" + exp
		}
		return base + "^(" + exp + ")"
	case Func:
		if e.Name == "sqrt" {
			return "√(" + textExpr(e.Arg) + ")"
		}
		return e.Name + "(" + textExpr(e.Arg) + ")"
	case Relation:
		return textExpr(e.Left) + " " + e.Sign + " " + textExpr(e.Right)
	case Word:
		return string(e)
	}
	return ""
}

func joined(parent Expr, list []Expr, before func(i int) string) string {
	var b strings.Builder
	for i, c := range list {
		b.WriteString(before(i))
		b.WriteString(within(parent, c, i == 0 && !leadsMinus(parent)))
	}
	return b.String()
}

func within(parent, child Expr, first bool) string {
	if parenthesised(parent, child, first, true) {
		return "(" + textExpr(child) + ")"
	}
	return textExpr(child)
}

func textSymbol(s Symbol) string {
	if s.Letter == "[" {
		return "[" + chemText(s.Of) + "]" + lowerText(s.Sub)
	}
	t := s.Letter
	if s.Degree {
		t += "°"
	}
	if s.Prime {
		t += "′"
	}
	t += lowerText(s.Sub)
	if s.Of != "" {
		t += "(" + chemText(s.Of) + ")"
	}
	return t
}

func lowerText(sub string) string {
	if sub == "" {
		return ""
	}
	if small, ok := inScript(sub, lowered); ok {
		return small
	}
	return "_" + sub
}

// String returns the number with its unit as plain text.
func (n Number) String() string {
	digits, exp := n.mantissa()
	switch {
	case exp == "":
	case digits == "1":
		digits = "10" + scripted(exp, raised)
	default:
		digits += " × 10" + scripted(exp, raised)
	}
	if n.Unit == "" {
		return digits
	}
	return digits + " " + unitText(n.Unit)
}

// unitText raises the exponents of a unit: mol^2/L^2.
func unitText(unit string) string {
	var b strings.Builder
	for i, part := range strings.Split(unit, "^") {
		if i == 0 {
			b.WriteString(part)
			continue
		}
		n := 0
		for n < len(part) && strings.IndexByte("-0123456789", part[n]) >= 0 {
			n++
		}
		b.WriteString(scripted(part[:n], raised) + part[n:])
	}
	return b.String()
}
