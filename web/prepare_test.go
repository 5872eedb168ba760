package web_test

import (
	"net/http"
	"strings"
	"testing"

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
