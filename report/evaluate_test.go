package report

import (
	"bytes"
	"strings"
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

// documents are what every format has to cope with.
var documents = []struct {
	name string
	make func(testing.TB) Document
}{
	{"good", good},
	{"refused", refused},
	{"two-runs", twoRuns},
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

func TestDump(t *testing.T) {
	for _, c := range documents {
		t.Log(c.name, strings.Replace(render(t, "text", c.make(t)), "\t", " ", -1))
	}
}
