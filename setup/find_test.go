package setup

import (
	"slices"
	"strings"
	"testing"
)

// A salt, an acid or a base under find means the ion of it that an equivalence
// point hangs on: the one that is not a bystander. Where two are titrated
// there is no one concentration, which is said; so is it where none is.
func TestFindOfSalts(t *testing.T) {
	for _, x := range []struct{ find, flask, burette, ion, unfound string }{
		{"NaOH", "NaOH: 0.05 mol/L", "HCl: 0.1 mol/L", "OH^-", ""},
		{"HCl", "HCl: 0.05 mol/L", "NaOH: 0.1 mol/L", "H^+", ""},
		{"Na2CO3", "Na2CO3: 0.05 mol/L", "HCl: 0.1 mol/L", "CO3^2-", ""},
		{"KHC8H4O4", "KHC8H4O4: 0.05 mol/L", "NaOH: 0.1 mol/L", "HC8H4O4^-", ""},
		{"NH4Cl", "NH4Cl: 0.05 mol/L", "AgNO3: 0.1 mol/L", "Cl^-", ""},
		{"NH4Cl", "NH4Cl: 0.05 mol/L", "NaOH: 0.1 mol/L", "NH4^+", ""},
		{"NaOH in burette", "HCl: 0.05 mol/L", "NaOH: 0.1 mol/L", "OH^-", ""},
		{"AgNO3 in burette", "NaCl: 0.05 mol/L", "AgNO3: 0.1 mol/L", "Ag^+", ""},
		{"FeSO4", "FeSO4: 0.05 mol/L, H2SO4: 1 mol/L", "KMnO4: 0.02 mol/L", "Fe^2+", ""},
		{"CH3COOH", "CH3COOH: 0.05 mol/L", "NaOH: 0.1 mol/L", "CH3COOH", ""},
		{"H2SO4", "H2SO4: 0.05 mol/L", "NaOH: 0.1 mol/L", "H2SO4", "hang on both"},
		{"NaCl", "NaCl: 0.05 mol/L, HCl: 0.05 mol/L", "NaOH: 0.1 mol/L", "NaCl", "no equivalence point hangs on NaCl"},
	} {
		s, err := Read([]byte("find: "+x.find+"\nflask: {volume: 25 mL, contains: {"+x.flask+"}}\nburette: {contains: {"+x.burette+"}}\n"), "salt.yaml")
		if err != nil {
			t.Errorf("%s: %v", x.find, err)
			continue
		}
		f := s.Find[0]
		if f.Species != x.ion || f.Text != x.find || !strings.Contains(f.Unfound, x.unfound) || (x.unfound == "") != (f.Unfound == "") {
			t.Errorf("find: %s with %s in the burette is %+v, want %s %q", x.find, x.burette, f, x.ion, x.unfound)
		}
		said := slices.ContainsFunc(s.Notes, func(n string) bool { return strings.Contains(n, "is found by its "+x.ion) })
		if name, _, _ := strings.Cut(x.find, " in "); said != (x.ion != name) {
			t.Errorf("find: %s: notes %q", x.find, s.Notes)
		}
	}
}
