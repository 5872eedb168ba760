package assay

import (
	"math"
	"strings"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/setup"
	"meniscus/unit"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.9g, want %.9g within %.2g", what, got, want, tol)
	}
}

func read(t testing.TB, text string) *setup.Setup {
	t.Helper()
	s, err := setup.Read([]byte(text), "setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// at evaluates the results of an end point found elsewhere, volumes in mL.
func at(s *setup.Setup, ml, u float64) *Evaluation {
	p := Point{Order: 1, Volume: unit.Volume(ml / 1e3), StdUnc: unit.Volume(u / 1e3)}
	e := &Evaluation{Setup: s, Curve: &curve.Curve{}, Recommended: 1, EquivalencePoints: []Point{p}}
	e.Methods = []Method{{Name: RegressionName}, {Name: "steepest-interval", Title: "Steepest interval", Points: []Point{p}}}
	e.concentrations()
	e.checkResults()
	return e
}

func only(t *testing.T, list []Result) Result {
	t.Helper()
	if len(list) != 1 {
		t.Fatalf("%d results", len(list))
	}
	return list[0]
}

func has(list []string, part string) bool {
	for _, s := range list {
		if strings.Contains(s, part) {
			return true
		}
	}
	return false
}

const ironCerium = `
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
`

const permanganate = `
hold: {pH: 0}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, formal potential: 1.51 V}
  - {reaction: 2 CO2 + 2 e^- = C2O4^2-, formal potential: -0.49 V}
`

// c = c(Ce) (V - blank)/V0, and each relative uncertainty as a quotient's:
// all by hand, the burette's 0.05 mL/sqrt(6).
func TestConcentrationByHand(t *testing.T) {
	s := read(t, `
find: Fe^2+
flask: {volume: 50.00 ± 0.03 mL, contains: {Fe^2+: 0.05 mol/L, H2SO4: 1.0 ± 0.2 mol/L}}
burette: {capacity: 50 mL, class: A, contains: {Ce^4+: 0.1000 ± 0.0002 mol/L}}
blank: 0.05 ± 0.01 mL
`+ironCerium)
	e := at(s, 24.50, 0.02)
	r := only(t, e.Concentrations)
	near(t, "c", r.Value, 0.1*24.45/50, 1e-12)
	rel := map[string]float64{
		"equivalence volume":             0.02 / 24.45,
		"blank":                          0.01 / 24.45,
		"calibration of the burette":     0.05 / math.Sqrt(6) / 24.45,
		"concentration of titrant Ce^4+": 0.0002 / 0.1,
		"volume in the flask":            0.03 / 50,
	}
	sum := 0.0
	for name, want := range rel {
		sum += want * want
		found := false
		for _, q := range r.Parts {
			if q.Name == name {
				found = true
				near(t, name, q.StdUnc/r.Value, want, 1e-9)
			}
		}
		if !found {
			t.Errorf("no part %q in %+v", name, r.Parts)
		}
	}
	if len(r.Parts) != len(rel) {
		t.Errorf("%d parts: %+v", len(r.Parts), r.Parts)
	}
	near(t, "relative u", r.StdUnc/r.Value, math.Sqrt(sum), 1e-9)
	near(t, "coverage", r.Coverage, 1.96, 1e-3)
}

// Class exercise: 20.00 ± 0.03 mL of iron(II) take 10.35 ± 0.03 mL of 0.0201
// mol/L cerium(IV), both rectangular: 0.010402 mol/L, u 0.0000196.
func TestClassExercise(t *testing.T) {
	s := read(t, `
find: Fe^2+
flask: {volume: 20.00 ± 0.03 mL (rectangular), contains: {Fe^2+: 0.01 mol/L}}
burette: {contains: {Ce^4+: 0.0201 mol/L}}
`+ironCerium)
	e := at(s, 10.35, 0.03/math.Sqrt(3))
	r := only(t, e.Concentrations)
	near(t, "c", r.Value, 0.010402, 5e-7)
	near(t, "u", r.StdUnc, 0.0000196, 5e-8)
	for _, want := range []string{"the burette is taken as exact: no class is given", "concentration of the titrant Ce^4+ is taken as exact"} {
		if !has(e.Assumed, want) {
			t.Errorf("not assumed: %q in %q", want, e.Assumed)
		}
	}
}

// 27.42 mL of 0.01016 mol/L permanganate for 0.9167 g of sample:
// 5 x 27.42 x 0.01016 mmol x 55.845 g/mol / 916.7 mg = 8.486 %.
func TestContent(t *testing.T) {
	text := `
find: Fe^2+
flask: {volume: 100 ± 5 mL, contains: {Fe^2+: 0.01 mol/L}}
burette: {contains: {MnO4^-: 0.01016 mol/L}}
`
	e := at(read(t, text+`sample: {mass: 0.9167 ± 0.0005 g, report as: "% Fe"}`+permanganate), 27.42, 0)
	r := only(t, e.Contents)
	near(t, "% Fe", r.Value, 8.486, 5e-4)
	// The volume in the flask, however badly known, cancels.
	near(t, "u by mass and molar mass alone", r.StdUnc/r.Value, 0.0005/0.9167, 2e-5)
	near(t, "u of c", e.Concentrations[0].StdUnc/e.Concentrations[0].Value, 0.05, 1e-9)

	// A tenth of it in the flask, as oxide: 2 Fe in Fe2O3, 159.687 g/mol.
	e = at(read(t, text+`sample: {mass: 9.167 g, made up to: 250.0 ± 0.5 mL, aliquot: 25.00 ± 0.025 mL, report as: "% Fe2O3"}`+permanganate), 27.42, 0)
	r = only(t, e.Contents)
	near(t, "% Fe2O3", r.Value, 8.486*159.687/2/55.845, 6e-4)
	near(t, "u by the aliquot factor", r.StdUnc/r.Value, math.Hypot(0.5/250, 0.025/25), 2e-5)

	e = at(read(t, text+`sample: {mass: 0.9167 g, made up to: 250.0 mL, report as: "% Fe"}`+permanganate), 27.42, 0)
	if near(t, "% Fe", only(t, e.Contents).Value, 8.486, 5e-4); !has(e.Warnings, "the sample has no aliquot") {
		t.Errorf("warnings %q", e.Warnings)
	}
	e = at(read(t, text+`sample: {mass: 0.0167 g, report as: "% Fe"}`+permanganate), 27.42, 0)
	if !has(e.Warnings, "impossible") {
		t.Errorf("warnings %q", e.Warnings)
	}
}

// 0.2000 g of sodium oxalate (133.998 g/mol) take 34.87 mL of permanganate,
// blank 0.05 mL: 2/5 x 0.2000/133.998 / 0.03482 = 0.017146 mol/L.
func TestStandardisation(t *testing.T) {
	s := read(t, `
find: MnO4^- in burette
flask: {volume: 100.0 ± 0.5 mL, contains: {Na2C2O4: 2.000 ± 0.004 g/L}}
burette: {contains: {MnO4^-: 0.02 mol/L}}
blank: 0.05 mL
`+permanganate)
	r := only(t, at(s, 34.87, 0.03).Concentrations)
	near(t, "c", r.Value, 0.017146, 1e-6)
	near(t, "u", r.StdUnc/r.Value, math.Sqrt(math.Pow(0.03/34.82, 2)+math.Pow(0.004/2, 2)+math.Pow(0.5/100, 2)), 2e-5)
}

// Back titration: 25.00 mL of dichromate oxidise 50.00 mL of 0.1000 mol/L
// iron(II) in part; the rest takes 12.35 mL of 0.1000 mol/L cerium(IV):
// (5.000 - 1.235)/6/25.00 = 0.02510 mol/L, in its own 25 mL. By derivatives,
// 6 x 25.00 dc = 50 dc(Fe) + c(Fe) dV(Fe) - V dc(Ce) - c(Ce) dV, and -c/25 dV(Cr).
func TestBackTitration(t *testing.T) {
	s := read(t, `
find: Cr2O7^2-
flask:
  portions:
    - {volume: 25.00 ± 0.03 mL, contains: {Cr2O7^2-: 0.02 mol/L}}
    - {volume: 50.00 ± 0.05 mL, contains: {Fe^2+: 0.1000 ± 0.0003 mol/L}}
burette: {contains: {Ce^4+: 0.1000 ± 0.0002 mol/L}}
hold: {pH: 0}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
  - {reaction: Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O, formal potential: 1.33 V}
`)
	r := only(t, at(s, 12.35, 0.02).Concentrations)
	near(t, "c", r.Value, (5.000-1.235)/150, 1e-9)
	want := 0.0
	for _, q := range []float64{50 * 0.0003, 0.1 * 0.05, 12.35 * 0.0002, 0.1 * 0.02, 6 * 0.0251 * 0.03} {
		want += q * q
	}
	near(t, "u", r.StdUnc, math.Sqrt(want)/150, 1e-9)
}

// Both in one flask of 50 mL: c(Cr) = c(Fe)/6 - V c(Ce)/(6 V0), so the volume
// counts with V c(Ce)/(6 V0) times its relative uncertainty.
func TestSharedVolume(t *testing.T) {
	s := read(t, `
find: Cr2O7^2-
flask: {volume: 50.00 ± 0.5 mL, contains: {Cr2O7^2-: 0.01 mol/L, Fe^2+: 0.1000 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
hold: {pH: 0}
`+ironCerium+`  - {reaction: Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O, formal potential: 1.33 V}
`)
	r := only(t, at(s, 12.35, 0).Concentrations)
	near(t, "c", r.Value, (5.000-1.235)/300, 1e-9)
	near(t, "u", r.StdUnc, 1.235/300*0.01, 1e-9)
}

func TestBlankBeyondEndPoint(t *testing.T) {
	e := at(read(t, `
find: Fe^2+
flask: {volume: 50 mL, contains: {Fe^2+: 0.05 mol/L}}
burette: {contains: {Ce^4+: 0.1 mol/L}}
blank: 30 mL
`+ironCerium), 25, 0.02)
	if len(e.Concentrations) != 0 || !has(e.Warnings, "the blank, 30 mL, is no smaller than the end point, 25 mL") {
		t.Errorf("%v, warnings %q", e.Concentrations, e.Warnings)
	}
}

func TestBuretteOfUnknownClass(t *testing.T) {
	for burette, want := range map[string]string{
		"class: A":                   "no capacity is given",
		"capacity: 50 mL":            "no class is given",
		"capacity: 50 mL, class: C":  `class "C"`,
		"capacity: 33 mL, class: A":  "burette of 33 mL",
		"capacity: 50 mL, class: AS": "",
	} {
		e := at(read(t, "find: Fe^2+\nflask: {volume: 50 mL, contains: {Fe^2+: 0.05 mol/L}}\nburette: {contains: {Ce^4+: 0.1 mol/L}, "+burette+"}"+ironCerium), 25, 0.02)
		exact := has(e.Assumed, "the burette is taken as exact")
		if exact != (want != "") || want != "" && !has(e.Assumed, want) {
			t.Errorf("%s: %q", burette, e.Assumed)
		}
	}
}

// A tenfold wrong guess is nothing unusual; a thousandfold one is a unit.
func TestFarFromTheSetup(t *testing.T) {
	text := "find: Fe^2+\nflask: {volume: 50 mL, contains: {Fe^2+: GUESS mol/L}}\nburette: {contains: {Ce^4+: 0.1 mol/L}}" + ironCerium
	for guess, warned := range map[string]bool{"0.05": false, "0.5": false, "0.005": false, "5": true, "0.001": true} {
		e := at(read(t, strings.Replace(text, "GUESS", guess, 1)), 25, 0.02)
		if has(e.Warnings, "look at the units") != warned {
			t.Errorf("%s: %q", guess, e.Warnings)
		}
	}
}

func TestReadingsOutOfRange(t *testing.T) {
	s := read(t, "find: Fe^2+\nflask: {volume: 50 mL, contains: {Fe^2+: 0.05 mol/L}}\nburette: {capacity: 50 mL, contains: {Ce^4+: 0.1 mol/L}}"+ironCerium)
	good := lab.Bench{}.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 1)
	for _, c := range []struct {
		volume, value float64
		want          string
	}{{1, 1, ""}, {1.02, 1, "volumes go to 51 mL, but the burette holds 50 mL"}, {1, 1e-3, "are they in V"}, {1, 1e3, "are they in mV?"}} {
		e := &Evaluation{Setup: s, Curve: &curve.Curve{}}
		for _, r := range good.Readings {
			r.Volume *= unit.Volume(c.volume)
			r.Value *= c.value
			e.Curve.Readings = append(e.Curve.Readings, r)
		}
		e.checkReadings()
		if c.want == "" && len(e.Warnings) > 0 || c.want != "" && !has(e.Warnings, c.want) {
			t.Errorf("%+v: %q", c, e.Warnings)
		}
	}
}
