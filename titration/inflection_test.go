package titration_test

import (
	"fmt"
	"math"
	"testing"

	"meniscus/setup"
	"meniscus/titration"
)

// TestInflection: where the curve is steepest against the equivalence point,
// worked out apart with the closed forms of both couples (0.05 mol/L in
// 50 mL; titrant for 25 mL; 25 °C).
func TestInflection(t *testing.T) {
	for _, c := range []struct {
		name, titrant, reaction string
		conc                    float64
		e1, e2                  float64
		ppm, tolerance          float64 // of the volume
		value, at               float64 // V; 0 is not looked at
	}{
		{"0.20 V, n = 1", "Ce^4+", "Ce^4+ + e^- = Ce^3+", 0.1, 0.68, 0.88, -1700, 50, 0, 0},
		{"0.20 V, n = 5", "MnO4^-", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", 0.02, 0.68, 0.88, -2500, 50, 0, 0},
		{"0.30 V, n = 1", "Ce^4+", "Ce^4+ + e^- = Ce^3+", 0.1, 0.68, 0.98, -34, 0.5, 0, 0},
		{"0.30 V, n = 5", "MnO4^-", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", 0.02, 0.68, 0.98, -98, 0.5, 0, 0},
		{"permanganate", "MnO4^-", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", 0.02, 0.68, 1.51, 0, 1e-5, 1.3579, 1.3717},
	} {
		s, err := setup.Read(fmt.Appendf(nil, `
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {%s: %g mol/L}}
electrode: {indicator: platinum, reference: SHE}
hold: {pH: 0}
library: off
find: Fe^2+
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: %g V}
  - {reaction: %s, formal potential: %g V}
`, c.titrant, c.conc, c.e1, c.reaction, c.e2), c.name)
		if err != nil {
			t.Fatal(err)
		}
		m, err := s.Titration.NewModel(nil, titration.Potential)
		if err != nil {
			t.Fatal(err)
		}
		list, err := m.Equivalences(1)
		if err != nil || len(list) != 1 {
			t.Fatalf("%s: %v %v", c.name, list, err)
		}
		f, ok, err := m.Inflection(list, 0)
		if err != nil || !ok {
			t.Fatalf("%s: %v %v", c.name, ok, err)
		}
		ppm := 1e6 * f.Beyond / 0.025
		t.Logf("%s: %g ppm, %.5f V, at equivalence %.5f V", c.name, ppm, f.Value, f.At)
		if math.Abs(ppm-c.ppm) > c.tolerance {
			t.Errorf("%s: %g ppm from the equivalence volume, want %g", c.name, ppm, c.ppm)
		}
		if c.value != 0 && (math.Abs(f.Value-c.value) > 5e-5 || math.Abs(f.At-c.at) > 5e-5) {
			t.Errorf("%s: %.5f V at the inflection and %.5f V at equivalence, want %g and %g", c.name, f.Value, f.At, c.value, c.at)
		}
	}
}
