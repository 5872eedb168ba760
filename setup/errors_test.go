package setup

import (
	"errors"
	"strings"
	"testing"
)

// wantError reads a setup that must be refused with all of the words.
func wantError(t *testing.T, text string, words ...string) {
	t.Helper()
	_, err := Read([]byte(text), "bad.yaml")
	var e *Error
	if !errors.As(err, &e) {
		t.Errorf("error %v, want one with %q", err, words)
		return
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%v\n\twant %q in it", err, w)
		}
	}
}

const ironFlask = `flask:
  volume: 50 mL
  contains: {Fe^2+: 0.05 mol/L}
`

// Every message quotes what stands in the file, shows the line and says what
// would be right.
func TestErrorsOfChemistry(t *testing.T) {
	permanganate := "burette:\n  contains: {MnO4^-: 0.02 mol/L}\n"
	iron := "chemistry:\n  - {reaction: Fe^3+ + e^- = Fe^2+, standard potential: 0.771 V}\n"
	for _, c := range []struct {
		name, text string
		words      []string
	}{
		{
			"H+ from nowhere", ironFlask + permanganate + iron + "  - {reaction: MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, standard potential: 1.51 V}\nlibrary: off\n",
			[]string{"bad.yaml:8", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", "hold: {pH: 0}", "under contains", "without H^+", "standard potential: 1.51 V"},
		},
		{
			"H+ from nowhere, tables", ironFlask + "burette:\n  contains: {KMnO4: 0.02 mol/L}\n",
			[]string{"flask", "MnO4^- + 8 H^+ + 5 e^-", "hold: {pH: 0}"},
		},
		{
			"ammonium is no source", "flask:\n  volume: 50 mL\n  contains: {Fe(NH4)2(SO4)2: 0.05 mol/L}\nburette:\n  contains: {KMnO4: 0.02 mol/L}\n",
			[]string{"MnO4^- + 8 H^+ + 5 e^-", "under contains"},
		},
		{
			"H+ from nowhere for a later step", "flask:\n  volume: 50 mL\n  contains: {V^2+: 0.05 mol/L}\nburette:\n  contains: {Ce^4+: 0.1 mol/L}\n",
			[]string{"VO^2+ + 2 H^+", "hold: {pH: 0}"},
		},
		{
			"H+ in the medium alone", "flask:\n  volume: 50 mL\n  contains: {V^2+: 0.05 mol/L}\n  medium: 1 mol/L H2SO4\nburette:\n  contains: {Ce^4+: 0.1 mol/L}\n",
			[]string{"VO^2+ + 2 H^+", "the medium adds none", "hold: {pH: 0}"},
		},
		{
			"unbalanced elements", ironFlask + permanganate + "chemistry:\n  - {reaction: MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 3 H2O, standard potential: 1.51 V}\n",
			[]string{"bad.yaml:7", "MnO4^- + 8 H^+", "O"},
		},
		{
			"unbalanced charge", ironFlask + permanganate + "chemistry:\n  - {reaction: Fe^3+ + 2 e^- = Fe^2+, standard potential: 0.771 V}\n",
			[]string{"bad.yaml:7", "charge"},
		},
		{
			"unknown species", "flask:\n  volume: 50 mL\n  contains: {Xe^2+: 0.05 mol/L}\nburette:\n  contains: {Ce^4+: 0.1 mol/L}\n",
			[]string{"bad.yaml:3", "Xe^2+", "chemistry", "library: off"},
		},
		{
			"a species by another formula", "flask:\n  volume: 50 mL\n  contains: {C2H3O2^-: 0.05 mol/L}\nburette:\n  contains: {NaOH: 0.1 mol/L}\n",
			[]string{"C2H3O2^-", "CH3COO^-"},
		},
		{
			"potential without electrons", ironFlask + permanganate + "chemistry:\n  - {reaction: CH3COOH = CH3COO^- + H^+, standard potential: 0.3 V}\n",
			[]string{"bad.yaml:7", "CH3COOH = CH3COO^- + H^+", "no electrons", "pKa, log beta, log K or pKsp"},
		},
		{
			"pKa of a half-reaction", ironFlask + permanganate + "chemistry:\n  - {reaction: Fe^3+ + e^- = Fe^2+, pKa: 3}\n",
			[]string{"bad.yaml:7", "half-reaction", "formal or standard potential"},
		},
		{
			"pKsp without a solid", ironFlask + permanganate + "chemistry:\n  - {reaction: AgCl(aq) = Ag^+ + Cl^-, pKsp: 3}\n",
			[]string{"pKsp belongs to a solid that dissolves", "AgCl(s) = Ag^+ + Cl^-"},
		},
		{
			"pKa of a base", ironFlask + permanganate + "chemistry:\n  - {reaction: NH3 + H^+ = NH4^+, pKa: 9.2}\n",
			[]string{"pKa belongs to an acid that gives off H^+"},
		},
		{
			"two constants", ironFlask + permanganate + "chemistry:\n  - {reaction: CH3COOH = CH3COO^- + H^+, pKa: 4.7, log K: -4.7}\n",
			[]string{"already has a pKa", "one constant"},
		},
		{
			"no unit", ironFlask + permanganate + "chemistry:\n  - {reaction: Fe^3+ + e^- = Fe^2+, standard potential: 0.771}\n",
			[]string{"bad.yaml:7", "0.771", "0.68 V"},
		},
		{
			"formal potential under davies", ironFlask + ceriumBurette + "activity: davies\nchemistry:\n  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}\n  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}\n",
			[]string{"bad.yaml:9", "Fe^3+ + e^- = Fe^2+", "activity: ideal", "standard potential"},
		},
		{
			"medium under davies", ironFlask + "  medium: 1 mol/L H2SO4\n" + ceriumBurette + "activity: davies\n",
			[]string{"activity", "formal potential", "activity: ideal"},
		},
		{
			"unknown medium", ironFlask + "  medium: 3 mol/L HNO2\n" + ceriumBurette,
			[]string{"bad.yaml:4", "3 mol/L HNO2", "1 mol/L H2SO4", "1 mol/L HClO4", "Without medium"},
		},
		{
			"reactions that repeat one another", ironFlask + permanganate + "chemistry:\n  - {reaction: I2 + 2 e^- = 2 I^-, standard potential: 0.615 V}\n  - {reaction: I3^- + 2 e^- = 3 I^-, standard potential: 0.536 V}\n  - {reaction: I2 + I^- = I3^-, log K: 2.85}\nlibrary: off\n",
			[]string{"I3^-", "follow from one another", "keep all but one"},
		},
		{
			"constant for too strong a solution", ironFlask + permanganate + "activity: davies\nlibrary: off\nchemistry:\n  - {reaction: Fe^2+ + Cl^- = FeCl^+, log K: 0.3, ionic strength: 3 mol/L}\n",
			[]string{"3 mol/L", "Fe^2+ + Cl^- = FeCl^+", "lower ionic strength", "activity: ideal"},
		},
	} {
		t.Run(c.name, func(t *testing.T) { wantError(t, c.text, c.words...) })
	}
}

func TestMixedPotentialsAreNamed(t *testing.T) {
	s := readText(t, ironFlask+ceriumBurette+`library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, standard potential: 1.72 V}
`)
	checkWarnings(t, s, "formal and standard potentials are mixed: Ce^4+ + e^- = Ce^3+")
}
