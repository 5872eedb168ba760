package working

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"meniscus/chem"
)

const preamble = `\documentclass[11pt,a4paper]{article}
\usepackage[T1]{fontenc}
\usepackage[utf8]{inputenc}
\usepackage{amsmath}
\usepackage{textcomp}
\usepackage{array}
\usepackage{graphicx}
\usepackage[margin=25mm]{geometry}
\setlength{\parindent}{0pt}
\setlength{\parskip}{6pt}
\newlength{\lead}
\newsavebox{\fitbox}
% \fitted{formula} makes a formula smaller that is wider than the line leaves.
\newcommand{\fitted}[1]{\sbox{\fitbox}{$\displaystyle #1$}%
\ifdim\wd\fitbox>\dimexpr\linewidth-\lead\relax
\resizebox{\dimexpr\linewidth-\lead\relax}{!}{\usebox{\fitbox}}\else\usebox{\fitbox}\fi}
\begin{document}
`

// WriteLaTeX writes the document as an article that needs standard packages
// only.
func WriteLaTeX(w io.Writer, d *Document) error {
	var b strings.Builder
	b.WriteString(preamble)
	fmt.Fprintf(&b, "\\section*{%s}\n", latexText(d.Title))
	if len(d.Lead) > 0 {
		b.WriteString(latexInline(d.Lead) + "\n")
	}
	for _, s := range d.Sections {
		if s.NewPage {
			b.WriteString("\n\\clearpage\n")
		}
		if s.Title != "" {
			fmt.Fprintf(&b, "\n\\subsection*{%s}\n", latexText(s.Title))
		}
		for _, block := range s.Blocks {
			latexBlock(&b, block)
		}
	}
	b.WriteString("\\end{document}\n")
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("writing the working as LaTeX: %w", err)
	}
	return nil
}

func latexBlock(b *strings.Builder, block Block) {
	switch block := block.(type) {
	case Paragraph:
		b.WriteString("\n" + latexInline(block) + "\n")
	case Caution:
		b.WriteString("\n\\textbf{Caution:} " + latexInline(Paragraph(block)) + "\n")
	case List:
		b.WriteString("\\begin{itemize}\n")
		for _, p := range block {
			b.WriteString("\\item " + latexInline(p) + "\n")
		}
		b.WriteString("\\end{itemize}\n")
	case Display:
		fmt.Fprintf(b, "\n%s\n\\setlength{\\lead}{1em}\n\\[ \\fitted{%s} \\]\n", latexInline(block.Say), latexExpr(block.Expr))
	case Reaction:
		fmt.Fprintf(b, "\n%s\n\\setlength{\\lead}{1em}\n\\[ \\fitted{%s} \\]\n", latexInline(block.Say), latexChem(block.Equation))
	case Step:
		latexStep(b, block)
	case Table:
		latexTable(b, block)
	case Definitions:
		b.WriteString("\\begin{description}\n")
		for _, s := range block {
			unit := ""
			if s.Value.Unit != "" {
				unit = ", in $" + latexUnit(s.Value.Unit) + "$"
			}
			fmt.Fprintf(b, "\\item[{$%s$}] %s%s\n", latexExpr(s), latexInline(P(s.Meaning)), unit)
		}
		b.WriteString("\\end{description}\n")
	}
}

func latexStep(b *strings.Builder, s Step) {
	fmt.Fprintf(b, "\n%s\n\\settowidth{\\lead}{$%s\\approx$}\\addtolength{\\lead}{1em}\n\\begin{align*}\n", latexInline(s.Say), latexExpr(s.Quantity))
	for i, l := range s.lines() {
		if i > 0 {
			b.WriteString(" \\\\\n")
		}
		if l.left != nil {
			b.WriteString(latexExpr(l.left) + " ")
		}
		b.WriteString("&" + latexSign(l.sign) + " \\fitted{" + latexExpr(l.expr) + "}")
	}
	b.WriteString("\n\\end{align*}\n")
	if len(s.Note) > 0 {
		b.WriteString(latexInline(s.Note) + "\n")
	}
}

// A page takes about pageChars characters side by side in a table.
const pageChars = 86

// latexColumns says how the columns of a table stand: as wide as they are where
// the page has room; if not, lines of text break in proportion to what they
// hold. Formulas do not break.
func latexColumns(t Table) string {
	width, breaks := make([]int, len(t.Head)), make([]bool, len(t.Head))
	sum, fixed, wide := 0, 0, 0
	for i := range t.Head {
		for _, row := range append([][]Paragraph{t.Head}, t.Rows...) {
			if i < len(row) {
				width[i] = max(width[i], utf8.RuneCountInString(inlineText(row[i])))
				breaks[i] = breaks[i] || breakable(row[i])
			}
		}
		sum += width[i] + 2
		if fixed += 2; breaks[i] {
			wide += width[i]
		} else {
			fixed += width[i]
		}
	}
	if sum <= pageChars {
		return strings.Repeat("l", len(t.Head))
	}
	spec := ""
	for i, w := range width {
		if !breaks[i] {
			spec += "l"
			continue
		}
		spec += fmt.Sprintf(">{\\raggedright\\arraybackslash}p{%.3f\\linewidth}", float64(max(pageChars-fixed, pageChars/4))/pageChars*float64(w)/float64(wide))
	}
	return spec
}

// breakable says whether a cell holds text of several words, or a reaction.
func breakable(p Paragraph) bool {
	for _, i := range p {
		switch i := i.(type) {
		case Text:
			if strings.Contains(strings.TrimSpace(string(i)), " ") {
				return true
			}
		case Chem:
			if strings.Contains(string(i), " ") {
				return true
			}
		}
	}
	return false
}

func latexTable(b *strings.Builder, t Table) {
	fmt.Fprintf(b, "\n%s\n\n{\\small\\setlength{\\tabcolsep}{4pt}\\renewcommand{\\arraystretch}{1.2}\n\\begin{tabular}{%s}\n\\hline\n", latexInline(t.Caption), latexColumns(t))
	latexRow(b, t.Head)
	b.WriteString("\\hline\n")
	for _, row := range t.Rows {
		latexRow(b, row)
	}
	b.WriteString("\\hline\n\\end{tabular}}\n")
}

func latexRow(b *strings.Builder, row []Paragraph) {
	for i, c := range row {
		if i > 0 {
			b.WriteString(" & ")
		}
		b.WriteString(latexInline(c))
	}
	b.WriteString(" \\\\\n")
}

func latexInline(p Paragraph) string {
	var b strings.Builder
	for _, i := range p {
		switch i := i.(type) {
		case Text:
			b.WriteString(latexText(string(i)))
		case Chem:
			b.WriteString(latexInlineChem(string(i)))
		case Math:
			b.WriteString("$" + latexExpr(i.Expr) + "$")
		}
	}
	return b.String()
}

func latexExpr(e Expr) string {
	switch e := e.(type) {
	case Number:
		return latexNumber(e)
	case Symbol:
		return latexSymbol(e)
	case Sum:
		var b strings.Builder
		for i, t := range e {
			switch {
			case t.Minus:
				b.WriteString(" - ")
			case i > 0:
				b.WriteString(" + ")
			}
			b.WriteString(latexWithin(e, t.Expr, i == 0 && !t.Minus))
		}
		return b.String()
	case Product:
		list := make([]string, len(e))
		for i, f := range e {
			list[i] = latexWithin(e, f, i == 0)
		}
		return strings.Join(list, " \\cdot ")
	case Frac:
		return "\\frac{" + latexExpr(e.Num) + "}{" + latexExpr(e.Den) + "}"
	case Power:
		return "{" + latexWithin(e, e.Base, true) + "}^{" + latexExpr(e.Exp) + "}"
	case Func:
		if e.Name == "sqrt" {
			return "\\sqrt{" + latexExpr(e.Arg) + "}"
		}
		return "\\" + e.Name + "\\left(" + latexExpr(e.Arg) + "\\right)"
	case Relation:
		return latexExpr(e.Left) + " " + latexSign(e.Sign) + " " + latexExpr(e.Right)
	case Word:
		return "\\text{" + latexText(string(e)) + "}"
	}
	return ""
}

func latexWithin(parent, child Expr, first bool) string {
	if parenthesised(parent, child, first, false) {
		return "\\left(" + latexExpr(child) + "\\right)"
	}
	return latexExpr(child)
}

func latexNumber(n Number) string {
	digits, exp := n.mantissa()
	s := digits
	switch {
	case exp == "":
	case digits == "1":
		s = "10^{" + exp + "}"
	default:
		s += "\\times 10^{" + exp + "}"
	}
	s = strings.ReplaceAll(s, "−", "-")
	if n.Unit != "" {
		s += "\\," + latexUnit(n.Unit)
	}
	return s
}

func latexUnit(unit string) string {
	var b strings.Builder
	for i, part := range strings.Split(unit, "^") {
		if i == 0 {
			b.WriteString(latexUpright(part))
			continue
		}
		n := 0
		for n < len(part) && strings.IndexByte("-0123456789", part[n]) >= 0 {
			n++
		}
		b.WriteString("^{" + part[:n] + "}" + latexUpright(part[n:]))
	}
	return "\\mathrm{" + b.String() + "}"
}

func latexUpright(s string) string {
	s = strings.NewReplacer("%", "\\%", "°", "{}^{\\circ}", "′", "{}^{\\prime}", "½", "1/2", "²", "^{2}", "³", "^{3}", "−", "-", "·", "\\cdot ", " ", "\\ ").Replace(s)
	for letter, name := range letters {
		s = strings.ReplaceAll(s, letter, name+" ")
	}
	return s
}

func latexSymbol(s Symbol) string {
	s = s.split()
	sub := ""
	if s.Sub != "" {
		sub = "_{\\mathrm{" + latexUpright(s.Sub) + "}}"
	}
	if s.Letter == "[" {
		return "[" + latexChem(s.Of) + "]" + sub
	}
	t := latexLetter(s.Letter)
	switch {
	case s.Degree && s.Prime:
		t += "^{\\circ\\prime}"
	case s.Degree:
		t += "^{\\circ}"
	case s.Prime:
		t += "^{\\prime}"
	}
	t += sub
	if s.Of != "" {
		t += "(" + latexChem(s.Of) + ")"
	}
	return t
}

// latexLetter sets the name of a quantity: one letter slants, several stand.
func latexLetter(s string) string {
	switch t, ok := letters[s]; {
	case ok:
		return t
	case s == "pK":
		return "\\mathrm{p}K"
	case s == "lg K":
		return "\\lg K"
	case s == "lg β":
		return "\\lg\\beta"
	}
	var b strings.Builder
	for _, r := range s {
		if t, ok := letters[string(r)]; ok {
			b.WriteString(t + " ")
		} else {
			b.WriteRune(r)
		}
	}
	if utf8.RuneCountInString(s) == 1 {
		return b.String()
	}
	return "\\mathrm{" + b.String() + "}"
}

// letters are the Greek ones in mathematics; those that look like Latin capitals
// are not among them, as TeX has no name for them.
var letters = map[string]string{
	"α": "\\alpha", "β": "\\beta", "γ": "\\gamma", "δ": "\\delta", "ε": "\\varepsilon", "ζ": "\\zeta", "η": "\\eta", "θ": "\\theta",
	"ι": "\\iota", "κ": "\\kappa", "λ": "\\lambda", "μ": "\\mu", "µ": "\\mu", "ν": "\\nu", "ξ": "\\xi", "π": "\\pi", "ρ": "\\rho",
	"σ": "\\sigma", "τ": "\\tau", "φ": "\\varphi", "χ": "\\chi", "ψ": "\\psi", "ω": "\\omega",
	"Γ": "\\Gamma", "Δ": "\\Delta", "Θ": "\\Theta", "Λ": "\\Lambda", "Ξ": "\\Xi", "Π": "\\Pi", "Σ": "\\Sigma", "Φ": "\\Phi", "Ψ": "\\Psi", "Ω": "\\Omega",
}

func latexChem(text string) string {
	var b strings.Builder
	b.WriteString("\\mathrm{")
	for _, p := range chemParts(text) {
		t := chemSigns.Replace(p.Text)
		switch p.Script {
		case chem.Sub:
			t = "_{" + t + "}"
		case chem.Sup:
			t = "^{" + t + "}"
		}
		b.WriteString(t)
	}
	b.WriteString("}")
	return b.String()
}

// chemGap is a space within a formula.
const chemGap = "\\ "

var chemSigns = strings.NewReplacer("−", "-", "⇌", "\\rightleftharpoons ", "→", "\\rightarrow ", "·", "\\cdot ", " ", chemGap, "_", "\\_", "%", "\\%", "#", "\\#", "&", "\\&", "{", "\\{", "}", "\\}", "\\", "\\backslash ", "^", "\\hat{\\ }")

// latexInlineChem sets a reaction in pieces between which a line may break.
func latexInlineChem(text string) string {
	return "$" + strings.ReplaceAll(latexChem(text), chemGap, "}$ $\\mathrm{") + "$"
}

func latexSign(sign string) string {
	if t, ok := signs[sign]; ok {
		return t
	}
	return sign
}

var signs = map[string]string{"≈": "\\approx", "≪": "\\ll", "≫": "\\gg", "≤": "\\le", "≥": "\\ge", "→": "\\rightarrow", "±": "\\pm"}

// latexText escapes running text. What has no entry is left as it is: letters of
// other scripts need a Unicode engine.
func latexText(s string) string {
	s = textSigns.Replace(s)
	for letter, name := range letters {
		s = strings.ReplaceAll(s, letter, "$"+name+"$")
	}
	return s
}

var textSigns = strings.NewReplacer(
	"\\", "\\textbackslash{}", "{", "\\{", "}", "\\}", "$", "\\$", "&", "\\&", "#", "\\#", "%", "\\%", "_", "\\_",
	"^", "\\textasciicircum{}", "~", "\\textasciitilde{}", "\u00a0", "~", "<", "\\textless{}", ">", "\\textgreater{}", "\"", "\\textquotedbl{}",
	"°", "\\textdegree{}", "′", "$'$", "″", "$''$", "·", "$\\cdot$", "×", "$\\times$", "−", "$-$", "–", "--", "—", "---", "±", "$\\pm$", "μ", "\\textmu{}", "µ", "\\textmu{}",
	"→", "$\\rightarrow$", "⇌", "$\\rightleftharpoons$", "≈", "$\\approx$", "≤", "$\\le$", "≥", "$\\ge$", "≪", "$\\ll$", "≫", "$\\gg$", "½", "\\textonehalf{}",
	"√", "$\\surd$", "’", "'", "‘", "`", "“", "``", "”", "''", "…", "\\ldots{}",
	"⁰", "$^{0}$", "¹", "$^{1}$", "²", "$^{2}$", "³", "$^{3}$", "⁴", "$^{4}$", "⁵", "$^{5}$", "⁶", "$^{6}$", "⁷", "$^{7}$", "⁸", "$^{8}$", "⁹", "$^{9}$", "⁺", "$^{+}$", "⁻", "$^{-}$",
	"₀", "$_{0}$", "₁", "$_{1}$", "₂", "$_{2}$", "₃", "$_{3}$", "₄", "$_{4}$", "₅", "$_{5}$", "₆", "$_{6}$", "₇", "$_{7}$", "₈", "$_{8}$", "₉", "$_{9}$",
)
