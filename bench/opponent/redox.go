// Package opponent has the solvers that benchmarks compare the engine with:
// each written by hand for one problem, with what a careful programmer would
// do, and each sharing no code with the program. It is not a second engine: it
// knows three titrations, one fit and one Monte Carlo run, and it is used by
// benchmarks and by tests that want an independent answer.
package opponent

import "math"

// thermal returns F/RT in 1/V at t kelvin, from the exact constants of the SI
// (SI Brochure, 9th edition, table 1).
func thermal(t float64) float64 {
	const faraday = 1.602176634e-19 * 6.02214076e23
	const gas = 1.380649e-23 * 6.02214076e23
	return faraday / (gas * t)
}

// closeEnough ends a Newton iteration on a logarithm: after a step s the error
// left is at most about 3 s^2, here 3e-9, which is 1e-7 mV.
const closeEnough = 3e-5

// maxPasses ends an iteration on input that has no answer, which is then NaN;
// an answer takes two to ten.
const maxPasses = 200

// FeCe is iron(II) titrated with cerium(IV), one electron each:
// Fe2+ + Ce4+ = Fe3+ + Ce3+. Nothing else reacts.
type FeCe struct {
	Temperature float64 // K
	FlaskVolume float64 // L
	Fe          float64 // mol/L of Fe2+ in the flask
	Ce          float64 // mol/L of Ce4+ in the burette
	FePotential float64 // formal potential of Fe3+/Fe2+, V
	CePotential float64 // formal potential of Ce4+/Ce3+, V
}

// Curve sets potentials[i] to the potential of the solution, V, after
// volumes[i] litres, which must be above 0. Rising volumes are fastest. The
// potential is against what the formal potentials are against.
//
// With u = exp((E - E'Fe) F/RT) and k = exp((E'Fe - E'Ce) F/RT) the balance of
// electrons, nFe u/(1 + u) = nCe/(1 + k u), is multiplied out to
//
//	nFe k u^2 + (nFe - nCe) u = nCe
//
// with the middle term on the side where it is positive. Newton's method for
// ln u on the logarithm of both sides converges from anywhere: the logarithm
// of a side is convex in ln u, and the difference has a slope of 1 to 2.
func (s FeCe) Curve(volumes, potentials []float64) {
	f := thermal(s.Temperature)
	fe := s.Fe * s.FlaskVolume
	square := fe * math.Exp((s.FePotential-s.CePotential)*f)
	x := 0.0
	for i, v := range volumes {
		ce := s.Ce * v
		left, right := max(fe-ce, 0), max(ce-fe, 0)
		for range maxPasses {
			u := math.Exp(x)
			a2, a1 := square*u*u, left*u
			b1 := right * u
			a, b := a2+a1, b1+ce
			step := math.Log(b/a) * a * b / ((2*a2+a1)*b - b1*a)
			x += step
			if math.Abs(step) < closeEnough {
				break
			}
		}
		potentials[i] = s.FePotential + x/f
	}
}

// CurveFast is Curve near the limit of what can be done: the same equation
// solved for u itself, with the logarithms only where the start is far off, so
// that most points cost a few multiplications and one logarithm.
func (s FeCe) CurveFast(volumes, potentials []float64) {
	f := thermal(s.Temperature)
	fe := s.Fe * s.FlaskVolume
	square := fe * math.Exp((s.FePotential-s.CePotential)*f)
	u := 1.0
	for i, v := range volumes {
		ce := s.Ce * v
		left, right := max(fe-ce, 0), max(ce-fe, 0)
		for range maxPasses {
			a2, a1 := square*u*u, left*u
			b1 := right * u
			a, b := a2+a1, b1+ce
			step := (b - a) / (2*a2 + a1 - b1)
			if math.Abs(b-a) < near*b {
				u += u * step
				if math.Abs(step) < closeEnough {
					break
				}
			} else {
				u *= math.Exp(math.Log(b/a) * a * b / ((2*a2+a1)*b - b1*a))
			}
		}
		potentials[i] = s.FePotential + math.Log(u)/f
	}
}

// near is how close the two sides must be, relatively, before an iteration
// leaves the logarithms out. The curvature of a sixth power costs little then.
const near = 0.1

// FePermanganate is iron(II) titrated with permanganate at a held pH:
// 5 Fe2+ + MnO4- + 8 H+ = 5 Fe3+ + Mn2+ + 4 H2O. Nothing else reacts.
type FePermanganate struct {
	Temperature float64 // K
	FlaskVolume float64 // L
	Fe          float64 // mol/L of Fe2+ in the flask
	Mn          float64 // mol/L of MnO4- in the burette
	FePotential float64 // formal potential of Fe3+/Fe2+, V
	MnPotential float64 // formal potential of MnO4-/Mn2+ at pH 0, V
	PH          float64 // minus log10 of the activity of H+
}

// Curve sets potentials[i] to the potential of the solution, V, after
// volumes[i] litres, which must be above 0. Rising volumes are fastest.
//
// As for FeCe, with [MnO4-]/[Mn2+] = k u^5 the balance becomes
//
//	nFe k u^6 + (nFe - 5 nMn) u = 5 nMn
func (s FePermanganate) Curve(volumes, potentials []float64) {
	f := thermal(s.Temperature)
	fe := s.Fe * s.FlaskVolume
	sixth := s.sixth(f)
	x := 0.0
	for i, v := range volumes {
		mn := 5 * s.Mn * v
		left, right := max(fe-mn, 0), max(mn-fe, 0)
		for range maxPasses {
			u := math.Exp(x)
			u2 := u * u
			a6, a1 := sixth*u2*u2*u2, left*u
			b1 := right * u
			a, b := a6+a1, b1+mn
			step := math.Log(b/a) * a * b / ((6*a6+a1)*b - b1*a)
			x += step
			if math.Abs(step) < closeEnough {
				break
			}
		}
		potentials[i] = s.FePotential + x/f
	}
}

// CurveFast is to Curve what it is for FeCe.
func (s FePermanganate) CurveFast(volumes, potentials []float64) {
	f := thermal(s.Temperature)
	fe := s.Fe * s.FlaskVolume
	sixth := s.sixth(f)
	u := 1.0
	for i, v := range volumes {
		mn := 5 * s.Mn * v
		left, right := max(fe-mn, 0), max(mn-fe, 0)
		for range maxPasses {
			u2 := u * u
			a6, a1 := sixth*u2*u2*u2, left*u
			b1 := right * u
			a, b := a6+a1, b1+mn
			step := (b - a) / (6*a6 + a1 - b1)
			if math.Abs(b-a) < near*b {
				u += u * step
				if math.Abs(step) < closeEnough {
					break
				}
			} else {
				u *= math.Exp(math.Log(b/a) * a * b / ((6*a6+a1)*b - b1*a))
			}
		}
		potentials[i] = s.FePotential + math.Log(u)/f
	}
}

// sixth returns the coefficient of the sixth power, mol; f is F/RT in 1/V.
func (s FePermanganate) sixth(f float64) float64 {
	return s.Fe * s.FlaskVolume * math.Exp(5*(s.FePotential-s.MnPotential)*f+8*s.PH*math.Ln10)
}
