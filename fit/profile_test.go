package fit

import (
	"math"
	"strings"
	"testing"

	"meniscus/internal/lab"
)

// scan is the profile of V_e worked out without the engine: before the
// equivalence point iron's potential is E0' + S lg(V/(V_e-V)), so that E0' is the
// mean of what is left, and the ends are where chi-square has risen by k².
func scan(v, y []float64, noise, k float64) (best, low, high float64) {
	const s = 8.31446261815324 * 298.15 * math.Ln10 / 96485.33212 // RT ln 10/F, SI Brochure, 9th ed.
	chi := func(ve float64) float64 {
		mean, sum := 0.0, 0.0
		for i := range v {
			mean += (y[i] - s*math.Log10(v[i]/(ve-v[i]))) / float64(len(v))
		}
		for i := range v {
			d := (y[i] - s*math.Log10(v[i]/(ve-v[i])) - mean) / noise
			sum += d * d
		}
		return sum
	}
	last := v[len(v)-1]
	a, b := last*1.001, 5*last // golden section
	for b-a > 1e-12 {
		if c, d := b-0.618034*(b-a), a+0.618034*(b-a); chi(c) < chi(d) {
			b = d
		} else {
			a = c
		}
	}
	best = (a + b) / 2
	limit := chi(best) + k*k
	end := func(in, out float64) float64 {
		for math.Abs(out-in) > 1e-12 {
			if mid := (in + out) / 2; chi(mid) < limit {
				in = mid
			} else {
				out = mid
			}
		}
		return in
	}
	low, high = end(best, last*1.0001), end(best, 5*last)
	return best, low, high
}

// TestProfileLopsided: stopped at 60 % of the way, V_e is an extrapolation whose
// interval is longer upwards; by a scan of chi-square that shares no code.
func TestProfileLopsided(t *testing.T) {
	var volumes []float64
	for v := 1e-3; v < 15.5e-3; v += 1e-3 {
		volumes = append(volumes, v)
	}
	c := lab.Bench{Noise: 2e-3}.Run(lab.IronCerium(), volumes, 5)
	s, targets := ironTitration(t, "0.05")
	r, err := Curve(&c, s.Titration, targets, Options{Noise: Noise{2e-3, 1e-9}, FixSlope: true, Profile: true})
	if err != nil {
		t.Fatal(err)
	}
	var v, y []float64
	for _, q := range c.Readings {
		v, y = append(v, float64(q.Volume)), append(y, q.Value)
	}
	best, low, high := scan(v, y, 2e-3, 1.959964)
	q := r.Equivalences[0]
	for _, x := range []struct {
		what      string
		got, want float64
	}{{"V_e", float64(q.Volume), best}, {"low", q.Profile.Low, low}, {"high", q.Profile.High, high}} {
		if math.Abs(x.got-x.want) > 3e-8 {
			t.Errorf("%s: %.5f mL, by scanning %.5f mL", x.what, x.got*1e3, x.want*1e3)
		}
	}
	if !q.Profile.Differs(float64(q.Volume)) || high-best < 1.2*(best-low) {
		t.Errorf("%.4f to %.4f mL about %.4f mL does not count as lopsided", low*1e3, high*1e3, best*1e3)
	}
	// c(Fe²⁺) = 0.1 mol/L V_e / 50 mL.
	if p := r.Estimates[0].Profile; math.Abs(p.High-2*high) > 1e-7 || math.Abs(p.Low-2*low) > 1e-7 {
		t.Errorf("c: %.6f to %.6f mol/L, want %.6f to %.6f", p.Low, p.High, 2*low, 2*high)
	}
}

// TestProfileOfAWholeCurve: with the whole curve the interval is ± k u, the
// titrant may be what is sought, and the fit is left as it was.
func TestProfileOfAWholeCurve(t *testing.T) {
	c := bench.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 7)
	s, targets := ironTitration(t, "0.05")
	with, err := Curve(&c, s.Titration, targets, Options{Profile: true})
	if err != nil {
		t.Fatal(err)
	}
	without, err := Curve(&c, s.Titration, targets, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if without.Estimates[0].Profile != nil || with.Equivalences[0].Volume != without.Equivalences[0].Volume {
		t.Error("the profiles change the answer, or are there unasked")
	}
	q := with.Equivalences[0]
	if q.Profile.Refused != "" || q.Profile.Differs(float64(q.Volume)) || math.Abs((q.Profile.High-q.Profile.Low)/2/q.Profile.Half-1) > 0.1 {
		t.Errorf("V_e %+v, %+v", q, q.Profile)
	}
	y, _, _, _ := with.Model.Eval(0.0125, nil)
	z, _, _, _ := without.Model.Eval(0.0125, nil)
	if math.Abs(y-z) > 1e-12 {
		t.Errorf("the model reads %g V after the profiles, %g V without", y, z)
	}
	targets = []Target{{Species: s.System().Index("Ce^4+"), InBurette: true, Name: "Ce^4+"}}
	r, err := Curve(&c, s.Titration, targets, Options{Profile: true})
	if err != nil {
		t.Fatal(err)
	}
	p, e := r.Equivalences[0].Profile, r.Estimates[0].Profile
	if math.Abs(p.High*e.Low-0.050*float64(0.05)*s.Flask.Contents[0].Conc.Float()/0.05) > 1e-9 {
		t.Errorf("V_e up to %.6f mL and c down to %.6f mol/L do not belong together", p.High*1e3, e.Low)
	}
	r, err = Curve(&c, s.Titration, targets, Options{Profile: true, Robust: true})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(r.Estimates[0].Profile.Refused, "robust") || r.Equivalences[0].Profile.Refused == "" {
		t.Errorf("a robust fit has a profile: %+v", r.Estimates[0].Profile)
	}
}

// TestStoppedEarly: readings that stop at 60 % of the way also lie near a curve
// of half the Nernst slope with its end at a quarter of the volume. The answer is
// the right one or a refusal, never that.
func TestStoppedEarly(t *testing.T) {
	var volumes []float64
	for v := 1e-3; v < 15.5e-3; v += 1e-3 {
		volumes = append(volumes, v)
	}
	for seed := range uint64(10) {
		c := lab.Bench{Noise: 2e-3}.Run(lab.IronCerium(), volumes, seed)
		s, targets := ironTitration(t, "0.047")
		r, err := Curve(&c, s.Titration, targets, Options{Noise: Noise{2e-3, 1e-6}})
		if err != nil {
			continue
		}
		q := r.Equivalences[0]
		if math.Abs(float64(q.Volume)-0.025) > 4*float64(q.StdUnc) {
			t.Errorf("seed %d: V_e %.2f ± %.2f mL, true 25", seed, q.Volume.Millilitres(), q.StdUnc.Millilitres())
		}
	}
}
