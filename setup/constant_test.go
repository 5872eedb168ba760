package setup

import (
	"math"
	"testing"

	"meniscus/titration"
	"meniscus/unit"
)

// pointOf reads a setup and returns it with the point at some mL.
func pointOf(t *testing.T, text string, millilitres float64) (*Setup, titration.Point) {
	t.Helper()
	s, err := Read([]byte(text), "test.yaml")
	if err != nil {
		t.Fatal(err)
	}
	v, _ := unit.DecimalOf(millilitres)
	pt, err := s.Titration.Predictor().At(v.Shift(-3))
	if err != nil {
		t.Fatal(err)
	}
	return s, pt
}

// TestEnthalpy: water takes up heat to dissociate, so that its pKw falls from
// 13.995 at 25 °C to 13.26 at 50 °C (CRC Handbook, from memory). With a constant
// enthalpy of 55.8 kJ/mol van 't Hoff's equation gives 13.239; neutral water
// has half of it.
func TestEnthalpy(t *testing.T) {
	_, pt := pointOf(t, `
temperature: 50 °C
flask: {volume: 50 mL, contains: {Na^+: 0.1 mol/L, Cl^-: 0.1 mol/L}}
burette: {contains: {Na^+: 0.1 mol/L, Cl^-: 0.1 mol/L}}
electrode: {indicator: glass}
library: off
chemistry:
  - {reaction: H2O = H^+ + OH^-, log K: -13.995, enthalpy: 55.8 kJ/mol}
`, 1)
	want := (13.995 + 55800/(8.31446261815324*math.Ln10)*(1/323.15-1/298.15)) / 2
	if math.Abs(pt.PH-want) > 1e-9 || math.Abs(2*pt.PH-13.26) > 0.03 {
		t.Errorf("pH %.6f, want %.6f", pt.PH, want)
	}
}

// TestPotentialCoefficient: at half the equivalence volume the potential is
// that of the couple at the temperature of the titration.
func TestPotentialCoefficient(t *testing.T) {
	_, pt := pointOf(t, `
temperature: 45 °C
flask: {volume: 50 mL, contains: {Fe^2+: 0.05 mol/L}}
burette: {contains: {Ce^4+: 0.1 mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.771 V, dE/dT: 1.2 mV/K}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
`, 12.5)
	if want := 0.771 + 20*0.0012; math.Abs(pt.Standard-want) > 1e-9 {
		t.Errorf("E = %.9f V, want %.9f", pt.Standard, want)
	}
}

// TestAcidityOfAConstant: a potential measured at pH 1 is what the couple
// shows at pH 1 with equal concentrations, here at twice the equivalence.
func TestAcidityOfAConstant(t *testing.T) {
	_, pt := pointOf(t, `
flask: {volume: 50 mL, contains: {Fe^2+: 0.05 mol/L}}
burette: {contains: {MnO4^-: 0.02 mol/L}}
electrode: {indicator: platinum, reference: SHE}
hold: {pH: 1}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, formal potential: 1.41 V, at: {pH: 1}}
`, 50)
	if math.Abs(pt.Standard-1.41) > 1e-9 {
		t.Errorf("E = %.9f V, want 1.41", pt.Standard)
	}
}

// TestAmounts: portions add up in volume and are diluted by one another;
// normality is shared by its equivalents; grams go by the molar mass (58.44
// g/mol for NaCl); a salt gives every ion as often as it holds it.
func TestAmounts(t *testing.T) {
	s, _ := pointOf(t, `
flask:
  portions:
    - {volume: 25.00 mL, contains: {CaCl2: 0.1000 mol/L}}
    - {volume: 15.00 mL, contains: {NaCl: 5.844 g/L}}
    - {volume: 10.00 mL, water: yes}
burette: {contains: {AgNO3: 0.5 N (n=5)}}
electrode: {indicator: silver, reference: SHE}
library: off
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.75}
`, 1)
	if got := s.Flask.Volume.Float(); math.Abs(got-0.05) > 1e-15 {
		t.Errorf("%g L in the flask, want 0.05", got)
	}
	if got := s.Burette.Contents[0].Conc.Float(); math.Abs(got-0.1) > 1e-15 {
		t.Errorf("0.5 N (n=5) is %g mol/L, want 0.1", got)
	}
	p := s.Titration.Problem
	want := 2*0.1*0.025 + 5.844/58.44*0.015
	if got := p.Flask(p.System().Index("Cl^-")).Float(); math.Abs(got/want-1) > 1e-4 {
		t.Errorf("%g mol of chloride in the flask, want %g", got, want)
	}
	if got := float64(s.Titration.V0); math.Abs(got-0.05) > 1e-15 {
		t.Errorf("the titration starts from %g L, want 0.05", got)
	}
}
