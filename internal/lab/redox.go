package lab

import (
	"math"

	"meniscus/curve"
	"meniscus/unit"
)

// A Couple is one form in, one form out, n electrons: a potential that holds
// at the acidity of the flask.
type Couple struct {
	E        float64 // formal potential, V against the reference used
	N        int     // electrons
	Oxidised float64 // part of the stock in the oxidised form, 0 to 1
}

// A Redox is a titration of one couple with another, each with one species
// in either form. It solves the electron balance
//
//	n1 N1 (a1(E) - s1) + n2 N2 (a2(E) - s2) = 0
//
// with a the oxidised fraction at E, s that of the stock, N the amounts. The
// left side rises with E. Without dilution terms, since each couple's volume
// cancels in its ratio.
type Redox struct {
	Titrand, Titrant Couple
	Conc             float64 // of the titrand in the flask, mol/L
	V0               float64 // L in the flask
	TitrantConc      float64 // mol/L
	Temperature      unit.Temperature
}

// IronCerium is the classic: 50 mL of 0.05 mol/L iron(II) with 0.1 mol/L
// cerium(IV) in 1 mol/L sulfuric acid, 0.68 and 1.44 V (Harvey, Modern
// Analytical Chemistry, 2000, appendix; from memory). V_eq is 25 mL.
func IronCerium() Redox {
	return Redox{
		Titrand: Couple{E: 0.68, N: 1},
		Titrant: Couple{E: 1.44, N: 1, Oxidised: 1},
		Conc:    0.05, V0: 0.050, TitrantConc: 0.1,
	}
}

// IronPermanganate is iron(II) with 0.02 mol/L permanganate at a held pH,
// from E° = 1.51 V and 8 H+ for 5 electrons. V_eq is 25 mL.
func IronPermanganate(pH float64) Redox {
	return Redox{
		Titrand: Couple{E: 0.68, N: 1},
		Titrant: Couple{E: 1.51 - 8./5*nernst(0)*pH, N: 5, Oxidised: 1},
		Conc:    0.05, V0: 0.050, TitrantConc: 0.02,
	}
}

// WithEquivalence returns r with the concentration in the flask that puts the
// equivalence point at v litres.
func (r Redox) WithEquivalence(v float64) Redox {
	r.Conc *= v / r.Equivalence()
	return r
}

// Equivalence returns the equivalence volume in litres, for a titrant that is
// all oxidised or all reduced.
func (r Redox) Equivalence() float64 {
	left := 1 - r.Titrand.Oxidised
	if r.Titrant.Oxidised < 0.5 {
		left = r.Titrand.Oxidised
	}
	return float64(r.Titrand.N) * r.Conc * r.V0 * left / (float64(r.Titrant.N) * r.TitrantConc)
}

// Kind returns curve.Potential.
func (r Redox) Kind() curve.Kind { return curve.Potential }

// At returns the potential after v litres. Where neither couple is poised
// (v = 0 and nothing oxidised) it returns the edge of the bracket, -3 V or 4 V.
func (r Redox) At(v float64) float64 {
	s := nernst(r.Temperature) / math.Ln10
	n1 := float64(r.Titrand.N) * r.Conc * r.V0
	n2 := float64(r.Titrant.N) * r.TitrantConc * v
	return bisect(func(e float64) float64 {
		return n1*r.Titrand.gain(e, s) + n2*r.Titrant.gain(e, s)
	}, -3, 4)
}

// gain returns a(E) - s without loss of digits when s is 0 or 1.
func (c Couple) gain(e, s float64) float64 {
	x := math.Exp(float64(c.N) * (e - c.E) / s)
	if math.IsInf(x, 1) {
		return 1 - c.Oxidised
	}
	return (x*(1-c.Oxidised) - c.Oxidised) / (1 + x)
}
