package plan

import (
	"flag"
	"math"
	"slices"
	"testing"

	"meniscus/curve"
	"meniscus/fit"
	"meniscus/internal/lab"
	"meniscus/setup"
	"meniscus/uncertainty"
	"meniscus/unit"
)

var positions = flag.Int("positions", 5, "true equivalence volumes in the simulation of plans; docs/schedule.md has 200")

func read(t testing.TB, text string) *setup.Setup {
	t.Helper()
	s, err := setup.Read([]byte(text), "test.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func ironCerium(t testing.TB, guess string) *setup.Setup {
	return read(t, `
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: `+guess+` mol/L}}
burette: {capacity: 50 mL, contains: {Ce^4+: 0.1000 mol/L}}
readings: {potential: 1 mV, volume: 0.01 mL}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
`)
}

func newTestBench(t testing.TB, s *setup.Setup, want Wanted) *bench {
	t.Helper()
	b, err := newBench(s, naturalKind(s), want, 0)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestInformation compares what one reading tells of V_eq, all else known, with
// a calculation in another language by finite differences: iron(II) 0.05 mol/L,
// 50 mL, cerium(IV) 0.1 mol/L; 1 mV and 0.01 mL; printed to two figures.
func TestInformation(t *testing.T) {
	b := newTestBench(t, ironCerium(t, "0.0500"), Equivalence)
	perVolume := b.eq[0].Gradient[0] // dV_eq/dc
	grad := make([]float64, len(b.prior))
	for v, want := range map[float64]float64{
		12.5: 4, 20: 26, 23: 160, 24: 620, 24.5: 2100, 24.9: 8600, 24.95: 9600,
		25.05: 9700, 25.1: 8800, 25.5: 2200, 26: 670, 50: 4,
	} {
		b.score(v*1e-3, grad)
		g := grad[0] / b.prior[0] / perVolume * 1e-3 // per mL
		if got := g * g; math.Abs(got-want) > 0.06*want+0.6 {
			t.Errorf("at %g mL: %.4g per mL², want %g", v, got, want)
		}
	}
}

// TestPlans compares the uncertainties of four plans of 20 readings with the
// same calculation, the slope known. It gave the plans in words only, so that
// the volumes here are one reading of them, and u is to a tenth.
func TestPlans(t *testing.T) {
	s := ironCerium(t, "0.0500")
	b := newTestBench(t, s, Both)
	b.prior[len(b.prior)-1] = 1e-12 // slope known
	steps := func(from, step float64, n int) []float64 {
		var l []float64
		for i := range n {
			l = append(l, from+float64(i)*step)
		}
		return l
	}
	for name, x := range map[string]struct {
		volumes   []float64
		v, fe, ce float64 // mL, mV, mV
	}{
		"even, 2 to 48": {steps(2, 46./19, 20), 0.039, 0.36, 0.38},
		"5 coarse, 10 at 0.1 mL across, 5 coarse": {
			slices.Concat(steps(4, 4, 5), steps(24.55, 0.1, 10), steps(30, 4, 5)), 0.005, 0.40, 0.41,
		},
		"5 near half, 10 at 0.1 to 1.5 mL, 5 near twice": {
			slices.Concat(steps(11.5, 0.5, 5), []float64{23.5, 24, 24.5, 24.8, 24.9, 25.1, 25.2, 25.5, 26, 26.5}, steps(47, 0.75, 5)), 0.007, 0.36, 0.36,
		},
		"all within 1 mL": {steps(24.05, 0.1, 20), 0.006, 0.50, 0.50},
	} {
		for i := range x.volumes {
			x.volumes[i] *= 1e-3
		}
		tr, ok := b.truth(b.start, 1, x.volumes)
		if !ok {
			t.Fatal("no equivalence point")
		}
		d := newDesign(x.volumes, []truth{tr}, b.wanted)
		for j := range x.volumes {
			d.add(j)
		}
		for i, want := range []float64{x.v, x.fe, x.ce} {
			if got := d.mean(i) * 1e3; math.Abs(got-want) > 0.12*want+0.0005 {
				t.Errorf("%s: u(%s) = %.3g, want %.3g", name, b.quantities[i].name, got, want)
			}
		}
	}
}

// adaptive reads one titration as Next says, until n readings are taken.
func adaptive(t testing.TB, s *setup.Setup, sample lab.Sample, noise lab.Bench, opt NextOptions, n int, seed uint64) *curve.Curve {
	t.Helper()
	c := &curve.Curve{Kind: sample.Kind()}
	for k := range n {
		x, err := NewNext(c, s, opt)
		if err != nil {
			t.Fatalf("after %d readings: %v", k, err)
		}
		if x.Stop {
			break
		}
		one := noise.Run(sample, []float64{float64(x.Volume)}, seed*1000+uint64(k))
		r := one.Readings[0]
		if m := len(c.Readings); m > 0 && r.Volume < c.Readings[m-1].Volume {
			r.Volume = c.Readings[m-1].Volume
		}
		c.Readings = append(c.Readings, r)
	}
	return c
}

func volumesOf(x *Schedule) (list []float64) {
	for _, r := range x.Readings {
		list = append(list, float64(r.Volume))
	}
	return list
}

func litres(list []unit.Volume) (out []float64) {
	for _, v := range list {
		out = append(out, float64(v))
	}
	return out
}

// A tally gathers errors and stated uncertainties over true positions.
type tally struct {
	square, stated float64
	n, failed      int
}

func (y *tally) add(err, u float64) { y.square += err * err; y.stated += u; y.n++ }

func (y tally) rms() float64  { return math.Sqrt(y.square / float64(y.n)) }
func (y tally) mean() float64 { return y.stated / float64(y.n) }

// TestSimulatedPlans titrates iron(II) with V_eq known to 3 % beforehand, 20
// readings, 1 mV and 0.01 mL, by independent simulation, evaluated by
// regression. The schedule made beforehand and the one re-planned after each
// reading must both beat equal steps three times in the actual spread.
func TestSimulatedPlans(t *testing.T) {
	s := ironCerium(t, "0.0500")
	noise := lab.Bench{Noise: 1e-3, VolumeNoise: 1e-5}
	forV, err := NewSchedule(s, ScheduleOptions{Known: 0.03})
	if err != nil {
		t.Fatal(err)
	}
	forE, err := NewSchedule(s, ScheduleOptions{Known: 0.03, Want: Potential})
	if err != nil {
		t.Fatal(err)
	}
	target := []fit.Target{{Species: s.System().Index("Fe^2+"), Name: "Fe^2+"}}
	names := []string{"equal steps", "for V_eq", "for potentials", "re-planned"}
	v, e := make([]tally, 4), make([]tally, 4)
	for seed := range *positions {
		z := uncertainty.NormalQuantile((float64(seed) + 0.5) / float64(*positions)) // evenly over the prior
		sample := lab.IronCerium().WithEquivalence(0.025 * (1 + 0.03*z))
		for i, list := range [][]float64{litres(forV.Equal), volumesOf(forV), volumesOf(forE), nil} {
			var c *curve.Curve
			if list == nil {
				c = adaptive(t, s, sample, noise, NextOptions{ScheduleOptions: ScheduleOptions{Known: 0.03}}, 20, uint64(seed))
			} else {
				x := noise.Run(sample, list, uint64(seed))
				c = &x
			}
			r, err := fit.Curve(c, s.Titration, target, fit.Options{Noise: fit.Noise{Value: 1e-3, Volume: 1e-5}})
			if err != nil {
				t.Logf("%s, V_eq %.3f mL: %v", names[i], sample.Equivalence()*1e3, err)
				v[i].failed++
				continue
			}
			v[i].add(float64(r.Equivalences[0].Volume)-sample.Equivalence(), float64(r.Equivalences[0].StdUnc))
			e[i].add(r.Estimates[1].Value-0.68, r.Estimates[1].StdUnc)
		}
	}
	for i, name := range names {
		t.Logf("%-15s u(V_eq): stated %.4f, actual %.4f mL; u(E0' Fe): stated %.2f, actual %.2f mV; %d of %d refused",
			name, v[i].mean()*1e3, v[i].rms()*1e3, e[i].mean()*1e3, e[i].rms()*1e3, v[i].failed, *positions)
		if v[i].failed > 0 {
			t.Errorf("%s: regression refuses %d of %d", name, v[i].failed, *positions)
		}
	}
	for _, i := range []int{1, 3} {
		if k := v[0].mean() / v[i].mean(); k < 3 {
			t.Errorf("%s: u(V_eq) %.2f times smaller than with equal steps, want 3", names[i], k)
		}
	}
	if !(e[2].mean() < e[0].mean() && e[2].mean() < e[1].mean()) {
		t.Errorf("u(E0'): %.3g mV with the plan for it, %.3g mV with equal steps, %.3g mV with the plan for V_eq", e[2].mean()*1e3, e[0].mean()*1e3, e[1].mean()*1e3)
	}
	if slices.Equal(volumesOf(forV), volumesOf(forE)) {
		t.Error("the plan for potentials is the plan for V_eq")
	}
}
