package solution

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/unit"
)

func ExampleMake() {
	r, err := Make(Wanted{Solutes: []Solute{{Name: "Fe^2+", Conc: 0.1}}, Volume: 0.25})
	if err != nil {
		fmt.Println(err)
		return
	}
	p := r.Portions[0]
	fmt.Printf("%.3f g of %s\n", float64(p.Mass), p.Reagent.Formula)
	// Output: 9.803 g of Fe(NH4)2(SO4)2·6H2O
}

// Masses from the molar masses 392.13, 632.53, 548.22 and 294.185 g/mol that
// textbooks print (closed form c V M); 55.5 mL is 98.079 g of H2SO4 at 96 % and
// 1.84 g/mL.
func TestMakeMassesAndVolumes(t *testing.T) {
	for _, c := range []struct {
		solute Solute
		volume unit.Volume
		want   float64 // g, or mL of a liquid
		tol    float64
	}{
		{Solute{"Fe^2+", 0.1, "Fe(NH4)2(SO4)2·6H2O"}, 0.25, 9.803, 0.0005},
		{Solute{"Ce^4+", 0.1, "(NH4)4Ce(SO4)4·2H2O"}, 0.5, 31.626, 0.0011},
		{Solute{"Ce^4+", 0.05, "(NH4)2Ce(NO3)6"}, 0.25, 6.853, 0.0005},
		{Solute{"Cr2O7^2-", unit.Concentration(1.0 / 60), ""}, 0.25, 1.2258, 0.00006},
		{Solute{"H2SO4", 1, ""}, 1, 55.5, 0.05},
		{Solute{"FeSO4", 0.1, ""}, 1, 27.80, 0.005}, // M of FeSO4·7H2O 278.01, textbooks
		{Solute{"NH4^+", 0.2, "Fe(NH4)2(SO4)2·6H2O"}, 0.5, 392.13 * 0.05, 0.002},
	} {
		r, err := Make(Wanted{Solutes: []Solute{c.solute}, Volume: c.volume})
		if err != nil {
			t.Fatal(err)
		}
		p := r.Portions[0]
		got := float64(p.Mass)
		if p.Reagent.Form == constants.LiquidReagent {
			got = p.Volume.Millilitres()
		}
		if math.Abs(got-c.want) > c.tol {
			t.Errorf("%s from %s: %v, want %v", c.solute.Name, p.Reagent.Formula, got, c.want)
		}
		if r.Cautions.Closing == "" || len(r.Cautions.Hazards) == 0 {
			t.Errorf("%s: no cautions", c.solute.Name)
		}
	}
}

// A wrong or missing hydrate is refused with the masses of those known:
// 0.1 mol/L times 0.1 L is 2.4968 g of the pentahydrate (249.68 g/mol) and
// 1.596 g of the anhydrous salt (159.60 g/mol, textbooks).
func TestUnknownHydrateIsRefused(t *testing.T) {
	for _, from := range []string{"CuSO4·3H2O", "CuSO4"} {
		_, err := Make(Wanted{Solutes: []Solute{{"Cu^2+", 0.1, from}}, Volume: 0.1})
		var b *BottleError
		if !errors.As(err, &b) || !strings.Contains(err.Error(), "CuSO4·5H2O (2.497 g)") || !strings.Contains(err.Error(), "CuSO4 (1.596 g)") {
			t.Errorf("%s: %v", from, err)
		}
	}
	if _, err := Make(Wanted{Solutes: []Solute{{"Cu^2+", 0.1, "CuSO4 anhydrous"}}, Volume: 0.1}); err != nil {
		t.Errorf("anhydrous: %v", err)
	}
	if _, err := Make(Wanted{Solutes: []Solute{{"V^2+", 0.1, ""}}, Volume: 0.1}); err == nil || !strings.Contains(err.Error(), "VOSO4·5H2O") {
		t.Errorf("V^2+: %v", err)
	}
	if _, err := Make(Wanted{Solutes: []Solute{{"Fe^2+", 0.1, "KMnO4"}}, Volume: 0.1}); err == nil || !strings.Contains(err.Error(), "does not give") {
		t.Errorf("iron from permanganate: %v", err)
	}
}

func TestMediumChoosesTheSaltAndComesAlong(t *testing.T) {
	for medium, want := range map[string]string{
		"1 mol/L H2SO4": "(NH4)4Ce(SO4)4·2H2O", "1 mol/L HNO3": "(NH4)2Ce(NO3)6",
	} {
		r, err := Make(Wanted{Solutes: []Solute{{Name: "Ce^4+", Conc: 0.1}}, Medium: medium, Volume: 1})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Portions) != 2 || r.Portions[0].Reagent.Formula != want || len(r.Portions[0].Alternatives) != 2 {
			t.Errorf("%s: %v", medium, r.Portions)
		}
		if pour, weigh := stepWith(r, "Measure"), stepWith(r, "Weigh"); pour < 1 || weigh < pour {
			t.Errorf("%s: acid at step %d, salt at %d", medium, pour, weigh)
		}
	}
}

func stepWith(r Recipe, word string) int {
	for i, s := range r.Steps {
		if strings.HasPrefix(s, word) {
			return i
		}
	}
	return -1
}

// EURACHEM/CITAC QUAM:2012, example A1, as recalculated without rounding in a
// public library's documentation (read): u(c)/c is 0.835199/1002.69972.
func TestConcentrationByMassEurachemA1(t *testing.T) {
	b, err := Weighed{
		Mass: 0.10028, MassU: 0.00005, Purity: 0.9999, PurityU: 0.0001 / math.Sqrt(3),
		MolarMass: chem.MolarMass{Value: 1}, Volume: 0.1, Fill: 0.00002, Warm: 4,
	}.Concentration()
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(b.X*1000-1002.7) > 0.05 || math.Abs(b.U*1000-0.835199) > 2e-6 {
		t.Errorf("c = %v mg/L, u = %v", b.X*1000, b.U*1000)
	}
}

// EURACHEM/CITAC QUAM:2012, example A2, recalculated likewise (read).
func TestStandardisationEurachemA2(t *testing.T) {
	b, err := Standardisation{
		Mass: 0.3888, PurityU: 0.0005 / math.Sqrt(3), MolarMass: chem.MolarMass{Value: 204.2212, StdUnc: 0.0038}, PerUnit: 1,
		Volume: 0.01864, VolumeU: unit.Volume(1e-3 * math.Hypot(0.03/math.Sqrt(6), 0.006)), Repeatability: 0.0005,
	}.Concentration()
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(b.X-0.102136) > 1e-6 || math.Abs(b.U-0.0001005) > 1e-7 {
		t.Errorf("c = %v, u = %v", b.X, b.U)
	}
}

// Worked by hand with the molar masses 133.998 and 294.185 g/mol: oxalate with
// permanganate, two for five; dichromate with iron(II), six for one.
func TestStandardisation(t *testing.T) {
	for _, c := range []struct {
		standard, titrant string
		s                 Standardisation
		want, tol         float64
	}{
		{"Na2C2O4", "MnO4^-", Standardisation{Mass: 0.2, Volume: 0.03487, Blank: 0.00005}, 0.017146, 6e-7},
		{"K2Cr2O7", "Fe^2+", Standardisation{Mass: 1.2430, MadeUp: 0.25, Aliquot: 0.025, Volume: 0.02423}, 0.10463, 6e-6},
	} {
		list, err := constants.StandardsFor(c.titrant)
		if err != nil || len(list) == 0 || list[0].Reagent.Formula != c.standard {
			t.Fatalf("%s: %v %v", c.titrant, list, err)
		}
		if c.s.MolarMass, err = list[0].Reagent.Species.MolarMass(); err != nil {
			t.Fatal(err)
		}
		c.s.PerUnit = list[0].PerUnit()
		b, err := c.s.Concentration()
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(b.X-c.want) > c.tol || !(b.U > 0) {
			t.Errorf("%s: %v ± %v, want %v", c.titrant, b.X, b.U, c.want)
		}
	}
	if _, err := (Standardisation{Mass: 1, MolarMass: chem.MolarMass{Value: 100}, PerUnit: 1, Volume: 0.01, Blank: 0.02}).Concentration(); err == nil {
		t.Error("a blank above the volume passes")
	}
}

// Textbook ratios: titrant for one formula unit of standard.
func TestStandardRatios(t *testing.T) {
	want := map[string]float64{
		"Na2C2O4 MnO4^-": 0.4, "Na2C2O4 Ce^4+": 2, "As2O3 Ce^4+": 4, "K2Cr2O7 Fe^2+": 6, "K2Cr2O7 Ti^3+": 6, "KIO3 S2O3^2-": 6,
		"KBrO3 S2O3^2-": 6, "As2O3 I2": 2, "KHC8H4O4 OH^-": 1, "C6H5COOH OH^-": 1, "Na2CO3 H^+": 2, "(HOCH2)3CNH2 H^+": 1, "NaCl Ag^+": 1,
		"CaCO3 H2Y^2-": 1, "Zn H2Y^2-": 1,
	}
	for key, n := range want {
		standard, titrant, _ := strings.Cut(key, " ")
		list, err := constants.StandardsFor(titrant)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, s := range list {
			if s.Reagent.Formula == standard {
				found = true
				if math.Abs(s.PerUnit()-n) > 1e-12 {
					t.Errorf("%s: %v, want %v", key, s.PerUnit(), n)
				}
			}
		}
		if !found {
			t.Errorf("%s is not in the table", key)
		}
	}
}

// Cyanide meets alkali before it meets anything else (common practice).
func TestAlkaliBeforeCyanide(t *testing.T) {
	r, err := Make(Wanted{Solutes: []Solute{{Name: "KCN", Conc: 0.04}, {Name: "NaOH", Conc: 0.01}}, Volume: 1})
	if err != nil {
		t.Fatal(err)
	}
	if i := stepWith(r, "Weigh"); !strings.Contains(r.Steps[i], "NaOH") {
		t.Errorf("first weighed: %s", r.Steps[i])
	}
}

// What a technician does first (common practice): iodide before iodine, salts
// before ammonia, vanadate into water before the acid, and iron(II) never into
// water alone.
func TestOrderOfWork(t *testing.T) {
	for _, c := range []struct {
		solutes       []Solute
		medium        string
		first, second string
	}{
		{[]Solute{{Name: "I2", Conc: 0.04}, {Name: "KI", Conc: 0.2}}, "", "g of KI", "g of I₂"},
		{[]Solute{{Name: "I2", Conc: 0.04}}, "", "g of KI", "g of I₂"},
		{[]Solute{{Name: "NH3", Conc: 0.4}, {Name: "NH4Cl", Conc: 0.07}}, "", "g of NH₄Cl", "ammonia solution"},
		{[]Solute{{Name: "NH4VO3", Conc: 0.02}}, "1 mol/L H2SO4", "g of NH₄VO₃", "sulfuric acid"},
		{[]Solute{{Name: "Fe^2+", Conc: 0.1}}, "", "sulfuric acid", "g of Fe(NH₄)₂(SO₄)₂·6H₂O"},
		{[]Solute{{Name: "KCN", Conc: 0.04}}, "", "g of NaOH", "g of KCN"},
		{[]Solute{{Name: "Fe^2+", Conc: 0.1}}, "", "Bring it to 20 °C", "up to the mark"},
	} {
		r, err := Make(Wanted{Solutes: c.solutes, Medium: c.medium, Volume: 1})
		if err != nil {
			t.Fatal(err)
		}
		text := strings.Join(r.Steps, "\n")
		if i, j := strings.Index(text, c.first), strings.Index(text, c.second); i < 0 || j < i {
			t.Errorf("%s should come before %s:\n%s", c.first, c.second, text)
		}
	}
}

// A state that no bottle has comes from another by a reductor: 0.025 mol/L times
// 1 L is 12.553 g of the uranyl salt (502.13 g/mol, textbooks).
func TestStatesThatNobodySells(t *testing.T) {
	for name, want := range map[string][]string{
		"U^4+":  {"UO2(NO3)2·6H2O (12.55 g)", "Jones", "standardise at once"},
		"V^2+":  {"NH4VO3", "Jones", "keep air away"},
		"Np^4+": {"Name a salt"},
	} {
		_, err := Make(Wanted{Solutes: []Solute{{Name: name, Conc: 0.025}}, Volume: 1})
		for _, w := range want {
			if err == nil || !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %v does not say %q", name, err, w)
			}
		}
	}
}
