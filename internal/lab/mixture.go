package lab

import (
	"math"

	"meniscus/curve"
	"meniscus/unit"
)

// A Mixture is a titration of several couples with one titrant, solved as
// Redox is: the electrons that all of them gain sum to zero.
type Mixture struct {
	Titrands    []Portion // in the order of their potentials, the first used up first
	Titrant     Couple
	V0          float64 // L in the flask
	TitrantConc float64 // mol/L
	Temperature unit.Temperature
}

// A Portion is a couple and its concentration in the flask, mol/L.
type Portion struct {
	Couple
	Conc float64
}

// Kind returns curve.Potential.
func (m Mixture) Kind() curve.Kind { return curve.Potential }

// At returns the potential after v litres.
func (m Mixture) At(v float64) float64 {
	s := nernst(m.Temperature) / math.Ln10
	return bisect(func(e float64) float64 {
		sum := float64(m.Titrant.N) * m.TitrantConc * v * m.Titrant.gain(e, s)
		for _, p := range m.Titrands {
			sum += float64(p.N) * p.Conc * m.V0 * p.gain(e, s)
		}
		return sum
	}, -3, 4)
}

// Equivalence returns the volume in litres for the first k titrands, each
// wholly in the form that the titrant changes.
func (m Mixture) Equivalence(k int) float64 {
	var sum float64
	for _, p := range m.Titrands[:k] {
		sum += float64(p.N) * p.Conc
	}
	return sum * m.V0 / (float64(m.Titrant.N) * m.TitrantConc)
}
