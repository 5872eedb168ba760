package endpoint

import (
	"math"
	"math/rand/v2"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
)

// bench is the noise of the trade: 0.5 mV and 0.01 mL, with an offset and a
// slope error of the electrode.
var bench = lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5, Offset: -0.0123, SlopeError: -0.01}

// A trial sums up a method over many simulated runs.
type trial struct {
	runs, refused int
	bias, rms, u  float64 // L
	why           string
}

// A run is a simulated curve and its equivalence point.
type run struct {
	c  curve.Curve
	ve float64
}

// runs simulates curves over seeds. The equivalence point falls anywhere
// within one step of the schedule.
func runs(sample func(ve float64) lab.Sample, b lab.Bench, plan lab.Plan, seeds int) []run {
	out := make([]run, seeds)
	volumes := plan.Volumes()
	for seed := range out {
		rng := rand.New(rand.NewPCG(uint64(seed), 9))
		ve := plan.Expected + (rng.Float64()-0.5)*plan.Fine
		out[seed] = run{b.Run(sample(ve), volumes, uint64(seed)), ve}
	}
	return out
}

// evaluate runs a method over simulated curves.
func evaluate(m Method, all []run, opt Options) trial {
	var t trial
	for i := range all {
		r := m.Find(&all[i].c, opt)
		if r.Refused != "" {
			t.refused, t.why = t.refused+1, r.Refused
			continue
		}
		d, u := float64(r.Points[0].Volume)-all[i].ve, float64(r.Points[0].StdUnc)
		t.runs, t.bias, t.rms, t.u = t.runs+1, t.bias+d, t.rms+d*d, t.u+u*u
	}
	n := float64(t.runs)
	t.bias, t.rms, t.u = t.bias/n, math.Sqrt(t.rms/n), math.Sqrt(t.u/n)
	return t
}

func ironCerium(ve float64) lab.Sample { return lab.IronCerium().WithEquivalence(ve) }

func method(t *testing.T, name string) Method {
	t.Helper()
	m, ok := Find(name)
	if !ok {
		t.Fatalf("no method %q", name)
	}
	return m
}

// The stated uncertainty of the derivative methods is within 25 % of their
// actual error, over 1,000 runs of iron with cerium.
func TestStatedUncertaintyOfDerivatives(t *testing.T) {
	all := runs(ironCerium, bench, lab.DefaultPlan(0.025), 1000)
	for _, name := range []string{"steepest-interval", "smoothed-first-derivative", "second-derivative"} {
		for _, c := range []struct {
			what  string
			opt   Options
			seeds int
		}{
			{"noise stated", Options{Noise: Noise{0.5e-3, 1e-5}}, 1000},
			{"noise estimated", Options{}, 300},
		} {
			s := evaluate(method(t, name), all[:c.seeds], c.opt)
			if ratio := s.u / s.rms; s.refused > 0 || ratio < 0.75 || ratio > 1.25 {
				t.Errorf("%s, %s: stated %.4f mL, actual %.4f mL; refused %d times (%s)", name, c.what, s.u*1e3, s.rms*1e3, s.refused, s.why)
			}
			if math.Abs(s.bias) > 4*s.rms/math.Sqrt(float64(c.seeds)) {
				t.Errorf("%s, %s: bias %.4f mL with scatter %.4f mL", name, c.what, s.bias*1e3, s.rms*1e3)
			}
		}
	}
}

// A narrow jump may be anywhere in its interval: the error of the middle is
// uniform, with standard deviation step/sqrt(12), for any step. Stated and
// actual both have to be that.
func TestSteepestIntervalIsStepOverRootTwelve(t *testing.T) {
	for _, step := range []float64{1e-4, 2e-4, 5e-4} {
		plan := lab.DefaultPlan(0.025)
		plan.Fine, plan.Around = step, 2e-3
		want := math.Hypot(step/math.Sqrt(12), 1e-5/math.Sqrt2)
		s := evaluate(method(t, "steepest-interval"), runs(ironCerium, bench, plan, 250), Options{Noise: Noise{0.5e-3, 1e-5}})
		if math.Abs(s.rms/want-1) > 0.12 || math.Abs(s.u/want-1) > 0.12 {
			t.Errorf("step %g mL: actual %.4f, stated %.4f, law %.4f mL", step*1e3, s.rms*1e3, s.u*1e3, want*1e3)
		}
	}
}

// Where the jump spreads over several readings, u comes from resampling, and
// interpolation is better than the step.
func TestStatedUncertaintyOfWideJumps(t *testing.T) {
	small := func(ve float64) lab.Sample {
		r := lab.IronCerium()
		r.Titrant.E = r.Titrand.E + 0.35
		return r.WithEquivalence(ve)
	}
	chloride := func(ve float64) lab.Sample {
		return lab.Silver{Halides: []lab.Halide{{Conc: 2 * ve, PKsp: 9.752}}, V0: 0.05, TitrantConc: 0.1, E0: 0.6}
	}
	for name, sample := range map[string]func(float64) lab.Sample{"small jump": small, "chloride": chloride} {
		all := runs(sample, bench, lab.DefaultPlan(0.025), 150)
		for _, m := range []string{"steepest-interval", "smoothed-first-derivative", "second-derivative"} {
			s := evaluate(method(t, m), all, Options{Noise: Noise{0.5e-3, 1e-5}})
			if ratio := s.u / s.rms; s.refused > 0 || ratio < 0.75 || ratio > 1.3 {
				t.Errorf("%s of %s: stated %.4f mL, actual %.4f mL; refused %d (%s)", m, name, s.u*1e3, s.rms*1e3, s.refused, s.why)
			}
			if floor := 1e-4 / math.Sqrt(12); m == "smoothed-first-derivative" && s.rms > 0.6*floor {
				t.Errorf("%s of %s: %.4f mL is no better than the step", m, name, s.rms*1e3)
			}
		}
	}
}

// Lines: stated within a third of actual where the slope is told by the
// readings, and no method beats the Cramér-Rao bound of the whole curve.
func TestStatedUncertaintyOfLines(t *testing.T) {
	plan := lab.DefaultPlan(0.025)
	r := lab.IronCerium()
	bound := lab.CRB(r.Model, r.Parameters(bench), plan.Volumes(), bench.Noise, bench.VolumeNoise)[0]
	all := runs(ironCerium, bench, plan, 250)
	for _, name := range []string{"gran-redox-before", "gran-redox-after", "log-plot"} {
		s := evaluate(method(t, name), all, Options{Noise: Noise{0.5e-3, 1e-5}})
		if ratio := s.u / s.rms; s.refused > 0 || ratio < 0.75 || ratio > 1.33 {
			t.Errorf("%s: stated %.4f mL, actual %.4f mL; refused %d (%s)", name, s.u*1e3, s.rms*1e3, s.refused, s.why)
		}
		if s.rms < 0.95*bound {
			t.Errorf("%s: %.4f mL is below the Cramér-Rao bound %.4f mL", name, s.rms*1e3, bound*1e3)
		}
	}
}

// With the slope known, the propagation through the line itself: with noise
// of readings only and of volumes only.
func TestStatedUncertaintyOfAssumedSlope(t *testing.T) {
	plan := lab.DefaultPlan(0.025)
	for _, n := range []Noise{{0.5e-3, 1e-9}, {1e-7, 2e-5}} {
		all := runs(ironCerium, lab.Bench{Noise: n.Value, VolumeNoise: float64(n.Volume)}, plan, 400)
		for _, name := range []string{"gran-redox-before", "gran-redox-after"} {
			var noise float64
			s := evaluate(method(t, name), all, Options{Noise: n, Slope: SlopeAssumed})
			for i := range all {
				r := method(t, name).Find(&all[i].c, Options{Noise: n, Slope: SlopeAssumed})
				if len(r.Detail.Lines) > 0 {
					noise += math.Pow(float64(r.Detail.Lines[0].Noise), 2) / float64(len(all))
				}
			}
			if ratio := math.Sqrt(noise) / s.rms; s.refused > 0 || ratio < 0.85 || ratio > 1.2 {
				t.Errorf("%s, noise %v: stated %.5f mL, actual %.5f mL; refused %d (%s)", name, n, math.Sqrt(noise)*1e3, s.rms*1e3, s.refused, s.why)
			}
		}
	}
}

// However well the branches tell the place, a derivative method never states
// less than step/sqrt(12) for a jump narrower than the step.
func TestNarrowJumpKeepsTheFloor(t *testing.T) {
	for _, r := range runs(ironCerium, lab.Bench{Noise: 1e-5}, lab.DefaultPlan(0.025), 30) {
		for _, name := range []string{"steepest-interval", "smoothed-first-derivative", "second-derivative"} {
			got := method(t, name).Find(&r.c, Options{})
			if len(got.Points) != 1 || float64(got.Points[0].StdUnc) < 1e-4/math.Sqrt(12)-1e-12 || !got.Detail.Jumps[0].Narrow {
				t.Errorf("%s: %q %+v", name, got.Refused, got.Points)
			}
		}
	}
}

// The noise that was simulated is found again.
func TestNoiseIsEstimated(t *testing.T) {
	const n = 100
	var value, vol float64
	for seed := range uint64(n) {
		c := bench.Run(ironCerium(0.025), lab.DefaultPlan(0.025).Volumes(), seed)
		r := steepestInterval(&c, Options{})
		if !r.Detail.Estimated {
			t.Fatal("noise was not estimated")
		}
		value += r.Detail.Noise.Value / n
		vol += float64(r.Detail.Noise.Volume) / n
	}
	if math.Abs(value/0.5e-3-1) > 0.15 {
		t.Errorf("noise of a reading: %.3g V on average, 0.0005 was put in", value)
	}
	if math.Abs(vol/1e-5-1) > 0.3 {
		t.Errorf("noise of a volume: %.3g L on average, 1e-5 was put in", vol)
	}
}
