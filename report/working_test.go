package report_test

import (
	"net/http"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"meniscus/explain"
	"meniscus/internal/browser"
	"meniscus/report"
	"meniscus/setup"
)

// The page of an explanation is read without eyes: axe-core finds nothing
// serious, every equation says itself in words, headings skip no level, tables
// have headers and a caption, and lists of symbols are lists.
func TestWorkingIsAccessible(t *testing.T) {
	const name = "../examples/systems/magnesium-edta.yaml"
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.Read(data, name)
	if err != nil {
		t.Fatal(err)
	}
	places, err := explain.Places(s)
	if err != nil {
		t.Fatal(err)
	}
	d, err := explain.Volumes(s, places)
	if err != nil {
		t.Fatal(err)
	}
	format, _ := report.WorkingFormat("html")
	var page strings.Builder
	if err := format.Write(&page, d); err != nil {
		t.Fatal(err)
	}
	ctx, address := browser.Start(t, http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte(page.String()))
	}))
	for _, look := range []browser.Look{browser.Desktop, browser.Phone} {
		browser.Open(t, ctx, look, address)
		browser.Accessible(t, ctx)
		for question, script := range map[string]string{
			"the language is not said":              `document.documentElement.lang === ""`,
			"a heading skips a level":               `[...document.querySelectorAll("h1,h2,h3,h4,h5,h6")].some((h, i, all) => i === 0 ? h.tagName !== "H1" : h.tagName[1] - all[i - 1].tagName[1] > 1)`,
			"there is no equation":                  `document.querySelectorAll("math").length < 50`,
			"an equation does not say itself":       `[...document.querySelectorAll("math")].some(m => !m.getAttribute("aria-label") || !m.getAttribute("alttext"))`,
			"an equation is empty":                  `[...document.querySelectorAll("math")].some(m => m.textContent.trim() === "")`,
			"a table has no header or no caption":   `[...document.querySelectorAll("table")].some(t => !t.caption || t.querySelectorAll("thead th[scope=col]").length < 2 || [...t.querySelectorAll("tbody tr")].some(r => !r.querySelector("th[scope=row]")))`,
			"the page is wider than its window":     `document.documentElement.scrollWidth > window.innerWidth`,
			"a term in a list has no explanation":   `[...document.querySelectorAll("dl dt")].some(e => e.nextElementSibling?.tagName !== "DD")`,
			"what scrolls cannot be reached by key": `[...document.querySelectorAll("*")].some(e => e.scrollWidth > e.clientWidth + 1 && ["auto", "scroll"].includes(getComputedStyle(e).overflowX) && e.tabIndex < 0)`,
		} {
			if browser.Run[bool](t, ctx, question, chromedp.Evaluate[bool](script)) {
				t.Errorf("%s: %s", look.Name, question)
			}
		}
	}
}
