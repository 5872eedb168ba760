package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"meniscus/internal/browser"
	"meniscus/store"
	"meniscus/web"
)

// 55.5 mL of 96 % sulfuric acid give a litre of 1 mol/L, and 250 mL of 0.1 mol/L
// iron(II) take 9.803 g of the ammonium salt: both computed by hand from molar
// masses (98.079 and 392.13 g/mol) and the density 1.84 g/mL.
func TestPreparePage(t *testing.T) {
	h := bench(t, web.Options{Loopback: true, Store: aStore(t)})
	id := example(t, h)
	code, _, text := ask(t, h, "GET", "/prepare?record="+id, nil)
	if code != http.StatusOK {
		t.Fatalf("%d %s", code, text)
	}
	for _, want := range []string{"55.5 mL", "safety data sheet", "slowly", "cautions"} {
		if !strings.Contains(strings.ToLower(text), strings.ToLower(want)) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(text, " style=") || strings.Contains(text, "<style") {
		t.Error("the page holds a style that its own policy refuses")
	}
	_, _, text = ask(t, h, "GET", "/prepare?example=iron-permanganate&students=24&sections=2&replicates=3&spare=25", nil)
	if !strings.Contains(text, "144") { // 24 · 2 · 3 titrations
		t.Error("a class is not counted")
	}
	for query, want := range map[string]string{
		"students=1e9": "is no number from 1 to", "students=-3": "is no number from 1 to", "volume=1000": "unit",
		"students=3&spare=x": "is no percentage", "volume=%3Cscript%3E": "volume",
	} {
		code, _, text := ask(t, h, "GET", "/prepare?"+query, nil)
		if code != http.StatusOK || !strings.Contains(text, want) || strings.Contains(text, "<script>alert") {
			t.Errorf("%s: %d, does not say %q", query, code, want)
		}
	}
	if code, _, _ := ask(t, h, "GET", "/prepare?example=nosuch", nil); code != http.StatusNotFound {
		t.Errorf("an example that there is not: %d", code)
	}
}

// 4.4123 g of 99.5 ± 0.2 % ammonium iron(II) sulfate, 392.125 g/mol, in 250 mL is
// 0.04478 mol/L, by hand; the page, its label and the field beside the mass say it.
func TestPrepareAsWeighed(t *testing.T) {
	h := bench(t, web.Options{Loopback: true})
	query := "?" + url.Values{
		"example": {"iron-cerium"}, "volume": {"250 mL"}, "mass:Fe^2+": {"4.4123 g"}, "purity:Fe^2+": {"99.5 ± 0.2 %"}, "date": {"2026-11-28"}, "lot": {"<b>A1</b>"},
	}.Encode()
	code, _, text := ask(t, h, "GET", "/prepare"+query, nil)
	for _, want := range []string{"as weighed: 0.04478", "<strong>0.04478", "purity 99.5 %", `value="4.4123 g"`, "/prepare/labels.pdf?"} {
		if code != http.StatusOK || !strings.Contains(text, want) {
			t.Errorf("%d: the page lacks %q", code, want)
		}
	}
	code, header, text := ask(t, h, "GET", "/prepare/labels.html"+query, nil)
	for _, want := range []string{"0.04478 ± 0.00019 mol/L (k = 2)", "2026-11-28", "&lt;b&gt;A1&lt;/b&gt;"} {
		if code != http.StatusOK || !strings.Contains(text, want) {
			t.Errorf("%d: the labels lack %q", code, want)
		}
	}
	if header.Get("Content-Disposition") != `attachment; filename="labels.html"` {
		t.Errorf("the labels are sent as %q", header.Get("Content-Disposition"))
	}
	if code, header, text = ask(t, h, "GET", "/prepare/labels.pdf"+query, nil); code != http.StatusOK || header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(text, "%PDF") {
		t.Errorf("labels as PDF: %d, %v", code, header)
	}
}

// A mass that cannot have been meant leaves the recipes and what was typed.
func TestPrepareMassesThatCannotBe(t *testing.T) {
	h := bench(t, web.Options{Loopback: true})
	for _, c := range []struct{ name, value, says string }{
		{"mass:Fe^2+", "4412.3 g", "half to twice of that"},
		{"mass:Fe^2+", "4.4123", "9.8123 g"},
		{"mass:Fe^2+", "4.4 g; 4.5 g", "it is made once"},
		{"mass:Fe^2+", "4.4 ± 2 g", "more than a tenth"},
		{"mass:Fe^2+", "-4.4 g", "half to twice of that"},
		{"mass:Au^3+", "4.4123 g", "no solution holds it"},
		{"mass:", "17.6 g", "without the species"},
		{"mass:<b>", "4.4123 g", "&lt;b&gt;"},
		{"mass:Fe^2+", "<script>alert(1)</script>", "mass weighed"},
		{"purity:Fe^2+", "120 %", "at most 100 %"},
	} {
		q := url.Values{"example": {"iron-cerium"}, "volume": {"250 mL"}, c.name: {c.value}}
		if strings.HasPrefix(c.name, "purity") {
			q.Set("mass:Fe^2+", "4.4123 g")
		}
		code, _, text := ask(t, h, "GET", "/prepare?"+q.Encode(), nil)
		if code != http.StatusOK || !strings.Contains(text, c.says) || !strings.Contains(text, "For the flask") || strings.Contains(text, "<script>alert") {
			t.Errorf("%s %s: %d, does not say %q", c.name, c.value, code, c.says)
		}
		if strings.Contains(text, "/prepare/labels") {
			t.Errorf("%s %s: labels are offered", c.name, c.value)
		}
		if code, _, _ := ask(t, h, "GET", "/prepare/labels.pdf?"+q.Encode(), nil); code != http.StatusBadRequest {
			t.Errorf("%s %s: labels all the same: %d", c.name, c.value, code)
		}
	}
	for query, want := range map[string]int{"example=nosuch": http.StatusNotFound, "record=nosuch": http.StatusNotFound, "date=yesterday": http.StatusBadRequest, "students=1e9": http.StatusBadRequest} {
		if code, _, _ := ask(t, h, "GET", "/prepare/labels.pdf?"+query, nil); code != want {
			t.Errorf("labels for %s: %d", query, code)
		}
	}
}

// A setup that gives only a ratio has nothing to make, and says so.
func TestPrepareOfARatio(t *testing.T) {
	st := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: st})
	rec, err := st.Create(t.Context(), store.Record{Title: "<i>x</i>", Setup: "title: <i>x</i>\nratio: 1 to 1\n"}, store.By{Author: "R. Kessler"})
	if err != nil {
		t.Fatal(err)
	}
	code, _, text := ask(t, h, "GET", "/prepare?record="+rec.ID, nil)
	if code != http.StatusOK || !strings.Contains(text, "names nothing that a solution could be made of") || strings.Contains(text, "<i>x") {
		t.Errorf("%d %s", code, text)
	}
	if code, _, _ := ask(t, h, "GET", "/prepare/labels.pdf?record="+rec.ID, nil); code != http.StatusBadRequest {
		t.Errorf("labels of nothing: %d", code)
	}
	code, _, text = ask(t, h, "GET", "/explain?record="+rec.ID, nil)
	if code != http.StatusOK || !strings.Contains(text, "gives only a ratio") || strings.Contains(text, "<i>x") {
		t.Errorf("explained: %d %s", code, text)
	}
}

// On a phone no table of a recipe is cut, and on paper stands the list alone.
func TestPrepareOnAPhoneAndOnPaper(t *testing.T) {
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true}))
	for _, example := range []string{"iron-cerium", "calcium-edta&students=24&sections=3", "chloride", "acetic-acid&students=5"} {
		browser.Open(t, ctx, browser.Phone, address+"/prepare?example="+example)
		if n := browser.Run[int](t, ctx, "measuring", chromedp.Evaluate[int](`[document.documentElement, ...document.querySelectorAll(".report .scroll")].filter((e) => e.scrollWidth > e.clientWidth + 1).length`)); n != 0 {
			t.Errorf("%s: %d tables are cut", example, n)
		}
		browser.Accessible(t, ctx)
	}
	browser.Open(t, ctx, browser.Dark, address+"/prepare?example=iron-cerium")
	browser.Paper(t, ctx)
	if n := browser.Run[int](t, ctx, "looking", chromedp.Evaluate[int](`[...document.querySelectorAll("nav, header, form, input, button")].filter((e) => e.getClientRects().length).length`)); n != 0 {
		t.Errorf("%d controls stand on paper", n)
	}
	if c := browser.Run[string](t, ctx, "looking", chromedp.Evaluate[string](`getComputedStyle(document.body).backgroundColor`)); c != "rgb(255, 255, 255)" {
		t.Errorf("the dark page prints on %s", c)
	}
}
