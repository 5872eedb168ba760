package setup

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"meniscus/titration"
)

// The traps: places where a shortcut that looks right gives a wrong curve.

// Iron(II) alone has no potential; a trace of iron(III) gives it one, and with
// it the Nernst equation: 0.68 + 0.05916 log(trace / iron(II)).
func TestPotentialBeforeTheFirstDrop(t *testing.T) {
	text := `flask:
  volume: 50 mL
  contains: {Fe^2+: 0.05 mol/L%s}
  medium: 1 mol/L H2SO4
` + ceriumBurette
	pt := at(t, readText(t, fmt.Sprintf(text, "")).Titration.Predictor(), 0)
	if !math.IsNaN(pt.Potential) || !strings.Contains(pt.Undefined, "not poised") {
		t.Errorf("iron(II) alone: %g V, %q", pt.Potential, pt.Undefined)
	}
	s := readText(t, fmt.Sprintf(text, ", Fe^3+: 0.00005 mol/L"))
	want := 0.68 - 3*math.Ln10*s.Titration.Thermal()
	if pt = at(t, s.Titration.Predictor(), 0); math.Abs(pt.Potential-want) > 1e-9 {
		t.Errorf("with a thousandth of iron(III): %.6f V, want %.6f", pt.Potential, want)
	}
}

// In a mixture silver chloride begins where [Ag+] reaches Ksp(AgCl)/[Cl-]:
// bromide is then Ksp(AgBr)/Ksp(AgCl) times the chloride, not yet zero, and the
// kink comes that much before the equivalence volume.
func TestChlorideBeginsBeforeBromideIsComplete(t *testing.T) {
	s := readText(t, `flask:
  volume: 50 mL
  contains: {KBr: 0.05 mol/L, NaCl: 0.05 mol/L}
burette:
  contains: {AgNO3: 0.1 mol/L}
electrode: {indicator: silver, reference: SHE}
library: off
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.74}
  - {reaction: AgBr(s) = Ag^+ + Br^-, pKsp: 12.30}
`)
	p := s.Titration.Predictor()
	chloride, bromide := s.System().Index("AgCl(s)"), s.System().Index("AgBr(s)")
	// 0.05 Br - r Cl left when AgCl begins, r = 10^-2.56, with Cl = 2.5 mmol in V0 + V:
	// 2.5 - 0.1 V = r 2.5 (but for 4e-8 of silver in solution), V = 25 - 25 r = 24.931 mL.
	kink := 25 * (1 - math.Pow(10, -2.56))
	at(t, p, kink-0.001)
	if p.Solver.Amount(chloride) > 0 || !(p.Solver.Amount(bromide) > 0) {
		t.Errorf("AgCl %g mol/L before %.4f mL", p.Solver.Amount(chloride), kink)
	}
	at(t, p, kink+0.001)
	if !(p.Solver.Amount(chloride) > 0) {
		t.Errorf("no AgCl after %.4f mL, though equivalence is at 25", kink)
	}
	if at(t, p, 25); !(p.Solver.Amount(chloride) > 1e-6) {
		t.Error("no AgCl at the equivalence volume of the bromide")
	}
	if before, there := steepness(t, s, kink-0.02), steepness(t, s, 25); !(before > 10*there) {
		t.Errorf("the curve is steep before %.3f mL, not at 25: %.3g and %.3g", kink, before, there)
	}
}

// Before any solid exists the solubility product says nothing: silver is what
// was added.
func TestNoSolubilityProductWithoutASolid(t *testing.T) {
	s := readText(t, `flask:
  volume: 100 mL
  contains: {NaCl: 0.00001 mol/L}
burette:
  contains: {AgNO3: 0.001 mol/L}
electrode: {indicator: silver, reference: SHE}
library: off
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.74}
`)
	p := s.Titration.Predictor()
	for _, mL := range []float64{0.5, 1, 1.5} { // 1e-5 times 1.5e-5 is below 1.8e-10
		pt := at(t, p, mL)
		added := 0.001 * mL / (100 + mL)
		if math.Abs(pt.PIon+math.Log10(added)) > 1e-9 {
			t.Errorf("%g mL: pAg %.6f, want %.6f", mL, pt.PIon, -math.Log10(added))
		}
	}
	pt := at(t, p, 10) // 9.1e-6 times 9.1e-5 is above: now there is a solid, and the product holds
	if a := p.Solver.Amount(s.System().Index("AgCl(s)")); !(a > 0) {
		t.Errorf("no AgCl at 10 mL")
	}
	if c := p.Solver.Concentration(s.System().Index("Cl^-")); math.Abs(pt.PIon-math.Log10(c)-9.74) > 1e-9 {
		t.Errorf("10 mL: pAg + pCl = %.6f", pt.PIon-math.Log10(c))
	}
}

// Ammonia in the flask is diluted by the titrant; held, it is not. Zinc takes
// about the fourth power of it.
func TestAuxiliaryAmmoniaIsDiluted(t *testing.T) {
	text := `flask:
  volume: 25 mL
  contains: {Zn^2+: 0.00001 mol/L%s}
burette:
  contains: {NaNO3: 0.1 mol/L}
electrode: {indicator: Zn^2+}
hold: {pH: 11%s}
library: off
chemistry:
  - {reaction: NH4^+ = NH3 + H^+, pKa: 9.24}
  - {reaction: Zn^2+ + 4 NH3 = Zn(NH3)4^2+, log beta: 8.70}
`
	diluted := readText(t, fmt.Sprintf(text, ", NH3: 0.1 mol/L", ""))
	held := readText(t, fmt.Sprintf(text, "", ", NH3: 0.1 mol/L"))
	for _, c := range []struct {
		s    *Setup
		want float64 // pZn at twice the volume less pZn at the start
	}{
		{diluted, math.Log10(2) - 4*math.Log10(2)}, // zinc halved, ammonia to the fourth power sixteen times less
		{held, math.Log10(2)},
	} {
		p := c.s.Titration.Predictor()
		before := at(t, p, 0).PIon
		if got := at(t, p, 25).PIon - before; math.Abs(got-c.want) > 2e-3 {
			t.Errorf("pZn changed by %.4f, want %.4f", got, c.want)
		}
	}
}

// Eight H+ go with each permanganate: in 5 mmol of acid for 2.5 mmol of iron
// the pH drifts by what is used up and by dilution.
func TestPermanganateDriftsWithoutABuffer(t *testing.T) {
	s := readText(t, `flask:
  volume: 50 mL
  contains: {Fe^2+: 0.05 mol/L, H^+: 0.1 mol/L}
burette:
  contains: {MnO4^-: 0.02 mol/L}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, standard potential: 0.771 V}
  - {reaction: MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, standard potential: 1.51 V}
`)
	p := s.Titration.Predictor()
	if pt := at(t, p, 0); math.Abs(pt.PH-1) > 1e-9 {
		t.Errorf("pH %.6f at the start", pt.PH)
	}
	// At 25 mL: 5 mmol less 8 x 0.5 mmol in 75 mL.
	if pt, want := at(t, p, 25), -math.Log10(1.0/75); math.Abs(pt.PH-want) > 1e-7 { // a few 1e-8 of the iron is left
		t.Errorf("pH %.6f at equivalence, want %.6f", pt.PH, want)
	}
	// [Fe2+] = 5 [MnO4-], [Fe3+] = 5 [Mn2+]: 6 E = 0.771 + 5 x 1.51 - 8 pH RT ln10/F.
	want := (0.771 + 5*1.51 - 8*-math.Log10(1.0/75)*math.Ln10*s.Titration.Thermal()) / 6
	if pt := at(t, p, 25); math.Abs(pt.Potential-want) > 1e-8 {
		t.Errorf("E %.9f V at equivalence, want %.9f", pt.Potential, want)
	}
}

// At the equivalence of a 1:1 precipitate both ions have one coefficient, so
// the activity of silver is the root of the product whatever the model; the pH
// of a buffer beside it moves.
func TestDaviesMovesPHAndNotPAgAtEquivalence(t *testing.T) {
	text := `flask:
  volume: 50 mL
  contains: {Na^+: 0.15 mol/L, Cl^-: 0.05 mol/L, CH3COO^-: 0.1 mol/L, CH3COOH: 0.1 mol/L}
burette:
  contains: {Ag^+: 0.1 mol/L, NO3^-: 0.1 mol/L}
electrode: {indicator: silver, reference: SHE}
library: off
activity: %s
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.75}
  - {reaction: CH3COOH = CH3COO^- + H^+, pKa: 4.756}
`
	ideal := at(t, readText(t, fmt.Sprintf(text, "ideal")).Titration.Predictor(), 25)
	davies := at(t, readText(t, fmt.Sprintf(text, "davies")).Titration.Predictor(), 25)
	for name, pt := range map[string]titration.Point{"ideal": ideal, "davies": davies} {
		if math.Abs(pt.PIon-9.75/2) > 1e-9 {
			t.Errorf("%s: pAg %.9f, want 4.875", name, pt.PIon)
		}
	}
	// Equal concentrations: pH = pKa + log gamma(CH3COO-). At I = 0.1 mol/L (nitrate and acetate, sodium):
	// -0.509 x (0.2403 - 0.03) = -0.107.
	if math.Abs(ideal.PH-4.756) > 1e-3 || math.Abs(davies.PH-(4.756-0.107)) > 2e-3 {
		t.Errorf("pH %.4f ideal and %.4f by Davies, want 4.756 and 4.649", ideal.PH, davies.PH)
	}
}

// Iodine with thiosulfate: iodide grows, and most iodine is I3-. With
// K = 10^2.85 and 0.2 mol/L of iodide, [I3-]/[I2] = 708 x [I-].
func TestIodideGrowsAndHoldsIodineAsTriiodide(t *testing.T) {
	s := readText(t, `flask:
  volume: 25 mL
  contains: {I2: 0.04 mol/L, I^-: 0.2 mol/L}
burette:
  contains: {S2O3^2-: 0.1 mol/L}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: I2 + 2 e^- = 2 I^-, standard potential: 0.621 V}
  - {reaction: I2 + I^- = I3^-, log K: 2.85}
  - {reaction: S4O6^2- + 2 e^- = 2 S2O3^2-, standard potential: 0.08 V}
`)
	p := s.Titration.Predictor()
	conc := func(n string) float64 { return p.Solver.Concentration(s.System().Index(n)) }
	var before float64
	for _, mL := range []float64{1, 10, 19} {
		at(t, p, mL)
		v, used := 25+mL, 0.1*mL                                                 // mL, mmol
		total := 5 + used                                                        // mmol of iodide beside the iodine, free or in I3-
		if sum := (conc("I^-") + conc("I3^-")) * v; math.Abs(sum-total) > 1e-6 { // but for thiosulfate not yet used
			t.Errorf("%g mL: %.9f mmol of iodide, want %.9f", mL, sum, total)
		}
		if r := conc("I3^-") / conc("I2") / conc("I^-"); math.Abs(r/math.Pow(10, 2.85)-1) > 1e-9 {
			t.Errorf("%g mL: I3- constant %g", mL, r)
		}
		if share := conc("I3^-") / (conc("I3^-") + conc("I2")); share < 0.98 {
			t.Errorf("%g mL: only %.3f of the iodine is triiodide", mL, share)
		}
		if share := conc("I^-") * v; share < before {
			t.Errorf("%g mL: iodide fell from %g to %g mmol", mL, before, share)
		} else {
			before = share
		}
	}
}

// H3AsO3 is a weak acid and arsenic acid a stronger one: at pH 9 the potential
// of equal totals is the standard one with the protons of both, by the shares
// of H3AsO3 and H3AsO4 in their totals.
func TestArseniteGivesOffItsProton(t *testing.T) {
	s := readText(t, `flask:
  volume: 50 mL
  contains: {H3AsO3: 0.01 mol/L, H3AsO4: 0.01 mol/L}
burette:
  contains: {NaNO3: 0.1 mol/L}
electrode: {indicator: platinum, reference: SHE}
hold: {pH: 9}
library: off
chemistry:
  - {reaction: H3AsO4 + 2 H^+ + 2 e^- = H3AsO3 + H2O, standard potential: 0.559 V}
  - {reaction: H3AsO3 = H2AsO3^- + H^+, pKa: 9.29}
  - {reaction: H3AsO4 = H2AsO4^- + H^+, pKa: 2.24}
  - {reaction: H2AsO4^- = HAsO4^2- + H^+, pKa: 6.96}
  - {reaction: HAsO4^2- = AsO4^3- + H^+, pKa: 11.50}
`)
	h := 1e-9
	three := 1 + math.Pow(10, -9.29)/h
	five := 1 + math.Pow(10, -2.24)/h*(1+math.Pow(10, -6.96)/h*(1+math.Pow(10, -11.50)/h))
	s10 := math.Ln10 * s.Titration.Thermal()
	want := 0.559 - 9*s10 + s10/2*math.Log10(three/five)
	if pt := at(t, s.Titration.Predictor(), 0); math.Abs(pt.Potential-want) > 1e-9 {
		t.Errorf("E %.6f V, want %.6f", pt.Potential, want)
	}
}

// One to five electrons, K near 1e60 for one: the potential at equivalence is the weighted
// average of the textbook to 1e-9 V, from the decimal text of the volumes.
func TestEquivalencePotentialIsAWeightedAverage(t *testing.T) {
	for _, c := range []struct {
		n     int     // electrons of the titrand's couple, one of the titrant's
		e1, e float64 // V
	}{{1, 0.1, 3.65}, {2, 0.139, 1.44}, {5, -0.2, 1.3}} {
		s := readText(t, fmt.Sprintf(`flask:
  volume: 25.07 mL
  contains: {A^2+: 0.0311 mol/L}
burette:
  contains: {B^4+: %g mol/L}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: A^%d+ + %d e^- = A^2+, formal potential: %g V, unbalanced: allowed}
  - {reaction: B^4+ + e^- = B^3+, formal potential: %g V, unbalanced: allowed}
`, 0.0311*float64(c.n), c.n+2, c.n, c.e1, c.e))
		want := (float64(c.n)*c.e1 + c.e) / float64(c.n+1)
		if pt := at(t, s.Titration.Predictor(), 25.07); math.Abs(pt.Potential-want) > 1e-9 {
			t.Errorf("n = %d: E %.12f V, want %.12f", c.n, pt.Potential, want)
		}
	}
}
