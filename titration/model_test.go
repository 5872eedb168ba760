package titration_test

import (
	"errors"
	"math"
	"testing"

	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

func load(t testing.TB, text string) *titration.Titration {
	t.Helper()
	s, err := setup.Read([]byte(text), "test.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return s.Titration
}

// iron at 35 °C against a reference at 0.2 V, with a slope and an offset.
const iron = `
temperature: 35 °C
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
electrode: {indicator: platinum, reference: 0.2000 V, offset: -12.3 mV, slope: 98 %}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
`

// dichromate with two electrons a couple and H+, pH free.
const dichromate = `
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0300 mol/L, H^+: 1.0 mol/L}}
burette: {contains: {Cr2O7^2-: 0.0100 mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O, formal potential: 1.15 V}
`

const chloride = `
temperature: 20 °C
flask: {volume: 50.00 mL, contains: {Cl^-: 0.0500 mol/L}}
burette: {contains: {Ag^+: 0.1000 mol/L}}
electrode: {indicator: INDICATOR, reference: 0.2000 V, standard potential: 0.5 V}
library: off
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.75}
  - {reaction: Ag^+ + 2 Cl^- = AgCl2^-, log beta: 5.04}
`

const acetic = `
flask: {volume: 50.00 mL, contains: {CH3COOH: 0.0500 mol/L}}
burette: {contains: {Na^+: 0.1000 mol/L, OH^-: 0.1000 mol/L}}
electrode: {indicator: glass, offset: 400 mV, slope: 97 %}
activity: davies
library: off
chemistry:
  - {reaction: CH3COOH = CH3COO^- + H^+, pKa: 4.757}
  - {reaction: H2O = H^+ + OH^-, log K: -13.997}
`

func replaced(text, indicator string) string {
	const mark = "INDICATOR"
	for i := range text {
		if i+len(mark) <= len(text) && text[i:i+len(mark)] == mark {
			return text[:i] + indicator + text[i+len(mark):]
		}
	}
	return text
}

func at(t testing.TB, tr *titration.Titration, millilitres float64) titration.Point {
	t.Helper()
	v, _ := unit.DecimalOf(millilitres)
	pt, err := tr.Predictor().At(v.Shift(-3))
	if err != nil {
		t.Fatal(err)
	}
	return pt
}

// TestIronReading: at V mL below the equivalence at 25 mL the potential is
// E0' + (RT/F) ln(V/(25-V)), which the cell scales, refers and shifts; the
// back reaction is 1e-12 of it.
func TestIronReading(t *testing.T) {
	tr := load(t, iron)
	thermal := 8.31446261815324 * 308.15 / 96485.33212331 // SI values, V
	for _, v := range []float64{5, 12.5, 20} {
		pt := at(t, tr, v)
		want := 0.68 + thermal*math.Log(v/(25-v))
		if math.Abs(pt.Standard-want) > 1e-9 {
			t.Errorf("%g mL: E = %.12g V against SHE, want %.12g", v, pt.Standard, want)
		}
		reading := 0.98*want - 0.2 - 0.0123
		if math.Abs(pt.Potential-reading) > 1e-9 {
			t.Errorf("%g mL: reading %.12g V, want %.12g", v, pt.Potential, reading)
		}
		if !math.IsNaN(pt.PH) || !math.IsNaN(pt.PIon) {
			t.Errorf("%g mL: pH %g and pIon %g of a solution without H+", v, pt.PH, pt.PIon)
		}
	}
	if pt := at(t, tr, 0); pt.Undefined == "" || !math.IsNaN(pt.Potential) {
		t.Errorf("iron(II) alone reads %g V (%q)", pt.Potential, pt.Undefined)
	}
}

// TestIonReading: E = E0 + (RT/zF) ln a with signed z: silver rises with
// silver, chloride falls with chloride, by the same amount while AgCl is there.
func TestIonReading(t *testing.T) {
	silver, chlorideISE := load(t, replaced(chloride, "silver")), load(t, replaced(chloride, `"Cl^-"`))
	thermal := 8.31446261815324 * 293.15 / 96485.33212331
	for _, v := range []float64{5, 20, 30} {
		a, c := at(t, silver, v), at(t, chlorideISE, v)
		if want := 0.5 - thermal*math.Ln10*a.PIon; math.Abs(a.Standard-want) > 1e-12 || math.Abs(a.Potential-(want-0.2)) > 1e-12 {
			t.Errorf("%g mL: silver reads %g and %g V, want %g", v, a.Standard, a.Potential, want)
		}
		if want := 0.5 + thermal*math.Ln10*c.PIon; math.Abs(c.Standard-want) > 1e-12 {
			t.Errorf("%g mL: chloride reads %g V, want %g", v, c.Standard, want)
		}
		if got := a.PIon + c.PIon; math.Abs(got-9.75) > 1e-9 {
			t.Errorf("%g mL: pAg + pCl = %.12g, want the pKsp 9.75", v, got)
		}
	}
}

// TestGlassReading: E = E0' - S pH, with S the slope times RT ln10/F.
func TestGlassReading(t *testing.T) {
	tr := load(t, acetic)
	a, b := at(t, tr, 5), at(t, tr, 20)
	s := 0.97 * 8.31446261815324 * 298.15 / 96485.33212331 * math.Ln10
	if got := (a.Potential - b.Potential) / (b.PH - a.PH); math.Abs(got-s) > 1e-12 {
		t.Errorf("slope %.12g V per pH, want %.12g", got, s)
	}
}

var all = []struct {
	name, text string
	out        titration.Output
	params     []titration.Parameter
	volumes    []float64 // mL
}{
	{"iron", iron, titration.Potential, []titration.Parameter{
		{Kind: titration.FlaskConcentration, Name: "Fe^2+"},
		{Kind: titration.BuretteConcentration, Name: "Ce^4+"},
		{Kind: titration.CouplePotential, Index: 0},
		{Kind: titration.CouplePotential, Index: 1},
		{Kind: titration.Offset},
		{Kind: titration.SlopeFraction},
		{Kind: titration.Blank},
	}, []float64{2, 24, 26, 50}},
	{"dichromate", dichromate, titration.Potential, []titration.Parameter{
		{Kind: titration.FlaskConcentration, Name: "Fe^2+"},
		{Kind: titration.FlaskConcentration, Name: "H^+"},
		{Kind: titration.BuretteConcentration, Name: "Cr2O7^2-"},
		{Kind: titration.CouplePotential, Index: 0},
		{Kind: titration.CouplePotential, Index: 1},
	}, []float64{2, 24, 26, 50}},
	{"silver", replaced(chloride, "silver"), titration.Potential, []titration.Parameter{
		{Kind: titration.FlaskConcentration, Name: "Cl^-"},
		{Kind: titration.BuretteConcentration, Name: "Ag^+"},
		{Kind: titration.LnConstant, Index: 0},
		{Kind: titration.LnConstant, Index: 1},
		{Kind: titration.Offset},
		{Kind: titration.SlopeFraction},
	}, []float64{2, 24, 26, 50}},
	{"silver as pAg", replaced(chloride, "silver"), titration.PIon, []titration.Parameter{
		{Kind: titration.LnConstant, Index: 0}, {Kind: titration.Offset}, {Kind: titration.SlopeFraction}, {Kind: titration.Blank},
	}, []float64{2, 24, 26, 50}},
	{"acetic acid as pH", acetic, titration.PH, []titration.Parameter{
		{Kind: titration.FlaskConcentration, Name: "CH3COOH"},
		{Kind: titration.BuretteConcentration, Name: "OH^-"},
		{Kind: titration.LnConstant, Index: 0},
		{Kind: titration.Offset},
		{Kind: titration.SlopeFraction},
		{Kind: titration.Blank},
	}, []float64{2, 24, 26, 50}},
	{"acetic acid as potential", acetic, titration.Potential, []titration.Parameter{
		{Kind: titration.FlaskConcentration, Name: "CH3COOH"}, {Kind: titration.LnConstant, Index: 1}, {Kind: titration.Offset}, {Kind: titration.SlopeFraction},
	}, []float64{2, 24, 26, 50}},
}

// named fills in the index of parameters that are named by species.
func named(tr *titration.Titration, params []titration.Parameter) []titration.Parameter {
	out := append([]titration.Parameter(nil), params...)
	for k, p := range out {
		if p.Kind == titration.FlaskConcentration || p.Kind == titration.BuretteConcentration {
			out[k].Index = tr.System().Index(p.Name)
		}
	}
	return out
}

// TestModelGradient: slope and gradient of the reading are those of central
// differences in volume and in each parameter, for every kind of parameter.
func TestModelGradient(t *testing.T) {
	for _, c := range all {
		tr := load(t, c.text)
		m, err := tr.NewModel(named(tr, c.params), c.out)
		if err != nil {
			t.Fatal(err)
		}
		eval := func(values []float64, v float64, grad []float64) (float64, float64) {
			if err := m.Set(values); err != nil {
				t.Fatal(err)
			}
			y, slope, ok, err := m.Eval(v, grad)
			if err != nil || !ok {
				t.Fatal(c.name, v, ok, err)
			}
			return y, slope
		}
		start := m.Start()
		grad := make([]float64, len(start))
		for _, ml := range c.volumes {
			v := ml * 1e-3
			_, slope := eval(start, v, grad)
			h := 1e-7
			up, _ := eval(start, v+h, nil)
			down, _ := eval(start, v-h, nil)
			if want := (up - down) / (2 * h); math.Abs(slope-want) > 1e-5*math.Abs(want)+1e-6 {
				t.Errorf("%s, %g mL: slope %.8g, by differences %.8g", c.name, ml, slope, want)
			}
			_, above := eval(start, v+h, nil)
			_, below := eval(start, v-h, nil)
			_, _, bend, _, err := m.EvalCurved(v, nil)
			if want := (above - below) / (2 * h); err != nil || math.Abs(bend-want) > 1e-4*math.Abs(want)+1e-2*math.Abs(slope) {
				t.Errorf("%s, %g mL: second derivative %.8g, by differences %.8g, %v", c.name, ml, bend, want, err)
			}
			for k, p := range c.params {
				h := 1e-5 * math.Max(math.Abs(start[k]), 1e-2)
				if p.Kind == titration.Blank {
					h = 1e-7
				}
				x := append([]float64(nil), start...)
				x[k] = start[k] + h
				up, _ := eval(x, v, nil)
				if x[k] = start[k] - h; p.Kind == titration.Blank {
					x[k] = start[k] // and one-sided below, where a blank is not negative
				}
				down, _ := eval(x, v, nil)
				want := (up - down) / (2 * h)
				if p.Kind == titration.Blank {
					x[k] = 2 * h
					up2, _ := eval(x, v, nil)
					want = (-3*down + 4*up - up2) / (2 * h)
				}
				if math.Abs(grad[k]-want) > 1e-5*math.Abs(want)+1e-6 {
					t.Errorf("%s, %g mL: derivative %.8g with respect to %d %s, by differences %.8g", c.name, ml, grad[k], p.Kind, p.Name, want)
				}
			}
		}
	}
}

// TestModelOwnsItsProblem: a model changes nothing of the titration, and goes
// back to where it was.
func TestModelOwnsItsProblem(t *testing.T) {
	tr := load(t, iron)
	before := at(t, tr, 10)
	m, err := tr.NewModel(named(tr, all[0].params), titration.Potential)
	if err != nil {
		t.Fatal(err)
	}
	first, _, _, _ := m.Eval(0.01, nil)
	moved := m.Start()
	for k := range moved {
		moved[k] = moved[k]*1.1 + 1e-4
	}
	for _, values := range [][]float64{moved, m.Start()} {
		if err := m.Set(values); err != nil {
			t.Fatal(err)
		}
	}
	if again, _, _, _ := m.Eval(0.01, nil); math.Abs(again-first) > 1e-13 || math.Abs(first-before.Potential) > 1e-13 {
		t.Errorf("reading %.15g, then %.15g, of the titration %.15g", first, again, before.Potential)
	}
	if after := at(t, tr, 10); after.Potential != before.Potential {
		t.Errorf("the titration reads %g after the model moved, %g before", after.Potential, before.Potential)
	}
}

// TestModelRefuses: no concentration of 0 or below, no value that is no
// number, no reading before the blank is used up.
func TestModelRefuses(t *testing.T) {
	tr := load(t, iron)
	m, err := tr.NewModel(named(tr, all[0].params), titration.Potential)
	if err != nil {
		t.Fatal(err)
	}
	x := m.Start()
	x[0] = 0
	var n *titration.NegativeError
	if err := m.Set(x); !errors.As(err, &n) || n.Name != "Fe^2+" {
		t.Errorf("concentration 0: %v", err)
	}
	x[0] = math.NaN()
	if err := m.Set(x); err == nil || errors.As(err, &n) && math.IsNaN(n.Value) {
		t.Errorf("concentration NaN: %v", err)
	}
	x = m.Start()
	x[6] = 1e-3
	if err := m.Set(x); err != nil {
		t.Fatal(err)
	}
	if _, _, ok, err := m.Eval(0.5e-3, nil); ok || err != nil {
		t.Errorf("before the blank is used up: ok %v, error %v", ok, err)
	}
	if _, err := tr.NewModel([]titration.Parameter{{Kind: 99}}, titration.Potential); err == nil {
		t.Error("an unknown kind of parameter is accepted")
	}
}

// TestEquivalences: the volume follows the stoichiometry, moves with the
// blank, and has the gradient of differences.
func TestEquivalences(t *testing.T) {
	for _, c := range []struct {
		text    string
		species string
		titrant string
		want    float64 // L
	}{
		{iron, "Fe^2+", "Ce^4+", 50e-3 * 0.05 / 0.1},
		{dichromate, "Fe^2+", "Cr2O7^2-", 50e-3 * 0.03 / (6 * 0.01)},
		{replaced(chloride, "silver"), "", "Ag^+", 50e-3 * 0.05 / 0.1},
	} {
		tr := load(t, c.text)
		params := []titration.Parameter{
			{Kind: titration.FlaskConcentration, Name: "Fe^2+"},
			{Kind: titration.Blank},
			{Kind: titration.BuretteConcentration, Name: c.titrant},
		}
		if c.species == "" {
			params[0].Name = "Cl^-"
		}
		m, err := tr.NewModel(named(tr, params), titration.Potential)
		if err != nil {
			t.Fatal(err)
		}
		volume := func(x []float64) titration.Equivalence {
			if err := m.Set(x); err != nil {
				t.Fatal(err)
			}
			list, err := m.Equivalences(0.1)
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range list {
				if math.Abs(e.Volume-c.want) < 0.2*c.want {
					return e
				}
			}
			t.Fatalf("no equivalence near %g L in %+v", c.want, list)
			return titration.Equivalence{}
		}
		x := m.Start()
		e := volume(x)
		if math.Abs(e.Volume-c.want) > 1e-12 || c.species != "" && e.Species != c.species {
			t.Errorf("equivalence %+v, want %g L", e, c.want)
		}
		if want := -c.want / x[2]; math.Abs(e.Gradient[2]/want-1) > 1e-12 {
			t.Errorf("dV/dc of the titrant %.12g, want -V/c = %.12g", e.Gradient[2], want)
		}
		x[0] *= 1.01
		x[1] = 1e-4
		if got, want := volume(x).Volume, e.Volume+e.Gradient[0]*0.01*m.Start()[0]+e.Gradient[1]*1e-4; math.Abs(got-want) > 1e-12 || math.Abs(got-1.01*c.want-1e-4) > 1e-12 {
			t.Errorf("moved to %.12g L, by the gradient %.12g", got, want)
		}
	}
}
