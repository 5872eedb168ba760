package titration_test

import (
	"math"
	"testing"

	"meniscus/setup"
	"meniscus/unit"
)

const ironCerium = `
flask: {volume: 50 mL, contains: {Fe^2+: 0.04 mol/L}, medium: 1 mol/L H2SO4}
burette: {contains: {Ce^4+: 0.1 mol/L}}
electrode: {indicator: platinum, reference: SHE}
`

// With one iron to one cerium [Fe3+] = [Ce3+] and [Fe2+] = [Ce4+] at
// equivalence, so that both couples hold the potential alike; half way there
// iron does it alone, at twice the volume cerium.
func TestGrips(t *testing.T) {
	s, err := setup.Read([]byte(ironCerium), "iron.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p := s.Titration.Predictor()
	for _, c := range []struct {
		volume string
		first  string
		share  float64
	}{
		{"0.01", "Fe^3+/Fe^2+", 1},
		{"0.02", "", 0.5},
		{"0.04", "Ce^4+/Ce^3+", 1},
	} {
		v, err := unit.ParseDecimal(c.volume)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.At(v); err != nil {
			t.Fatal(err)
		}
		g := p.Grips()
		if len(g) != 2 || math.Abs(g[0].Share-c.share) > 1e-6 || (c.first != "" && g[0].Name != c.first) {
			t.Errorf("at %s L: %v", c.volume, g)
		}
	}
}

// At the pH of the pKa the buffer capacity of the pair is c/4 on the scale of
// ln a (closed form); free H+ adds its own concentration, water nearly nothing.
func TestGripsOfABuffer(t *testing.T) {
	s, err := setup.Read([]byte(`
flask: {volume: 50 mL, contains: {CH3COOH: 0.1 mol/L, CH3COONa: 0.1 mol/L}}
burette: {contains: {NaOH: 0.1 mol/L}}
electrode: {indicator: glass}
`), "buffer.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p := s.Titration.Predictor()
	pt, err := p.At(unit.Decimal{})
	if err != nil {
		t.Fatal(err)
	}
	h := math.Pow(10, -pt.PH)
	acid, base := 0.1-h, 0.1+h
	pair := acid * base / (acid + base)
	want := pair / (pair + h)
	g := p.Grips()
	if len(g) == 0 || g[0].Name != "CH3COOH/CH3COO^-" || math.Abs(g[0].Share-want) > 1e-6 {
		t.Errorf("got %v, want the pair with %.7f", g, want)
	}
}
