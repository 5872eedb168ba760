package chem

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestCheck(t *testing.T) {
	for _, text := range []string{
		"MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O",
		"Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O",
		"1/2 Cr2O7^2- + 7 H^+ + 3 e^- = Cr^3+ + 7/2 H2O",
		"AgCl(s) = Ag^+ + Cl^-",
		"Ca^2+ + Y^4- = CaY^2-",
		"C10H14N2Na2O8·2H2O = 2 Na^+ + H2Y^2- + 2 H2O",
		"HIn = H^+ + In^-",
	} {
		if err := mustReaction(t, text).Check(); err != nil {
			t.Error(err)
		}
	}
	for text, want := range map[string]string{
		"MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 3 H2O":  "H 8 left, 6 right; O 4 left, 3 right",
		"MnO4^- + 8 H^+ + 4 e^- = Mn^2+ + 4 H2O":  "charge +3 left, +2 right",
		"Fe^3+ + e^- = Ce^2+":                     "Ce 0 left, 1 right; Fe 1 left, 0 right",
		"1/2 O2 + 2 e^- = OH^-":                   "H 0 left, 1 right; charge -2 left, -1 right",
		"EDTA^4- + H^+ = HEDTA^3-":                "elements cannot be checked, as these are not made of element symbols: EDTA^4-, HEDTA^3-",
		"EDTA^4- + H^+ = HEDTA^2- + OH^-":         "charge -3 left, -3 right",
		"2 S2O3^2- = S4O6^2- + e^-":               "charge -4 left, -3 right",
		"Fe(phen)3^3+ + e^- = Fe(phen)3^2+ + e^-": "both sides",
	} {
		r, err := ParseReaction(text)
		if err == nil {
			err = r.Check()
		}
		if text == "EDTA^4- + H^+ = HEDTA^2- + OH^-" {
			if err == nil || strings.Contains(err.Error(), "charge") {
				t.Errorf("%s: %v", text, err)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
}

func TestTallies(t *testing.T) {
	err := mustReaction(t, "MnO4^- + 8 H^+ = Mn^2+ + 4 H2O").Check()
	var e *UnbalancedError
	if !errors.As(err, &e) {
		t.Fatalf("error %v", err)
	}
	want := []Tally{
		{What: "H", Left: Whole(8), Right: Whole(8)},
		{What: "Mn", Left: Whole(1), Right: Whole(1)},
		{What: "O", Left: Whole(4), Right: Whole(4)},
		{What: "charge", Left: Whole(7), Right: Whole(2)},
	}
	if d := cmp.Diff(want, e.Tallies, cmp.AllowUnexported(Ratio{}, Tally{})); d != "" {
		t.Error(d)
	}
}

func TestCheckCharge(t *testing.T) {
	if err := mustReaction(t, "EDTA^4- + H^+ = HEDTA^3-").CheckCharge(); err != nil {
		t.Error(err)
	}
	err := mustReaction(t, "EDTA^4- + H^+ = HEDTA^2-").CheckCharge()
	if err == nil || !strings.HasSuffix(err.Error(), "not balanced: charge -3 left, -2 right") {
		t.Errorf("error %v", err)
	}
}

func TestFillWater(t *testing.T) {
	for text, want := range map[string]string{
		"MnO4^- + 8 H^+ + 5 e^- = Mn^2+":       "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O",
		"MnO2(s) + 4 OH^- = MnO4^- + 3 e^-":    "MnO2(s) + 4 OH^- = MnO4^- + 2 H2O + 3 e^-",
		"2 OH^- = 1/2 O2 + 2 e^-":              "2 OH^- = 1/2 O2 + H2O + 2 e^-",
		"H3BO3 = B(OH)4^- + H^+":               "H3BO3 + H2O = B(OH)4^- + H^+",
		"Fe^3+ + e^- = Fe^2+":                  "",
		"MnO4^- + 8 H^+ + 4 e^- = Mn^2+":       "",
		"MnO4^- + 7 H^+ + 5 e^- = Mn^2+":       "",
		"MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + H2O": "",
		"NH3 = NH4^+ + OH^-":                   "NH3 + H2O = NH4^+ + OH^-",
		"CO2(aq) = HCO3^- + H^+":               "CO2(aq) + H2O = HCO3^- + H^+",
		"Fe(phen)^2+ = Fe^2+":                  "",
		"O2 + CO2(aq) = HCO3^- + H^+":          "",
		"O2 + H2O2 + CO2(g) = O3 + CO2(aq)":    "O2 + H2O2 + CO2(g) = O3 + CO2(aq) + H2O",
		"Fe(OH)3(s) + 3 H^+ = Fe^3+":           "Fe(OH)3(s) + 3 H^+ = Fe^3+ + 3 H2O",
	} {
		r := mustReaction(t, text)
		got, ok := r.FillWater()
		if !ok && want == "" {
			if got.String() != r.String() {
				t.Errorf("%s turned into %s", text, got)
			}
			continue
		}
		if !ok || got.String() != want || got.Check() != nil {
			t.Errorf("%s: %s, %t, want %q", text, got, ok, want)
		}
	}
}

// TestBalance has coefficients that textbooks print.
func TestBalance(t *testing.T) {
	for _, c := range []struct {
		how        func(Reaction) (Reaction, error)
		text, want string
	}{
		{Reaction.Balance, "Fe^2+ + MnO4^- + H^+ = Fe^3+ + Mn^2+ + H2O", "5 Fe^2+ + MnO4^- + 8 H^+ = 5 Fe^3+ + Mn^2+ + 4 H2O"},
		{Reaction.Balance, "Fe^2+ + Cr2O7^2- + H^+ = Fe^3+ + Cr^3+ + H2O", "6 Fe^2+ + Cr2O7^2- + 14 H^+ = 6 Fe^3+ + 2 Cr^3+ + 7 H2O"},
		{Reaction.Balance, "H2C2O4 + MnO4^- + H^+ = CO2(g) + Mn^2+ + H2O", "5 H2C2O4 + 2 MnO4^- + 6 H^+ = 10 CO2(g) + 2 Mn^2+ + 8 H2O"},
		{Reaction.Balance, "I2 + S2O3^2- = I^- + S4O6^2-", "I2 + 2 S2O3^2- = 2 I^- + S4O6^2-"},
		{Reaction.Balance, "IO3^- + I^- + H^+ = I2 + H2O", "IO3^- + 5 I^- + 6 H^+ = 3 I2 + 3 H2O"},
		{Reaction.Balance, "7 Fe^2+ + 3 Ce^4+ = Fe^3+ + Ce^3+", "Fe^2+ + Ce^4+ = Fe^3+ + Ce^3+"},
		{Reaction.Balance, "Cu(s) + NO3^- + H^+ = Cu^2+ + NO(g) + H2O", "3 Cu(s) + 2 NO3^- + 8 H^+ = 3 Cu^2+ + 2 NO(g) + 4 H2O"},
		{Reaction.BalanceInAcid, "MnO4^- = Mn^2+", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O"},
		{Reaction.BalanceInAcid, "Cr2O7^2- = Cr^3+", "Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O"},
		{Reaction.BalanceInAcid, "Fe^2+ = Fe^3+", "Fe^2+ = Fe^3+ + e^-"},
		{Reaction.BalanceInAcid, "O2 = H2O", "O2 + 4 H^+ + 4 e^- = 2 H2O"},
		{Reaction.BalanceInAcid, "S2O8^2- = SO4^2-", "S2O8^2- + 2 e^- = 2 SO4^2-"},
		{Reaction.BalanceInAcid, "C2O4^2- = CO2(g)", "C2O4^2- = 2 CO2(g) + 2 e^-"},
		{Reaction.BalanceInBase, "MnO4^- = MnO2(s)", "MnO4^- + 2 H2O + 3 e^- = MnO2(s) + 4 OH^-"},
		{Reaction.BalanceInBase, "Cr(OH)4^- = CrO4^2-", "Cr(OH)4^- + 4 OH^- = CrO4^2- + 4 H2O + 3 e^-"},
	} {
		got, err := c.how(mustReaction(t, c.text))
		if err != nil {
			t.Error(err)
			continue
		}
		if got.String() != c.want {
			t.Errorf("%s: %s, want %s", c.text, got, c.want)
		}
		if err := got.Check(); err != nil {
			t.Error(err)
		}
	}
}

func TestBalanceErrors(t *testing.T) {
	for text, want := range map[string]string{
		"Fe^2+ = Ce^3+":                          "no coefficients",
		"H2O2 + MnO4^- + H^+ = Mn^2+ + O2 + H2O": "2 independent ways",
		"Fe^2+ + Ce^3+ = Fe^3+ + Ce^4+":          "other side",
		"Fe^2+ + Ce^4+ = Fe^3+ + Ce^3+ + Zn^2+":  "takes no part",
		"EDTA^4- + H^+ = HEDTA^3-":               "not made of element symbols",
	} {
		_, err := mustReaction(t, text).Balance()
		var e *BalanceError
		if !errors.As(err, &e) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error %v, want %s", text, err, want)
			continue
		}
		if (e.Ways > 1) != strings.Contains(want, "ways") {
			t.Errorf("%s: %d ways", text, e.Ways)
		}
	}
}

// TestBalanceLaws scales and shuffles reactions whose coefficients are known:
// balancing brings them back.
func TestBalanceLaws(t *testing.T) {
	known := []string{
		"5 Fe^2+ + MnO4^- + 8 H^+ = 5 Fe^3+ + Mn^2+ + 4 H2O",
		"BrO3^- + 5 Br^- + 6 H^+ = 3 Br2 + 3 H2O",
		"2 Fe^3+ + Sn^2+ = 2 Fe^2+ + Sn^4+",
		"CaSO4·0.5H2O(s) + 3/2 H2O = CaSO4·2H2O(s)",
	}
	rapid.Check(t, func(t *rapid.T) {
		r, err := ParseReaction(rapid.SampledFrom(known).Draw(t, "reaction"))
		if err != nil {
			t.Fatal(err)
		}
		shuffled := Reaction{rapid.Permutation(r.Terms).Draw(t, "order")}
		for i := range shuffled.Terms {
			c := &shuffled.Terms[i].Coefficient
			*c = Whole(int64(c.Sign() * rapid.IntRange(1, 20).Draw(t, "coefficient")))
		}
		got, err := shuffled.Balance()
		if err != nil {
			t.Fatal(err)
		}
		unit := Whole(1)
		for _, term := range r.Terms {
			unit = max2(unit, term.Coefficient.Den())
		}
		for _, term := range r.Terms {
			want, _ := times(term.Coefficient, unit)
			if c := got.Coefficient(term.Species.Name); c != want {
				t.Fatalf("%s: %s, want %s", got, c, want)
			}
		}
	})
}

func max2(a Ratio, den int64) Ratio { return Whole(max(a.Num(), den)) }
