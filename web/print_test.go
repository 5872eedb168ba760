package web_test

import (
	"io"
	"net/http"
	"strings"
	"testing"

	"meniscus/internal/browser"
	"meniscus/web"
)

// The report of the worked example on paper: the first page is what one hands
// in, with result, figure and methods; working and readings stand behind it.
func TestReportPrints(t *testing.T) {
	h := bench(t, web.Options{Loopback: true, Store: aStore(t)})
	code, _, report := ask(t, h, "GET", "/evaluate/report/html?record="+example(t, h), nil)
	if code != http.StatusOK {
		t.Fatalf("%d %s", code, report)
	}
	ctx, address := browser.Start(t, http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = io.WriteString(w, report) // a browser that has gone shows in what follows
	}))
	browser.Open(t, ctx, browser.Desktop, address)
	for name, paper := range map[string][2]float64{"a4": browser.A4, "letter": browser.Letter} {
		pages := browser.Printed(t, ctx, paper, "report-"+name)
		if len(pages) > 4 {
			t.Errorf("%s: %d pages", name, len(pages))
		}
		for _, want := range []string{"11.939 ± 0.034 %", "potential against", "Whole-curve regression", "Logarithmic (Nernst) plot", "no value was given"} {
			if !strings.Contains(pages[0], want) {
				t.Errorf("%s: the first page has no %q:\n%s", name, want, pages[0])
			}
		}
		if strings.Contains(pages[0], "made of") {
			t.Errorf("%s: working on the first page", name)
		}
		rest := strings.Join(pages[1:], "")
		for _, want := range []string{"How the numbers were made", "0.622477 g", "What the standard uncertainty", "Correlation", "1225.51", "does not claim conformance"} {
			if !strings.Contains(rest, want) {
				t.Errorf("%s: no page has %q", name, want)
			}
		}
	}
}
