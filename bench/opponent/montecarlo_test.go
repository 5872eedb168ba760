package opponent

import (
	"math"
	"testing"
)

const trials = 200_000

// TestMonteCarloNormal: a sum of normal inputs is normal. The bounds are five
// standard errors of each estimate, with the seed fixed.
func TestMonteCarloNormal(t *testing.T) {
	inputs := [5]Input{{1, 1, false}, {2, 2, false}, {3, 2, false}, {4, 4, false}, {5, 0, false}}
	sum := func(x *[5]float64) float64 { return x[0] + x[1] + x[2] + x[3] + x[4] }
	mean, deviation, quantiles := MonteCarlo(1, trials, inputs, sum, []float64{0.025, 0.5, 0.975})
	const want = 5 // sqrt(1 + 4 + 4 + 16)
	root := math.Sqrt(trials)
	within(t, "mean", mean, 15, 5*want/root)
	within(t, "standard deviation", deviation, want, 5*want/(math.Sqrt2*root))
	const z = 1.959963984540054 // 97.5 % of the standard normal distribution
	density := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) / want
	tail := 5 * math.Sqrt(0.025*0.975) / (density * root)
	within(t, "2.5 %", quantiles[0], 15-z*want, tail)
	within(t, "50 %", quantiles[1], 15, 5*want*math.Sqrt(math.Pi/2)/root)
	within(t, "97.5 %", quantiles[2], 15+z*want, tail)
}

// TestMonteCarloRectangular: two equal rectangular inputs add to a triangle of
// half width w = 2 sqrt 3 u, whose quantile is w (sqrt(2 p) - 1) for p < 1/2.
func TestMonteCarloRectangular(t *testing.T) {
	inputs := [5]Input{{0, 1, true}, {0, 1, true}}
	sum := func(x *[5]float64) float64 { return x[0] + x[1] }
	_, deviation, quantiles := MonteCarlo(2, trials, inputs, sum, []float64{0, 0.08, 0.98, 1})
	w := 2 * math.Sqrt(3)
	within(t, "standard deviation", deviation, math.Sqrt2, 0.02)
	within(t, "8 %", quantiles[1], w*(math.Sqrt(0.16)-1), 0.03)
	within(t, "98 %", quantiles[2], w*(1-math.Sqrt(0.04)), 0.03)
	if quantiles[0] < -w || quantiles[3] > w {
		t.Errorf("values from %g to %g, want inside ± %g", quantiles[0], quantiles[3], w)
	}
}

func TestMonteCarloRanks(t *testing.T) {
	next := 0.0
	counting := func(*[5]float64) float64 { next++; return -next }
	_, _, quantiles := MonteCarlo(3, 10, [5]Input{}, counting, []float64{0, 0.1, 0.11, 0.5, 1})
	for i, want := range []float64{-10, -10, -9, -6, -1} {
		if quantiles[i] != want {
			t.Errorf("quantile %d of -10 to -1: %g, want %g", i, quantiles[i], want)
		}
	}
}

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s: %.5f, want %.5f ± %.5f", what, got, want, tolerance)
	}
}

// BenchmarkMonteCarlo is a content from a titration: concentration, volume,
// molar mass, mass of the sample and aliquot factor.
func BenchmarkMonteCarlo(b *testing.B) {
	inputs := [5]Input{{0.1, 1e-4, false}, {0.02482, 2e-5, false}, {55.845, 0.001, true}, {0.9167, 1e-4, false}, {10, 0.008, true}}
	content := func(x *[5]float64) float64 { return 100 * x[0] * x[1] * x[2] * x[4] / x[3] }
	for b.Loop() {
		MonteCarlo(1, 1_000_000, inputs, content, []float64{0.025, 0.975})
	}
}
