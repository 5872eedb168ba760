package lab

import (
	"math"

	"meniscus/curve"
)

// An Acid is a flask with a weak acid or base of any number of protons and a
// strong one, titrated with a strong base or acid, ideal at 25 °C. It solves
// the charge balance
//
//	[H+] - Kw/[H+] + strong base - strong acid + C (z - protons lost) = 0
//
// with z the charge of the fully protonated form, its counter-ions counted as
// strong. The left side falls with pH.
type Acid struct {
	PKa         []float64 // of the weak acid, rising; empty if there is none
	Charge      int       // of its fully protonated form: 0 acetic, 1 ammonium
	Conc        float64   // of the weak acid, mol/L
	Strong      float64   // strong acid in the flask, mol/L; negative: strong base
	V0          float64   // L in the flask
	TitrantConc float64   // strong base, mol/L; negative: strong acid
	Carbonate   float64   // carbon dioxide that the titrant has taken up, mol/L
}

// pKa of carbonic acid at 25 °C (from memory).
var carbonic = Acid{PKa: []float64{6.352, 10.329}}

// pKw of water at 25 °C, ideal (from memory).
const pKw = 13.995

// Kind returns curve.PH.
func (a Acid) Kind() curve.Kind { return curve.PH }

// At returns the pH after v litres.
func (a Acid) At(v float64) float64 {
	total := a.V0 + v
	weak := a.Conc * a.V0 / total
	gas := a.Carbonate * v / total
	base := (a.TitrantConc*v - a.Strong*a.V0) / total
	return bisect(func(pH float64) float64 {
		h := math.Pow(10, -pH)
		return -(h - math.Pow(10, pH-pKw) + base + weak*(float64(a.Charge)-a.lost(h)) - gas*carbonic.lost(h))
	}, -2, 16)
}

// lost returns the mean number of protons lost at [H+] = h.
func (a Acid) lost(h float64) float64 {
	sum, mean, term := 1.0, 0.0, 1.0
	for j, pKa := range a.PKa {
		term *= math.Pow(10, -pKa) / h
		sum += term
		mean += float64(j+1) * term
	}
	return mean / sum
}

// Equivalence returns the volume in litres at which k protons of each weak
// molecule have been taken by a strong base (k from 1), or given by a strong
// acid; with no weak acid or base, where the strong one is used up.
func (a Acid) Equivalence(k int) float64 {
	if len(a.PKa) == 0 {
		return a.Strong * a.V0 / a.TitrantConc
	}
	if a.TitrantConc < 0 {
		k = -k
	}
	return (float64(k)*a.Conc + a.Strong) * a.V0 / a.TitrantConc
}
