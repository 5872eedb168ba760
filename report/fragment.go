package report

import (
	"bytes"
	"fmt"
	"html/template"
	"strings"

	"meniscus/report/figure"
)

// mostRooms is how many runs have a figure for a projector.
const mostRooms = 6

// Fragment writes what the page of an evaluation shows between its title and its
// foot, but for the readings, to stand inside another page under an element of
// class "report" with FragmentStyle. It holds no style and no script.
func Fragment(d Document) (template.HTML, error) {
	p, err := newPage(d)
	if err != nil {
		return "", err
	}
	for i, r := range p.Runs {
		r.Table, r.LeftOut = nil, nil
		if i >= mostRooms || r.Wide == "" {
			continue
		}
		c := Figure(d.full()[i])
		c.Size, c.Methods = figure.Projector, nil // the table has them
		if r.Room, err = drawn(c, r.ID+"-room"); err != nil {
			return "", fmt.Errorf("drawing run %s for a room: %w", d.runName(i), err)
		}
	}
	var b bytes.Buffer
	if err := evaluationPage.ExecuteTemplate(&b, "content", p); err != nil {
		return "", fmt.Errorf("writing the evaluation: %w", err)
	}
	return template.HTML(b.String()), nil //nolint:gosec // made by html/template
}

// FragmentStyle is the style sheet of a Fragment: the page's own, kept inside
// the class "report", with colours and sizes from the page around it.
func FragmentStyle() (string, error) {
	css, err := templates.ReadFile("templates/evaluation.css")
	if err != nil {
		return "", fmt.Errorf("reading the style sheet: %w", err)
	}
	var b strings.Builder
	b.WriteString(figure.Stylesheet("fig-") + fragmentColours)
	b.WriteString(".report{\n")
	for line := range strings.Lines(string(css)) {
		if strings.HasPrefix(line, "@page") {
			continue // of the page around it
		}
		b.WriteString(line)
	}
	b.WriteString("}\n")
	return b.String(), nil
}

// The names of the page around a fragment, for those of the report.
const fragmentColours = `.report{--small:var(--s1);--note:0.9rem;--text:var(--s2);--large:var(--s3);--title:var(--s4);
--fig-paper:var(--paper);--fig-ink:var(--ink);--fig-muted:var(--soft);--fig-faint:var(--rule);--fig-accent:var(--accent);--fig-warn:var(--doubt)}
`
