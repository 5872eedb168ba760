package equilibrium

import (
	"math"

	"meniscus/num/dd"
	"meniscus/unit"
)

// An Equivalence is a volume at which a species would be used up if every
// reaction ran to its end: the equivalence point of the stoichiometry, free
// of any approximation.
type Equivalence struct {
	Volume  float64 // L
	Species int     // used up at this volume
	Next    int     // dominant from here on in its place
	// The volume is -flask/burette of one balance; per unit of each species:
	PerFlask   []float64 // dV/d(mol of species in the flask), L/mol
	PerBurette []float64 // dV/d(mol/L of species in the burette), L²/mol
}

// Equivalences follows the assemblage of least free energy, without mixing,
// from the first drop to volume vmax (L) and returns the volumes at which it
// changes. A change need not show as a jump: see the curve for that.
func (p *Problem) Equivalences(vmax float64) ([]Equivalence, error) {
	f, err := p.newFrame(p.present(true), tinyVolume)
	if err != nil {
		return nil, err
	}
	cost := make([]float64, f.n)
	for j, s := range f.cols {
		cost[j] = -p.lnBeta[s]
	}
	var list []Equivalence
	v := 0.0
	for range 60 {
		i, at := f.nextZero(v)
		if i < 0 || at > vmax {
			return list, nil
		}
		j := f.dualColumn(i, cost)
		if j < 0 {
			return list, nil
		}
		v = at
		list = append(list, f.equivalence(i, j, at))
		if !f.t.pivot(i, j) {
			return nil, errOverflow
		}
		if err := f.rebuild(); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// nextZero returns the row whose total falls to zero first beyond v.
func (f *frame) nextZero(v float64) (row int, at float64) {
	row, at = -1, math.Inf(1)
	for i := range f.t.basis {
		b := f.buretteF[i]
		if b >= 0 {
			continue
		}
		x := -f.flaskDec[i].Float() / (f.den[i] * b)
		if x >= v*(1-1e-12) && x < at {
			row, at = i, x
		}
	}
	return row, at
}

// dualColumn picks the species that takes over row i beyond its zero: the one
// that costs least free energy per amount.
func (f *frame) dualColumn(i int, cost []float64) int {
	best, least := -1, math.Inf(1)
	for j := range f.cols {
		if x := f.t.a[i][j]; f.row[j] < 0 && x.sign() < 0 {
			if r := f.t.reducedCost(cost, j) / x.float(); r < least {
				best, least = j, r
			}
		}
	}
	return best
}

func (f *frame) equivalence(i, j int, v float64) Equivalence {
	e := Equivalence{Volume: v, Species: f.cols[f.t.basis[i]], Next: f.cols[j]}
	e.PerFlask, e.PerBurette = make([]float64, len(f.col)), make([]float64, len(f.col))
	b := f.buretteF[i]
	for s, c := range f.col {
		if c < 0 {
			continue
		}
		a := f.t.a[i][c].float()
		e.PerFlask[s] = -a / b
		e.PerBurette[s] = -a * v / b
	}
	return e
}

// tinyVolume stands for the first drop, 1e-12 L.
var tinyVolume = unit.Decimal{Coef: dd.From(1), Exp: -12}
