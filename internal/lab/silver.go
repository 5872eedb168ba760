package lab

import (
	"math"

	"meniscus/curve"
	"meniscus/unit"
)

// A Halide is one anion in the flask and the solubility product of its silver
// salt.
type Halide struct {
	Conc float64 // mol/L in the flask
	PKsp float64 // 9.752 for chloride (from memory)
}

// A Silver is a titration of halides with silver followed at a silver wire,
// ideal. It solves the balance of silver,
//
//	[Ag+] + sum max(0, C_X - Ksp_X/[Ag+]) = total silver
//
// whose left side rises with [Ag+]. Complexes are left out.
type Silver struct {
	Halides     []Halide
	V0          float64 // L in the flask
	TitrantConc float64 // of silver, mol/L
	E0          float64 // of Ag+/Ag, V against the reference used
	Temperature unit.Temperature
	Flask       float64 // of silver in the flask, mol/L: then Halides is what the burette holds, and TitrantConc is not used
}

// Kind returns curve.Potential.
func (s Silver) Kind() curve.Kind { return curve.Potential }

// At returns the potential after v litres.
func (s Silver) At(v float64) float64 {
	total := s.V0 + v
	silver, halide := s.TitrantConc*v/total, s.V0/total
	if s.Flask != 0 {
		silver, halide = s.Flask*s.V0/total, v/total
	}
	log := bisect(func(x float64) float64 {
		free := math.Pow(10, x)
		sum := free - silver
		for _, h := range s.Halides {
			sum += math.Max(0, h.Conc*halide-math.Pow(10, -h.PKsp-x))
		}
		return sum
	}, -30, 2)
	return s.E0 + nernst(s.Temperature)*log
}

// Equivalence returns the volume in litres for the first k halides, or for the
// silver in the flask.
func (s Silver) Equivalence(k int) float64 {
	if s.Flask != 0 {
		return s.Flask * s.V0 / s.Halides[0].Conc
	}
	var c float64
	for _, h := range s.Halides[:k] {
		c += h.Conc
	}
	return c * s.V0 / s.TitrantConc
}
