package plan

import (
	"math"
	"strings"
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
		fits      bool
	}{{"0.68 V", -0.00134, false}, {"0.61 V", -0.000088, true}} {
		p := planned(t, ironWith(c.potential), Options{Indicators: []string{"850 mV", "Diphenylamine Sulfonate"}})
		n := 0
		for _, f := range p.Indicators {
			if !f.Asked {
				continue
			}
			n++
			// The tables have 0.84 V beside 0.85 V.
			moved := math.Pow(10, (0.85-f.At)/0.0591594)
			if math.Abs(f.Part/(c.want*moved)-1) > 0.01 || f.Fits != c.fits {
				t.Errorf("E %s: %s: error %.6f, fits %t; closed form %.6f", c.potential, f.Name, f.Part, f.Fits, c.want*moved)
			}
			if math.Abs(f.Error-f.Part*0.025) > 1e-12 {
				t.Errorf("E %s: error %g L is not that part of 25 mL", c.potential, f.Error)
			}
		}
		if n != 3 {
			t.Errorf("E %s: %d indicators as asked for, want the potential and two values of the name", c.potential, n)
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

// Sensible proposals come first: the strength in use with a pipette that every
// laboratory has where that does, and no odd pipette while there is another way.
func TestWaysAreSensible(t *testing.T) {
	p := planned(t, "find: Cl^-\nflask: {volume: 25.00 mL, contains: {NaCl: 0.0800 mol/L}}\nburette: {contains: {AgNO3: 0.1000 mol/L}}\nelectrode: {indicator: silver}\n", Options{})
	w := p.Burette.Ways
	if len(w) < 3 || w[0].Pipette != 0.050 || w[0].Strength != 0.1 {
		t.Fatalf("ways %+v: the first should be 50 mL with 0.1 mol/L", w)
	}
	for _, a := range w {
		if a.Pipette == 0.015 || a.Strength == 0.04 {
			t.Errorf("%g mL with %g mol/L is odd", a.Pipette*1e3, a.Strength)
		}
	}
}

// A titrant that clashes with the flask, and a medium that clashes with the
// titrant, are never what would help: hydrochloric acid with permanganate.
func TestGainsDoNotClash(t *testing.T) {
	p := example(t, "iron-permanganate", Options{})
	for _, g := range p.Gains {
		if strings.Contains(g.What, "HCl") {
			t.Errorf("proposed for permanganate: %s", g.What)
		}
	}
	more := false
	for _, g := range p.Gains {
		more = more || strings.Contains(g.What, "more acid")
	}
	if !more {
		t.Errorf("permanganate takes up eight protons, yet more acid is no gain: %+v", p.Gains)
	}
	seen := false
	for _, m := range p.Media {
		seen = seen || strings.Contains(m.Medium, "HCl") && m.Clash != ""
	}
	if !seen {
		t.Error("no medium is said to clash with permanganate")
	}
	p = example(t, "iron-dichromate", Options{}) // in hydrochloric acid
	for _, g := range p.Gains {
		if strings.Contains(g.What, "permanganate") {
			t.Errorf("proposed beside hydrochloric acid: %s", g.What)
		}
	}
}

// Carbonate is what was weighed, not its pair with sodium; pKa 10.33 and 6.35
// are the constants of the reactions with the acid.
func TestCarbonateByName(t *testing.T) {
	p := example(t, "carbonate", Options{})
	if len(p.Jumps) != 2 || p.Jumps[0].Name != "CO3^2-" || p.Jumps[1].Name != "HCO3^-" {
		t.Fatalf("points %+v", p.Jumps)
	}
	for i, want := range []float64{10.33, 6.35} {
		if k := p.Jumps[i].LogK; math.Abs(k-want) > 0.02 {
			t.Errorf("log K %.3f, want %.2f", k, want)
		}
	}
	if len(p.Rules) != 2 || !strings.HasSuffix(p.Rules[0], ": met") || !strings.HasSuffix(p.Rules[1], ": not met") {
		t.Errorf("rules: %q", p.Rules)
	}
}

// Acetic acid, 0.08 mol/L and pKa 4.757: C Ka is 1.4e-6; with hydroxide log K
// is 14.00 - 4.757.
func TestAceticAcidRule(t *testing.T) {
	p := example(t, "acetic-acid", Options{})
	if len(p.Rules) != 1 || !strings.Contains(p.Rules[0], "C·Ka = 1.4 × 10⁻⁶, wanted is above 10⁻⁸") {
		t.Errorf("rules: %q", p.Rules)
	}
	if k := p.Jumps[0].LogK; math.Abs(k-9.24) > 0.01 {
		t.Errorf("log K %.3f, want 9.24", k)
	}
}
