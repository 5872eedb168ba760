package plan

import (
	"errors"
	"math"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/setup"
	"meniscus/unit"
)

// TestWrongGuess: the guess is a fifth too high or too low, though said to be
// good to 3 %. The readings must show it before the end point is passed by
// more than a tenth of it, and V_eq must come out within four standard
// uncertainties.
func TestWrongGuess(t *testing.T) {
	noise := lab.Bench{Noise: 1e-3, VolumeNoise: 1e-5}
	sample := lab.IronCerium() // 25 mL
	for _, guess := range []string{"0.0400", "0.0500", "0.0600"} {
		s := ironCerium(t, guess)
		c := adaptive(t, s, sample, noise, NextOptions{}, 20, 4)
		near := 0
		for _, r := range c.Readings {
			if math.Abs(float64(r.Volume)-0.025) < 0.5e-3 {
				near++
			}
		}
		if near < 4 {
			t.Errorf("guess %s mol/L: %d readings within 0.5 mL of the end point, want 4", guess, near)
		}
		x, err := NewNext(c, s, NextOptions{})
		if err != nil {
			t.Fatal(err)
		}
		r := x.Reached[0]
		if math.Abs(r.Value-25) > 4*r.StdUnc || r.StdUnc > 0.012 {
			t.Errorf("guess %s mol/L: V_eq %.4f mL, u %.4f mL; true 25 mL", guess, r.Value, r.StdUnc)
		}
		if x.From != FromReadings {
			t.Errorf("guess %s mol/L: still by %s", guess, x.From)
		}
	}
}

// TestOtherTitrations follows an acid and a silver titration to the end: V_eq
// within four standard uncertainties of the truth, which is 3 % off the guess.
func TestOtherTitrations(t *testing.T) {
	for name, x := range map[string]struct {
		setup  string
		sample lab.Sample
		noise  lab.Bench
		want   float64 // mL
	}{
		"acetic acid": {`
find: CH3COOH
flask: {volume: 20.00 mL, contains: {CH3COOH: 0.1000 mol/L}}
burette: {capacity: 50 mL, contains: {NaOH: 0.1000 mol/L}}
electrode: {indicator: glass}
library: off
chemistry:
  - {reaction: CH3COOH = CH3COO^- + H^+, pKa: 4.757}
  - {reaction: H2O = H^+ + OH^-, pKa: 13.995}
`, lab.Acid{PKa: []float64{4.757}, Conc: 0.103, V0: 0.020, TitrantConc: 0.1}, lab.Bench{Noise: 0.01, VolumeNoise: 1e-5}, 20.6},
		"chloride": {`
find: Cl^-
flask: {volume: 50.00 mL, contains: {Cl^-: 0.0500 mol/L}}
burette: {capacity: 50 mL, contains: {Ag^+: 0.1000 mol/L}}
electrode: {indicator: silver, reference: SHE, standard potential: 0.7993 V}
library: off
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.752}
`, lab.Silver{Halides: []lab.Halide{{Conc: 0.0485, PKsp: 9.752}}, V0: 0.050, TitrantConc: 0.1, E0: 0.7993}, lab.Bench{Noise: 1e-3, VolumeNoise: 1e-5}, 24.25},
	} {
		s := read(t, x.setup)
		c := adaptive(t, s, x.sample, x.noise, NextOptions{}, 20, 9)
		n, err := NewNext(c, s, NextOptions{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if r := n.Reached[0]; math.Abs(r.Value-x.want) > 4*r.StdUnc || r.StdUnc > 0.012 {
			t.Errorf("%s: V_eq %.4f mL, u %.4f mL; true %.4g mL", name, r.Value, r.StdUnc, x.want)
		}
	}
}

// at makes the readings that iron(II) with cerium(IV) gives at these volumes,
// without noise.
func at(ml ...float64) *curve.Curve {
	var v []float64
	for _, x := range ml {
		v = append(v, x*1e-3)
	}
	c := lab.Bench{}.Run(lab.IronCerium(), v, 1)
	return &c
}

// TestNextAlways: whatever has been read, the next addition goes forward, on a
// mark of the burette, within it.
func TestNextAlways(t *testing.T) {
	s := ironCerium(t, "0.0500")
	for _, read := range [][]float64{nil, {0.5}, {5, 5}, {2, 10, 20}, {24.9}, {24, 26}, {30}, {5, 15, 24.9, 25.1, 30}} {
		for _, want := range []Wanted{Equivalence, Potential, Both} {
			x, err := NewNext(at(read...), s, NextOptions{ScheduleOptions: ScheduleOptions{Want: want}})
			if err != nil {
				t.Errorf("%v, %v: %v", read, want, err)
				continue
			}
			if x.Stop {
				continue
			}
			steps := float64(x.Volume) / 5e-5
			if x.Add < 4.9e-5 || x.Volume > 0.050+1e-9 || math.Abs(steps-math.Round(steps)) > 1e-6 {
				t.Errorf("%v, %v: add %.4f mL to %.4f mL", read, want, x.Add.Millilitres(), x.Volume.Millilitres())
			}
			for _, r := range x.Reached {
				if !(r.After <= r.StdUnc*(1+1e-9) && r.Rest <= r.After*(1+1e-6) && r.StdUnc > 0) {
					t.Errorf("%v, %v: %s: u %g, after the next %g, after all %g", read, want, r.Name, r.StdUnc, r.After, r.Rest)
				}
			}
		}
	}
}

func TestNextRefuses(t *testing.T) {
	s := ironCerium(t, "0.0500")
	shifted := at(5, 10, 15, 20)
	for i := range shifted.Readings {
		shifted.Readings[i].Value *= 1 - 0.5*float64(i%2)
	}
	for name, c := range map[string]*curve.Curve{
		"order of readings": at(5, 4),
		"off the model":     shifted,
		"burette empty":     at(5, 50),
	} {
		_, err := NewNext(c, s, NextOptions{ScheduleOptions: ScheduleOptions{Want: Equivalence}})
		var r *ScheduleError
		if !errors.As(err, &r) || r.Problem != name {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := NewNext(&curve.Curve{}, &setup.Setup{}, NextOptions{}); err == nil {
		t.Error("a setup without chemistry was planned")
	}
}

// TestUpdate compares the formula for one reading more with the inverse of a
// 2 by 2 matrix by hand: I + g gᵀ for g = (1, 2) is ((2, 2), (2, 5)), its
// inverse ((5, -2), (-2, 2))/6.
func TestUpdate(t *testing.T) {
	x := truth{values: make([]float64, 2), inv: []float64{1, 0, 0, 1}, want: []float64{1, 0}, grad: []float64{1, 2}}
	x.update([]float64{1, 2}, 1)
	for i, want := range []float64{5. / 6, -2. / 6, -2. / 6, 2. / 6} {
		if math.Abs(x.inv[i]-want) > 1e-15 {
			t.Errorf("element %d: %g, want %g", i, x.inv[i], want)
		}
	}
	if v := x.without(0, 0); math.Abs(v-1) > 1e-14 {
		t.Errorf("variance without the reading %g, want 1", v)
	}
	x.update([]float64{1, 2}, -1)
	if math.Abs(x.inv[0]-1)+math.Abs(x.inv[1]) > 1e-14 {
		t.Errorf("taken out again: %v", x.inv)
	}
}

func BenchmarkSchedule(b *testing.B) {
	s := ironCerium(b, "0.0500")
	for b.Loop() {
		if _, err := NewSchedule(s, ScheduleOptions{Want: Both}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNext(b *testing.B) {
	s := ironCerium(b, "0.0500")
	for name, c := range map[string]*curve.Curve{"start": {}, "before": at(5, 15, 22, 24), "after": at(5, 15, 23, 24, 24.5, 24.8, 24.9, 25.1, 25.3)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := NewNext(c, s, NextOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// TestBlank: with a blank of 1.00 mL the burette shows the end point at V0 c/c' and
// 1.00 mL more, before the first reading, on the way, and after the end point.
// Readings are those of the closed form, one couple on either side of it.
func TestBlank(t *testing.T) {
	const blank, reacted = 1.00, 25.25 // mL
	s := ironCerium(t, "0.0500")
	x, _ := unit.DecimalOf(blank * 1e-3)
	s.Blank = setup.Value{X: x, U: 0.02e-3, Stated: true}
	potential := func(v float64) float64 { // mV at 25 °C
		x := (v - blank) / reacted
		if x < 1 {
			return 680 + 59.159*math.Log10(x/(1-x))
		}
		return 1440 + 59.159*math.Log10(x-1)
	}
	for _, stage := range []struct {
		volumes []float64
		want, u float64 // mL
	}{
		{nil, 26.00, 0.8},
		{[]float64{6, 18, 23, 25}, 26.25, 0.3},
		{[]float64{2, 6, 18, 23, 25, 25.9, 26.1, 26.2, 26.3, 26.4, 26.6, 28, 32, 40}, 26.25, 0.02},
	} {
		c := &curve.Curve{Kind: curve.Potential}
		for _, v := range stage.volumes {
			c.Readings = append(c.Readings, curve.Reading{Volume: unit.Volume(v * 1e-3), Value: potential(v) * 1e-3})
		}
		x, err := NewNext(c, s, NextOptions{})
		if err != nil {
			t.Fatal(err)
		}
		r := x.Reached[0]
		if math.Abs(r.Value-stage.want) > math.Min(3*r.StdUnc, 0.3) || r.StdUnc > stage.u {
			t.Errorf("%d readings: V_eq %.3f mL, u %.3f mL; want %.2f", len(stage.volumes), r.Value, r.StdUnc, stage.want)
		}
	}
}
