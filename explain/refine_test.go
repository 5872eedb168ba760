package explain

import (
	"math"
	"testing"

	"meniscus/working"
)

// positive is the positive root of x² + p x - q = 0, as schools write it.
func positive(p, q float64) float64 { return (-p + math.Sqrt(p*p+4*q)) / 2 }

const weakAcid = `
find: CH3COOH
flask: {volume: 20.00 mL, contains: {CH3COOH: 0.0100 mol/L}}
burette: {contains: {OH^-: 0.0100 mol/L, Na^+: 0.0100 mol/L}}
electrode: {indicator: glass}
library: off
chemistry:
  - {reaction: CH3COOH = CH3COO^- + H^+, pKa: 3.00}
  - {reaction: H2O = H^+ + OH^-, log K: -14}
`

// An acid of pKa 3.00 (made up, in acetic acid's name) is far from weak at
// 0.01 mol/L, its base next to none; a base of pKb 3.00 is its mirror image.
func TestBetterAcidAndBase(t *testing.T) {
	const weakBase = `
find: NH3
flask: {volume: 20.00 mL, contains: {NH3: 0.0100 mol/L}}
burette: {contains: {H^+: 0.0100 mol/L, Cl^-: 0.0100 mol/L}}
electrode: {indicator: glass}
library: off
chemistry:
  - {reaction: NH4^+ = NH3 + H^+, pKa: 11.00}
  - {reaction: H2O = H^+ + OH^-, log K: -14}
`
	for _, c := range []struct {
		volume string
		h      float64
	}{
		{"0", positive(1e-3, 1e-3*0.01)},
		{"1.00", positive(1e-3+0.01/21, 1e-3*0.19/21)},
		{"10.00", positive(1e-3+0.1/30, 1e-3*0.1/30)},
	} {
		for text, want := range map[string]float64{weakAcid: -math.Log10(c.h), weakBase: 14 + math.Log10(c.h)} {
			got := results(t, text, c.volume)
			for symbol, tolerance := range map[string]float64{"pH_better": 1e-9, "pH": 1e-6} {
				if x, ok := got[symbol]; !ok || math.Abs(x-want) > tolerance {
					t.Errorf("%s mL: %s = %.7f, want %.7f", c.volume, symbol, x, want)
				}
			}
			if x := got["pH_textbook"]; math.Abs(x-want) < worthP {
				t.Errorf("%s mL: the first formula is no worse: %.4f", c.volume, x)
			}
		}
	}
}

// So little strong acid that water counts: h² - c h - Kw = 0. And nothing is
// bettered that is right.
func TestBetterDiluteStrongAcid(t *testing.T) {
	const text = `
find: H^+
flask: {volume: 50.00 mL, contains: {H^+: 0.0000002 mol/L, Cl^-: 0.0000002 mol/L}}
burette: {contains: {OH^-: 0.000001 mol/L, Na^+: 0.000001 mol/L}}
electrode: {indicator: glass}
library: off
chemistry:
  - {reaction: H2O = H^+ + OH^-, log K: -14}
`
	h := (2e-7 + math.Sqrt(4e-14+4e-14)) / 2
	over := 1e-6 * 10 / 70 // mol/L
	oh := (over + math.Sqrt(over*over+4e-14)) / 2
	for volume, want := range map[string]float64{"0": -math.Log10(h), "20.00": 14 + math.Log10(oh)} {
		if x, ok := results(t, text, volume)["pH_better"]; !ok || math.Abs(x-want) > 1e-6 {
			t.Errorf("%s mL: %.6f, want %.6f", volume, x, want)
		}
	}
	got := results(t, weakAcid, "40.00")
	if x, ok := got["pH_better"]; ok {
		t.Errorf("pH %.6f is bettered to %.6f", got["pH_textbook"], x)
	}
}

// Near the equivalence point of silver with chloride: s(s + d) = Ksp.
func TestBetterPrecipitation(t *testing.T) {
	const text = `
find: Cl^-
flask: {volume: 25.00 mL, contains: {Cl^-: 0.00800 mol/L}}
burette: {contains: {Ag^+: 0.01000 mol/L}}
electrode: {indicator: silver, reference: SCE}
library: off
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.74}
`
	ksp := math.Pow(10, -9.74)
	rest := 0.05e-2 / 44.95 // 0.05 mL of 0.01 mol/L in the mixture, mol/L
	over := 0.05e-2 / 45.05
	for volume, want := range map[string]float64{
		"19.95": -math.Log10(positive(rest, ksp)),
		"20.05": -math.Log10(over + positive(over, ksp)),
	} {
		got := results(t, text, volume)
		for symbol, tolerance := range map[string]float64{"p_better(Ag⁺)": 1e-6, "p(Ag⁺)": 1e-5} {
			if x, ok := got[symbol]; !ok || math.Abs(x-want) > tolerance {
				t.Errorf("%s mL: %s = %.6f, want %.6f", volume, symbol, x, want)
			}
		}
	}
}

// A weak complex, K 1e5: at equivalence c - x = K x².
func TestBetterComplex(t *testing.T) {
	const text = `
find: Mg^2+
flask: {volume: 50.00 mL, contains: {Mg^2+: 0.00200 mol/L}}
burette: {contains: {Y^4-: 0.00200 mol/L}}
electrode: {indicator: "Mg^2+", reference: SCE}
hold: {pH: 12}
library: off
chemistry:
  - {reaction: Mg^2+ + Y^4- = MgY^2-, log K: 5.00}
`
	for volume, want := range map[string]float64{
		"40.00": -math.Log10(0.02/90 + positive(0.02/90+1e-5, 1e-5*0.08/90)),
		"50.00": -math.Log10(positive(1e-5, 1e-5*0.001)),
		"60.00": -math.Log10(positive(0.02/110+1e-5, 1e-5*0.1/110)),
	} {
		got := results(t, text, volume)
		for symbol, tolerance := range map[string]float64{"p_better(Mg²⁺)": 1e-6, "p(Mg²⁺)": 1e-5} {
			if x, ok := got[symbol]; !ok || math.Abs(x-want) > tolerance {
				t.Errorf("%s mL: %s = %.6f, want %.6f", volume, symbol, x, want)
			}
		}
	}
}

// Couples 0.1 V apart: K = 10^(0.1/0.059159) = 49, so an eighth stays as it is
// at equivalence. With z reacted, of a and t put together in the mixture,
// K (a - z)(t - z) = z².
func TestBetterIncompleteRedox(t *testing.T) {
	const text = `
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.700 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 0.800 V}
`
	s := 8.314462618 * 298.15 * math.Ln10 / 96485.33212 // CODATA 2018, V
	k := math.Pow(10, 0.1/s)
	for volume, added := range map[string]float64{"12.50": 1.25, "22.50": 2.25, "27.50": 2.75, "50.00": 5} {
		const a = 2.5
		p, q := a+added, (1-1/k)*a*added
		z := (p - math.Sqrt(p*p-4*q)) / (2 * (1 - 1/k))
		want := 0.7 + s*math.Log10(z/(a-z))
		got := results(t, text, volume)
		for _, symbol := range []string{"E_better", "E"} {
			if x, ok := got[symbol]; !ok || math.Abs(x-want) > 2e-6 {
				t.Errorf("%s mL: %s = %.6f, want %.6f", volume, symbol, x, want)
			}
		}
	}
}

// The mean of two constants neglects the ions of water; between the first two
// of phosphoric acid at 0.02 mol/L the fuller formula does not.
func TestBetterAmpholyte(t *testing.T) {
	const text = `
find: H3PO4
flask: {volume: 20.00 mL, contains: {H3PO4: 0.0400 mol/L}}
burette: {contains: {OH^-: 0.0400 mol/L, Na^+: 0.0400 mol/L}}
electrode: {indicator: glass}
library: off
chemistry:
  - {reaction: H3PO4 = H2PO4^- + H^+, pKa: 2.15}
  - {reaction: H2PO4^- = HPO4^2- + H^+, pKa: 7.20}
  - {reaction: HPO4^2- = PO4^3- + H^+, pKa: 12.35}
  - {reaction: H2O = H^+ + OH^-, log K: -14}
`
	k1, k2, c := math.Pow(10, -2.15), math.Pow(10, -7.20), 0.02
	want := -math.Log10(math.Sqrt(k1 * (k2*c + 1e-14) / (k1 + c)))
	got := results(t, text, "20.00")
	if x, ok := got["pH_better"]; !ok || math.Abs(x-want) > 1e-6 || math.Abs(x-got["pH"]) > 1e-3 {
		t.Errorf("pH %.6f, want %.6f; exact %.6f", x, want, got["pH"])
	}
}

// Over all examples, near every equivalence point too, a better approximation
// is nearer than the first, and documents stay sound.
func TestBetterIsNearer(t *testing.T) {
	files := systems(t)
	bettered := 0
	for _, f := range files {
		s := read(t, f)
		places, err := Places(s)
		if err != nil {
			t.Fatal(f, err)
		}
		for _, p := range places[1:] {
			for _, k := range []float64{0.02, 0.95, 0.999, 1.001, 1.02} {
				places = append(places, Place{Volume: decimal(math.Round(p.Volume.Float()*k*1e6) * 1e-6)})
			}
		}
		d, err := Volumes(s, places)
		if err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		for _, e := range d.Check() {
			t.Errorf("%s: %v", f, e)
		}
		for _, sec := range d.Sections {
			first, second := 0.0, math.NaN()
			for _, block := range sec.Blocks {
				if st, ok := block.(working.Step); ok && st.Quantity.Letter == "Δ" {
					if st.Quantity.Sub == "" {
						first = st.Quantity.Value.Value
						continue
					}
					second = st.Quantity.Value.Value
					bettered++
				}
			}
			if math.Abs(second) > better*math.Abs(first) {
				t.Errorf("%s, %s: off by %g at first and %g when bettered", f, sec.Title, first, second)
			}
		}
	}
	if bettered < 120 {
		t.Errorf("%d values are bettered, want at least 120", bettered)
	}
}
