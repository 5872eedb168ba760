package report

import (
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// outside finds addresses that a page could load from; the names of the XML
// vocabularies are none.
var outside = regexp.MustCompile(`https?://[^"' ]+|//[a-z]+\.[a-z]`)

func TestPages(t *testing.T) {
	all := slices.Clone(documents)
	all = append(all, struct {
		name string
		make func(testing.TB) Document
	}{"hostile", hostile})
	for _, doc := range all {
		t.Run(doc.name, func(t *testing.T) {
			page := render(t, "html", doc.make(t))
			if len(page) > mostPage {
				t.Errorf("%d bytes", len(page))
			}
			for _, never := range []string{"<script", "alert(1)<", "javascript:", "\x1b", "\u202e", "ZgotmplZ", "<nil>", "NaN", "%!"} {
				if strings.Contains(page, never) {
					t.Errorf("the page holds %q", never)
				}
			}
			for _, u := range outside.FindAllString(page, -1) {
				if u != "http://www.w3.org/2000/svg" {
					t.Errorf("outside address %s", u)
				}
			}
			checkAccess(t, page)
		})
	}
}

// checkAccess looks for what a reader who does not see the page needs.
func checkAccess(t *testing.T, page string) {
	t.Helper()
	if !strings.Contains(page, `<html lang="en">`) || strings.Count(page, "<h1>") != 1 || strings.Count(page, "<main>") != 1 {
		t.Error("no language, or not one main heading and part")
	}
	if a, b := strings.Count(page, "<table"), strings.Count(page, "<caption>"); a != b {
		t.Errorf("%d tables, %d captions", a, b)
	}
	if a, b := len(regexp.MustCompile(`<th[ >]`).FindAllString(page, -1)), strings.Count(page, "<th scope="); a != b {
		t.Errorf("%d header cells, %d with a scope", a, b)
	}
	ids := regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(page, -1)
	seen := map[string]bool{}
	for _, m := range ids {
		if seen[m[1]] {
			t.Errorf("id %s twice", m[1])
		}
		seen[m[1]] = true
	}
	for _, tag := range []string{"section", "div", "details", "table", "aside", "p", "ol", "figure", "svg"} {
		if a, b := len(regexp.MustCompile("<"+tag+"[ >]").FindAllString(page, -1)), strings.Count(page, "</"+tag+">"); a != b {
			t.Errorf("%d <%s>, %d closed", a, tag, b)
		}
	}
}

func TestPageSays(t *testing.T) {
	page := render(t, "html", built(t))
	for _, want := range []string{
		"c(Fe²⁺) = <b>0.04996 ± 0.00011 mol/L</b>", "<i>V</i><sub>e</sub> = 24.980 ± 0.055 mL", "<s>20</s>", "left out: bubble in the tip",
		"E°′ = 0.4731 V + 0.2070 ± 0.0020 V = 0.6801 V", // 680.1 - 207.0 by hand
		"u = √(0.20² + 2.0² + 5.0²) mV = 5.4 mV",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is not in the page", want)
		}
	}
}

// TestFontsGiveWay: a page too large for fonts has none.
func TestFontsGiveWay(t *testing.T) {
	if f := fontFaces(1000); f != "" {
		t.Errorf("%d bytes of fonts in 1000", len(f))
	}
	if f := fontFaces(mostPage); strings.Count(string(f), "@font-face") != 3 {
		t.Errorf("%d faces", strings.Count(string(f), "@font-face"))
	}
}

func TestFigure(t *testing.T) {
	d := good(t)
	e := d.Evaluations[0]
	f := Figure(e)
	if len(f.Volume) != 68 || len(f.Value) != 68 || len(f.Residual) != 68 || !f.LeftOut[9] {
		t.Fatalf("%d readings, %d residuals", len(f.Volume), len(f.Residual))
	}
	for i, r := range f.Residual {
		if math.IsNaN(r) != f.LeftOut[i] {
			t.Errorf("residual %d is %v, left out %v", i, r, f.LeftOut[i])
		}
	}
	if len(f.ModelVolume) < 200 || !slices.IsSorted(f.ModelVolume) || f.ModelVolume[0] != f.Volume[0] {
		t.Errorf("model at %d volumes", len(f.ModelVolume))
	}
	// the readings lie on the curve but for noise of 0.5 mV, away from the jump
	for i, v := range f.ModelVolume {
		for k := range f.Volume {
			if v < 20 && math.Abs(v-f.Volume[k]) < 0.01 && !f.LeftOut[k] && math.Abs(f.ModelValue[i]-f.Value[k]) > 4 {
				t.Errorf("at %v mL the curve is at %v mV, the reading at %v", v, f.ModelValue[i], f.Value[k])
			}
		}
	}
	if m := f.Landmarks; len(m) < 2 || !m[0].Main || math.Abs(m[0].Volume-25) > 0.05 || math.Abs(2*m[1].Volume-m[0].Volume) > 1e-9 {
		t.Errorf("landmarks %+v", m)
	}
	if g := Figure(ratioOnly(t).Evaluations[0]); g.ModelVolume != nil || g.Residual != nil || len(g.Methods) == 0 {
		t.Error("a figure without a fit has a model")
	}
}
