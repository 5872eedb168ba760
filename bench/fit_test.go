package bench

import (
	"math"
	"testing"

	"meniscus/bench/opponent"
	"meniscus/fit"
	"meniscus/internal/lab"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

const ironToFit = `
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0501 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.70 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.40 V}
`

// BenchmarkFit fits 60 readings of iron with cerium: a concentration, two
// formal potentials and the slope of the electrode, from one start. The noise
// is in the potential alone, so that both answer the same question. Theirs is
// Levenberg-Marquardt with a Jacobian by central differences on the same
// engine; ours also looks for better starts, asks whether the volumes moved,
// and reports uncertainties, residuals and equivalence points.
func BenchmarkFit(b *testing.B) {
	noise := fit.Noise{Value: 0.5e-3, Volume: 1e-10}
	readings := lab.Bench{Noise: noise.Value}
	c := readings.Run(lab.IronCerium().WithEquivalence(0.02504), lab.DefaultPlan(0.025).Volumes()[:60], 3)
	s, err := setup.Read([]byte(ironToFit), "bench.yaml")
	if err != nil {
		b.Fatal(err)
	}
	iron := s.System().Index("Fe^2+")
	var result *fit.Result
	ours := func() {
		if result, err = fit.Curve(&c, s.Titration, []fit.Target{{Species: iron, Name: "Fe^2+"}}, fit.Options{Noise: noise}); err != nil {
			b.Fatal(err)
		}
	}
	model, err := s.Titration.NewModel([]titration.Parameter{
		{Kind: titration.FlaskConcentration, Index: iron},
		{Kind: titration.CouplePotential, Index: 0},
		{Kind: titration.CouplePotential, Index: 1},
		{Kind: titration.SlopeFraction},
	}, titration.Potential)
	if err != nil {
		b.Fatal(err)
	}
	n := len(c.Readings)
	v, e, sigma := make([]float64, n), make([]float64, n), make([]float64, n)
	for i, r := range c.Readings {
		v[i], e[i], sigma[i] = float64(r.Volume), r.Value, noise.Value
	}
	start := model.Start()
	var other opponent.FitResult
	theirs := func() {
		other, err = opponent.Fit(func(params, v, e []float64) {
			if err := model.Set(params); err != nil {
				b.Fatal(err)
			}
			for i := range v {
				e[i], _, _, _ = model.Eval(v[i], nil)
			}
		}, v, e, sigma, start, 1e-7)
		if err != nil {
			b.Fatal(err)
		}
	}
	best := fastest(b, ours, theirs)
	b.ReportMetric(float64(best[0].Nanoseconds())/1e3, "µs/fit-ours")
	b.ReportMetric(float64(best[1].Nanoseconds())/1e3, "µs/fit-theirs")
	b.ReportMetric(float64(best[1])/float64(best[0]), "times-as-fast")
	b.ReportMetric(float64(other.Steps), "steps-theirs")
	for k, x := range result.Estimates {
		if math.Abs(x.Value-other.Params[k]) > 0.02*x.StdUnc {
			b.Fatalf("%s: %g against %g, u = %g", x.Name, x.Value, other.Params[k], x.StdUnc)
		}
	}
}

func exact(x float64) unit.Decimal {
	d, _ := unit.DecimalOf(x)
	return d
}
