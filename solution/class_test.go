package solution

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/volumetric"
)

func ExampleClass_For() {
	c := Class{Students: 12, Sections: 1, Replicates: 3, Spare: 0.25}
	s, err := c.For([]Use{
		{Place: "flask", Wanted: Wanted{Solutes: []Solute{{Name: "NaCl", Conc: 0.08}}}, Each: 25 * unit.Millilitre},
		{Place: "burette", Wanted: Wanted{Solutes: []Solute{{Name: "AgNO3", Conc: 0.1}}}, Each: 50 * unit.Millilitre},
	}, 50*unit.Millilitre, 25*unit.Millilitre)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, b := range s.Batches {
		fmt.Printf("%s: %.0f mL with spare, make %d × %.0f mL\n", b.Place, b.Needed.Millilitres(), b.Lots, b.Recipe.Wanted.Volume.Millilitres())
	}
	for _, w := range s.Waste {
		fmt.Printf("waste, %s: %.1f L\n", w.Name, float64(w.Volume))
	}
	// Output:
	// flask: 1425 mL with spare, make 1 × 2000 mL
	// burette: 2550 mL with spare, make 1 × 3000 mL
	// waste, silver: 4.6 L
}

// Worked by hand for iron(II) sulfate with permanganate, 24 students in each of
// 2 sections, 3 titrations each of 50 mL with a filling of 50 mL, 20 mL to rinse
// and 25 % spare: 144·50 + 48·20 = 8160 mL, 10200 with the spare. Iron(II) does
// not keep, so each section has its own 5.1 L, made as 5.5 L. Molar masses of
// textbooks: 278.01, 158.03, 98.079, 133.998, 294.185 g/mol.
func TestClassTotals(t *testing.T) {
	c := Class{Students: 24, Sections: 2, Replicates: 3, Spare: 0.25}
	s, err := c.For([]Use{
		{Place: "flask", Wanted: Wanted{Solutes: []Solute{{Name: "FeSO4", Conc: 0.05}, {Name: "H2SO4", Conc: 0.5}}}, Each: 50 * unit.Millilitre},
		{Place: "burette", Wanted: Wanted{Solutes: []Solute{{Name: "KMnO4", Conc: 0.02}}}, Each: 50 * unit.Millilitre},
	}, 50*unit.Millilitre, 50*unit.Millilitre)
	if err != nil {
		t.Fatal(err)
	}
	if c.Titrations() != 144 {
		t.Errorf("%d titrations", c.Titrations())
	}
	for i, want := range []struct {
		lots int
		lot  float64
	}{{2, 5.5}, {1, 10.5}} {
		b := s.Batches[i]
		if math.Abs(float64(b.Used)-8.16) > 1e-9 || math.Abs(float64(b.Needed)-10.2) > 1e-9 || b.Lots != want.lots || math.Abs(float64(b.Recipe.Wanted.Volume)-want.lot) > 1e-9 {
			t.Errorf("%s: used %v, needed %v, %d lots of %v L", b.Place, b.Used, b.Needed, b.Lots, b.Recipe.Wanted.Volume)
		}
	}
	want := map[string]struct {
		need     float64
		packages int
		size     float64
	}{
		"FeSO4·7H2O": {2 * 5.5 * 0.05 * 278.01, 1, 250},
		"H2SO4":      {2 * 5.5 * 0.5 * 98.079 / (0.96 * 1.84), 1, 500},
		"KMnO4":      {10.5 * 0.02 * 158.03, 1, 50},
		"Na2C2O4":    {3 * 0.02 * 0.0375 * 2.5 * 133.998, 1, 5},
		"K2Cr2O7":    {6 * 0.05 * 0.0375 / 6 * 294.185, 1, 5},
	}
	if len(s.Purchases) != len(want) {
		t.Errorf("%d chemicals, want %d", len(s.Purchases), len(want))
	}
	for _, p := range s.Purchases {
		w := want[p.Reagent.Formula]
		if got := max(float64(p.Mass), p.Volume.Millilitres()); math.Abs(got/w.need-1) > 2e-4 || p.Packages != w.packages || p.Package != w.size {
			t.Errorf("%s: %v in %d × %v, want %v in %d × %v", p.Reagent.Formula, got, p.Packages, p.Package, w.need, w.packages, w.size)
		}
	}
	if s.Wares[0].Count != 27 { // 24 and one in ten
		t.Errorf("%d burettes", s.Wares[0].Count)
	}
	// titrated 16.32 L and 10.5 - 8.16 L of permanganate; 11 - 8.16 L of iron; 3 and 6
	// titrations of standards of 150 mL each
	for i, w := range []struct {
		name   string
		litres float64
	}{{"manganese", 18.66 + 0.45}, {"chromium", 0.9}, {"iron and titanium, acid", 2.84}} {
		if s.Waste[i].Name != w.name || math.Abs(float64(s.Waste[i].Volume)-w.litres) > 1e-9 || s.Waste[i].Say == "" {
			t.Errorf("waste %d: %v, want %v", i, s.Waste[i], w)
		}
	}
	if last := s.Wares[len(s.Wares)-1]; last.Count != 7 { // 19.11/4.5, 0.9/4.5 and 2.84/4.5, rounded up
		t.Errorf("%d bottles for waste", last.Count)
	}
	if _, err := (Class{Students: 0, Sections: 1, Replicates: 1}).For(nil, 1, 1); err == nil {
		t.Error("a class of nobody passes")
	}
}

func TestPackages(t *testing.T) {
	for need, want := range map[float64][2]float64{0.3: {1, 5}, 5: {1, 5}, 5.1: {1, 10}, 2500: {1, 2500}, 5100: {3, 2500}} {
		if n, size := packages(need); float64(n) != want[0] || size != want[1] {
			t.Errorf("%v: %d × %v, want %v", need, n, size, want)
		}
	}
}

// 25 mL pipette and 250 mL flask of class A, ± 0.03 and ± 0.15 mL by the triangle,
// 0.02 % for filling each, stock 0.2 %, added by hand in squares: 0.2093 %.
func TestDilute(t *testing.T) {
	list, err := Dilute(Stock{1, 0.002}, 0.1, 0.25)
	if err != nil {
		t.Fatal(err)
	}
	d := list[0]
	if d.Kind != volumetric.Pipette || d.Take != 25*unit.Millilitre || d.Flask != 250*unit.Millilitre {
		t.Errorf("first way: %v into %v", d.Take, d.Flask)
	}
	u := math.Sqrt(0.002*0.002 + math.Pow(0.03/math.Sqrt(6)/25, 2) + math.Pow(0.15/math.Sqrt(6)/250, 2) + 2*0.0002*0.0002)
	if math.Abs(d.Budget.X-0.1) > 1e-12 || math.Abs(d.Budget.U/(0.1*u)-1) > 1e-4 {
		t.Errorf("%v ± %v, want 0.1 ± %v", d.Budget.X, d.Budget.U, 0.1*u)
	}
	for i := 1; i < len(list); i++ {
		if math.Round(1000*math.Abs(list[i].Off)) < math.Round(1000*math.Abs(list[i-1].Off)) {
			t.Errorf("way %d is nearer than the one before", i)
		}
	}
	// 0.0835 from 1 mol/L in 250 mL is 20.875 mL: no pipette, but a burette read to 0.05 mL
	list, err = Dilute(Stock{1, 0.002}, 0.0835, 0.25)
	if err != nil || list[0].Kind != volumetric.Burette || math.Abs(list[0].Take.Millilitres()-20.9) > 1e-9 && math.Abs(list[0].Take.Millilitres()-20.85) > 1e-9 {
		t.Errorf("%v %v", list, err)
	}
	var e *DilutionError
	if _, err := Dilute(Stock{0.1, 0}, 0.2, 0.25); !errors.As(err, &e) || e.Between != 0 {
		t.Errorf("stronger than the stock: %v", err)
	}
	if _, err := Dilute(Stock{1, 0}, 1e-5, 0.25); !errors.As(err, &e) || math.Abs(float64(e.Between)-math.Sqrt(1e-5)) > 1e-9 {
		t.Errorf("too far in one step: %v", err)
	}
}

// The burette's limit of 0.05 mL by the triangle and two readings of 0.01 mL make
// 0.0248 mL; the flask's 0.15 mL and 0.02 % for filling 0.0791 mL (by hand).
func TestClassA(t *testing.T) {
	for _, c := range []struct {
		kind volumetric.Kind
		v    unit.Volume
		want float64
	}{
		{volumetric.Burette, 30 * unit.Millilitre, 0.02483}, {volumetric.Flask, 250 * unit.Millilitre, 0.07906}, {volumetric.Pipette, 25 * unit.Millilitre, 0.01323},
	} {
		u, ware, err := ClassA(c.kind, c.v)
		if err != nil || math.Abs(u.Millilitres()-c.want) > 1e-5 || ware == "" {
			t.Errorf("%s: %v %v, want %v", c.kind, u.Millilitres(), err, c.want)
		}
	}
	if _, _, err := ClassA(volumetric.Burette, 60*unit.Millilitre); err == nil {
		t.Error("more than a filling passes")
	}
	if _, _, err := ClassA(volumetric.Pipette, 17*unit.Millilitre); err == nil {
		t.Error("a pipette that does not exist passes")
	}
}

// By the equation of Henderson with pK 9.24: at pH 10.00 85.1 % are ammonia, and
// 0.149 mol of NH4Cl (53.49 g/mol) weigh 7.96 g.
func TestBuffer(t *testing.T) {
	b, err := BufferFor(10, 1)
	if err != nil {
		t.Fatal(err)
	}
	if b.Acid != "NH4^+" || b.Recipe.Portions[0].Reagent.Formula != "NH4Cl" || math.Abs(float64(b.Recipe.Portions[0].Mass)-7.97) > 0.03 {
		t.Errorf("%s: %v", b.Acid, b.Recipe.Portions)
	}
	for pH, acid := range map[float64]string{4.6: "CH3COOH", 7: "H2PO4^-", 9.5: "NH4^+"} {
		if b, err := BufferFor(pH, 1); err != nil || b.Acid != acid {
			t.Errorf("pH %v: %s %v, want %s", pH, b.Acid, err, acid)
		}
	}
	if _, err := BufferFor(0, 1); err == nil {
		t.Error("a buffer at pH 0")
	}
}

// Textbook ratios of reactions that the table of standards does not have, and
// what is no standard: chloride and zinc for permanganate.
func TestRatiosFromCouples(t *testing.T) {
	for _, c := range []struct {
		standard, titrant string
		want              float64
	}{
		{"As2O3", "MnO4^-", 0.8},
		{"K4Fe(CN)6·3H2O", "Ce^4+", 1},
		{"C6H8O6", "I2", 1},
		{"K2Cr2O7", "S2O3^2-", 6},
		{"KIO3", "Fe^2+", 6},
		{"Na2C2O4", "VO2^+", 2},
		{"Fe(NH4)2(SO4)2·6H2O", "MnO4^-", 0.2},
	} {
		s, balanced, err := StandardFrom(c.standard, c.titrant)
		if err != nil || !balanced || math.Abs(s.PerUnit()-c.want) > 1e-12 || s.Reaction.Check() != nil {
			t.Errorf("%s with %s: %v %v %v, want %v", c.standard, c.titrant, s.Reaction, balanced, err, c.want)
		}
	}
	if _, balanced, err := StandardFrom("Na2C2O4", "MnO4^-"); err != nil || balanced {
		t.Errorf("the row of the table was not used: %v", err)
	}
	for _, salt := range []string{"NaCl", "Zn"} {
		if s, _, err := StandardFrom(salt, "MnO4^-"); err == nil {
			t.Errorf("%s passes: %v", salt, s.Reaction)
		}
	}
}

// How long a titre holds stands in titrants.txt alone.
func TestKeepingTimesHaveOneHome(t *testing.T) {
	for formula, want := range map[string]int{"KMnO4": 7, "NaOH": 7, "AgNO3": 90, "FeSO4·7H2O": 1, "K2Cr2O7": 3650, "Na2CO3": 7} {
		r, ok, err := constants.FindReagent(formula)
		if err != nil || !ok || r.Keeps != want {
			t.Errorf("%s keeps %d days, want %d (%v)", formula, r.Keeps, want, err)
		}
	}
}

// What is weighed as a primary standard is made in flasks: 8 L of it as 4 of 2 L,
// each with its own mass; what is standardised in one carboy, weighed roughly.
func TestClassFlasks(t *testing.T) {
	c := Class{Students: 12, Sections: 3, Replicates: 3, Spare: 0.25}
	s, err := c.For([]Use{
		{Place: "flask", Wanted: Wanted{Solutes: []Solute{{Name: "NaCl", Conc: 0.04}}}, Each: 50 * unit.Millilitre},
		{Place: "burette", Wanted: Wanted{Solutes: []Solute{{Name: "AgNO3", Conc: 0.1}}}, Each: 50 * unit.Millilitre},
	}, 50*unit.Millilitre, 50*unit.Millilitre)
	if err != nil {
		t.Fatal(err)
	}
	flask, burette := s.Batches[0], s.Batches[1] // 108·50 + 36·20 mL, and a quarter: 7.65 L
	if flask.Lots != 4 || flask.Recipe.Wanted.Volume != 2 || math.Abs(float64(flask.Recipe.Portions[0].Mass)-2*0.04*58.44) > 1e-3 {
		t.Errorf("sodium chloride: %d lots of %v L, %v g", flask.Lots, flask.Recipe.Wanted.Volume, flask.Recipe.Portions[0].Mass)
	}
	if burette.Lots != 1 || burette.Recipe.Wanted.Volume != 8 {
		t.Errorf("silver nitrate: %d lots of %v L", burette.Lots, burette.Recipe.Wanted.Volume)
	}
	steps := strings.Join(burette.Recipe.Steps, "\n")
	for _, want := range []string{"Weigh about 136 g of AgNO", "in 4 flasks of 2000 mL: 33.974", "into the carboy"} { // 169.872 g/mol
		if !strings.Contains(steps, want) {
			t.Errorf("no %q in\n%s", want, steps)
		}
	}
	if !strings.HasPrefix(flask.Recipe.Steps[0], "Dry the NaCl") {
		t.Errorf("first %q: drying takes hours", flask.Recipe.Steps[0])
	}
}

// By hand: 0.1 % is 0.1 g in 100 mL; 60 % from 96 % takes 62.5 mL; 2 drops of
// 0.05 mL serve 1000 titrations. 1 : 100 of 10 g is 10/101 g.
func TestIndicator(t *testing.T) {
	d, err := Indicator("phenolphthalein", 0)
	if err != nil {
		t.Fatal(err)
	}
	steps := strings.Join(d.Steps, "\n")
	if math.Abs(float64(d.Mass)-0.1) > 1e-12 || math.Abs(d.Ethanol().Millilitres()-62.5) > 1e-9 || d.Serves != 1000 || !strings.Contains(steps, "away from flames") {
		t.Errorf("%+v", d)
	}
	if !slices.ContainsFunc(d.Cautions.Hazards, func(h constants.Hazard) bool { return h.Reagent == "C2H5OH" }) {
		t.Error("nothing of ethanol among the cautions")
	}
	if d, err = Indicator("eriochrome black T", 0); err != nil || math.Abs(float64(d.Mass)-10.0/101) > 1e-12 || d.Serves != 100 {
		t.Errorf("%+v, %v", d, err)
	}
	if d, err = Indicator("chromate", 0); err != nil || d.Weighed() != "K2CrO4" || float64(d.Mass) != 5 || d.Cautions.Hazards[0].Reagent != "K2CrO4" {
		t.Errorf("%+v, %v", d, err)
	}
	if d, err = Indicator("thymol blue (second change)", 0); err != nil || d.Name() != "thymol blue" {
		t.Errorf("%+v, %v", d, err)
	}
	var unknown *IndicatorError
	if _, err = Indicator("litmus", 0); !errors.As(err, &unknown) || !slices.Contains(unknown.Known, "methyl orange") {
		t.Errorf("litmus: %v", err)
	}
	// 600 titrations with a quarter more, 2 mL each: 1500 mL of starch, 7.5 g
	if d, err = (Class{Students: 20, Sections: 10, Replicates: 3, Spare: 0.25}).Indicator("starch"); err != nil || math.Abs(float64(d.Volume)-1.5) > 1e-9 || math.Abs(float64(d.Mass)-7.5) > 1e-9 {
		t.Errorf("%+v, %v", d, err)
	}
}

// Four flasks made alike, by hand: the masses are averaged, what differs from
// flask to flask counts half (1/√4), and what is common to all as before.
func TestTogether(t *testing.T) {
	m, err := chem.ParseSpecies("NaCl")
	if err != nil {
		t.Fatal(err)
	}
	molar, err := m.MolarMass()
	if err != nil {
		t.Fatal(err)
	}
	var list []Weighed
	for _, mass := range []unit.Mass{9.3, 9.4, 9.2, 9.5} {
		list = append(list, Weighed{Mass: mass, MolarMass: molar, Volume: 2})
	}
	one := Weighed{Mass: 9.35, MolarMass: molar, Volume: 2}
	a, err := one.Concentration()
	if err != nil {
		t.Fatal(err)
	}
	b, err := Together(list).Concentration()
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(b.X/a.X-1) > 1e-12 {
		t.Errorf("%v mol/L, want %v", b.X, a.X)
	}
	for i, share := range b.Shares {
		want := 1.0
		if share.Note == "mass" || share.Note == "filling to the mark" {
			want = 0.5
		}
		k := slices.IndexFunc(a.Shares, func(s uncertainty.Share) bool { return s.Note == share.Note })
		if k < 0 || a.Shares[k].Contribution > 0 && math.Abs(share.Contribution/a.Shares[k].Contribution/want-1) > 1e-6 {
			t.Errorf("%d, %s: %v of %v, want %v", i, share.Note, share.Contribution, a.Shares, want)
		}
	}
}
