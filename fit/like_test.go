package fit

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"meniscus/internal/lab"
)

// A run that starts from the first of its series comes to the answer it comes to
// alone, with less effort. Not all of the effort can go: the noise of each run
// is its own.
func TestLikeTheFirst(t *testing.T) {
	s, targets := ironTitration(t, "0.0501")
	volumes := lab.DefaultPlan(0.025).Volumes()[14:54]
	run := func(seed int, opt Options) (*fitter, *Result) {
		c := bench.Run(lab.IronCerium().WithEquivalence(jitter(seed)), volumes, uint64(seed))
		f := &fitter{c: &c, t: s.Titration, targets: targets, opt: opt}
		r, err := f.curve()
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		return f, r
	}
	_, first := run(0, Options{})
	alone, like := 0, 0
	for seed := 1; seed <= 30; seed++ {
		f, want := run(seed, Options{})
		g, got := run(seed, Options{Like: first})
		alone, like = alone+f.tries, like+g.tries
		for i, q := range want.Equivalences {
			d, u := float64(got.Equivalences[i].Volume-q.Volume), float64(q.StdUnc)
			if ratio := float64(got.Equivalences[i].StdUnc) / u; math.Abs(d) > 1e-3*u || math.Abs(ratio-1) > 1e-3 {
				t.Errorf("seed %d: V_eq is %.2g standard uncertainties from that found alone, u %.4f times as large", seed, d/u, ratio)
			}
		}
	}
	t.Logf("evaluations of the model: %d alone, %d after the first", alone, like)
	if float64(like) > 0.95*float64(alone) {
		t.Errorf("%d evaluations of the model after the first, %d alone", like, alone)
	}
}

// Another run that leads astray costs time and nothing else.
func TestLikeAnother(t *testing.T) {
	s, targets := ironTitration(t, "0.05")
	fit := func(veq float64, opt Options) *Result {
		c := bench.Run(lab.IronCerium().WithEquivalence(veq), lab.DefaultPlan(veq).Volumes(), 7)
		r, err := Curve(&c, s.Titration, targets, opt)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	near := func(name string, got, want *Result) {
		t.Helper()
		q, w := got.Equivalences[0], want.Equivalences[0]
		if d := float64(q.Volume-w.Volume) / float64(w.StdUnc); math.Abs(d) > 1e-3 || math.Abs(float64(q.StdUnc/w.StdUnc)-1) > 1e-3 {
			t.Errorf("%s: V_eq is %.3g standard uncertainties from that found alone, u %.4g times as large", name, d, float64(q.StdUnc/w.StdUnc))
		}
	}
	want, fixed := fit(0.025, Options{}), fit(0.025, Options{FixSlope: true})
	near("another equivalence", fit(0.025, Options{Like: fit(0.011, Options{})}), want)
	near("more parameters", fit(0.025, Options{Like: want, FixSlope: true}), fixed)
	near("fewer parameters", fit(0.025, Options{Like: fixed}), want)
	for _, by := range []float64{0.03, 0.3, 3, 30} {
		far := *want
		far.Estimates = slices.Clone(want.Estimates)
		far.Estimates[0].Value *= by
		near(fmt.Sprintf("%g times as much", by), fit(0.025, Options{Like: &far}), want)
	}
}

// Shortcuts are for the way only: where the noise was estimated the answer is
// that of a fit to which the same noise is stated, which takes none.
func TestShortcutsEndWhereTheLongWayDoes(t *testing.T) {
	s, targets := ironTitration(t, "0.0501")
	volumes := lab.DefaultPlan(0.025).Volumes()[14:54]
	for seed := range 400 {
		c := bench.Run(lab.IronCerium().WithEquivalence(jitter(seed)), volumes, uint64(seed))
		short, err := Curve(&c, s.Titration, targets, Options{})
		if err != nil {
			t.Fatal(err)
		}
		long, err := Curve(&c, s.Titration, targets, Options{Noise: short.Noise})
		if err != nil {
			t.Fatal(err)
		}
		for k, q := range long.Estimates {
			if d := (short.Estimates[k].Value - q.Value) / q.StdUnc; math.Abs(d) > 2e-4 {
				t.Errorf("seed %d: %s is %.2g standard uncertainties from that of the long way", seed, q.Name, d)
			}
		}
	}
}
