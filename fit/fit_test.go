package fit

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/setup"
	"meniscus/unit"
)

const ironSetup = `
flask:
  volume: 50.00 mL
  contains:
    Fe^2+: GUESS mol/L
burette:
  contains:
    Ce^4+: 0.1000 mol/L
electrode: {indicator: platinum, reference: SHE}
find: Fe^2+
library: off
chemistry:
  - reaction: Fe^3+ + e^- = Fe^2+
    formal potential: 0.70 V
  - reaction: Ce^4+ + e^- = Ce^3+
    formal potential: 1.40 V
`

func ironTitration(t testing.TB, guess string) (*setup.Setup, []Target) {
	t.Helper()
	s, err := setup.Read([]byte(strings.Replace(ironSetup, "GUESS", guess, 1)), "iron.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return s, []Target{{Species: s.System().Index("Fe^2+"), Name: "Fe^2+"}}
}

var bench = lab.Bench{Offset: 0.012, SlopeError: -0.015, Noise: 0.5e-3, VolumeNoise: 1e-5}

// jitter moves the true equivalence point across a step, so that no method
// profits from where it falls.
func jitter(seed int) float64 { return 0.025 + 1e-4*(float64(seed%97)/97-0.5) }

// TestAgainstTheBound simulates 1,000 titrations with a generator that shares
// no code with the fit and compares the spread of V_eq with the Cramér-Rao
// bound for the same readings and parameters.
func TestAgainstTheBound(t *testing.T) {
	s, targets := ironTitration(t, "0.05")
	volumes := lab.DefaultPlan(0.025).Volumes()
	const runs = 1000
	sum, sq, bound, stated := 0.0, 0.0, 0.0, 0.0
	for seed := range runs {
		sample := lab.IronCerium().WithEquivalence(jitter(seed))
		c := bench.Run(sample, volumes, uint64(seed))
		r, err := Curve(&c, s.Titration, targets, Options{Noise: Noise{0.5e-3, 1e-5}})
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		d := float64(r.Equivalences[0].Volume) - sample.Equivalence()
		sum += d
		sq += d * d
		stated += float64(r.Equivalences[0].StdUnc) * float64(r.Equivalences[0].StdUnc)
		if seed%50 == 0 {
			bound += lab.CRB(sample.Model, sample.Parameters(bench), volumes, bench.Noise, bench.VolumeNoise)[0] / (runs / 50)
		}
	}
	bias := sum / runs
	sd := math.Sqrt(sq/runs - bias*bias)
	u := math.Sqrt(stated / runs)
	t.Logf("bound %.4g mL, sd %.4g mL (%.3f of it), bias %.2g mL, stated u %.4g mL (%.3f of sd)", bound*1e3, sd*1e3, sd/bound, bias*1e3, u*1e3, u/sd)
	if sd > 1.15*bound {
		t.Errorf("standard deviation %.4g mL, bound %.4g mL", sd*1e3, bound*1e3)
	}
	if math.Abs(bias) > 0.1*sd+3*sd/math.Sqrt(runs) {
		t.Errorf("bias %.3g mL at a standard deviation of %.3g mL", bias*1e3, sd*1e3)
	}
	if u < 0.9*sd || u > 1.1*sd {
		t.Errorf("stated u %.4g mL, actual %.4g mL", u*1e3, sd*1e3)
	}
}

// TestWrongGuesses: the sought concentration 30 % low, 30 % high, tenfold and
// a tenth lead to the same answer.
func TestWrongGuesses(t *testing.T) {
	c := bench.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 7)
	var want float64
	for i, guess := range []string{"0.05", "0.035", "0.065", "0.5", "0.005"} {
		s, targets := ironTitration(t, guess)
		r, err := Curve(&c, s.Titration, targets, Options{})
		if err != nil {
			t.Fatalf("guess %s: %v", guess, err)
		}
		got := r.Estimates[0].Value
		if i == 0 {
			want = got
		}
		if math.Abs(got-want) > 1e-6*want {
			t.Errorf("guess %s: c = %.9g, from the right guess %.9g", guess, got, want)
		}
	}
	if math.Abs(want-0.05) > 5*2e-5 {
		t.Errorf("c = %g, true 0.05 mol/L", want)
	}
}

func TestRefusals(t *testing.T) {
	s, targets := ironTitration(t, "0.05")
	full := bench.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 1)
	flat := full
	flat.Readings = slices.Clone(full.Readings)
	for i := range flat.Readings {
		flat.Readings[i].Value = 0.6
	}
	short := full
	short.Readings = full.Readings[:3]
	early := full
	early.Readings = full.Readings[:6]                        // up to 6 mL of 25
	ramp := curve.Curve{Readings: make([]curve.Reading, 200)} // no titration at all
	for i := range ramp.Readings {
		ramp.Readings[i] = curve.Reading{Row: i + 2, Volume: unit.Volume(1e-5 + 2e-4*float64(i)), Value: 0.4 + 1.5e-3*float64(i)}
	}
	for name, c := range map[string]curve.Curve{"none": {}, "three": short, "flat": flat, "early": early, "ramp": ramp} {
		_, err := Curve(&c, s.Titration, targets, Options{})
		var r *RefusedError
		if !errors.As(err, &r) {
			t.Errorf("%s: %v, want a refusal", name, err)
		}
	}
}

func BenchmarkFit60(b *testing.B) {
	s, targets := ironTitration(b, "0.045")
	volumes := lab.DefaultPlan(0.025).Volumes()[:60]
	c := bench.Run(lab.IronCerium(), volumes, 3)
	for b.Loop() {
		if _, err := Curve(&c, s.Titration, targets, Options{Noise: Noise{0.5e-3, 1e-5}}); err != nil {
			b.Fatal(err)
		}
	}
}

// TestOutlier moves one reading by 100 mV: with robust weights the answer stays
// where it was without, to a fraction of its uncertainty.
func TestOutlier(t *testing.T) {
	s, targets := ironTitration(t, "0.05")
	c := bench.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 11)
	clean, err := Curve(&c, s.Titration, targets, Options{})
	if err != nil {
		t.Fatal(err)
	}
	c.Readings[12].Value += 0.1
	r, err := Curve(&c, s.Titration, targets, Options{Robust: true})
	if err != nil {
		t.Fatal(err)
	}
	d := float64(r.Equivalences[0].Volume - clean.Equivalences[0].Volume)
	u := float64(clean.Equivalences[0].StdUnc)
	if math.Abs(d) > 0.5*u {
		t.Errorf("V_eq moved by %.3g mL, u is %.3g mL", d*1e3, u*1e3)
	}
	if k := float64(r.Equivalences[0].StdUnc) / u; k < 0.7 || k > 1.6 {
		t.Errorf("stated u is %.2f times that without the outlier", k)
	}
	if x := math.Abs(r.Residuals[12].Reduced); x < 50 {
		t.Errorf("the outlier shows as %.1f standard deviations", x)
	}
}

// TestEffort counts evaluations of the model, which is what a fit costs. An
// exact search for the true volume of each reading in every step, and a fit
// from every start, would need several times as many.
func TestEffort(t *testing.T) {
	s, targets := ironTitration(t, "0.0501")
	volumes := lab.DefaultPlan(0.025).Volumes()[14:54]
	const runs = 50
	sum := 0
	for seed := range runs {
		c := bench.Run(lab.IronCerium().WithEquivalence(jitter(seed)), volumes, uint64(seed))
		f := &fitter{c: &c, t: s.Titration, targets: targets}
		if _, err := f.curve(); err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		sum += f.tries
	}
	t.Logf("%.1f evaluations a reading", float64(sum)/float64(runs*len(volumes)))
	if sum > 13*runs*len(volumes) {
		t.Errorf("%d evaluations for %d readings, want at most 13 a reading", sum, runs*len(volumes))
	}
}
