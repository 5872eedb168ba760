package assay

import (
	"math"
	"testing"

	"meniscus/setup"
	"meniscus/unit"
)

func stated(t *testing.T, s *setup.Setup, u float64, mL ...float64) []Run {
	t.Helper()
	var runs []Run
	for _, v := range mL {
		x, _ := unit.DecimalOf(v / 1e3)
		e, err := FromVolumes([]StatedPoint{{Volume: setup.Value{X: x, U: u / 1e3, Stated: true}}}, s, nil)
		if err != nil {
			t.Fatal(err)
		}
		runs = append(runs, Run{Name: "run", Evaluation: e})
	}
	return runs
}

const byRatio = `
ratio: 1 to 1
find: Fe^2+
flask: {volume: 50.00 mL}
burette: {contains: {Ce^4+: 0.1000 ± 0.0001 mol/L}}
`

// The titre's 0.1 % comes in once, the scatter over √n, the end points' own u
// not at all: worked by hand.
func TestMeanCountsTypeAOnce(t *testing.T) {
	s, err := setup.Read([]byte(byRatio), "ratio.yaml")
	if err != nil {
		t.Fatal(err)
	}
	d := Combine(stated(t, s, 0.5, 24.9, 25.0, 25.1), s, nil, 0)
	m := d.Means[1]
	if m.Name != "Fe^2+" {
		t.Fatalf("second mean is %s", m.Name)
	}
	random, titre := 0.1/math.Sqrt(3)*0.1/50, 0.05*0.001
	want := math.Hypot(random, titre)
	if math.Abs(m.StdUnc-want) > 1e-9*want {
		t.Errorf("u = %g, want %g", m.StdUnc, want)
	}
	freedom := 2 * math.Pow(want/random, 4)
	if math.Abs(m.Freedom-freedom) > 1e-6*freedom {
		t.Errorf("degrees of freedom %g, want %g", m.Freedom, freedom)
	}
}

// Equal results: 0.02 mL for each of four end points stands for the scatter.
func TestMeanOfEqualRuns(t *testing.T) {
	s, err := setup.Read([]byte(byRatio), "ratio.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m := Combine(stated(t, s, 0.02, 25, 25, 25, 25), s, nil, 0).Means[0]
	if math.Abs(m.StdUnc-0.01) > 1e-12 || !math.IsInf(m.Freedom, 1) || len(m.Notes) != 1 {
		t.Errorf("u = %g with %g degrees of freedom, notes %q", m.StdUnc, m.Freedom, m.Notes)
	}
	// Scatter ten times what the end points carry is said.
	m = Combine(stated(t, s, 0.01, 24.9, 25, 25.1), s, nil, 0).Means[0]
	if len(m.Notes) != 1 {
		t.Errorf("notes %q", m.Notes)
	}
}

func TestMeasuredBlank(t *testing.T) {
	b := MeasuredBlank([]float64{1e-4, 2e-4, 3e-4}, 5e-5)
	if math.Abs(b.Value-2e-4) > 1e-18 || math.Abs(b.StdUnc-1e-4/math.Sqrt(3)) > 1e-18 || b.Freedom != 2 {
		t.Errorf("%+v", b)
	}
	if b = MeasuredBlank([]float64{-1e-4}, 5e-5); b.Value != -1e-4 || b.StdUnc != 5e-5 || b.Freedom != 0 {
		t.Errorf("%+v", b)
	}
	if b = MeasuredBlank([]float64{1e-4, 1e-4}, 5e-5); math.Abs(b.StdUnc-5e-5/math.Sqrt2) > 1e-18 || b.Freedom != 0 {
		t.Errorf("%+v", b)
	}
}

// A burette's error in a blank of 1 mL beside 26 mL is that of 25 mL: the
// blank takes away its share, and does not add one.
func TestBlankSharesTheBurette(t *testing.T) {
	s, err := setup.Read([]byte(`
ratio: 1 to 1
find: Fe^2+
flask: {volume: 50.00 mL}
burette: {capacity: 50 mL, class: A, contains: {Ce^4+: 0.1000 mol/L}}
`), "ratio.yaml")
	if err != nil {
		t.Fatal(err)
	}
	part := func(blank *BlankResult) float64 {
		x, _ := unit.DecimalOf(26e-3)
		e, err := FromVolumes([]StatedPoint{{Volume: setup.Value{X: x}}}, s, blank)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range e.Concentrations[0].Parts {
			if p.Name == "calibration of the burette" {
				return p.StdUnc
			}
		}
		t.Fatal("no part of the burette")
		return 0
	}
	if with, without := part(MeasuredBlank([]float64{1e-3}, 0)), part(nil); math.Abs(with/without-25.0/26) > 1e-12 {
		t.Errorf("part %g with a blank, %g without", with, without)
	}
}
