package setup

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"meniscus/constants"
	"meniscus/internal/worked"
)

var publishedSalts = map[string]func(*testing.T, worked.Record){
	"edta-harvey-cd-nh3": func(t *testing.T, r worked.Record) { predicted(t, r, cadmium(t, r), 0) },
	"edta-harvey-cd-points": func(t *testing.T, r worked.Record) {
		s := cadmium(t, r)
		for _, e := range r.Expected {
			what, volume, _ := strings.Cut(strings.TrimSuffix(e.Quantity, " mL"), " at ")
			get := func(name string) float64 { return place1(t, s, worked.Place{What: name, VolumeML: volume}, 0) }
			switch what {
			case "C_Cd":
				compare(t, r, e, get("[Cd2+]")+get("[CdX2+]"))
			case "C_EDTA":
				compare(t, r, e, get("[Y4-]"))
			default:
				compare(t, r, e, get(what))
			}
		}
	},
	"edta-alpha-older":  alphaY([]float64{2.0, 2.67, 6.16, 10.26}),
	"edta-alpha-harris": alphaY([]float64{0.0, 1.5, 2.0, 2.69, 6.13, 10.37}),
	"edta-pKa-six":      edtaConstants,
	"edta-free-ca":      freeCalcium,
	"edta-harris-mg": func(t *testing.T, r worked.Record) {
		predicted(t, r, bench{
			volume: "50.0", flask: "Mg^2+: 0.04", burette: "Y^4-: 0.08",
			chemistry: []string{"Mg^2+ + Y^4- = MgY^2-, log K: 8.79", bound("Y^4-", "YP^4-", 0.3)},
			lines:     "electrode: {indicator: Mg^2+}\n",
		}.read(t), 0)
	},
	"edta-harvey-standardise": func(t *testing.T, r worked.Record) {
		e := r.Expected[0]
		calcium := input(t, r, "m_CaCO3_g") / input(t, r, "M_CaCO3") / input(t, r, "V_flask_mL") * 1e3
		compare(t, r, e, e.Value*calciumVolume(t, "50.0", calcium, e.Value)/input(t, r, "V_EDTA_mL"))
	},
	"edta-harvey-hardness": func(t *testing.T, r worked.Record) {
		e := r.Expected[0]
		v := calciumVolume(t, "100.0", e.Value*1e-3/input(t, r, "M_CaCO3"), input(t, r, "c_EDTA_M"))
		compare(t, r, e, e.Value*input(t, r, "V_EDTA_mL")/v)
	},

	"ppt-harvey-cl":     silverChloride("Cl^-: 0.05"),
	"ppt-harvey-cl-2.0": silverChloride("Cl^-: 0.05, Na^+: 0.05"),
	"ppt-harris-iodide": func(t *testing.T, r worked.Record) {
		s := bench{
			volume: "25.0", flask: "I^-: 0.1", burette: "Ag^+: 0.05", lines: "electrode: {indicator: silver}\n",
			chemistry: []string{fmt.Sprintf("AgI(s) = Ag^+ + I^-, pKsp: %.12g", -math.Log10(8.3e-17))},
		}.read(t)
		predicted(t, r, s, 0)
		if v := equivalence(t, s); math.Abs(v-50) > 1e-9 {
			t.Errorf("equivalence at %g mL", v)
		}
	},
	"ppt-agno3-standard": silverTitre,
	"ppt-E-conversion": func(t *testing.T, r worked.Record) {
		s := bench{
			volume: "50", flask: fmt.Sprintf("Ag^+: %.12g", math.Pow(10, -input(t, r, "pAg"))), burette: "Cl^-: 0.1",
			chemistry: []string{"AgCl(s) = Ag^+ + Cl^-, pKsp: 9.74"},
			lines:     "electrode: {indicator: silver, standard potential: 0.7993 V}\n",
		}.read(t)
		compare(t, r, r.Expected[0], at(t, s.Titration.Predictor(), 0).Standard-input(t, r, "E_ref_SCE_V"))
	},
}

// bound is a reaction that leaves the share alpha of a species free.
func bound(free, label string, alpha float64) string {
	return fmt.Sprintf("%s = %s, log K: %.15g, unbalanced: allowed", free, label, math.Log10((1-alpha)/alpha))
}

// cadmium: K' is for the sum of all cadmium without EDTA, of which alpha is free.
func cadmium(t *testing.T, r worked.Record) *Setup {
	t.Helper()
	alpha := input(t, r, "alpha_Cd2+")
	return bench{
		volume: "50.0", flask: "Cd^2+: 0.005", burette: "Y^4-: 0.01", lines: "electrode: {indicator: Cd^2+}\n",
		chemistry: []string{
			fmt.Sprintf("Cd^2+ + Y^4- = CdY^2-, log K: %.15g", math.Log10(input(t, r, "K_conditional")/alpha)),
			bound("Cd^2+", "CdX^2+", alpha),
		},
	}.read(t)
}

// alphaY: Y^4- with its protons at a held pH, for pKa from the first step on.
func alphaY(pKa []float64) func(*testing.T, worked.Record) {
	return func(t *testing.T, r worked.Record) {
		forms := []string{"Y^4-", "HY^3-", "H2Y^2-", "H3Y^-", "H4Y", "H5Y^+", "H6Y^2+"}
		var rows []string
		for i, pK := range pKa {
			j := len(pKa) - i // H in the acid of this step
			rows = append(rows, fmt.Sprintf("%s = %s + H^+, pKa: %g", forms[j], forms[j-1], pK))
		}
		for _, e := range r.Expected {
			pH := numberIn(t, e.Quantity, "pH ")
			s := bench{volume: "50", flask: "Y^4-: 0.01", burette: "Na^+: 0.1", chemistry: rows, lines: fmt.Sprintf("hold: {pH: %g}\nelectrode: {indicator: Y^4-}\n", pH)}.read(t)
			compare(t, r, e, place1(t, s, worked.Place{What: "[Y4-]", VolumeML: "0"}, 0)/0.01)
		}
	}
}

// edtaConstants: the tables have the six constants of the record.
func edtaConstants(t *testing.T, r worked.Record) {
	rows, err := constants.Acids()
	if err != nil {
		t.Fatal(err)
	}
	acids := []string{"H6Y^2+", "H5Y^+", "H4Y", "H3Y^-", "H2Y^2-", "HY^3-"}
	for i, e := range r.Expected {
		got := math.NaN()
		for _, row := range rows {
			if row.Also == "" && row.Reaction.Coefficient(acids[i]).Sign() < 0 {
				got = row.Value
			}
		}
		compare(t, r, e, got)
	}
}

func freeCalcium(t *testing.T, r worked.Record) {
	for _, pH := range []string{"10", "6"} {
		s := bench{
			volume: "50", flask: "CaY^2-: 0.1", burette: "Na^+: 0.1", lines: "electrode: {indicator: Ca^2+}\n",
			chemistry: []string{fmt.Sprintf("Ca^2+ + Y^4- = CaY^2-, log K: %g", input(t, r, "logK_CaY")), bound("Y^4-", "YP^4-", input(t, r, "alpha_Y_pH"+pH))},
		}.read(t)
		get := func(name string) float64 { return place1(t, s, worked.Place{What: name, VolumeML: "0"}, 0) }
		compare(t, r, expected(t, r, "[Ca2+] at pH "+pH), get("[Ca2+]"))
		compare(t, r, expected(t, r, "K' at pH "+pH), get("[CaY2-]")/get("[Ca2+]")/(get("[Y4-]")+get("[YP4-]")))
	}
}

// calciumVolume is V_eq of EDTA, mL; concentrations in mol/L.
func calciumVolume(t *testing.T, volume string, calcium, edta float64) float64 {
	t.Helper()
	return equivalence(t, bench{
		volume: volume, flask: fmt.Sprintf("Ca^2+: %.12g", calcium), burette: fmt.Sprintf("Y^4-: %.12g", edta),
		chemistry: []string{"Ca^2+ + Y^4- = CaY^2-, log K: 10.65"}, lines: "electrode: {indicator: Ca^2+}\n",
	}.read(t))
}

func silverChloride(flask string) func(*testing.T, worked.Record) {
	return func(t *testing.T, r worked.Record) {
		predicted(t, r, bench{
			volume: "50.0", flask: flask, burette: "Ag^+: 0.1", lines: "electrode: {indicator: silver}\n",
			chemistry: []string{fmt.Sprintf("AgCl(s) = Ag^+ + Cl^-, pKsp: %.12g", -math.Log10(1.8e-10))},
		}.read(t), 0)
	}
}

// silverTitre: each weighing with the printed titre asks for the volume
// read; the mean is of the three so found.
func silverTitre(t *testing.T, r worked.Record) {
	masses, err := r.Numbers("m_NaCl_g")
	if err != nil {
		t.Fatal(err)
	}
	volumes, err := r.Numbers("V_mL")
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i, m := range masses {
		e := expected(t, r, fmt.Sprintf("c%d", i+1))
		s := bench{
			volume: "50", flask: fmt.Sprintf("Cl^-: %.12g", m/input(t, r, "M_NaCl")/0.05), burette: fmt.Sprintf("Ag^+: %g", e.Value),
			chemistry: []string{"AgCl(s) = Ag^+ + Cl^-, pKsp: 9.74"}, lines: "electrode: {indicator: silver}\n",
		}.read(t)
		c := e.Value * equivalence(t, s) / volumes[i]
		compare(t, r, e, c)
		sum += c
	}
	compare(t, r, expected(t, r, "mean"), sum/3)
}
