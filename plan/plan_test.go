package plan

import (
	"math"
	"testing"

	"meniscus/setup"
)

func planned(t *testing.T, text string, o Options) *Plan {
	t.Helper()
	s, err := setup.Read([]byte(text), "test.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, err := For(s, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func ironWith(potential string) string {
	return `
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: ` + potential + `}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
`
}

// Closed forms for two one-electron couples: the jump within ±p is
// E2 - E1 + (RT ln10/F)(2 log p) to the first order; what is left at
// equivalence is 10^-(dE/2S).
func TestJumpOfTwoCouples(t *testing.T) {
	const s = 0.0591594
	p := planned(t, ironWith("0.68 V"), Options{})
	if len(p.Jumps) != 1 {
		t.Fatalf("%d jumps, want 1", len(p.Jumps))
	}
	j := p.Jumps[0]
	if want := 760 + 2e3*s*math.Log10(1e-3); math.Abs(j.Height-want) > 0.2 {
		t.Errorf("jump %.2f mV, closed form %.2f mV", j.Height, want)
	}
	if want := math.Pow(10, -0.76/2/s); math.Abs(j.Left/want-1) > 1e-3 {
		t.Errorf("left %g, closed form %g", j.Left, want)
	}
	if want := 0.76 / s; math.Abs(j.LogK-want) > 1e-3 {
		t.Errorf("log K %g, closed form %g", j.LogK, want)
	}
}

// A plan of 5 coarse, 10 close and 5 coarse readings with 1 mV and 0.01 mL
// gives u(V) of 0.005 mL in 25 mL: computed beforehand with another program.
func TestCarried(t *testing.T) {
	p := planned(t, ironWith("0.68 V"), Options{})
	if u := p.Jumps[0].Carried * 1e3; u < 0.0040 || u > 0.0060 {
		t.Errorf("u(V) = %.4f mL, computed elsewhere 0.005 mL", u)
	}
}

// Iron left at 0.85 V is 1/(1 + 10^((0.85 - E)/S)): 0.134 % with 0.68 V and
// 0.0088 % with 0.61 V.
func TestDiphenylamineSulfonate(t *testing.T) {
	for _, c := range []struct {
		potential string
		want      float64
	}{{"0.68 V", -0.00134}, {"0.61 V", -0.000088}} {
		p := planned(t, ironWith(c.potential), Options{})
		found := false
		for _, f := range p.Indicators {
			// The first row of the table has 0.84 V, the second 0.85 V.
			if f.Name != "diphenylamine sulfonate" {
				continue
			}
			found = true
			moved := math.Pow(10, (0.85-f.At)/0.0591594)
			if math.Abs(f.Part/(c.want*moved)-1) > 0.01 {
				t.Errorf("E %s: error %.6f, closed form %.6f", c.potential, f.Part, c.want*moved)
			}
		}
		if !found {
			t.Errorf("E %s: the indicator is not listed", c.potential)
		}
	}
}

// In a library of the tables every medium raises or lowers the jump by the
// difference of the potentials: with the first-order closed form.
func TestMedia(t *testing.T) {
	p := planned(t, "flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0400 mol/L}, medium: 1 mol/L H2SO4}\nburette: {contains: {Ce^4+: 0.1000 mol/L}}\n", Options{})
	if len(p.Media) == 0 {
		t.Fatal("no media")
	}
	n := 0
	for _, m := range p.Media {
		if m.Refused != "" {
			continue
		}
		n++
		want := 1e3*(m.Titrant-m.Analyte) - 6*59.1594
		if math.Abs(m.Height-want) > 0.5 {
			t.Errorf("%s: jump %.1f mV, closed form %.1f mV", m.Medium, m.Height, want)
		}
	}
	if n < 4 {
		t.Errorf("%d media, want four or more", n)
	}
}

// What is recommended lies between 60 and 90 % with the range on the scale.
func TestBurette(t *testing.T) {
	for _, guess := range []float64{0.01, 0.05, 0.1, 0.2} {
		p := planned(t, ironWith("0.68 V"), Options{Guess: guess})
		for _, w := range p.Burette.Ways {
			if w.Volume < 0.030 || w.Volume > 0.045 || w.Volume*(1+1.96*guess) > 0.050 {
				t.Errorf("guess %g: %+v is not in the burette", guess, w)
			}
			// n(Fe) = pipette c = V c(Ce)
			if math.Abs(w.Pipette*0.05-w.Volume*w.Strength) > 1e-9 {
				t.Errorf("guess %g: %+v does not balance", guess, w)
			}
		}
		if len(p.Burette.Ways) == 0 {
			t.Errorf("guess %g: no way", guess)
		}
	}
}
