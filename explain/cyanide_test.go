package explain

import (
	"math"
	"testing"
)

// Cyanide with silver, closed forms: Ag+ = c(AgX2)/(β [X]²) before the first
// end, Ksp² β/c(AgX2) from there to the second, and √(Ksp² β) on it.
func TestCyanide(t *testing.T) {
	const text = `
find: CN^-
flask: {volume: 25.00 mL, contains: {CN^-: 0.0400 mol/L}}
burette: {contains: {Ag^+: 0.0250 mol/L}}
electrode: {indicator: silver, reference: SCE}
library: off
chemistry:
  - {reaction: Ag^+ + 2 CN^- = Ag(CN)2^-, log beta: 20}
  - {reaction: AgCN(s) = Ag^+ + CN^-, pKsp: 15.66}
`
	lg := math.Log10
	for volume, want := range map[string]float64{
		"10.00": 20 + 2*lg(0.5/35) - lg(0.25/35),
		"20.00": 2*15.66 - 20 + lg(0.5/45),
		"30.00": 2*15.66 - 20 + lg(0.25/55),
		"40.00": 15.66 - 10,
		"80.00": -lg(1.0 / 105),
	} {
		got := results(t, text, volume)
		for symbol, tolerance := range map[string]float64{"p_textbook(Ag⁺)": 1e-9, "p(Ag⁺)": 1e-3} {
			if x, ok := got[symbol]; !ok || math.Abs(x-want) > tolerance {
				t.Errorf("%s mL: %s = %.6f, want %.6f", volume, symbol, x, want)
			}
		}
	}
	if c := results(t, text, "20.00")["c_found(CN⁻)"]; math.Abs(c-0.04) > 1e-9 {
		t.Errorf("c = %g mol/L, want 0.04", c)
	}
}
