package assay

import (
	"math"
	"reflect"
	"testing"

	"meniscus/internal/lab"
	"meniscus/setup"
)

const runsSetup = `
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.048 mol/L}, medium: 1 mol/L H2SO4}
burette: {contains: {Ce^4+: 0.1000 ± 0.0001 mol/L}}
electrode: {indicator: platinum, reference: SHE}
`

// TestRunsInBrief: a run among many gives the numbers that it gives alone, to
// the last digit, also where the regression is not the method of choice.
func TestRunsInBrief(t *testing.T) {
	s, err := setup.Read([]byte(runsSetup), "runs.yaml")
	if err != nil {
		t.Fatal(err)
	}
	volumes := lab.DefaultPlan(0.025).Volumes()
	regression := 0
	for seed := range uint64(12) {
		b := lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}
		if seed%4 == 3 {
			b.Lag = 0.4 // residuals with a pattern
		}
		c := b.Run(lab.IronCerium(), volumes, seed)
		full, err := EvaluateRun(Input{Curve: &c}, s, nil, Options{Bias: true})
		if err != nil {
			t.Fatal(err)
		}
		brief, err := EvaluateRun(Input{Curve: &c}, s, nil, Options{Quick: true})
		if err != nil {
			t.Fatal(err)
		}
		method := full.Methods[full.Recommended].Name
		if got := brief.Methods[brief.Recommended].Name; got != method {
			t.Fatalf("run %d: recommended %s in brief, %s in full", seed, got, method)
		}
		if method == RegressionName {
			regression++
		}
		if len(full.EquivalencePoints) == 0 || len(full.Concentrations) == 0 {
			t.Fatalf("run %d has no result", seed)
		}
		for i, p := range full.EquivalencePoints {
			if q := brief.EquivalencePoints[i]; p.Volume != q.Volume || p.StdUnc != q.StdUnc {
				t.Errorf("run %d: %v ± %v in brief, %v ± %v in full", seed, q.Volume, q.StdUnc, p.Volume, p.StdUnc)
			}
		}
		if !reflect.DeepEqual(brief.Concentrations, full.Concentrations) {
			t.Errorf("run %d: %+v in brief, %+v in full", seed, brief.Concentrations, full.Concentrations)
		}
	}
	if regression == 0 || regression == 12 {
		t.Errorf("regression is recommended for %d of 12 runs; both cases are wanted", regression)
	}
}

// TestRunsWithAnOpenBlank: a blank that is not significantly different from 0
// counts with its uncertainty, whether one run or the scatter of several says
// so. The burette's noise is as large as the blank, 0.01 mL.
func TestRunsWithAnOpenBlank(t *testing.T) {
	s, err := setup.Read([]byte(runsSetup), "runs.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var volumes []float64
	for i := range 40 {
		volumes = append(volumes, 2e-5*float64(i+1))
	}
	var blanks []Run
	for seed := uint64(40); len(blanks) < 3 && seed < 60; seed++ {
		c := lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}.Run(lab.IronCerium().WithEquivalence(1e-5), volumes, seed)
		e, err := EvaluateBlank(Input{Name: "blank", Curve: &c, Blank: true}, s, Options{Quick: true})
		if err != nil {
			continue // no readings before the end point: several such runs have none
		}
		if p := e.EquivalencePoints[0]; !(p.StdUnc > p.Volume/5) {
			t.Errorf("blank %g ± %g L is no open one", p.Volume, p.StdUnc)
		}
		blanks = append(blanks, Run{Blank: true, Evaluation: e})
	}
	if len(blanks) < 3 {
		t.Fatalf("%d of 20 blanks give an end point, want 3", len(blanks))
	}
	c := lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 1)
	for _, b := range []*BlankResult{BlankOf(blanks[:1]), BlankOf(blanks), MeasuredBlank([]float64{2e-5, -3e-5, 4e-5}, 1e-5)} {
		if !(b.StdUnc > 0) {
			t.Fatalf("%+v has no uncertainty", b)
		}
		e, err := EvaluateRun(Input{Curve: &c}, s, b, Options{Quick: true})
		if err != nil {
			t.Fatal(err)
		}
		r := e.Concentrations[0] // V times 0.1 mol/L over 50 mL
		if d := math.Abs(r.Value - (0.025-b.Value)*2); d > 4*r.StdUnc {
			t.Errorf("blank %g ± %g L: c = %g ± %g mol/L", b.Value, b.StdUnc, r.Value, r.StdUnc)
		}
		if r.StdUnc < 2*b.StdUnc {
			t.Errorf("u(c) = %.3g mol/L leaves out that of the blank, %.3g", r.StdUnc, 2*b.StdUnc)
		}
	}
}
