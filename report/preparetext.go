package report

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"strings"
)

func prepareText(w io.Writer, p *Preparation) error {
	sections, err := p.sections()
	if err != nil {
		return err
	}
	t := &typist{}
	if title := clean(p.Title); title != "" {
		t.paragraph(0, 0, title)
	}
	for _, s := range sections {
		t.heading(typeset(s.Heading))
		if len(s.Steps) > 0 { // bottles before steps, the rest after
			t.table(typesetRows(s.Tables[0].Rows), s.Tables[0].Align)
			s.Tables = s.Tables[1:]
			for i, x := range s.Steps {
				t.paragraph(1, 5, fmt.Sprintf("%2d. %s", i+1, typeset(x)))
			}
		}
		for _, x := range s.Say {
			t.paragraph(2, 4, typeset(x))
		}
		for _, x := range s.Tables {
			t.table(typesetRows(x.Rows), x.Align)
		}
		t.items(s.Items)
	}
	t.line("")
	t.paragraph(0, 0, planClosing)
	if _, err := io.WriteString(w, t.String()); err != nil {
		return fmt.Errorf("writing the preparation as text: %w", err)
	}
	return nil
}

var preparePage = template.Must(template.New("").Funcs(template.FuncMap{"typeset": typeset}).ParseFS(templates, "templates/prepare.html"))

type pagePrepare struct {
	Title, Closing string
	Fonts, Style   template.CSS
	Sections       []prepareSection
}

// First is the table of bottles, which stands before the steps.
func (s prepareSection) First() []planTable { return s.Tables[:min(1, len(s.Tables))] }

// Rest is the other tables.
func (s prepareSection) Rest() []planTable { return s.Tables[min(1, len(s.Tables)):] }

func prepareHTML(w io.Writer, p *Preparation) error {
	page := pagePrepare{Title: clean(p.Title), Closing: planClosing}
	if strings.TrimSpace(page.Title) == "" {
		page.Title = "Solutions to prepare"
	} else {
		page.Title = "Solutions for: " + page.Title
	}
	var err error
	if page.Style, err = stylesheet(); err != nil {
		return err
	}
	if page.Sections, err = p.sections(); err != nil {
		return err
	}
	page.Fonts = fontFaces(mostPage / 2)
	var b bytes.Buffer
	if err := preparePage.ExecuteTemplate(&b, "prepare.html", page); err != nil {
		return fmt.Errorf("writing the preparation as a page: %w", err)
	}
	if _, err := b.WriteTo(w); err != nil {
		return fmt.Errorf("writing the preparation as a page: %w", err)
	}
	return nil
}
