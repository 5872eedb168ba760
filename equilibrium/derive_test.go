package equilibrium

import (
	"math"
	"testing"

	"meniscus/unit"
)

// central returns the first and second derivative of f at 0 by central
// differences with steps h and h/2, extrapolated (Richardson) to fourth order.
func central(f func(x float64) float64, h float64) (first, second float64) {
	f0 := f(0)
	d := func(h float64) (float64, float64) {
		up, down := f(h), f(-h)
		return (up - down) / (2 * h), (up - 2*f0 + down) / (h * h)
	}
	a1, a2 := d(h)
	b1, b2 := d(h / 2)
	return (4*b1 - a1) / 3, (4*b2 - a2) / 3
}

// near says whether a derivative is right within the error of differences,
// which the size of the terms it may be the difference of adds to.
func near(got, want, size float64) bool {
	return math.Abs(got-want) <= 1e-6*math.Abs(want)+1e-8*size
}

// lnAt returns ln a of every species at v mL, NaN where undetermined.
func lnAt(t *testing.T, s *Solver, v unit.Decimal) []float64 {
	t.Helper()
	if err := s.At(v); err != nil {
		t.Fatal(err)
	}
	ln := make([]float64, len(s.p.sys.Species))
	for j := range ln {
		ln[j], _ = s.LnActivity(j)
	}
	return ln
}

// TestVolumeDerivatives: both derivatives of ln a of every species are those
// of central differences over 0.05 % of the volume.
func TestVolumeDerivatives(t *testing.T) {
	each(t, func(t *testing.T, r *readySample, act Activity) {
		s := r.solver(t, act)
		for _, v := range r.volumes {
			for j, sp := range r.sys.Species {
				h := 5e-4 * v * 1e-3
				want1, want2 := central(func(x float64) float64 {
					return lnAt(t, s, millilitres(v).Add(decimal(x)))[j]
				}, h)
				lnAt(t, s, millilitres(v))
				got1, got2, ok := s.LnActivitySlope(j)
				if !ok || !near(got1, want1, 1e2) {
					t.Errorf("%g mL: d ln a(%s)/dV = %.8g, by differences %.8g", v, sp.Name, got1, want1)
				}
				if !(math.Abs(got2-want2) <= 1e-4*math.Abs(want2)+1e-12/(h*h)+1e-5*want1*want1) {
					t.Errorf("%g mL: d2 ln a(%s)/dV2 = %.8g, by differences %.8g", v, sp.Name, got2, want2)
				}
			}
		}
	})
}

// changed returns the sample with parameter p changed by x.
func (r *readySample) changed(t *testing.T, p Parameter, x float64) *readySample {
	c := *r
	c.mix.Flask = append([]Amount(nil), r.mix.Flask...)
	c.mix.Burette = append([]Amount(nil), r.mix.Burette...)
	c.mix.Held = append([]Held(nil), r.mix.Held...)
	switch p.Kind {
	case LnK:
		list := append([]Reaction(nil), r.sys.Reactions...)
		list[p.Index].LnK += x
		var err error
		if c.sys, err = NewSystem(r.sys.Species, list); err != nil {
			t.Fatal(err)
		}
	case FlaskAmount:
		c.mix.Flask = append(c.mix.Flask, Amount{p.Index, unit.Decimal{}})
		add(c.mix.Flask, p.Index, x)
	case BuretteAmount:
		c.mix.Burette = append(c.mix.Burette, Amount{p.Index, unit.Decimal{}})
		add(c.mix.Burette, p.Index, x)
	case HeldLn:
		c.mix.Held[p.Index].Ln += x
	case FlaskVolume:
		c.mix.Volume = c.mix.Volume.Add(decimal(x))
	}
	return &c
}

// add changes the entry of a species by x.
func add(list []Amount, species int, x float64) {
	for i := range list {
		if list[i].Species == species {
			list[i].Value = list[i].Value.Add(decimal(x))
			return
		}
	}
}

// parameters lists everything r depends on, with a step for differences.
func (r *readySample) parameters() (list []Parameter, steps []float64) {
	add := func(p Parameter, step float64) { list, steps = append(list, p), append(steps, step) }
	for k := range r.sys.Reactions {
		add(Parameter{LnK, k}, 2e-3)
	}
	for _, a := range r.mix.Flask {
		add(Parameter{FlaskAmount, a.Species}, 1e-3*a.Value.Float())
	}
	for _, a := range r.mix.Burette {
		add(Parameter{BuretteAmount, a.Species}, 1e-3*a.Value.Float())
	}
	for k := range r.mix.Held {
		add(Parameter{HeldLn, k}, 2e-3)
	}
	add(Parameter{Kind: FlaskVolume}, 1e-3*flaskVolume)
	return list, steps
}

// TestSensitivities: the derivative of ln a of every species with respect to
// every constant, amount, held value and the volume in the flask is that of
// central differences between separate titrations.
func TestSensitivities(t *testing.T) {
	each(t, func(t *testing.T, r *readySample, act Activity) {
		params, steps := r.parameters()
		for _, v := range r.volumes {
			s := r.at(t, act, v)
			got := make([][]float64, len(r.sys.Species))
			for j := range got {
				got[j] = make([]float64, len(params))
				if !s.Sensitivities(j, params, got[j]) {
					t.Fatalf("%s is undetermined", r.sys.Species[j].Name)
				}
			}
			for k, p := range params {
				at := func(x float64) []float64 {
					return lnAt(t, r.changed(t, p, x).solver(t, act), millilitres(v))
				}
				h := steps[k]
				up, down, up2, down2 := at(h), at(-h), at(h/2), at(-h/2)
				for j, sp := range r.sys.Species {
					want := (4*(up2[j]-down2[j])/h - (up[j]-down[j])/(2*h)) / 3
					if !(math.Abs(got[j][k]-want) <= 2e-6*math.Abs(want)+1e-8/h*1e-2) {
						t.Errorf("%g mL: d ln a(%s)/d %v = %.8g, by differences %.8g", v, sp.Name, p, got[j][k], want)
					}
				}
			}
		}
	})
}

// TestSensitivitiesOfUndetermined: a derivative of what is not determined is
// not a number.
func TestSensitivitiesOfUndetermined(t *testing.T) {
	r := samples[0].ready(t)
	s := r.at(t, Activity{}, 0)
	out := []float64{0}
	if s.Sensitivities(r.sys.Electron(), []Parameter{{FlaskAmount, 1}}, out) || !math.IsNaN(out[0]) {
		t.Errorf("iron(II) alone: derivative %g", out[0])
	}
	if first, _, ok := s.LnActivitySlope(r.sys.Electron()); ok || !math.IsNaN(first) {
		t.Errorf("iron(II) alone: slope %g", first)
	}
	if c := s.Capacity(r.sys.Electron()); !math.IsNaN(c) {
		t.Errorf("iron(II) alone: poise %g", c)
	}
}

// TestBufferCapacity: Van Slyke's sum over a weak acid and water,
// dC_H/d ln h = c K h/(K + h)^2 + h + Kw/h (J. Biol. Chem. 52 (1922) 525,
// from memory; it follows from the charge balance), against the capacity of a
// solution of acid and salt.
func TestBufferCapacity(t *testing.T) {
	for _, pKa := range []float64{2, 4.757, 9.25, 12} {
		k, kw := math.Pow(10, -pKa), 1e-14
		sys, err := NewSystem([]Species{{Name: "HA"}, {Name: "A^-", Charge: -1}, {Name: "H^+", Charge: 1}, {Name: "OH^-", Charge: -1}},
			[]Reaction{{Terms: []Term{{0, -1, 1}, {1, 1, 1}, {2, 1, 1}}, LnK: math.Log(k)}, {Terms: []Term{{2, 1, 1}, {3, 1, 1}}, LnK: math.Log(kw)}})
		if err != nil {
			t.Fatal(err)
		}
		for _, share := range []float64{0.01, 0.3, 0.5, 0.99} {
			const c = 0.02
			p, err := sys.NewProblem(Mixture{Volume: decimal(0.1), Flask: []Amount{{0, decimal(0.1 * c * (1 - share))}, {1, decimal(0.1 * c * share)}}}, Activity{})
			if err != nil {
				t.Fatal(err)
			}
			s := p.NewSolver()
			ln := lnAt(t, s, unit.Decimal{})
			h := math.Exp(ln[2])
			want := c*k*h/((k+h)*(k+h)) + h + kw/h
			if got := s.Capacity(2); math.Abs(got/want-1) > 1e-10 {
				t.Errorf("pKa %g, %g neutralised: capacity %.12g, want %.12g mol/L", pKa, share, got, want)
			}
		}
	}
}

// TestPoise: the poise of iron is ox red/(ox + red), and that of a mixture the
// sum over its couples.
func TestPoise(t *testing.T) {
	r := samples[0].ready(t)
	for _, v := range r.volumes {
		s := r.at(t, Activity{}, v)
		want := 0.0
		for _, couple := range [][2]string{{"Fe^3+", "Fe^2+"}, {"Ce^4+", "Ce^3+"}} {
			ox, red := s.Concentration(r.sys.Index(couple[0])), s.Concentration(r.sys.Index(couple[1]))
			want += ox * red / (ox + red)
		}
		if got := s.Capacity(r.sys.Electron()); math.Abs(got/want-1) > 1e-10 {
			t.Errorf("%g mL: poise %.12g, want %.12g mol/L", v, got, want)
		}
	}
	held := samples[1].ready(t)
	if c := held.at(t, Activity{}, 5).Capacity(held.sys.Index("H^+")); !math.IsInf(c, 1) {
		t.Errorf("held pH has capacity %g", c)
	}
}

// TestCapacityHasOneSign: more electrons, or more of any component, never
// lowers its activity.
func TestCapacityHasOneSign(t *testing.T) {
	each(t, func(t *testing.T, r *readySample, act Activity) {
		if act.Model != Ideal {
			return // coefficients can turn it for an ion in trace
		}
		for _, v := range r.volumes {
			s := r.at(t, act, v)
			for j, sp := range r.sys.Species {
				if c := s.Capacity(j); !(c > 0) {
					t.Errorf("%g mL: capacity of %s is %g", v, sp.Name, c)
				}
			}
		}
	})
}

// TestSlopeAtTheStart: where the flask alone poises the electrode, the slope
// at V = 0 is that of what the first drop does, reactions of the titrant and
// its ionic strength included. (Samples where a solid forms within the first
// drop have a kink there and are left out.)
func TestSlopeAtTheStart(t *testing.T) {
	starts := []sample{samples[3], samples[7], {
		name:      "iron with a trace of iron(III)",
		reactions: samples[0].reactions,
		flask:     "Fe^2+ 0.01, Fe^3+ 0.001, Cl^- 0.023", burette: samples[0].burette,
	}}
	for _, sm := range starts {
		r := sm.ready(t)
		for name, act := range models {
			s := r.solver(t, act)
			at := func(v float64) []float64 { return lnAt(t, s, decimal(v)) }
			const h = 1e-6 // L
			a, b, c, d := at(0), at(h), at(2*h), at(3*h)
			at(0)
			for j, sp := range r.sys.Species {
				if math.IsNaN(a[j]) {
					continue
				}
				want := (-11*a[j] + 18*b[j] - 9*c[j] + 2*d[j]) / (6 * h)
				got, _, ok := s.LnActivitySlope(j)
				if !ok || math.Abs(got-want) > 1e-4*math.Abs(want)+1e-3 {
					t.Errorf("%s, %s: d ln a(%s)/dV at 0 = %.8g, by differences %.8g", sm.name, name, sp.Name, got, want)
				}
			}
		}
	}
}
