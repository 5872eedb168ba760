package report

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"slices"

	"meniscus/working"
)

// A WorkingWriter writes worked text in one format.
type WorkingWriter struct {
	Name  string
	Write func(w io.Writer, d *working.Document) error
}

// WorkingFormats lists the formats of worked text.
var WorkingFormats = []WorkingWriter{
	{"text", working.WriteText},
	{"html", writeWorkingHTML},
	{"latex", working.WriteLaTeX},
	{"json", working.WriteJSON},
}

// WorkingFormat returns the format of that name.
func WorkingFormat(name string) (WorkingWriter, bool) {
	i := slices.IndexFunc(WorkingFormats, func(f WorkingWriter) bool { return f.Name == name })
	if i < 0 {
		return WorkingWriter{}, false
	}
	return WorkingFormats[i], true
}

// WorkingFormatNames lists the names.
func WorkingFormatNames() []string {
	var list []string
	for _, f := range WorkingFormats {
		list = append(list, f.Name)
	}
	return list
}

var workingPage = template.Must(template.ParseFS(templates, "templates/working.html"))

// WorkingStyle returns the rules for the classes of worked text, for pages that
// embed it.
func WorkingStyle() (template.CSS, error) {
	css, err := templates.ReadFile("templates/working.css")
	if err != nil {
		return "", fmt.Errorf("reading the style sheet: %w", err)
	}
	return template.CSS(css), nil
}

// writeWorkingHTML writes one page that needs nothing else.
func writeWorkingHTML(w io.Writer, d *working.Document) error {
	style, err := stylesheet()
	if err != nil {
		return err
	}
	own, err := WorkingStyle()
	if err != nil {
		return err
	}
	var body bytes.Buffer
	if err := working.WriteHTML(&body, d, working.HTMLOptions{}); err != nil {
		return err
	}
	page := struct {
		Title      string
		Style      template.CSS
		Lead, Body template.HTML
	}{d.Title, style + own, template.HTML(working.InlineHTML(d.Lead)), template.HTML(body.String())}
	if err := workingPage.Execute(w, page); err != nil {
		return fmt.Errorf("writing the working as a page: %w", err)
	}
	return nil
}
