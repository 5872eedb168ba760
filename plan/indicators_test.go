package plan

import (
	"errors"
	"math"
	"strings"
	"testing"
)

func find(t *testing.T, p *Plan, name string, point int) IndicatorFit {
	t.Helper()
	for _, f := range p.Indicators {
		if f.Name == name && f.Point == point {
			return f
		}
	}
	t.Fatalf("%s is not listed", name)
	return IndicatorFit{}
}

// calciumHeld is calcium with EDTA at a held pH, with the constants of a common
// exercise: log K 10.65, pKa 2.00, 2.69, 6.13 and 10.37.
const calciumHeld = `
find: Ca^2+
flask: {volume: 50.0 mL, contains: {Ca^2+: 0.0100 mol/L}}
burette: {contains: {Y^4-: 0.0100 mol/L}}
electrode: {indicator: "Ca^2+"}
hold: {pH: 10}
library: off
chemistry:
  - {reaction: Ca^2+ + Y^4- = CaY^2-, log K: 10.65}
  - {reaction: HY^3- = Y^4- + H^+, pKa: 10.37}
  - {reaction: H2Y^2- = HY^3- + H^+, pKa: 6.13}
  - {reaction: H3Y^- = H2Y^2- + H^+, pKa: 2.69}
  - {reaction: H4Y = H3Y^- + H^+, pKa: 2.00}
`

// log K' = 10.65 + log 0.299 = 10.126 at pH 10: the exercise's answer. With C
// 0.005 mol/L at equivalence log(C K') is 7.82.
func TestConditionalConstant(t *testing.T) {
	p := planned(t, calciumHeld, Options{})
	if k := p.Jumps[0].LogK; math.Abs(k-10.126) > 0.001 {
		t.Errorf("log K' %.4f, the exercise has 10.126", k)
	}
	if len(p.Rules) != 1 || !strings.Contains(p.Rules[0], "= 7.82 ") || !strings.HasSuffix(p.Rules[0], ": met") {
		t.Errorf("rules: %q", p.Rules)
	}
}

// Closed form for a metal indicator at pH 10: with log K 5.4 and pKa 6.3 and
// 11.6, log alpha is 1.611, so pCa 3.789. Before equivalence, with V of titrant
// in V0, [Ca] = c (V0 - V)/(V0 + V) to better than 1 % of the rest, as next to
// nothing dissociates (K' 1.3e10).
func TestMetalIndicatorError(t *testing.T) {
	p := planned(t, calciumHeld, Options{})
	f := find(t, p, "eriochrome black T", 0)
	if math.Abs(f.At-3.789) > 0.001 || f.Scale != "pCa^2+" {
		t.Errorf("changes at %s %.4f, closed form pCa 3.789", f.Scale, f.At)
	}
	x := math.Pow(10, -3.789) / 0.0100
	if want := (1-x)/(1+x) - 1; math.Abs(f.Part/want-1) > 0.01 {
		t.Errorf("error %.5f, closed form %.5f", f.Part, want)
	}
	if f.Colour[0].Word != "wine-red" || f.Colour[1].Word != "blue" {
		t.Errorf("from %s to %s: the metal leaves the indicator", f.Colour[0].Word, f.Colour[1].Word)
	}
}

// Closed form for chromate of 0.005 mol/L, Ksp 10^-11.92: [Ag] = 10^-4.809.
// With AgCl, Ksp 10^-9.74, c(V - V_e)/(V_e + V0) = [Ag] - [Cl]; complexes of
// chloride and hydroxide are left out, so 2 % is allowed.
func TestChromateError(t *testing.T) {
	p := planned(t, `
find: Cl^-
flask: {volume: 25.00 mL, contains: {Cl^-: 0.0800 mol/L}}
burette: {contains: {Ag^+: 0.1000 mol/L}}
electrode: {indicator: silver}
library: off
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.74}
`, Options{})
	f := find(t, p, "chromate", 0)
	ag := math.Pow(10, -(11.92+math.Log10(0.005))/2)
	want := (ag - math.Pow(10, -9.74)/ag) * (0.020 + 0.025) / 0.1 // L
	if math.Abs(f.Error/want-1) > 0.02 || !f.Fits {
		t.Errorf("error %g mL, closed form %g mL", f.Error*1e3, want*1e3)
	}
	if math.Abs(f.At+math.Log10(ag)) > 1e-6 || f.Scale != "pAg^+" {
		t.Errorf("changes at %s %.4f, closed form pAg %.4f", f.Scale, f.At, -math.Log10(ag))
	}
	if g := find(t, p, "fluorescein", 0); !math.IsNaN(g.Error) || g.Fits {
		t.Errorf("fluorescein is not computed, yet has an error of %g", g.Error)
	}
}

// Starch shows triiodide of 5e-6 mol/L. With iodide of 0.1 mol/L and the
// constant 10^2.85 nearly all iodine is triiodide: what is left at the change
// is 5e-6 (1 + 1/(K [I])) (V0 + V), each taking two thiosulfate.
func TestStarchError(t *testing.T) {
	p := example(t, "iodine-thiosulfate", Options{})
	f := find(t, p, "starch", 0)
	iodide := (0.200*25 + 2*0.0400*25) / 45 // mol/L at the end
	want := -2 * 5e-6 * (1 + 1/(math.Pow(10, 2.85)*iodide)) * 0.045 / 0.1
	if math.Abs(f.Error/want-1) > 0.02 {
		t.Errorf("error %g mL, closed form %g mL", f.Error*1e3, want*1e3)
	}
	if f.Colour[0].Word != "blue" || f.Colour[1].Word != "colourless" {
		t.Errorf("from %s to %s", f.Colour[0].Word, f.Colour[1].Word)
	}
}

// Alkali of 0.1 mol/L that has taken up 0.36 mmol/L of carbon dioxide is worth
// 0.36 % less with an indicator that changes at hydrogencarbonate (pH 8.34,
// midway between 6.35 and 10.33), and as much as without with methyl orange.
func TestCarbonatedAlkali(t *testing.T) {
	worth := func(contains string) map[string]float64 {
		p := planned(t, `
find: NaOH
flask: {volume: 25.00 mL, contains: {`+contains+`}}
burette: {contains: {HCl: 0.1000 mol/L}}
electrode: {indicator: glass}
`, Options{Indicators: []string{"pH 8.34", "methyl orange"}})
		out := map[string]float64{}
		for _, f := range p.Indicators {
			if f.Asked && !math.IsNaN(f.Error) {
				out[f.Name] = p.Jumps[f.Point].Volume + f.Error
			}
		}
		return out
	}
	fresh, old := worth("NaOH: 0.1000 mol/L"), worth("NaOH: 0.09928 mol/L, Na2CO3: 0.00036 mol/L")
	for name, want := range map[string]float64{"pH 8.34": -0.0036, "methyl orange": 0} {
		if got := old[name]/fresh[name] - 1; !(math.Abs(got-want) < 0.0002) {
			t.Errorf("%s: worth %+.3f %%, want %+.2f %%", name, 100*got, 100*want)
		}
	}
}

func TestIndicatorAskedFor(t *testing.T) {
	for _, ok := range []string{"0.85 V", "850 mV", "pH 8.3", "pH8.3", "Ferroin", "chromate", "phenolphthalein"} {
		if err := CheckIndicator(ok); err != nil {
			t.Errorf("%q: %v", ok, err)
		}
	}
	var wrong *IndicatorError
	if err := CheckIndicator("diphenylamin sulfonat"); !errors.As(err, &wrong) || len(wrong.Near) == 0 {
		t.Errorf("a name misspelt gives %v", err)
	}
	for _, bad := range []string{"0.85", "25 mL", "litmus", ""} {
		if CheckIndicator(bad) == nil {
			t.Errorf("%q passes", bad)
		}
	}
}
