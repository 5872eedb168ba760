package setup

import (
	"math"
	"slices"
	"testing"

	"meniscus/internal/lab"
)

const waterless = `
flask: {volume: 20 mL, contains: {CH3COOH: 0.1 mol/L}}
burette: {contains: {NaOH: 0.1 mol/L}}
electrode: {indicator: glass}
library: off
chemistry:
  - {reaction: CH3COOH = CH3COO^- + H^+, pKa: 4.757}
`

func waterRows(s *Setup) int {
	n := 0
	for _, rx := range s.Reactions {
		if isWater(rx.parsed) {
			n++
		}
	}
	return n
}

// TestWaterWithoutLibrary: with the library off the ion product of water still
// holds; pH by bisection of the charge balance (internal/lab).
func TestWaterWithoutLibrary(t *testing.T) {
	want := lab.Acid{PKa: []float64{4.757}, Conc: 0.1, V0: 0.020, TitrantConc: 0.1}
	for _, v := range []float64{1, 10, 19.9, 20, 20.1, 30} {
		s, pt := pointOf(t, waterless, v)
		if waterRows(s) != 1 {
			t.Fatalf("%d rows of water", waterRows(s))
		}
		if math.Abs(pt.PH-want.At(v*1e-3)) > 2e-3 {
			t.Errorf("%g mL: pH %.4f, want %.4f", v, pt.PH, want.At(v*1e-3))
		}
	}
	// Strong acid with strong base needs no chemistry at all.
	_, pt := pointOf(t, "flask: {volume: 20 mL, contains: {HCl: 0.1 mol/L}}\nburette: {contains: {NaOH: 0.1 mol/L}}\nelectrode: {indicator: glass}\nlibrary: off\n", 30)
	if want := 13.995 + math.Log10(0.1*10/50); math.Abs(pt.PH-want) > 2e-3 {
		t.Errorf("excess of alkali: pH %.4f, want %.4f", pt.PH, want)
	}
}

// TestWaterOfTheFile: a constant of the file stands, as does one that two
// reactions make up; where the acidity is held water changes nothing.
func TestWaterOfTheFile(t *testing.T) {
	for _, c := range []struct {
		name, more string
		rows       int
		pH         float64 // at 30 mL, where water rules
	}{
		{"own constant", "  - {reaction: H2O = H^+ + OH^-, pKa: 14.5}\n", 1, 14.5 + math.Log10(0.02)},
		{"made up of two", "  - {reaction: NH4^+ = NH3 + H^+, pKa: 9.25}\n  - {reaction: NH3 + H2O = NH4^+ + OH^-, log K: -4.75}\n", 0, 14 + math.Log10(0.02)},
	} {
		s, pt := pointOf(t, waterless+c.more, 30)
		if waterRows(s) != c.rows || math.Abs(pt.PH-c.pH) > 1e-3 {
			t.Errorf("%s: %d rows of water, pH %.4f, want %d and %.4f", c.name, waterRows(s), pt.PH, c.rows, c.pH)
		}
	}
	s, _ := pointOf(t, waterless+"hold: {pH: 4}\n", 5)
	if slices.ContainsFunc(s.Reactions, func(rx Reaction) bool { return isWater(rx.parsed) }) {
		t.Error("water where the pH is held")
	}
}
