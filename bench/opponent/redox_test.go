package opponent

import (
	"math"
	"math/big"
	"testing"
)

// volumesTo returns n rising volumes, the last of them last, and none 0.
func volumesTo(last float64, n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = last * float64(i+1) / float64(n)
	}
	return v
}

// feCe has the formal potentials in 1 mol/L H2SO4 that textbooks print, 0.68 V
// and 1.44 V (from memory); the equivalence point is at 25 mL.
var feCe = FeCe{Temperature: 298.15, FlaskVolume: 0.05, Fe: 0.05, Ce: 0.1, FePotential: 0.68, CePotential: 1.44}

// TestFeCeAgainstQuadratic compares with the root of the quadratic in 300-bit
// arithmetic, in the form that does not cancel.
func TestFeCeAgainstQuadratic(t *testing.T) {
	for name, curve := range map[string]func(v, e []float64){"Curve": feCe.Curve, "CurveFast": feCe.CurveFast} {
		t.Run(name, func(t *testing.T) { againstQuadratic(t, curve) })
	}
}

func againstQuadratic(t *testing.T, curve func(volumes, potentials []float64)) {
	volumes := volumesTo(0.05, 1000)
	got := make([]float64, len(volumes))
	curve(volumes, got)
	rt := 8.31446261815324 * 298.15 / 96485.33212331 // V, SI
	num := func(f float64) *big.Float { return new(big.Float).SetPrec(300).SetFloat64(f) }
	for i, v := range volumes {
		fe, ce := num(feCe.Fe*feCe.FlaskVolume), num(feCe.Ce*v)
		a := new(big.Float).Mul(fe, num(math.Exp(-(1.44-0.68)/rt)))
		b := new(big.Float).Sub(fe, ce)
		root := new(big.Float).Mul(a, ce)
		root.Mul(root, num(4)).Add(root, new(big.Float).Mul(b, b)).Sqrt(root)
		u := new(big.Float)
		if b.Sign() >= 0 {
			u.Quo(new(big.Float).Mul(num(2), ce), new(big.Float).Add(b, root))
		} else {
			u.Quo(new(big.Float).Sub(root, b), new(big.Float).Mul(num(2), a))
		}
		uf, _ := u.Float64()
		if want := 0.68 + rt*math.Log(uf); math.Abs(got[i]-want) > 1e-9 {
			t.Fatalf("%g L: %.12f V, want %.12f V", v, got[i], want)
		}
	}
}

// TestFeCeLandmarks: half way the potential is that of iron, at the equivalence
// point the mean of both, at twice that of cerium, but for what the reaction
// leaves undone (1e-7 of it here).
func TestFeCeLandmarks(t *testing.T) {
	got := make([]float64, 3)
	feCe.Curve([]float64{0.0125, 0.025, 0.05}, got)
	for i, want := range []float64{0.68, 1.06, 1.44} {
		if math.Abs(got[i]-want) > 1e-7 {
			t.Errorf("landmark %d: %.9f V, want %g V", i, got[i], want)
		}
	}
}

// fePermanganate has a formal potential of iron as above, and the textbook
// standard potential of permanganate, 1.51 V (from memory).
var fePermanganate = FePermanganate{
	Temperature: 298.15, FlaskVolume: 0.05, Fe: 0.1, Mn: 0.02,
	FePotential: 0.68, MnPotential: 1.51, PH: 0,
}

// TestFePermanganateAgainstBisection solves the balance as the chemist writes
// it, oxidised iron against five times reduced manganese, by halving.
func TestFePermanganateAgainstBisection(t *testing.T) {
	for _, ph := range []float64{0, 1.5} {
		s := fePermanganate
		s.PH = ph
		volumes := volumesTo(0.1, 500)
		got, fast := make([]float64, len(volumes)), make([]float64, len(volumes))
		s.Curve(volumes, got)
		s.CurveFast(volumes, fast)
		nernst := 8.31446261815324 * 298.15 / 96485.33212331
		for i, v := range volumes {
			iron, electrons := s.Fe*s.FlaskVolume, 5*s.Mn*v // rounded as the solver does
			want := bisect(0, 2, func(e float64) float64 {
				toFe, toMn := (e-0.68)/nernst, 5*(e-1.51)/nernst+8*ph*math.Ln10
				oxidised, ferrous := iron/(1+math.Exp(-toFe)), iron/(1+math.Exp(toFe))
				reduced, permanganate := electrons/(1+math.Exp(toMn)), electrons/(1+math.Exp(-toMn))
				if toFe < 0 || toMn > 0 {
					return oxidised - reduced
				}
				return permanganate - ferrous + (iron - electrons) // the same, of the small terms
			})
			if math.Abs(got[i]-want) > 1e-9 || math.Abs(fast[i]-want) > 1e-9 {
				t.Fatalf("pH %g, %g L: %.12f V and %.12f V, want %.12f V", ph, v, got[i], fast[i], want)
			}
		}
	}
}

// TestFePermanganateEquivalence: at the equivalence point the potential is
// (E'Fe + 5 E'Mn)/6 - (8/6) 0.05916 pH, the weighted average.
func TestFePermanganateEquivalence(t *testing.T) {
	for _, ph := range []float64{0, 1} {
		s := fePermanganate
		s.PH = ph
		got := make([]float64, 1)
		s.Curve([]float64{0.05}, got)
		slope := math.Ln10 * 8.31446261815324 * 298.15 / 96485.33212331
		if want := (0.68+5*1.51)/6 - 8*slope*ph/6; math.Abs(got[0]-want) > 1e-9 {
			t.Errorf("pH %g: %.9f V, want %.9f V", ph, got[0], want)
		}
	}
}

// bisect returns the zero of rising between low and high.
func bisect(low, high float64, rising func(float64) float64) float64 {
	for range 64 {
		middle := (low + high) / 2
		if rising(middle) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// TestFarJumps: the volumes need not be dense, nor in order.
func TestFarJumps(t *testing.T) {
	volumes := []float64{1e-9, 0.04, 1e-6, 0.025, 5, 0.0249999, 1e-3}
	for _, curve := range []func(v, e []float64){feCe.Curve, feCe.CurveFast, fePermanganate.Curve, fePermanganate.CurveFast} {
		got, one := make([]float64, len(volumes)), make([]float64, 1)
		curve(volumes, got)
		for i, v := range volumes {
			curve([]float64{v}, one)
			if math.Abs(got[i]-one[0]) > 1e-9 {
				t.Errorf("%g L: %.12f V, alone %.12f V", v, got[i], one[0])
			}
		}
	}
}

func BenchmarkFeCe(b *testing.B)               { benchmark(b, 0.05, feCe.Curve) }
func BenchmarkFeCeFast(b *testing.B)           { benchmark(b, 0.05, feCe.CurveFast) }
func BenchmarkFePermanganate(b *testing.B)     { benchmark(b, 0.1, fePermanganate.Curve) }
func BenchmarkFePermanganateFast(b *testing.B) { benchmark(b, 0.1, fePermanganate.CurveFast) }

func benchmark(b *testing.B, last float64, curve func(volumes, potentials []float64)) {
	volumes := volumesTo(last, 1000)
	potentials := make([]float64, len(volumes))
	for b.Loop() {
		curve(volumes, potentials)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1000, "ns/point")
}
