package report

import (
	"bytes"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"regexp"

	"meniscus/report/figure"
	"meniscus/report/font"
)

// mostPage is the size in bytes up to which fonts are put into a page.
const mostPage = 400_000

//go:embed templates
var templates embed.FS

var evaluationPage = template.Must(template.New("").Funcs(template.FuncMap{"math": Symbols}).ParseFS(templates, "templates/evaluation.html"))

// lowered finds the symbols that have an index: V_e, V_e,2.
var lowered = regexp.MustCompile(`\b(V)_(e(?:,[0-9]+)?)`)

// Symbols escapes s and lowers the index of symbols in it.
func Symbols(s string) template.HTML {
	return template.HTML(lowered.ReplaceAllString(template.HTMLEscapeString(s), "<i>$1</i><sub>$2</sub>"))
}

// writeHTML writes one page that needs nothing else: style, fonts and figures
// are in it, scripts are not. Fonts are left out one by one where the page
// would grow beyond 400 kB.
func writeHTML(w io.Writer, d Document) error {
	p, err := newPage(d)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := evaluationPage.ExecuteTemplate(&b, "evaluation.html", p); err != nil {
		return fmt.Errorf("writing the evaluation as a page: %w", err)
	}
	if p.Fonts = fontFaces(mostPage - b.Len()); p.Fonts != "" {
		b.Reset()
		if err := evaluationPage.ExecuteTemplate(&b, "evaluation.html", p); err != nil {
			return fmt.Errorf("writing the evaluation as a page: %w", err)
		}
	}
	if _, err := b.WriteTo(w); err != nil {
		return fmt.Errorf("writing the evaluation as a page: %w", err)
	}
	return nil
}

// fontFaces embeds as many faces as fit into size bytes, the most used first.
func fontFaces(size int) template.CSS {
	var b bytes.Buffer
	for _, f := range []struct {
		family, weight string
		data           []byte
	}{{font.SerifName, "normal", font.Serif}, {font.SansName, "normal", font.Sans}, {font.SerifName, "bold", font.SerifBold}} {
		face := fmt.Sprintf("@font-face{font-family:'%s';font-weight:%s;src:url(data:font/ttf;base64,%s)}\n",
			f.family, f.weight, base64.StdEncoding.EncodeToString(f.data))
		if b.Len()+len(face) <= size {
			b.WriteString(face)
		}
	}
	return template.CSS(b.String()) // made of our own bytes only
}

// stylesheet is the page's own with the colours of the figures.
func stylesheet() (template.CSS, error) {
	css, err := templates.ReadFile("templates/evaluation.css")
	if err != nil {
		return "", fmt.Errorf("reading the style sheet: %w", err)
	}
	return template.CSS(figure.Stylesheet("fig-") + string(css)), nil
}

// drawn draws a figure for the page: its text is escaped by the writer.
func drawn(c figure.Curve, id string) (template.HTML, error) {
	c.Title = nil // the page has it
	f, err := figure.Draw(c)
	if err != nil {
		return "", err
	}
	var b bytes.Buffer
	if err := figure.SVG(&b, f, figure.SVGOptions{Prefix: "fig-", ID: id, Transparent: true}); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil
}
