package report

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"strings"

	"meniscus/plan"
)

var planPage = template.Must(template.New("").Funcs(template.FuncMap{"typeset": typeset}).ParseFS(templates, "templates/plan.html"))

type pagePlan struct {
	Title, Closing string
	Fonts, Style   template.CSS
	Sections       []pagePlanSection
}

type pagePlanSection struct {
	Key, Heading string
	Body         planBody
}

// Right says whether a column is aligned at its right.
func (t planTable) Right(k int) bool { return k < len(t.Align) && t.Align[k] == 'r' }

// Pair returns the colours of a row below the header.
func (t planTable) Pair(row int) []string { return t.Swatches[row-1][:] }

// planHTML writes one page that needs nothing else.
func planHTML(w io.Writer, p *plan.Plan) error {
	page := pagePlan{Title: clean(p.Setup.Title), Closing: planClosing}
	if strings.TrimSpace(page.Title) == "" {
		page.Title = "Plan of a titration"
	}
	var err error
	if page.Style, err = stylesheet(); err != nil {
		return err
	}
	for _, s := range planSections {
		if b := s.body(p); len(b.Say)+len(b.Tables)+len(b.Items) > 0 {
			page.Sections = append(page.Sections, pagePlanSection{s.key, s.heading, b})
		}
	}
	page.Fonts = fontFaces(mostPage / 2)
	var b bytes.Buffer
	if err := planPage.ExecuteTemplate(&b, "plan.html", page); err != nil {
		return fmt.Errorf("writing the plan as a page: %w", err)
	}
	if _, err := b.WriteTo(w); err != nil {
		return fmt.Errorf("writing the plan as a page: %w", err)
	}
	return nil
}
