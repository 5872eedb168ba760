package lab

import (
	"math"

	"meniscus/curve"
	"meniscus/unit"
)

// A Metal is one divalent ion in the flask and the constant by which it binds
// the ligand at the acidity there.
type Metal struct {
	Conc float64 // mol/L in the flask
	LogK float64 // conditional, one to one
}

// A Chelate is a titration of metals with one ligand, followed by an electrode
// for the first of them. It solves the balance of the ligand,
//
//	[Y] + sum C_M K_M [Y]/(1 + K_M [Y]) = total ligand
//
// whose left side rises with [Y].
type Chelate struct {
	Metals      []Metal
	V0          float64 // L in the flask
	TitrantConc float64 // of the ligand, mol/L
	E0          float64 // V at 1 mol/L of the first metal, against the reference used
	Temperature unit.Temperature
}

// Kind returns curve.Potential.
func (c Chelate) Kind() curve.Kind { return curve.Potential }

// At returns the potential after v litres.
func (c Chelate) At(v float64) float64 {
	total := c.V0 + v
	free := bisect(func(x float64) float64 {
		y := math.Pow(10, x)
		sum := y - c.TitrantConc*v/total
		for _, m := range c.Metals {
			k := y * math.Pow(10, m.LogK)
			sum += m.Conc * c.V0 / total * k / (1 + k)
		}
		return sum
	}, -40, 1)
	first := c.Metals[0]
	bound := math.Log10(1 + math.Pow(10, free+first.LogK))
	return c.E0 + nernst(c.Temperature)/2*(math.Log10(first.Conc*c.V0/total)-bound)
}

// Equivalence returns the volume in litres for the first k metals.
func (c Chelate) Equivalence(k int) float64 {
	var sum float64
	for _, m := range c.Metals[:k] {
		sum += m.Conc
	}
	return sum * c.V0 / c.TitrantConc
}
