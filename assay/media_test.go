package assay

import (
	"math"
	"slices"
	"strings"
	"testing"

	"meniscus/internal/lab"
	"meniscus/setup"
)

// Differences that all couples share are worth little against a shared
// uncertainty, and opposite ones are worth all of it. By hand, covariance
// [[101, 100], [100, 101]], whose determinant is 201.
func TestChiShared(t *testing.T) {
	for _, x := range []struct {
		d    []float64
		c    float64
		want float64
	}{
		{[]float64{10, 10}, 100, 200. / 201},
		{[]float64{10, -10}, 100, 100 * (101 + 200 + 101) / 201.},
		{[]float64{10, 10}, 0, 200},
		{[]float64{3}, 8, 1},
	} {
		own := []float64{1, 1}[:len(x.d)]
		if got := chiShared(x.d, own, x.c); math.Abs(got-x.want) > 1e-9 {
			t.Errorf("d %v, shared %g: %g, want %g", x.d, x.c, got, x.want)
		}
	}
}

// TestMedia: iron and cerium with the potentials that the tables have for 1 mol/L
// sulfuric acid (0.68 and 1.44 V) are told from perchloric, nitric and
// hydrochloric acid (cerium 1.70, 1.61 and 1.28 V), and a setup that names
// another acid is doubted. Read against a reference whose uncertainty covers
// 20 mV for both, both may be off by that much alike.
func TestMedia(t *testing.T) {
	text := strings.Replace(diagnosedIron, "electrode:", "  # flask\nelectrode:", 1)
	for _, x := range []struct {
		medium, offset string
		shift, ce      float64
		agrees, doubt  string
	}{
		{"1 mol/L H2SO4", "", 0, 1.44, "1 mol/L H2SO4", ""},
		{"1 mol/L HClO4", "", 0, 1.44, "1 mol/L H2SO4", "not those of the tables for 1 mol/L HClO4"},
		{"1 mol/L H2SO4", "", 0, 1.28, "", "not those of the tables for 1 mol/L H2SO4"},
		{"1 mol/L H2SO4", "", 0.02, 1.44, "", "not those of the tables for 1 mol/L H2SO4"},
		{"1 mol/L H2SO4", ", offset: 0 ± 15 mV", 0.02, 1.44, "1 mol/L H2SO4", ""},
	} {
		in := strings.Replace(text, "Fe^2+: 0.0490 mol/L", "Fe^2+: 0.0490 mol/L\n  medium: "+x.medium, 1)
		in = strings.Replace(in, "reference: SHE", "reference: SHE"+x.offset, 1)
		s, err := setup.Read([]byte(in), "setup.yaml")
		if err != nil {
			t.Fatal(err)
		}
		r := lab.IronCerium()
		r.Titrant.E = x.ce
		b := quiet
		b.Offset = x.shift
		c := b.Run(r, lab.DefaultPlan(0.025).Volumes(), 6)
		e, err := Evaluate(&c, s, Options{})
		if err != nil {
			t.Fatal(err)
		}
		agree := e.MediaThat(true)
		if x.agrees == "" && len(agree) > 0 || x.agrees != "" && !slices.Contains(agree, x.agrees) {
			t.Errorf("%+v: agrees with %q", x, agree)
		}
		for _, no := range []string{"1 mol/L HClO4", "1 mol/L HNO3", "2 mol/L H3PO4"} {
			if !slices.Contains(e.MediaThat(false), no) {
				t.Errorf("%+v: %s is not told apart", x, no)
			}
		}
		said := slices.ContainsFunc(e.Warnings, func(w string) bool { return x.doubt != "" && strings.Contains(w, x.doubt) })
		if said != (x.doubt != "") {
			t.Errorf("%+v: warnings %q", x, e.Warnings)
		}
	}
}
