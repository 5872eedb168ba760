package explain

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"meniscus/electrode"
	"meniscus/setup"
	"meniscus/unit"
	"meniscus/working"
)

const ironCerium = `
title: Iron(II) with cerium(IV)
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
electrode: {indicator: platinum, reference: SCE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.680 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.440 V}
`

const ironPermanganate = `
title: Iron(II) with permanganate
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {MnO4^-: 0.0200 mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
hold: {pH: 0}
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, formal potential: 1.51 V}
`

// results returns the value of each symbol at one volume, as last shown.
func results(t *testing.T, text, volume string) map[string]float64 {
	t.Helper()
	s, err := setup.Read([]byte(text), "question.yaml")
	if err != nil {
		t.Fatal(err)
	}
	v, err := unit.ParseDecimal(volume)
	if err != nil {
		t.Fatal(err)
	}
	d, err := At(s, v.Shift(-3))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range d.Check() {
		t.Error(e)
	}
	found := map[string]float64{}
	for _, sec := range d.Sections {
		for _, b := range sec.Blocks {
			if st, ok := b.(working.Step); ok {
				found[st.Quantity.Key()] = st.Quantity.Value.Value
			}
		}
	}
	return found
}

// The potentials are a textbook question: the Nernst equation by hand with
// RT ln10/F = 59.159 mV (CODATA constants, 25 °C) and SCE at 0.241 V. Beside the
// equivalence point the titrand's couple stands at 0.680 V + S lg(1000 - 1).
func TestIronCerium(t *testing.T) {
	for _, c := range []struct {
		volume   string
		she, sce float64
	}{
		{"2.50", 0.6235, 0.3825},
		{"12.50", 0.6800, 0.4390},
		{"22.50", 0.7365, 0.4955},
		{"24.975", 0.8575, 0.6165},
		{"25.00", 1.0600, 0.8190},
		{"25.025", 1.2625, 1.0215},
		{"27.50", 1.3808, 1.1398},
		{"50.00", 1.4400, 1.1990},
	} {
		got := results(t, ironCerium, c.volume)
		for symbol, want := range map[string]float64{"E_textbook": c.she, "E": c.she, "E_cell": c.sce} {
			if x, ok := got[symbol]; !ok || math.Abs(x-want) > 6e-5 {
				t.Errorf("%s mL: %s = %.5f, want %.4f", c.volume, symbol, x, want)
			}
		}
	}
}

// (0.68 + 5 × 1.51)/6 V, and 8/6 × 59.159 mV lower for each unit of pH.
func TestIronPermanganateEquivalence(t *testing.T) {
	for _, c := range []struct {
		pH   string
		want float64
	}{{"0", 1.3717}, {"1", 1.2928}} {
		got := results(t, strings.Replace(ironPermanganate, "pH: 0", "pH: "+c.pH, 1), "25.00")
		for _, symbol := range []string{"E_textbook", "E"} {
			if x, ok := got[symbol]; !ok || math.Abs(x-c.want) > 6e-5 {
				t.Errorf("pH %s: %s = %.5f, want %.4f", c.pH, symbol, x, c.want)
			}
		}
	}
}

// Acetic acid, closed forms by hand: pH = ½(pKa - lg c) at the start, pKa at
// half, ½(pKw + pKa + lg c) at equivalence, pKw + lg of the excess beyond. The
// exact pH at the start is the quadratic's, 2.9297.
func TestAceticAcid(t *testing.T) {
	const text = `
find: CH3COOH
flask: {volume: 25.00 mL, contains: {CH3COOH: 0.0800 mol/L}}
burette: {contains: {OH^-: 0.1000 mol/L, Na^+: 0.1000 mol/L}}
electrode: {indicator: glass}
library: off
chemistry:
  - {reaction: CH3COOH = CH3COO^- + H^+, pKa: 4.756}
  - {reaction: H2O = H^+ + OH^-, log K: -14}
`
	lg := math.Log10
	for _, c := range []struct {
		volume string
		want   float64
	}{
		{"0", (4.756 - lg(0.08)) / 2},
		{"10.00", 4.756},
		{"20.00", (14 + 4.756 + lg(2.0/45)) / 2},
		{"40.00", 14 + lg(2.0/65)},
	} {
		if x, ok := results(t, text, c.volume)["pH_textbook"]; !ok || math.Abs(x-c.want) > 1e-9 {
			t.Errorf("%s mL: textbook pH %.6f, want %.6f", c.volume, x, c.want)
		}
	}
	ka := math.Pow(10, -4.756)
	h := (-ka + math.Sqrt(ka*ka+4*ka*0.08)) / 2
	if x := results(t, text, "0")["pH"]; math.Abs(x+lg(h)) > 1e-6 {
		t.Errorf("exact pH %.6f, want %.6f", x, -lg(h))
	}
}

func TestPlacesByName(t *testing.T) {
	s, err := setup.Read([]byte(ironCerium), "question.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]float64{"start": 0, "half": 12.5e-3, "equivalence": 25e-3, "twice": 50e-3} {
		p, err := Find(s, name)
		if err != nil || math.Abs(p.Volume.Float()-want) > 1e-15 {
			t.Errorf("%s: %v %v, want %v", name, p.Volume.Float(), err, want)
		}
	}
	if _, err := Find(s, "third"); err == nil {
		t.Error("an unknown place is no error")
	}
	if _, err := At(&setup.Setup{}, unit.Decimal{}); err == nil {
		t.Error("a setup without chemistry is no error")
	}
}

// 50.0 mL of 0.0100 M calcium with 0.0100 M EDTA at pH 10: α 0.299, lg K' 10.126,
// pCa 2.95, 6.21 and 9.43 at 40, 50 and 60 mL, by hand from the constants given.
func TestCalciumEDTA(t *testing.T) {
	const text = `
find: Ca^2+
flask: {volume: 50.00 mL, contains: {Ca^2+: 0.0100 mol/L}}
burette: {contains: {Y^4-: 0.0100 mol/L}}
electrode: {indicator: "Ca^2+", reference: SCE}
hold: {pH: 10}
library: off
chemistry:
  - {reaction: Ca^2+ + Y^4- = CaY^2-, log K: 10.65}
  - {reaction: H6Y^2+ = H5Y^+ + H^+, pKa: 0}
  - {reaction: H5Y^+ = H4Y + H^+, pKa: 1.5}
  - {reaction: H4Y = H3Y^- + H^+, pKa: 2.00}
  - {reaction: H3Y^- = H2Y^2- + H^+, pKa: 2.69}
  - {reaction: H2Y^2- = HY^3- + H^+, pKa: 6.13}
  - {reaction: HY^3- = Y^4- + H^+, pKa: 10.37}
`
	for volume, want := range map[string]float64{"40.00": 2.95, "50.00": 6.21, "60.00": 9.43} {
		got := results(t, text, volume)
		for _, symbol := range []string{"p_textbook(Ca²⁺)", "p(Ca²⁺)"} {
			if x, ok := got[symbol]; !ok || math.Abs(x-want) > 6e-3 {
				t.Errorf("%s mL: %s = %.4f, want %.2f", volume, symbol, x, want)
			}
		}
		if volume == "40.00" {
			continue
		}
		if x := got["α(Y⁴⁻)"]; math.Abs(x-0.299) > 6e-4 {
			t.Errorf("α = %.4f, want 0.299", x)
		}
		if x := got["lg K′(CaY²⁻)"]; math.Abs(x-10.126) > 6e-4 {
			t.Errorf("lg K' = %.4f, want 10.126", x)
		}
	}
}

// Silver with chloride, closed forms: pAg = pKsp + lg [Cl-] before, ½ pKsp at
// equivalence, -lg of the excess beyond.
func TestChloride(t *testing.T) {
	const text = `
find: Cl^-
flask: {volume: 25.00 mL, contains: {Cl^-: 0.0800 mol/L}}
burette: {contains: {Ag^+: 0.1000 mol/L}}
electrode: {indicator: silver, reference: SCE}
library: off
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.74}
`
	for volume, want := range map[string]float64{"10.00": 9.74 + math.Log10(1.0/35), "20.00": 9.74 / 2, "40.00": -math.Log10(2.0 / 65)} {
		got := results(t, text, volume)
		for _, symbol := range []string{"p_textbook(Ag⁺)", "p(Ag⁺)"} {
			if x, ok := got[symbol]; !ok || math.Abs(x-want) > 1e-5 {
				t.Errorf("%s mL: %s = %.6f, want %.6f", volume, symbol, x, want)
			}
		}
	}
}

// Iodide and chloride to equal final chloride, Ksp 8.3e-17 and 1.8e-10: when AgCl
// starts, [I-]/[Cl-] is the quotient of the products, 4.6e-7. Both expressions
// for the silver at the iodide's equivalence point must then agree.
func TestIodideAndChloride(t *testing.T) {
	const text = `
find: [I^-, Cl^-]
flask: {volume: 50.00 mL, contains: {I^-: 0.0500 mol/L, Cl^-: 0.0500 mol/L}}
burette: {contains: {Ag^+: 0.1000 mol/L}}
electrode: {indicator: silver, reference: SCE}
library: off
chemistry:
  - {reaction: AgI(s) = Ag^+ + I^-, pKsp: 16.0809}
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.7447}
`
	got := results(t, text, "25.00")
	if x, want := got["p_textbook(Ag⁺)"], 9.7447+math.Log10(2.5/75); math.Abs(x-want) > 1e-9 {
		t.Errorf("pAg = %.6f, want %.6f", x, want)
	}
	if d := got["p_textbook(Ag⁺)"] - got["p(Ag⁺)"]; math.Abs(d) > 1e-5 {
		t.Errorf("textbook and exact differ by %g", d)
	}
	iodide := 16.0809 - got["p(Ag⁺)"] // minus lg [I-]
	if ratio := math.Pow(10, -iodide) / (2.5 / 75); math.Abs(ratio/4.6e-7-1) > 0.01 {
		t.Errorf("[I-]/[Cl-] = %.3g, want 4.6e-7", ratio)
	}
}

// Permanganate read at twice: E0' = E(2 V_e) + 94.65 mV × pH, 8/5 of 59.159 mV.
func TestPermanganateNeedsThePH(t *testing.T) {
	if x := results(t, ironPermanganate, "50.00")["k(MnO₄⁻/Mn²⁺)"]; math.Abs(x-0.09465) > 6e-6 {
		t.Errorf("%.6f V per unit of pH, want 0.09465", x)
	}
	s := read(t, "../examples/systems/iron-dichromate.yaml")
	d, err := At(s, unit.Decimal{})
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := working.WriteText(&b, d); err != nil {
		t.Fatal(err)
	}
	if text := strings.Join(strings.Fields(b.String()), " "); !strings.Contains(text, "the potential is not that of Cr₂O₇²⁻/Cr³⁺") {
		t.Error("the rule of twice is not refused for dichromate")
	}
}

// couples is a setup of two couples at 25 °C: 50 mL of the one at 0.05 mol/L with
// as much of the other as makes the end 25 mL.
func couples(reduction2 string, e1, e2 float64, perTitrant float64) string {
	return fmt.Sprintf(`
flask: {volume: 50.00 mL, contains: {A^2+: 0.0500 mol/L}}
burette: {contains: {B^8+: %g mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: A^3+ + e^- = A^2+, formal potential: %g V, unbalanced: allowed}
  - {reaction: %s, formal potential: %g V, unbalanced: allowed}
`, 0.1/perTitrant, e1, reduction2, e2)
}

// How far apart the potentials must be for 99, 99.9 and 99.99 % reaction at the
// equivalence point: p × 59.16 mV × (1/n1 + 1/n2) for p = 2, 3, 4, by hand.
func TestHowFarApart(t *testing.T) {
	for _, c := range []struct {
		n    float64
		want [3]float64
	}{
		{1, [3]float64{0.237, 0.355, 0.473}},
		{2, [3]float64{0.177, 0.266, 0.355}},
		{5, [3]float64{0.142, 0.213, 0.284}},
		{6, [3]float64{0.138, 0.207, 0.276}},
	} {
		got := results(t, couples(fmt.Sprintf("B^8+ + %g e^- = B^%g+", c.n, 8-c.n), 0.70, 1.10, c.n), "25.00")
		for i, symbol := range []string{"ΔE₉₉", "ΔE_99.9", "ΔE_99.99"} {
			if x, ok := got[symbol]; !ok || math.Abs(x-c.want[i]) > 5.1e-4 {
				t.Errorf("1 and %g electrons: %s = %.4f V, want %.3f", c.n, symbol, x, c.want[i])
			}
		}
		// What is left by the rule, 1/(1 + 10^p), is what the balances leave.
		p := 0.4 / 0.059159 / (1 + 1/c.n)
		if want := 100 / (1 + math.Pow(10, p)); math.Abs(got["x"]/want-1) > 1e-3 || math.Abs(got["x_exact"]/want-1) > 1e-3 {
			t.Errorf("1 and %g electrons: left are %g %% and exactly %g %%, want %g %%", c.n, got["x"], got["x_exact"], want)
		}
	}
}

// The inflection beside the equivalence point. Iron and permanganate: 1.3579 V
// against 1.3717 V, and a volume nobody sees. 0.20 V apart: -0.17 % (n = 1) and
// -0.25 % (n = 5); 0.30 V apart: -34 and -98 ppm. Computed apart from this
// program with the CODATA constants.
func TestInflection(t *testing.T) {
	got := results(t, ironPermanganate, "25.00")
	for symbol, want := range map[string]float64{"E_eq": 1.3717, "E_inf": 1.3579, "E_inf,exact": 1.3579} {
		if x, ok := got[symbol]; !ok || math.Abs(x-want) > 6e-5 {
			t.Errorf("iron and permanganate: %s = %.5f V, want %.4f V", symbol, x, want)
		}
	}
	if x := got["δ_exact"]; math.Abs(x) > 1e-9 { // 1e-5 ppm
		t.Errorf("iron and permanganate: %g %%, want below 1e-9 %%", x)
	}
	for _, c := range []struct {
		n, apart, want, tol float64
	}{{1, 0.20, -0.17, 0.005}, {5, 0.20, -0.25, 0.005}, {1, 0.30, -0.0034, 5e-5}, {5, 0.30, -0.0098, 5e-5}} {
		got := results(t, couples(fmt.Sprintf("B^8+ + %g e^- = B^%g+", c.n, 8-c.n), 0.70, 0.70+c.apart, c.n), "25.00")
		if x, ok := got["δ_exact"]; !ok || math.Abs(x-c.want) > c.tol {
			t.Errorf("n = %g, %g V: %.4f %%, want %g %%", c.n, c.apart, x, c.want)
		}
		if x, ok := got["δ"]; c.n == 5 && (!ok || math.Abs(x-c.want) > c.tol) {
			t.Errorf("n = %g, %g V: by the rule %.4f %%, want %g %%", c.n, c.apart, x, c.want)
		}
	}
}

// A titrant that reduces gives the mirror image: the same part of the volume,
// and 2 × 59.159 mV × lg 5 / 6 = 13.78 mV above the equivalence point.
func TestInflectionOfAReduction(t *testing.T) {
	got := results(t, `
flask: {volume: 50.00 mL, contains: {A^3+: 0.0500 mol/L}}
burette: {contains: {B^3+: 0.0200 mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: A^3+ + e^- = A^2+, formal potential: 0.90 V, unbalanced: allowed}
  - {reaction: B^8+ + 5 e^- = B^3+, formal potential: 0.70 V, unbalanced: allowed}
`, "25.00")
	for symbol, want := range map[string][2]float64{"δ": {-0.25, 0.005}, "δ_exact": {-0.25, 0.005}} {
		if x, ok := got[symbol]; !ok || math.Abs(x-want[0]) > want[1] {
			t.Errorf("%s = %.4f %%, want %g %%", symbol, x, want[0])
		}
	}
	if x := got["E_inf"] - got["E_eq"]; math.Abs(x-0.01378) > 1e-5 {
		t.Errorf("E_inf - E_eq = %.5f V, want 0.01378 V", x)
	}
}

// 520 mV against Ag/AgCl in saturated KCl (0.197 V) are 717 mV against SHE and
// 476 mV against SCE (0.241 V).
func TestReadingAgainstOthers(t *testing.T) {
	find := func(name string) electrode.Reference {
		r, err := electrode.FindReference(name)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	d, err := Conversion(0.520, find("Ag/AgCl, sat. KCl"), []electrode.Reference{find("SHE"), find("SCE"), find("Ag/AgCl, sat. KCl")}, 298.15)
	if err != nil {
		t.Fatal(err)
	}
	got, formulas := lastSteps(t, d)
	for symbol, want := range map[string]float64{"E_SHE": 717, "E₁": 476, "E₂": 520} {
		if x, ok := got[symbol]; !ok || math.Abs(x-want) > 1e-9 || formulas[symbol] == nil {
			t.Errorf("%s = %g mV, want %g by a formula; have %v", symbol, x, want, got)
		}
	}
}

// 0.1000 mol/L sodium hydroxide with 0.36 mmol/L of carbon dioxide: 0.09964 mol/L
// by phenolphthalein (-0.36 %), 0.1000 mol/L by methyl orange; in the flask the
// end points lie at 24.82 + 0.09 and 25.00 mL.
func TestCarbonDioxideInAlkali(t *testing.T) {
	for _, text := range []string{
		`{flask: {volume: 25.00 mL, contains: {NaOH: 0.1000 mol/L, CO2: 0.36 mmol/L}}, burette: {contains: {HCl: 0.1000 mol/L}}, electrode: {indicator: glass}}`,
		`{find: HCl, flask: {volume: 25.00 mL, contains: {HCl: 0.1000 mol/L}}, burette: {contains: {NaOH: 0.1000 mol/L, CO2: 0.36 mmol/L}}, electrode: {indicator: glass}}`,
	} {
		got := results(t, text, "10.00")
		for symbol, want := range map[string][2]float64{"c_left(OH⁻)": {0.09928, 1e-9}, "c_p(OH⁻)": {0.09964, 1e-9}, "c_m(OH⁻)": {0.1000, 1e-9}, "e_p": {-0.36, 1e-9}, "e_m": {0, 1e-9}} {
			if x, ok := got[symbol]; !ok || math.Abs(x-want[0]) > want[1] {
				t.Errorf("%s = %g, want %g", symbol, x, want[0])
			}
		}
		if strings.Contains(text, "find") {
			continue
		}
		s, err := setup.Read([]byte(text), "question.yaml")
		if err != nil {
			t.Fatal(err)
		}
		b, err := newBuilder(s)
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range []float64{24.82, 24.91, 25.00} {
			if ends := b.soughtEnds(); i >= len(ends) || math.Abs(ends[i]*1e3-want) > 1e-6 {
				t.Errorf("ends %v L, want %g mL among them", ends, want)
			}
		}
	}
}

// What meets in the flask reacts there first: phosphoric acid takes the base of
// one and a half protons, and what base is too little for stays acid.
func TestFlaskSettles(t *testing.T) {
	for _, c := range []struct {
		contains string
		want     map[string]float64
	}{
		{"H3PO4: 0.04 mol/L, NaOH: 0.06 mol/L", map[string]float64{"c(H₂PO₄⁻)": 0.02, "c(HPO₄²⁻)": 0.02}},
		{"CH3COOH: 0.1 mol/L, NaOH: 0.04 mol/L", map[string]float64{"c(CH₃COOH)": 0.06, "c(CH₃COO⁻)": 0.04}},
		{"NH3: 0.1 mol/L, HCl: 0.03 mol/L", map[string]float64{"c(NH₃)": 0.07, "c(NH₄⁺)": 0.03}},
		{"NH4Cl: 0.1 mol/L, CH3COOH: 0.1 mol/L, NaOH: 0.05 mol/L", map[string]float64{"c(CH₃COOH)": 0.05, "c(CH₃COO⁻)": 0.05}},
		{"CH3COOH: 0.1 mol/L, CH3COONa: 0.02 mol/L, NaOH: 0.04 mol/L", map[string]float64{"c(CH₃COOH)": 0.06, "c(CH₃COO⁻)": 0.06}},
		{"HCl: 0.1 mol/L, Na2CO3: 0.02 mol/L", map[string]float64{"c(H⁺)": 0.06, "c(CO₂)": 0.02}},
	} {
		text := "{flask: {volume: 25.00 mL, contains: {" + c.contains + "}}, burette: {contains: {NaOH: 0.1 mol/L}}, electrode: {indicator: glass}}"
		got := results(t, text, "1.00")
		s, err := setup.Read([]byte(text), "question.yaml")
		if err != nil {
			t.Fatal(err)
		}
		b, err := newBuilder(s)
		if err != nil {
			t.Fatal(err)
		}
		for f, e := range b.mix.sum { // what the stages start from is what the steps show
			if e == nil {
				continue
			}
			if x, err := working.Eval(e); err != nil || math.Abs(x-b.mix.conc[f]) > 1e-12 {
				t.Errorf("%s: %s is %g mol/L, the steps say %g (%v)", c.contains, f, b.mix.conc[f], x, err)
			}
		}
		for symbol, want := range c.want {
			if x, ok := got[symbol]; !ok || math.Abs(x-want) > 1e-12 {
				t.Errorf("%s: %s = %g mol/L, want %g; have %v", c.contains, symbol, x, want, got)
			}
		}
	}
}
