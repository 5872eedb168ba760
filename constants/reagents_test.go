package constants

import (
	"math"
	"testing"
)

// TestReagentMasses compares every reagent with testdata/reagent_masses.txt, a
// calculation in another language from the formula and the abridged atomic
// weights of CIAAW 2021 (its script lies beside it).
func TestReagentMasses(t *testing.T) {
	want := map[string]float64{}
	for _, line := range published(t, "reagent_masses.txt") {
		want[line[0]] = float(t, line[1])
	}
	list, err := Reagents()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range list {
		if r.Form == IndicatorReagent {
			continue
		}
		m, err := r.Species.MolarMass()
		if err != nil {
			t.Fatal(err)
		}
		if w, ok := want[r.Formula]; !ok || math.Abs(float64(m.Value)-w) > 0.002 {
			t.Errorf("%s: %.4f g/mol, want %.4f", r.Formula, float64(m.Value), w)
		}
		delete(want, r.Formula)
	}
	if len(want) > 0 {
		t.Errorf("%d masses of what is no reagent", len(want))
	}
}

// TestConcentratedLiquids compares c = 10 w d/M, with w in percent and d in g/mL,
// with the strengths that are commonly printed for these bottles: from memory, in
// mol/L, good to 2 %.
func TestConcentratedLiquids(t *testing.T) {
	usual := map[string]float64{
		"HCl": 12.0, "H2SO4": 18.0, "HNO3": 14.4, "HClO4": 11.6, "H3PO4": 14.7, "CH3COOH": 17.4, "NH3": 13.4,
		"H2O2": 9.8, "C2H5OH": 16.5,
	}
	list, err := Reagents()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range list {
		if r.Form != LiquidReagent || r.Formula == "TiCl3" { // whose content varies from bottle to bottle
			continue
		}
		m, err := r.Species.MolarMass()
		if err != nil {
			t.Fatal(err)
		}
		c := 10 * r.Assay.Value * r.Density.Value / float64(m.Value)
		if want, ok := usual[r.Formula]; !ok || math.Abs(c/want-1) > 0.02 {
			t.Errorf("%s of %g %%, %g g/mL: %.2f mol/L, usual %.2f", r.Formula, r.Assay.Value, r.Density.Value, c, want)
		}
	}
}

// TestReagentDensities keeps densities within what such crystals have: from ice
// to metals.
func TestReagentDensities(t *testing.T) {
	list, err := Reagents()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range list {
		if d := r.Density; d.Known && (d.Value < 0.8 || d.Value > 8) {
			t.Errorf("%s: %g g/mL", r.Formula, d.Value)
		}
		if r.Primary && !r.Density.Known {
			t.Errorf("%s is a primary standard and has no density for its buoyancy", r.Formula)
		}
	}
}

// TestIndicatorSolutions: what is given of each is a few drops, some millilitres, or
// some tenths of a gram; and its dose is that of its words.
func TestIndicatorSolutions(t *testing.T) {
	list, err := Reagents()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, r := range list {
		if r.Form != IndicatorReagent {
			continue
		}
		n++
		s := r.Indicator
		if !(s.Dose >= 0.05 && s.Dose <= 5) || s.Said == "" || s.Solvent == "" || s.Strength > 50 || s.Ground > 0 && s.Strength > 0 {
			t.Errorf("%s: %+v", r.Formula, s)
		}
		if s.Of != "" {
			if _, ok, err := FindReagent(s.Of); err != nil || !ok {
				t.Errorf("%s is made of %s, which is no reagent: %v", r.Formula, s.Of, err)
			}
		}
	}
	if n < 25 {
		t.Errorf("only %d indicators", n)
	}
	for _, bad := range [][]string{{"0.1 % in water"}, {"0 % in water", "2 drops"}, {"some", "2 drops"}, {"0.1 % in water", "a little"}, {"0.1.2 % in water", "2 drops"}} {
		if s, err := readIndicatorSolution(bad); err == nil {
			t.Errorf("%q was read as %+v", bad, s)
		}
	}
}
