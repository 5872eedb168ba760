package lab

import (
	"math"
	"slices"
	"testing"

	"meniscus/curve"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.10g, want %.10g within %g", what, got, want, tol)
	}
}

// Harvey, Modern Analytical Chemistry (2000), table 9.17 and figure: the
// approximations of the text, which hold to better than a millivolt here.
// Values computed from the two Nernst equations by hand.
func TestIronCeriumLandmarks(t *testing.T) {
	r := IronCerium()
	s := nernst(0)
	near(t, "slope", s, 0.05915935, 1e-7)
	near(t, "V_eq", r.Equivalence(), 0.025, 1e-15)
	for v, want := range map[float64]float64{
		12.5e-3: 0.68,
		25e-3:   1.06,
		50e-3:   1.44,
		2.5e-3:  0.68 + s*math.Log10(1./9),
		27.5e-3: 1.44 + s*math.Log10(0.1),
	} {
		near(t, "E", r.At(v), want, 1e-9)
	}
	near(t, "permanganate at equivalence, pH 1", IronPermanganate(1).At(0.025),
		(0.68+5*(1.51-1.6*s))/6, 1e-7) // the text-book mean leaves out what has not reacted, 5e-8 V
}

// A reductant in the burette mirrors the curve.
func TestReductantInBurette(t *testing.T) {
	r := IronCerium()
	r.Titrand, r.Titrant = r.Titrant, r.Titrand
	near(t, "V_eq", r.Equivalence(), 0.025, 1e-15)
	near(t, "half", r.At(12.5e-3), 1.44, 1e-9)
	near(t, "twice", r.At(50e-3), 0.68, 1e-9)
}

// The classic approximations at points where they are exact to a few 1e-3.
func TestAcids(t *testing.T) {
	acetic := Acid{PKa: []float64{4.757}, Conc: 0.1, V0: 0.05, TitrantConc: 0.1}
	near(t, "acetic, half", acetic.At(0.025), 4.757, 2e-3)
	near(t, "acetic, start", acetic.At(0), (4.757+1)/2, 4e-3)
	near(t, "acetic, V_eq", acetic.Equivalence(1), 0.05, 1e-15)
	near(t, "acetic at V_eq", acetic.At(0.05), (pKw+4.757+math.Log10(0.05))/2, 1e-3)
	strong := Acid{Strong: 0.1, V0: 0.05, TitrantConc: 0.1}
	near(t, "HCl, half", strong.At(0.025), -math.Log10(0.1/3), 1e-6)
	near(t, "HCl, V_eq", strong.At(0.05), pKw/2, 1e-6)
	ammonia := Acid{PKa: []float64{9.245}, Charge: 1, Conc: 0.1, V0: 0.05, Strong: 0, TitrantConc: -0.1}
	ammonia.Strong = 0.1 // fully protonated form counts its chloride
	near(t, "ammonium chloride", ammonia.At(0), (9.245+1)/2, 2e-3)
	base := Acid{PKa: []float64{9.245}, Charge: 1, Conc: 0.1, V0: 0.05, TitrantConc: -0.1}
	near(t, "ammonia, half", base.At(0.025), 9.245, 2e-3)
	near(t, "ammonia, V_eq", base.Equivalence(1), 0.05, 1e-15)
}

func TestSilver(t *testing.T) {
	s := Silver{Halides: []Halide{{0.1, 9.752}}, V0: 0.05, TitrantConc: 0.1, E0: 0.7993}
	near(t, "V_eq", s.Equivalence(1), 0.05, 1e-15)
	near(t, "at V_eq", s.At(0.05), 0.7993-nernst(0)*9.752/2, 1e-9)
	near(t, "half", s.At(0.025), 0.7993+nernst(0)*(-9.752-math.Log10(0.1/3)), 1e-6)
	near(t, "twice", s.At(0.1), 0.7993+nernst(0)*math.Log10(0.1/3), 1e-6)
	two := Silver{Halides: []Halide{{0.05, 16.08}, {0.05, 9.752}}, V0: 0.05, TitrantConc: 0.1, E0: 0.7993}
	near(t, "iodide first, half", two.At(0.0125), 0.7993+nernst(0)*(-16.08-math.Log10(0.025*0.05/0.0625)), 1e-6)
}

// Silver in the flask mirrors the curve: the same closed forms, read from the
// other end.
func TestSilverInFlask(t *testing.T) {
	s := Silver{Halides: []Halide{{0.1, 9.752}}, V0: 0.05, Flask: 0.1, E0: 0.7993}
	near(t, "V_eq", s.Equivalence(1), 0.05, 1e-15)
	near(t, "at V_eq", s.At(0.05), 0.7993-nernst(0)*9.752/2, 1e-9)
	near(t, "half", s.At(0.025), 0.7993+nernst(0)*math.Log10(0.1/3), 1e-6)
	near(t, "twice", s.At(0.1), 0.7993+nernst(0)*(-9.752-math.Log10(0.1/3)), 1e-6)
}

// Half-way through each couple of a mixture the potential is that couple's, and
// between two of one electron it is their mean; a mixture of one is a Redox.
func TestMixture(t *testing.T) {
	m := Mixture{
		Titrands: []Portion{{Couple{E: 0.1, N: 1}, 0.03}, {Couple{E: 0.68, N: 1}, 0.03}},
		Titrant:  Couple{E: 1.44, N: 1, Oxidised: 1}, V0: 0.05, TitrantConc: 0.1,
	}
	near(t, "V_eq 1", m.Equivalence(1), 0.015, 1e-15)
	near(t, "V_eq 2", m.Equivalence(2), 0.030, 1e-15)
	near(t, "half of the first", m.At(0.0075), 0.1, 1e-9)
	near(t, "between", m.At(0.015), 0.39, 1e-9)
	near(t, "half of the second", m.At(0.0225), 0.68, 1e-9)
	one := Mixture{Titrands: []Portion{{Couple{E: 0.68, N: 1}, 0.05}}, Titrant: m.Titrant, V0: 0.05, TitrantConc: 0.1}
	for _, v := range []float64{0.003, 0.0249, 0.0251, 0.04} {
		near(t, "one couple", one.At(v), IronCerium().At(v), 1e-12)
	}
}

// The noise that was asked for is in the readings, once.
func TestNoiseOffsetSlopeRounding(t *testing.T) {
	b := Bench{Offset: -0.0123, SlopeError: -0.018, Noise: 0.0005, VolumeNoise: 1e-5}
	r := IronCerium()
	v := slices.Repeat([]float64{0.0125}, 4000)
	c := b.Run(r, v, 7)
	var sv, sy, sv2, sy2 float64
	for _, x := range c.Readings {
		dv, dy := float64(x.Volume)-0.0125, x.Value-(0.982*0.68-0.0123)
		sv, sy, sv2, sy2 = sv+dv, sy+dy, sv2+dv*dv, sy2+dy*dy
	}
	n := float64(len(v))
	near(t, "mean volume error", sv/n/1e-5, 0, 0.05)
	near(t, "mean reading error", sy/n/0.0005, 0, 0.05)
	near(t, "volume noise", math.Sqrt(sv2/n)/1e-5, 1, 0.04)
	near(t, "reading noise", math.Sqrt(sy2/n)/0.0005, 1, 0.04)
	rounded := Bench{Resolution: 0.001, VolumeStep: 1e-5, Interval: 20}.Run(r, []float64{0.0100049, 0.02}, 1)
	near(t, "rounded volume", float64(rounded.Readings[0].Volume), 0.01, 1e-12)
	near(t, "rounded reading", math.Remainder(rounded.Readings[1].Value, 0.001), 0, 1e-12)
	near(t, "time", rounded.Readings[1].Time, 20, 0)
	if c.Kind != curve.Potential || !math.IsNaN(c.Readings[0].Time) {
		t.Errorf("kind %v, time %g", c.Kind, c.Readings[0].Time)
	}
}

// After a step of the truth a reading misses the stated part of it.
func TestLag(t *testing.T) {
	r := IronCerium()
	c := Bench{Lag: 0.2}.Run(r, []float64{0.0125, 0.050}, 1)
	near(t, "lagging reading", c.Readings[1].Value, 1.44-0.2*(1.44-0.68), 1e-9)
}

func TestPlan(t *testing.T) {
	v := DefaultPlan(0.025).Volumes()
	if len(v) != 23+21+24 {
		t.Fatalf("%d volumes: %v", len(v), v)
	}
	near(t, "first", v[0], 0.001, 1e-12)
	near(t, "last coarse", v[22], 0.023, 1e-12)
	near(t, "first fine", v[23], 0.024, 1e-12)
	near(t, "last fine", v[43], 0.026, 1e-12)
	near(t, "last", v[67], 0.050, 1e-12)
}

// For a straight line the bound is the textbook standard deviation of
// intercept and slope, s/sqrt(n) (1 + n m²/Sxx)^1/2 and s/sqrt(Sxx).
func TestBoundOfStraightLine(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5}
	got := CRB(func(v float64, p []float64) float64 { return p[0] + p[1]*v }, []float64{2, 3}, x, 0.1, 0)
	near(t, "intercept", got[0], 0.1*math.Sqrt(1./5+9./10), 1e-7)
	near(t, "slope", got[1], 0.1/math.Sqrt(10), 1e-7)
	got = CRB(func(v float64, p []float64) float64 { return p[0] + p[1]*v }, []float64{2, 3}, x, 0, 0.1)
	near(t, "slope from errors of volume", got[1], 0.3/math.Sqrt(10), 1e-7)
}

// Model and the electrode's own distortion are the same curve.
func TestModelIsTheRun(t *testing.T) {
	r := IronPermanganate(0.5).WithEquivalence(0.0242)
	b := Bench{Offset: 0.02, SlopeError: -0.03}
	for _, v := range []float64{0.005, 0.02, 0.0241, 0.0243, 0.04} {
		near(t, "model", r.Model(v, r.Parameters(b)), b.Ideal(r, v), 1e-10)
	}
}

// Near a jump far narrower than the step, and with no errors of volume, every
// reading at distance x from V_eq fixes it to noise x/(slope/ln 10). With the
// other three parameters known the bound is their sum of squares.
func TestBoundOfEquivalence(t *testing.T) {
	r := IronCerium().WithEquivalence(0.02503)
	p := r.Parameters(Bench{})
	v := []float64{0.0249, 0.025, 0.0251, 0.0252}
	only := func(v float64, q []float64) float64 { return r.Model(v, []float64{q[0], p[1], p[2], p[3]}) }
	var info float64
	for _, x := range v {
		g := p[3] / math.Ln10 / (p[0] - x)
		if x > p[0] { // the after-branch holds V_eq in the denominator as well
			g *= x / p[0]
		}
		info += g * g / 0.0005 / 0.0005
	}
	near(t, "bound", CRB(only, p[:1], v, 0.0005, 0)[0]*math.Sqrt(info), 1, 1e-4)
	if all := CRB(r.Model, p, DefaultPlan(0.025).Volumes(), 0.0005, 1e-5)[0]; all < 1e-6 || all > 2e-5 {
		t.Errorf("bound with all unknown: %g L", all)
	}
}

// One metal alone has a quadratic: with C of it, T of ligand, the free metal m
// solves K m² + (1 + K (T - C)) m - C = 0. A second metal with a constant of
// 10 takes no part, and at the first of two equivalence points the exchange
// constant alone decides.
func TestChelate(t *testing.T) {
	one := Chelate{Metals: []Metal{{0.01, 10.2}, {0.01, -10}}, V0: 0.05, TitrantConc: 0.02, E0: 0.1}
	for _, v := range []float64{0.005, 0.02, 0.025, 0.03} {
		c, l := 0.01*0.05/(0.05+v), 0.02*v/(0.05+v)
		k := math.Pow(10, 10.2)
		b := 1 + k*(l-c)
		m := 2 * c / (b + math.Sqrt(b*b+4*k*c))
		if b < 0 {
			m = (-b + math.Sqrt(b*b+4*k*c)) / (2 * k)
		}
		near(t, "one metal", one.At(v), 0.1+nernst(0)/2*math.Log10(m), 1e-9)
	}
	two := Chelate{Metals: []Metal{{0.01, 10.2}, {0.01, 8.2}}, V0: 0.05, TitrantConc: 0.02}
	near(t, "V_eq of the first", two.Equivalence(1), 0.025, 1e-15)
	near(t, "V_eq of both", two.Equivalence(2), 0.05, 1e-15)
	// At the first, as much of the first is free as of the second is bound:
	// (C - x)²/x² = 100, x = C/11.
	near(t, "at the first", two.At(0.025), nernst(0)/2*math.Log10(0.01*0.05/0.075/11), 1e-7)
}

// Model of each kind of sample and the electrode's own distortion are the same
// curve.
func TestModelsAreTheRun(t *testing.T) {
	b := Bench{Offset: 0.02, SlopeError: -0.03}
	acid := Acid{PKa: []float64{4.757}, Conc: 0.04, V0: 0.05, TitrantConc: 0.1}
	silver := Silver{Halides: []Halide{{0.02, 16.08}, {0.01, 9.752}}, V0: 0.05, TitrantConc: 0.1, E0: 0.7993}
	metals := Chelate{Metals: []Metal{{0.02, 10.2}, {0.01, 8.2}}, V0: 0.05, TitrantConc: 0.1}
	for _, v := range []float64{0.005, 0.0099, 0.012, 0.0151, 0.025} {
		near(t, "acid", acid.Model(v, []float64{0.02, 0.02, 0.97}), b.Ideal(acid, v), 1e-9)
		near(t, "silver", silver.Model(v, []float64{0.01, 0.015, 0.02, 0.97}), b.Ideal(silver, v), 1e-9)
		near(t, "metals", metals.Model(v, []float64{0.01, 0.015, 0.02, 0.97}), b.Ideal(metals, v), 1e-9)
	}
}
