package fit

import (
	"math"
	"testing"

	"meniscus/internal/lab"
)

// Thirteen readings with four parameters, of which the jump takes some: the
// estimated noise is right in the mean of its square, and that scatters as
// 2/(degrees of freedom) says. 600 runs tell the mean to 2 %, the scatter to
// 10 %.
func TestNoiseEstimate(t *testing.T) {
	s, targets := ironTitration(t, "0.05")
	plan := lab.Plan{Expected: 0.025, Around: 0.3e-3, Fine: 0.1e-3, Coarse: 5e-3, First: 2e-3, Last: 0.040}
	b := lab.Bench{Offset: 0.012, SlopeError: -0.015, Noise: 0.7e-3, VolumeNoise: 1e-5}
	const runs = 600
	var mean, square, want float64
	for seed := range runs {
		c := b.Run(lab.IronCerium().WithEquivalence(jitter(seed)), plan.Volumes(), uint64(seed))
		r, err := Curve(&c, s.Titration, targets, Options{Noise: Noise{Volume: 1e-5}})
		if err != nil {
			t.Fatal(err)
		}
		q := r.Noise.Value / b.Noise
		mean += q * q / runs
		square += q * q * q * q / runs
		want += 2 / r.NoiseFreedom / runs
		if r.NoiseFreedom >= float64(r.Freedom) {
			t.Errorf("run %d: %g degrees of freedom of %d", seed, r.NoiseFreedom, r.Freedom)
		}
	}
	t.Logf("mean square %.3f, relative variance %.3f, stated %.3f", mean, square-mean*mean, want)
	if math.Abs(mean-1) > 0.07 {
		t.Errorf("mean square of the noise over what it is: %.3f", mean)
	}
	if q := (square - mean*mean) / want; q < 0.75 || q > 1.3 {
		t.Errorf("its variance is %.2f times what the degrees of freedom say", q)
	}
}

// Without errors of volume all of an uncertainty comes from the estimated
// noise; with them as much again, half does, and the freedom is four times.
func TestFreedomOfTheShare(t *testing.T) {
	s, targets := ironTitration(t, "0.05")
	b := lab.Bench{Noise: 0.5e-3}
	c := b.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 5)
	fit := func(n Noise) *Result {
		r, err := Curve(&c, s.Titration, targets, Options{Noise: n})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := fit(Noise{Volume: 1e-12})
	if q := r.Equivalences[0].Freedom / r.NoiseFreedom; math.Abs(q-1) > 1e-3 {
		t.Errorf("without errors of volume V_eq has %.4f times the freedom of the noise", q)
	}
	if r := fit(Noise{Value: 0.5e-3, Volume: 1e-5}); !math.IsInf(r.Equivalences[0].Freedom, 1) {
		t.Errorf("with noise that is stated: %g", r.Equivalences[0].Freedom)
	}
	// The derivative of ln u² by that of the noise, by differences.
	r = fit(Noise{Volume: 1e-5})
	const h = 0.01
	up := fit(Noise{Value: r.Noise.Value * (1 + h), Volume: 1e-5}).Equivalences[0].StdUnc
	down := fit(Noise{Value: r.Noise.Value * (1 - h), Volume: 1e-5}).Equivalences[0].StdUnc
	share := math.Log(float64(up/down)) / math.Log((1+h)/(1-h))
	want := r.NoiseFreedom / (share * share)
	if q := r.Equivalences[0].Freedom / want; math.Abs(q-1) > 0.02 {
		t.Errorf("V_eq has %.4g degrees of freedom, by differences %.4g (share %.3f)", r.Equivalences[0].Freedom, want, share)
	}
}
