package setup

import (
	"slices"
	"strings"
	"testing"
)

// No platinum electrode follows carbon dioxide to oxalate (common practice): the
// couple takes part where oxalate is titrated, and not because a buffer holds
// hydrogen carbonate.
func TestCoupleThatNeedsItsReductant(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       bool
	}{
		{"buffer", "flask: {volume: 50 mL, contains: {H3AsO3: 0.05 mol/L, NaHCO3: 0.1 mol/L}}\nburette: {contains: {I3^-: 0.05 mol/L, I^-: 0.1 mol/L}}\n", false},
		{"asked for", "flask: {volume: 50 mL, contains: {H3AsO3: 0.05 mol/L, NaHCO3: 0.1 mol/L}}\nburette: {contains: {I3^-: 0.05 mol/L, I^-: 0.1 mol/L}}\nallow: [H2C2O4]\n", true},
		{"oxalate", "flask: {volume: 50 mL, contains: {Na2C2O4: 0.05 mol/L, H2SO4: 1 mol/L}}\nburette: {contains: {KMnO4: 0.02 mol/L}}\n", true},
	} {
		s, err := Read([]byte(c.text+"electrode: {indicator: platinum, reference: SHE}\n"), c.name)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := slices.ContainsFunc(s.Reactions, func(r Reaction) bool {
			return strings.Contains(r.Equation, "H2C2O4") && strings.Contains(r.Equation, "e^-")
		}); got != c.want {
			t.Errorf("%s: the couple of oxalate takes part: %v, meant %v", c.name, got, c.want)
		}
	}
}
