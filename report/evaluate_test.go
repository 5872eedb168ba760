package report

import (
	"bytes"
	"math"
	"testing"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/setup"
)

const ironSetup = `
title: Iron(II) in a moss-control granule, with cerium(IV)
find: Fe^2+
flask:
  volume: 50.00 ± 0.03 mL
  contains: {Fe^2+: 0.05 mol/L}
burette:
  capacity: 50 mL
  class: A
  contains: {Ce^4+: 0.1000 ± 0.0002 mol/L (k=2)}
blank: 0.00 ± 0.01 mL
sample: {mass: 4.583 g, made up to: 250.0 mL, aliquot: 50.00 mL, report as: "% Fe"}
electrode: {indicator: platinum, reference: "Ag/AgCl, 3 mol/L KCl"}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V, medium: 1 mol/L H2SO4, source: made up for this test}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V, medium: 1 mol/L H2SO4}
`

const ratioSetup = `
title: no chemistry
ratio: 1 to 1
flask: {volume: 50.00 mL}
`

// bench is an electrode with an offset, 98.5 % of the slope and some noise.
var bench = lab.Bench{Offset: -0.21, SlopeError: -0.015, Noise: 0.5e-3, VolumeNoise: 1e-5}

func readings(seed uint64) curve.Curve {
	c := bench.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), seed)
	for i := range c.Readings {
		c.Readings[i].Row = i + 2
	}
	return c
}

// document evaluates the curves with the setup.
func document(t testing.TB, text string, curves ...curve.Curve) Document {
	t.Helper()
	s, err := setup.Read([]byte(text), "setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	d := Document{Title: s.Title, Source: "granules.csv", Record: &curve.Record{Source: "granules.csv", Curves: curves}}
	for i := range curves {
		e, err := assay.Evaluate(&curves[i], s, assay.Options{})
		if err != nil {
			t.Fatal(err)
		}
		d.Evaluations = append(d.Evaluations, e)
	}
	return d
}

// good is one run with a reading left out and a bad cell.
func good(t testing.TB) Document {
	c := readings(7)
	c.Readings[9].Value += 0.05
	c.Readings[9].Excluded = "bubble in the tip"
	d := document(t, ironSetup, c)
	d.Record.BadCells = []curve.BadCell{
		{Row: 70, Column: "E (mV)", Found: "34O", Reason: "not a number: it holds the letter O"},
		{Row: 71, Column: "V (mL)", Found: "", Reason: "empty"},
	}
	return d
}

// refused is a run that no method gives a number for.
func refused(t testing.TB) Document {
	c := readings(7)
	c.Readings = c.Readings[:3]
	return document(t, ironSetup, c)
}

func twoRuns(t testing.TB) Document {
	a, b := readings(1), readings(2)
	a.Name, b.Name = "Monday", "Tuesday"
	return document(t, ironSetup, a, b)
}

func ratioOnly(t testing.TB) Document { return document(t, ratioSetup, readings(3)) }

const acidSetup = `
title: Phosphoric acid with sodium hydroxide
find: H3PO4
flask:
  volume: 50.00 mL
  contains: {H3PO4: 0.02 mol/L}
burette:
  contains: {NaOH: 0.1000 mol/L}
electrode: {indicator: glass}
library: off
chemistry:
  - {reaction: H3PO4 = H2PO4^- + H^+, pKa: 2.148}
  - {reaction: H2PO4^- = HPO4^2- + H^+, pKa: 7.198}
  - {reaction: HPO4^2- = PO4^3- + H^+, pKa: 12.35}
`

// acid has two jumps, of pH.
func acid(t testing.TB) Document {
	b := lab.Bench{Noise: 0.01, VolumeNoise: 1e-5}
	a := lab.Acid{PKa: []float64{2.148, 7.198, 12.35}, Conc: 0.02, V0: 0.05, TitrantConc: 0.1}
	var volumes []float64
	for v := 0.0002; v < 0.027; v += 0.0002 {
		volumes = append(volumes, v)
	}
	return document(t, acidSetup, b.Run(a, volumes, 5))
}

// documents are what every format has to cope with.
var documents = []struct {
	name string
	make func(testing.TB) Document
}{
	{"good", good},
	{"refused", refused},
	{"two-runs", twoRuns},
	{"built", built},
	{"acid", acid},
	{"ratio", ratioOnly},
	{"empty", func(testing.TB) Document { return Document{} }},
}

func render(t testing.TB, format string, d Document) string {
	t.Helper()
	f, ok := FindFormat(format)
	if !ok {
		t.Fatalf("no format %s", format)
	}
	var b bytes.Buffer
	if err := f.Write(&b, d); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// built is made by hand, so that the layout tests stand still when methods
// change their mind: every kind of trouble in one evaluation.
func built(t testing.TB) Document {
	s, err := setup.Read([]byte(ironSetup), "setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s.Warnings, s.Notes = nil, nil
	c := curve.Curve{Readings: []curve.Reading{
		{Row: 2, Volume: 0.001, Value: 0.4}, {Row: 3, Volume: 0.0125, Value: 0.4731}, {Row: 4, Volume: 0.02, Value: 0.9, Excluded: "bubble in the tip"}, {Row: 5, Volume: 0.05, Value: 1.2},
	}}
	inf := math.Inf(1)
	e := &assay.Evaluation{
		Setup: s, Curve: &c, Recommended: 1, Reason: "the regression refuses",
		Methods: []assay.Method{
			{Name: "whole-curve-regression", Title: "Whole-curve regression", Refused: "3 readings take part; a whole-curve regression needs at least 4"},
			{Name: "second-derivative", Title: "Zero of the second derivative", Points: []assay.Point{{Order: 1, Species: "Fe^2+", Volume: 0.02498, StdUnc: 0.000055, Points: 4}}},
			{Name: "steepest-interval", Title: "Steepest interval", Warnings: []string{"the steps are wide"}, Points: []assay.Point{{Order: 1, Volume: 0.0251, StdUnc: 0.0003, Points: 2}}},
			{Name: "preset", Title: "Preset end point", Refused: "no value was given to stop at"},
		},
		Concentrations: []assay.Result{{
			Name: "Fe^2+", Value: 0.04996, Unit: "mol/L", StdUnc: 0.000055, Coverage: 2, Freedom: inf, From: "second-derivative",
			Parts: []assay.Part{{Name: "blank", StdUnc: 0.000033, Note: "as stated"}, {Name: "equivalence volume", StdUnc: 0.000044}},
		}},
		FormalPotentials: []assay.Result{
			{Name: "Fe^3+/Fe^2+", Value: 0.6801, StdUnc: 0.0054, Unit: "V", Coverage: 2, Freedom: inf, From: "half the equivalence volume", Parts: []assay.Part{{Name: "reading", StdUnc: 0.0002}, {Name: "reference electrode", StdUnc: 0.002}, {Name: "liquid junction", StdUnc: 0.005}}},
			{Name: "Ce^4+/Ce^3+", Value: math.NaN(), StdUnc: math.NaN(), Unit: "V", Coverage: 2, Freedom: inf, From: "twice the equivalence volume", Note: "not read: the readings end before it"},
		},
		Warnings: []string{"the reading at 20 mL lies off the curve"}, Assumed: []string{"the volume in the flask is taken as exact: no uncertainty is stated"},
	}
	e.EquivalencePoints = e.Methods[1].Points
	return Document{Title: s.Title, Source: "granules.csv", Evaluations: []*assay.Evaluation{e}, Record: &curve.Record{
		BadCells: []curve.BadCell{{Row: 7, Column: "E (mV)", Found: "34O", Reason: "not a number: it holds the letter O"}}, MoreBad: 2, Notes: []string{"volumes are taken as mL"},
	}}
}
