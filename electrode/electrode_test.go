package electrode

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"meniscus/unit"
)

func TestFindReference(t *testing.T) {
	rows := map[string]string{
		"SHE":                              "SHE",
		" nhe ":                            "SHE",
		"standard hydrogen electrode":      "SHE",
		"sce":                              "SCE",
		"Saturated calomel":                "SCE",
		"Hg/Hg₂Cl₂, sat. KCl":              "SCE",
		"calomel (1.0 mol/L KCl)":          "calomel, 1 mol/L KCl",
		"0.1 M calomel":                    "calomel, 0.1 mol/L KCl",
		"calomel, 0,1 N":                   "calomel, 0.1 mol/L KCl",
		"Ag/AgCl, 3 mol/L KCl":             "Ag/AgCl, 3 mol/L KCl",
		"Ag/AgCl 3 M KCl":                  "Ag/AgCl, 3 mol/L KCl",
		"3M KCl Ag/AgCl":                   "Ag/AgCl, 3 mol/L KCl",
		"ag/agcl (3,5 mol/l)":              "Ag/AgCl, 3.5 mol/L KCl",
		"Ag/AgCl sat. KCl":                 "Ag/AgCl, saturated KCl",
		"silver/silver chloride saturated": "Ag/AgCl, saturated KCl",
		"Ag|AgCl|KCl (sat'd)":              "Ag/AgCl, saturated KCl",
		"Hg/Hg2SO4 sat.":                   "Hg/Hg2SO4, saturated K2SO4",
		"Hg/Hg2SO4 0.5 M H2SO4":            "Hg/Hg2SO4, 0.5 mol/L H2SO4",
	}
	for text, want := range rows {
		r, err := FindReference(text)
		if err != nil || r.Name != want {
			t.Errorf("%q: %q, %v; want %q", text, r.Name, err, want)
		}
	}
	for _, r := range References {
		if got, err := FindReference(r.Name); err != nil || got.Name != r.Name {
			t.Errorf("its own name %q finds %q, %v", r.Name, got.Name, err)
		}
	}
}

func TestFindReferenceRefuses(t *testing.T) {
	rows := []struct{ text, reason, nearest string }{
		{"", "not known", ""},
		{"RHE", "not known", "SHE"},
		{"SCF", "not known", "SCE"},
		{"Ag/AgCl", "filling is missing", "Ag/AgCl, "},
		{"calomel", "filling is missing", "SCE"},
		{"Ag/AgCl 3 M NaCl", "filling is not known", "Ag/AgCl, 3 mol/L KCl"},
		{"Ag/AgCl 2 M KCl", "filling is not known", "Ag/AgCl, "},
		{"Ag/AgCl sat. 3 M KCl", "filling is not known", "Ag/AgCl, "},
		{"SCE 0.244 V", "a name and a potential", "SCE"},
		{"-0.044 V vs SCE", "a name and a potential", "SCE"},
	}
	for _, row := range rows {
		_, err := FindReference(row.text)
		var unknown *UnknownError
		if !errors.As(err, &unknown) {
			t.Errorf("%q: error %v", row.text, err)
			continue
		}
		if !strings.Contains(err.Error(), row.reason) || !strings.Contains(err.Error(), fmt.Sprintf("%q", row.text)) {
			t.Errorf("%q: error %v, want %q", row.text, err, row.reason)
		}
		if len(unknown.Known) != len(References) || !strings.HasPrefix(unknown.Known[0], row.nearest) {
			t.Errorf("%q: nearest %q, want %q", row.text, unknown.Known[0], row.nearest)
		}
	}
}

func TestFindReferenceReadsPotential(t *testing.T) {
	r := find(t, "0.241 V")
	e, u, note := r.Potential(unit.Celsius(60))
	if e != 0.241 || u != 0 || !strings.Contains(note, "without an uncertainty") {
		t.Errorf("0.241 V: %v ± %v, note %q", e, u, note)
	}
	e, u, note = find(t, "207 mV ± 4 mV (k=2) ").Potential(unit.Celsius(25))
	if !(math.Abs(float64(e)-0.207) <= 1e-15) || !(math.Abs(float64(u)-0.002) <= 1e-15) || strings.Contains(note, "without") {
		t.Errorf("207 mV ± 4 mV (k=2): %v ± %v, note %q", e, u, note)
	}
	if e, _, _ := find(t, "-12 mV vs. SHE").Potential(unit.Celsius(25)); !(math.Abs(float64(e)+0.012) <= 1e-15) {
		t.Errorf("-12 mV vs. SHE: %v", e)
	}
	for text, want := range map[string]string{"0.241": "has no unit", "25 mL": "is a volume", "1.2.3 V": "1.2.3"} {
		if _, err := FindReference(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v, want %q", text, err, want)
		}
	}
}

func TestPotentialNotes(t *testing.T) {
	for _, r := range References[1:] {
		_, inside, _ := r.Potential(unit.Celsius(25))
		_, outside, note := r.Potential(unit.Celsius(80))
		if note == "" || outside <= inside {
			t.Errorf("%s at 80 °C: u %v (25 °C: %v), note %q", r.Name, outside, inside, note)
		}
	}
	for _, bad := range []unit.Temperature{0, -5, unit.Temperature(math.NaN()), unit.Temperature(math.Inf(1))} {
		if e, _, note := References[1].Potential(bad); !math.IsNaN(float64(e)) || note == "" {
			t.Errorf("%v K: %v, note %q", bad, e, note)
		}
	}
	if e, u, note := References[0].Potential(unit.Celsius(80)); e != 0 || u != 0 || note != "" {
		t.Errorf("SHE at 80 °C: %v ± %v, note %q", e, u, note)
	}
	// Halfway between 248 and 244 mV less 3 mV; 6 K below 254 mV less 3 mV at
	// the mean coefficient of -20/30 mV/K.
	for c, want := range map[float64]float64{22.5: 0.243, 4: 0.255} {
		if e, _, _ := References[1].Potential(unit.Celsius(c)); !(math.Abs(float64(e)-want) <= 1e-9) {
			t.Errorf("SCE at %g °C: %v, want %g", c, e, want)
		}
	}
}

// Textbook conversions: 520 mV against saturated Ag/AgCl (0.197 V) is 717 mV
// against SHE and 476 mV against SCE (0.241 V).
func TestConvert(t *testing.T) {
	ag, she, sce := find(t, "Ag/AgCl sat. KCl"), find(t, "SHE"), find(t, "SCE")
	for _, row := range []struct {
		to   Reference
		want float64
	}{{she, 0.717}, {sce, 0.476}, {ag, 0.520}} {
		v, _, _ := Convert(0.520, ag, row.to, unit.Celsius(25))
		if !(math.Abs(float64(v)-row.want) <= 1e-12) {
			t.Errorf("against %s: %v V, want %g", row.to.Name, v, row.want)
		}
		back, _, _ := Convert(v, row.to, ag, unit.Celsius(25))
		if !(math.Abs(float64(back)-0.520) <= 1e-12) {
			t.Errorf("and back from %s: %v V", row.to.Name, back)
		}
	}
	_, u, notes := Convert(0.520, ag, sce, unit.Celsius(25))
	_, uAg, _ := ag.Potential(unit.Celsius(25))
	_, uSCE, _ := sce.Potential(unit.Celsius(25))
	if !(math.Abs(float64(u*u-uAg*uAg-uSCE*uSCE)) <= 1e-15) || len(notes) != 2 {
		t.Errorf("u %v, notes %q", u, notes)
	}
	if _, u, notes := Convert(0.520, ag, ag, unit.Celsius(90)); u != 0 || notes != nil {
		t.Errorf("to itself: u %v, notes %q", u, notes)
	}
	// 0.1 V against SCE 0.241 V is 0.142 V against Ag/AgCl 0.199 V
	// (research-group note on converting potentials).
	if v, _, _ := Convert(0.1, sce, find(t, "0.199 V"), unit.Celsius(25)); !(math.Abs(float64(v)-0.142) <= 1e-12) {
		t.Errorf("0.1 V against SCE: %v V against 0.199 V", v)
	}
}

// 59.16 mV at 25 °C, 58.17 at 20 °C (textbooks); half for two electrons.
func TestNernstSlope(t *testing.T) {
	for _, row := range []struct {
		n       int
		c, want float64
	}{{1, 25, 59.16}, {1, 20, 58.17}, {2, 25, 29.58}, {-1, 25, -59.16}} {
		if got := NernstSlope(row.n, unit.Celsius(row.c)).Millivolts(); !(math.Abs(got-row.want) <= 0.006) {
			t.Errorf("n = %d at %g °C: %.4f mV, want %g", row.n, row.c, got, row.want)
		}
	}
}

// The range of 2 to 10 mV rising with acid is common practice, from memory.
func TestJunctionUncertainty(t *testing.T) {
	rows := []struct {
		medium string
		mV     float64
	}{
		{"1 M KCl", 2},
		{"phosphate buffer", 2},
		{"0.1 mol/L HCl", 3},
		{"100 mM HCl", 3},
		{"0,5 mol/L H₂SO₄", 5},
		{"1 M H2SO4", 5},
		{"2 N H2SO4", 5},
		{"1 M H2SO4 + 0.5 M H3PO4", 7},
		{"1 M NaOH", 5},
		{"4 N sulfuric acid", 7},
		{"18 N H2SO4", 10},
		{"conc. HCl", 10},
		{"", 5},
		{"brackish", 5},
	}
	for _, row := range rows {
		u, note := JunctionUncertainty(row.medium)
		if !(math.Abs(u.Millivolts()-row.mV) <= 1e-9) || note == "" {
			t.Errorf("%q: %v mV (%s), want %g", row.medium, u.Millivolts(), note, row.mV)
		}
	}
	if _, note := JunctionUncertainty("brackish"); !strings.Contains(note, "not recognised") {
		t.Errorf("unread medium: %q", note)
	}
	if _, note := JunctionUncertainty("1 M HClO4"); !strings.Contains(note, "KClO4") {
		t.Errorf("perchloric acid: %q", note)
	}
}

func TestCalibrateGlass(t *testing.T) {
	// 98 % of 59.16 mV: 173.93 mV over three pH units, by hand.
	g, err := CalibrateGlass([]BufferPoint{{4, 0.1760}, {7, 0.0020}}, unit.Celsius(25))
	if err != nil {
		t.Fatal(err)
	}
	if !(math.Abs(g.Slope-0.174/3/0.05915935) <= 1e-6) || !(math.Abs(float64(g.Zero)-0.408) <= 1e-12) || g.Warnings != nil {
		t.Errorf("slope %v, zero %v V, warnings %q", g.Slope, g.Zero, g.Warnings)
	}
	if pH := g.PH(0.1470); !(math.Abs(pH-4.5) <= 1e-12) { // 29 mV is half a pH unit
		t.Errorf("pH at 147 mV: %v", pH)
	}
	if e := g.Potential(7); !(math.Abs(float64(e)-0.002) <= 1e-12) {
		t.Errorf("potential at pH 7: %v", e)
	}
	// Residuals 1, -2, 1 mV about a line through three equidistant buffers.
	g, err = CalibrateGlass([]BufferPoint{{4, 0.178}, {7, -0.002}, {10, -0.176}}, unit.Celsius(25))
	if err != nil || !(math.Abs(float64(g.Residual)-math.Sqrt(6)*1e-3) <= 1e-9) || !(math.Abs(float64(g.Zero)-0.413) <= 1e-9) {
		t.Errorf("three buffers: zero %v, residual %v, %v", g.Zero, g.Residual, err)
	}
}

func TestCalibrateGlassDoubts(t *testing.T) {
	slope := float64(NernstSlope(1, unit.Celsius(25)))
	for fraction, want := range map[float64]string{0.94: "outside", 0.96: "", 1.01: "", 1.03: "outside", -0.98: "reversed"} {
		g, err := CalibrateGlass([]BufferPoint{{4, 0}, {7, unit.Potential(-3 * fraction * slope)}}, unit.Celsius(25))
		if err != nil || (want == "") != (g.Warnings == nil) || !strings.Contains(strings.Join(g.Warnings, ""), want) {
			t.Errorf("slope %g: warnings %q, %v", fraction, g.Warnings, err)
		}
	}
	nan := math.NaN()
	for _, points := range [][]BufferPoint{nil, {{7, 0}}, {{7, 0}, {7, 0.1}}, {{4, 0}, {nan, 0.1}}, {{4, unit.Potential(math.Inf(1))}, {7, 0}}} {
		if g, err := CalibrateGlass(points, unit.Celsius(25)); err == nil {
			t.Errorf("%v calibrates to %v", points, g)
		}
	}
	if _, err := CalibrateGlass([]BufferPoint{{4, 0.17}, {7, 0}}, 0); err == nil {
		t.Error("0 K calibrates")
	}
}

func FuzzFindReference(f *testing.F) {
	for _, r := range References {
		f.Add(r.Name)
	}
	f.Add("0.241 V")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := FindReference(text)
		if err == nil && r.Name == "" {
			t.Errorf("%q finds an electrode without a name", text)
		}
		if u, note := JunctionUncertainty(text); u < 0.002 || u > 0.010 || note == "" {
			t.Errorf("junction in %q: %v V, %q", text, u, note)
		}
	})
}

func ExampleConvert() {
	silver, _ := FindReference("Ag/AgCl, sat. KCl")
	sce, _ := FindReference("SCE")
	e, u, _ := Convert(0.520, silver, sce, unit.Celsius(25))
	fmt.Printf("%.0f mV against %s, standard uncertainty %.1f mV\n", e.Millivolts(), sce.Name, u.Millivolts())
	// Output: 476 mV against SCE, standard uncertainty 2.5 mV
}

func ExampleFindReference() {
	_, err := FindReference("Ag/AgCl")
	fmt.Println(strings.Split(err.Error(), ";")[0])
	// Output: reference electrode "Ag/AgCl": the filling is missing
}
