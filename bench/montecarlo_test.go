package bench

import (
	"context"
	"math"
	"runtime"
	"testing"

	"meniscus/bench/opponent"
	"meniscus/uncertainty"
)

// BenchmarkMonteCarlo is a content from a titration: concentration, volume,
// molar mass, mass of the sample and aliquot factor; a million trials with the
// ends of the 95 % interval.
func BenchmarkMonteCarlo(b *testing.B) {
	const trials = 1_000_000
	inputs := [5]opponent.Input{{Value: 0.1, StdUnc: 1e-4}, {Value: 0.02482, StdUnc: 2e-5}, {Value: 55.845, StdUnc: 0.001, Rectangular: true}, {Value: 0.9167, StdUnc: 1e-4}, {Value: 10, StdUnc: 0.008, Rectangular: true}}
	content := func(x *[5]float64) float64 { return 100 * x[0] * x[1] * x[2] * x[4] / x[3] }
	m := &uncertainty.Model{Measurand: "w", Equations: "w = 100*c*V*M*f/m"}
	for i, name := range []string{"c", "V", "M", "m", "f"} {
		in := uncertainty.Input{Name: name, X: inputs[i].Value, Stated: uncertainty.Stated{Width: inputs[i].StdUnc}}
		if inputs[i].Rectangular {
			in.Stated = uncertainty.Stated{Shape: uncertainty.Rectangular, Width: inputs[i].StdUnc * math.Sqrt(3)}
		}
		m.Inputs = append(m.Inputs, in)
	}
	o := uncertainty.MonteCarloOptions{Trials: trials, Seed: 1, Workers: runtime.GOMAXPROCS(0)}
	var s *uncertainty.Simulation
	ours := func() {
		var err error
		if s, err = m.MonteCarlo(context.Background(), o); err != nil {
			b.Fatal(err)
		}
	}
	var q []float64
	var u float64
	theirs := func() {
		_, u, q = opponent.MonteCarlo(1, trials, inputs, content, []float64{0.025, 0.975})
	}
	compare(b, trials, ours, theirs)
	for i := range q { // twenty standard errors of an end
		if !(math.Abs(s.Symmetric[i]-q[i]) <= 0.06*u) {
			b.Fatalf("end %d: %g against %g", i, s.Symmetric[i], q[i])
		}
	}
}
