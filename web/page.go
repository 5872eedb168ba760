package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"path"
	"strings"

	"meniscus/report"
)

// A page is what the layout of every page needs. The struct of a page embeds
// it, and its template defines "main" and, where doubts stand, "margin".
type page struct {
	Title  string // of the window and the heading
	Job    string // the word of the navigation that is lit
	Style  string // a style sheet beside the common one; "" for none
	Script string // the bundle of the page, under static/dist; "" for none
	Menu   []link
	Login  bool // there is a session that can be ended
	Flash  string
	Record string // id of the record that the page is about; "" for none
}

type link struct {
	Word, Path string
	Here       bool
}

// newPage fills what does not depend on the page.
func (s *Server) newPage(job, title, script string) page {
	p := page{Title: title, Job: job, Script: script, Login: s.opt.Password != nil}
	for _, rt := range routes() {
		if rt.job != "" {
			p.Menu = append(p.Menu, link{rt.job, pathOf(rt.pattern), rt.job == job})
		}
	}
	return p
}

// about makes the navigation of a page stay with one record.
func (p *page) about(id string) {
	p.Record = id
	for i := range p.Menu {
		if p.Menu[i].Path == "/records" {
			continue
		}
		p.Menu[i].Path += "?record=" + url.QueryEscape(id)
	}
}

func pathOf(pattern string) string {
	_, path, _ := strings.Cut(pattern, " ")
	return strings.TrimSuffix(path, "{$}")
}

// parseTemplates reads every page of templates/ with the layout. A page is a
// file without the layout's name; it is found by its name without ".html".
func parseTemplates(st *static) (map[string]*template.Template, error) {
	funcs := template.FuncMap{"static": st.url, "typeset": typesetHTML, "math": report.Symbols, "data": dataJSON}
	names, err := fs.Glob(templateFiles, "templates/*.html")
	if err != nil {
		return nil, err
	}
	pages := map[string]*template.Template{}
	for _, n := range names {
		name := strings.TrimSuffix(path.Base(n), ".html")
		if name == "layout" {
			continue
		}
		t, err := template.New("layout.html").Funcs(funcs).ParseFS(templateFiles, "templates/layout.html", n)
		if err != nil {
			return nil, err
		}
		pages[name] = t
	}
	return pages, nil
}

// render writes a page whole or not at all.
func (s *Server) render(w http.ResponseWriter, status int, name string, data any) error {
	t, ok := s.templates[name]
	if !ok {
		return fmt.Errorf("there is no template %q", name)
	}
	var b bytes.Buffer
	if err := t.Execute(&b, data); err != nil {
		return fmt.Errorf("setting the page %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	w.Write(b.Bytes()) // a browser that has gone needs no page
	return nil
}

// dataJSON writes a value for a <script type="application/json">, which no
// browser runs. Angle brackets are escaped, so nothing can close the element.
func dataJSON(v any) (template.JS, error) {
	b, err := json.Marshal(v)
	return template.JS(b), err //nolint:gosec // encoding/json escapes <, > and &
}

// raised and lowered map the signs of Unicode to what <sup> and <sub> show.
var (
	raised  = scripts("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻", "0123456789+−")
	lowered = scripts("₀₁₂₃₄₅₆₇₈₉", "0123456789")
)

func scripts(from, to string) map[rune]rune {
	m := map[rune]rune{}
	plain := []rune(to)
	for i, r := range []rune(from) {
		m[r] = plain[i]
	}
	return m
}

// typesetHTML sets the formulas of a sentence with real raised and lowered
// signs, which a screen reader and a search can follow.
func typesetHTML(s string) template.HTML {
	var b strings.Builder
	open := ""
	for _, r := range report.Typeset(s) {
		tag, sign := "", r
		if x, ok := raised[r]; ok {
			tag, sign = "sup", x
		} else if x, ok := lowered[r]; ok {
			tag, sign = "sub", x
		}
		if tag != open {
			if open != "" {
				b.WriteString("</" + open + ">")
			}
			if tag != "" {
				b.WriteString("<" + tag + ">")
			}
			open = tag
		}
		b.WriteString(html.EscapeString(string(sign)))
	}
	if open != "" {
		b.WriteString("</" + open + ">")
	}
	return template.HTML(b.String()) //nolint:gosec // every sign was escaped
}
