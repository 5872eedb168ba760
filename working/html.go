package working

import (
	"cmp"
	"fmt"
	"html"
	"io"
	"strings"
	"unicode/utf8"

	"meniscus/chem"
)

// HTMLOptions says how a document sits in a page.
type HTMLOptions struct {
	Heading int // level of the sections' headings; 0 stands for 2
}

// WriteHTML writes the sections of the document as a fragment of a page:
// semantic elements with MathML Core, no style, no script. Title and Lead are
// left to the page. The classes are working, say, eq, where, caution and scroll.
func WriteHTML(w io.Writer, d *Document, opt HTMLOptions) error {
	if opt.Heading == 0 {
		opt.Heading = 2
	}
	var b strings.Builder
	for _, s := range d.Sections {
		class := "working"
		if s.NewPage {
			class += " newpage"
		}
		fmt.Fprintf(&b, "<section class=\"%s\">", class)
		if s.Title != "" {
			fmt.Fprintf(&b, "<h%d>%s</h%[1]d>\n", opt.Heading, html.EscapeString(s.Title))
		}
		for _, block := range s.Blocks {
			htmlBlock(&b, block)
		}
		b.WriteString("</section>\n")
	}
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("writing the working as HTML: %w", err)
	}
	return nil
}

func htmlBlock(b *strings.Builder, block Block) {
	switch block := block.(type) {
	case Paragraph:
		fmt.Fprintf(b, "<p>%s</p>\n", inlineHTML(block))
	case Caution:
		fmt.Fprintf(b, "<p class=\"caution\"><strong>Caution:</strong> %s</p>\n", inlineHTML(Paragraph(block)))
	case List:
		b.WriteString("<ul>")
		for _, p := range block {
			fmt.Fprintf(b, "<li>%s</li>", inlineHTML(p))
		}
		b.WriteString("</ul>\n")
	case Display:
		b.WriteString("<div class=\"shown\">")
		htmlSay(b, block.Say)
		htmlEquation(b, mathML(block.Expr), textExpr(block.Expr))
		b.WriteString("</div>\n")
	case Reaction:
		b.WriteString("<div class=\"shown\">")
		htmlSay(b, block.Say)
		fmt.Fprintf(b, "<p class=\"eq\">%s</p></div>\n", chemHTML(block.Equation))
	case Step:
		htmlStep(b, block)
	case Table:
		htmlTable(b, block)
	case Definitions:
		b.WriteString("<dl class=\"where\">")
		for _, s := range block {
			fmt.Fprintf(b, "<dt>%s</dt><dd>%s", inlineHTML(Paragraph{Math{s}}), inlineHTML(P(s.Meaning)))
			if s.Value.Unit != "" {
				b.WriteString(", in " + html.EscapeString(unitText(s.Value.Unit)))
			}
			b.WriteString("</dd>")
		}
		b.WriteString("</dl>\n")
	}
}

func htmlSay(b *strings.Builder, p Paragraph) {
	if len(p) > 0 {
		fmt.Fprintf(b, "<p class=\"say\">%s</p>", inlineHTML(p))
	}
}

// longEquation is how many characters fit the width of a phone: longer ones
// scroll, and what scrolls must be reached by the keyboard.
const longEquation = 24

func htmlEquation(b *strings.Builder, body, alt string) {
	reach := ""
	if utf8.RuneCountInString(alt) > longEquation {
		reach = " tabindex=\"0\""
	}
	fmt.Fprintf(b, "<div class=\"eq\"%s>%s</div>", reach, strings.Replace(mathElement(body, alt), "<math ", "<math displaystyle=\"true\" ", 1))
}

// mathElement has the equation in words twice, for readers that know either.
func mathElement(body, alt string) string {
	alt = html.EscapeString(alt)
	return fmt.Sprintf("<math alttext=\"%s\" aria-label=\"%[1]s\"><mrow>%s</mrow></math>", alt, body)
}

func htmlStep(b *strings.Builder, s Step) {
	b.WriteString("<div class=\"step\">")
	htmlSay(b, s.Say)
	for _, l := range s.lines() {
		body, alt := operator(l.sign)+mathML(l.expr), l.sign+" "+textExpr(l.expr)
		if l.left != nil {
			body, alt = mathML(l.left)+body, textExpr(l.left)+" "+alt
		} else {
			body = "<mspace width=\"1.2em\"></mspace>" + body
		}
		htmlEquation(b, body, alt)
	}
	if len(s.Note) > 0 {
		fmt.Fprintf(b, "<p class=\"note\">%s</p>", inlineHTML(s.Note))
	}
	b.WriteString("</div>\n")
}

func htmlTable(b *strings.Builder, t Table) {
	name := html.EscapeString(cmp.Or(inlineText(t.Caption), "table"))
	fmt.Fprintf(b, "<div class=\"scroll\" role=\"group\" tabindex=\"0\" aria-label=\"%s\"><table class=\"compact\">", name)
	if len(t.Caption) > 0 {
		fmt.Fprintf(b, "<caption>%s</caption>", inlineHTML(t.Caption))
	}
	b.WriteString("<thead><tr>")
	for _, h := range t.Head {
		fmt.Fprintf(b, "<th scope=\"col\">%s</th>", inlineHTML(h))
	}
	b.WriteString("</tr></thead><tbody>")
	for _, row := range t.Rows {
		b.WriteString("<tr>")
		for i, c := range row {
			if i == 0 {
				fmt.Fprintf(b, "<th scope=\"row\">%s</th>", inlineHTML(c))
			} else {
				fmt.Fprintf(b, "<td>%s</td>", inlineHTML(c))
			}
		}
		b.WriteString("</tr>")
	}
	b.WriteString("</tbody></table></div>\n")
}

// InlineHTML returns a paragraph as phrasing content.
func InlineHTML(p Paragraph) string { return inlineHTML(p) }

func inlineHTML(p Paragraph) string {
	var b strings.Builder
	for _, i := range p {
		switch i := i.(type) {
		case Text:
			b.WriteString(html.EscapeString(string(i)))
		case Chem:
			b.WriteString(chemHTML(string(i)))
		case Math:
			if n, ok := i.Expr.(Number); ok && !strings.Contains(n.Text, "e") {
				b.WriteString("<span class=\"num\">" + html.EscapeString(strings.ReplaceAll(n.String(), " ", "\u00a0")) + "</span>")
				continue
			}
			b.WriteString(mathElement(mathML(i.Expr), textExpr(i.Expr)))
		}
	}
	return b.String()
}

func chemHTML(text string) string {
	var b strings.Builder
	b.WriteString("<span class=\"chem\">")
	for _, p := range chemParts(text) {
		t := html.EscapeString(p.Text)
		switch p.Script {
		case chem.Sub:
			t = "<sub>" + t + "</sub>"
		case chem.Sup:
			t = "<sup>" + t + "</sup>"
		}
		b.WriteString(t)
	}
	b.WriteString("</span>")
	return b.String()
}
