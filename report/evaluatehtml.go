package report

import (
	"html/template"
	"io"
)

var page = template.Must(template.New("page").Parse("<!doctype html><title>{{.Title}}</title>"))

func writeHTML(w io.Writer, d Document) error { return page.Execute(w, d) }
