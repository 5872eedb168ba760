package report

import (
	"math"
	"strings"
	"testing"

	"meniscus/assay"
)

// said is a document of one run with one result.
func said(r assay.Result) *Document {
	return &Document{Evaluations: []*assay.Evaluation{{Contents: []assay.Result{r}}}}
}

// The standard uncertainty of 0.03 less 0.04 is 0.05. With a normal factor of
// 1.960 the difference counts from 0.098 on; with 4 and 6 degrees of freedom,
// which are 9.93 together, from 2.23 × 0.05 = 0.1115 on (t is 2.262 for 9 and
// 2.228 for 10 in any table).
func TestDifferences(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		by, nu1, nu2 float64
		value        string
		more         bool
	}{
		{0.0979, inf, inf, "+0.098 ± 0.098 %", false},
		{0.0981, inf, inf, "+0.098 ± 0.098 %", true},
		{-0.2, inf, inf, "−0.200 ± 0.098 %", true},
		{0.111, 4, 6, "+0.11 ± 0.11 %", false},
		{0.112, 4, 6, "+0.11 ± 0.11 %", true},
	} {
		got := Differences([]Compared{
			{"first", said(assay.Result{Name: "Fe", Value: 12, Unit: "%", StdUnc: 0.03, Freedom: c.nu1})},
			{"empty", nil},
			{"second", said(assay.Result{Name: "Fe", Value: 12 + c.by, Unit: "%", StdUnc: 0.04, Freedom: c.nu2})},
			{"other", said(assay.Result{Name: "Mn", Value: 1, Unit: "%", StdUnc: 0.04, Freedom: inf})},
		})
		if len(got[0])+len(got[1])+len(got[3]) != 0 || len(got[2]) != 1 {
			t.Fatalf("%v", got)
		}
		d := got[2][0]
		if d.Value != c.value || strings.HasPrefix(d.Words, "more than") != c.more || !strings.HasSuffix(d.Words, "against first") {
			t.Errorf("difference of %v: %q, %q; meant %s, more: %v", c.by, d.Value, d.Words, c.value, c.more)
		}
	}
	if d := difference(assay.Result{Name: "Fe", Value: 2, Unit: "%"}, assay.Result{Name: "Fe", Value: 1, Unit: "%"}, "first"); d.Value != "+1 %" || !strings.Contains(d.Words, "nothing can be said") {
		t.Errorf("without uncertainty: %v", d)
	}
}

// Curves of potential stand in one figure, each with its own pattern, and a pH
// in another; what has no equivalence volume cannot be divided by it.
func TestOverlay(t *testing.T) {
	iron, ph, none := good(t), acid(t), refused(t)
	list := []Compared{{"first", &iron}, {"second", &iron}, {"nothing", nil}, {"acid", &ph}, {"stopped", &none}}
	got, err := Overlay(list, false)
	if err != nil {
		t.Fatal(err)
	}
	lines := func(p Pictures) int { return strings.Count(overlayLayer(string(p.Wide)), "<path") }
	if len(got) != 2 || lines(got[0]) != 3 || lines(got[1]) != 1 {
		t.Fatalf("%d figures, meant one of three potentials and one of a pH:\n%s", len(got), overlayLayer(string(got[0].Wide)))
	}
	if n := strings.Count(overlayLayer(string(got[0].Wide)), "stroke-dasharray"); n != 2 {
		t.Errorf("%d lines with a pattern, meant two: the first is unbroken", n)
	}
	if !strings.Contains(string(got[0].Wide), "second: value") {
		t.Error("the curves are not described for those who do not see them")
	}
	shares, err := Overlay(list, true)
	if err != nil {
		t.Fatal(err)
	}
	if len(shares) != 2 || lines(shares[0]) != 2 || len(shares[0].Missing) != 1 || !strings.HasPrefix(shares[0].Missing[0], "stopped") {
		t.Errorf("divided: %d lines, missing %q", lines(shares[0]), shares[0].Missing)
	}
	if text := string(shares[0].Wide); !strings.Contains(text, "equivalence volume") {
		t.Error("the axis does not say what volumes are divided by")
	}
}

// overlayLayer is the group of an SVG that holds the overlays.
func overlayLayer(svg string) string {
	_, text, _ := strings.Cut(svg, `class="fig-overlays"`)
	text, _, _ = strings.Cut(text, "</g>")
	return text
}
