package equilibrium

import (
	"errors"
	"fmt"
	"math"

	"meniscus/num/dd"
	"meniscus/unit"
)

// An Amount is how much of a species was put in: mol in a flask, mol/L in a
// burette.
type Amount struct {
	Species int
	Value   unit.Decimal
}

// A Held quantity is a species whose activity, or concentration, is kept at
// one value at every volume, as a buffer does. Its balance is not kept.
type Held struct {
	Species       int
	Ln            float64 // natural logarithm of the value, mol/L
	Concentration bool    // the concentration is held, not the activity
}

// A Mixture is what is in the flask and what is added to it.
type Mixture struct {
	Volume  unit.Decimal // L in the flask before the first drop; above 0
	Flask   []Amount     // mol
	Burette []Amount     // mol/L
	Held    []Held
}

// A Problem is a mixture made ready to solve: balances in independent
// components, without held and inert ones. It is immutable but for its
// parameters (SetLnBeta, SetFlask, SetBurette) and safe for concurrent use
// while they rest.
type Problem struct {
	sys      *System
	activity Activity
	v0       unit.Decimal

	stoich [][]rat // balance rows over all species, held rows removed
	held   [][]rat // held rows over all species
	hold   []Held
	combo  [][]float64 // lnBeta by reaction, after exchanges for held species
	lnBeta []float64   // by species, held values included
	names  []string    // of the balance rows

	flask, burette []unit.Decimal // by species
	fTotal, bTotal []unit.Decimal // by balance row: mol, mol/L
}

// NewProblem sets the balances up. Errors: *HeldError; plain errors for
// amounts that cannot be (negative, a solid in the burette, no volume).
func (s *System) NewProblem(mix Mixture, act Activity) (*Problem, error) {
	if mix.Volume.Float() <= 0 {
		return nil, errors.New("equilibrium: the flask needs a volume above 0")
	}
	p := &Problem{
		sys: s, activity: act.withDefaults(), v0: mix.Volume, hold: mix.Held,
		flask: make([]unit.Decimal, len(s.Species)), burette: make([]unit.Decimal, len(s.Species)),
	}
	if err := p.add(mix); err != nil {
		return nil, err
	}
	if err := p.removeHeld(mix.Held); err != nil {
		return nil, err
	}
	p.wholeRows()
	p.sumTotals()
	return p, nil
}

func (p *Problem) add(mix Mixture) error {
	for _, part := range []struct {
		in    []Amount
		to    []unit.Decimal
		where string
	}{{mix.Flask, p.flask, "flask"}, {mix.Burette, p.burette, "burette"}} {
		for _, a := range part.in {
			sp := &p.sys.Species[a.Species]
			switch {
			case a.Value.Coef.Sign() < 0:
				return fmt.Errorf("equilibrium: amount of %s in the %s is negative", sp.Name, part.where)
			case sp.Kind == Electron:
				return fmt.Errorf("equilibrium: electrons cannot be put in the %s; put in an oxidant or a reductant", part.where)
			}
			part.to[a.Species] = part.to[a.Species].Add(a.Value)
		}
	}
	return nil
}

// Held lists what is held.
func (p *Problem) Held() []Held { return append([]Held(nil), p.hold...) }

// removeHeld makes each held species a component and takes its row out.
func (p *Problem) removeHeld(held []Held) error {
	s := p.sys
	p.stoich = make([][]rat, len(s.stoich))
	for i := range s.stoich {
		p.stoich[i] = append([]rat(nil), s.stoich[i]...)
	}
	p.names = s.Components()
	p.lnBeta = append([]float64(nil), s.lnBeta...)
	p.combo = make([][]float64, len(s.combo))
	for j := range s.combo {
		p.combo[j] = append([]float64(nil), s.combo[j]...)
	}
	for _, h := range held {
		i := p.rowFor(h.Species)
		if i < 0 {
			return &HeldError{s.Species[h.Species].Name, "its value already follows from the other held quantities"}
		}
		p.exchangeRow(i, h.Species)
		p.held = append(p.held, p.stoich[i])
		p.stoich = append(p.stoich[:i], p.stoich[i+1:]...)
		p.names = append(p.names[:i:i], p.names[i+1:]...)
	}
	for k, h := range held {
		for j := range p.lnBeta {
			p.lnBeta[j] += p.held[k][j].float() * h.Ln
		}
	}
	return nil
}

// wholeLimit is the largest common denominator that a row is multiplied by;
// beyond it the numbers would outgrow exact arithmetic elsewhere.
const wholeLimit = 1000

// wholeRows multiplies each balance by the denominators in it, so that totals
// of decimal amounts are sums of whole multiples and stay exact.
func (p *Problem) wholeRows() {
	for _, row := range p.stoich {
		l := commonDenominator(row)
		whole := make([]rat, len(row))
		fits := l <= wholeLimit
		for j := range row {
			whole[j] = row[j].mul(rat{l, 1})
			fits = fits && whole[j].ok()
		}
		if fits {
			copy(row, whole)
		}
	}
}

// rowFor picks the row in which held species h becomes the component: its
// own, or one that is not the electron's if possible.
func (p *Problem) rowFor(h int) int {
	best := -1
	for i := range p.stoich {
		if p.stoich[i][h].isZero() {
			continue
		}
		if p.names[i] == p.sys.Species[h].Name {
			return i
		}
		if best < 0 || p.sys.electron >= 0 && p.names[best] == p.sys.Species[p.sys.electron].Name {
			best = i
		}
	}
	return best
}

// exchangeRow makes species h the component of row i. With
// ln a_h = lnBeta_h + sum A_kh x_k solved for x_i, every other species takes
// over A_ij/A_ih of it.
func (p *Problem) exchangeRow(i, h int) {
	inv := p.stoich[i][h].inv()
	lnBetaH, comboH := p.lnBeta[h], append([]float64(nil), p.combo[h]...)
	column := make([]rat, len(p.stoich))
	for k := range p.stoich {
		column[k] = p.stoich[k][h]
	}
	for j := range p.stoich[i] {
		f := p.stoich[i][j].mul(inv)
		p.stoich[i][j] = f
		if f.isZero() {
			continue
		}
		p.lnBeta[j] -= f.float() * lnBetaH
		for r := range comboH {
			p.combo[j][r] -= f.float() * comboH[r]
		}
		for k := range p.stoich {
			if k != i {
				p.stoich[k][j] = p.stoich[k][j].subMul(column[k], f)
			}
		}
	}
	for _, earlier := range p.held {
		fh := earlier[h]
		for j := range earlier {
			earlier[j] = earlier[j].subMul(fh, p.stoich[i][j])
		}
	}
	p.names[i] = p.sys.Species[h].Name
}

func (p *Problem) sumTotals() {
	p.fTotal = p.totals(p.flask)
	p.bTotal = p.totals(p.burette)
}

// totals sums amounts by species into balance rows: exactly where the rows
// are whole, which all but the wildest stoichiometry allows.
func (p *Problem) totals(by []unit.Decimal) []unit.Decimal {
	t := make([]unit.Decimal, len(p.stoich))
	for i, row := range p.stoich {
		for j, x := range by {
			a := row[j]
			if x.Coef.IsZero() || a.isZero() {
				continue
			}
			coef := x.Coef.MulFloat(float64(a.n))
			if a.d != 1 {
				coef = coef.Div(dd.From(float64(a.d)))
			}
			t[i] = t[i].Add(unit.Decimal{Coef: coef, Exp: x.Exp})
		}
	}
	return t
}

// System returns the system the problem belongs to.
func (p *Problem) System() *System { return p.sys }

// SetFlask sets the amount of a species in the flask, mol, and SetBurette its
// concentration in the burette, mol/L. The set of species present must not
// change: solvers that exist keep their basis. Solvers must Refresh.
func (p *Problem) SetFlask(species int, x unit.Decimal) {
	p.flask[species] = x
	p.sumTotals()
}

// SetBurette: see SetFlask.
func (p *Problem) SetBurette(species int, x unit.Decimal) {
	p.burette[species] = x
	p.sumTotals()
}

// ShiftLnK changes the constant of reaction r by delta, in natural logarithm.
// Solvers must Refresh.
func (p *Problem) ShiftLnK(r int, delta float64) {
	for j := range p.lnBeta {
		p.lnBeta[j] += p.combo[j][r] * delta
	}
}

// present lists the species put into the flask, or into either vessel.
func (p *Problem) present(withBurette bool) []int {
	var list []int
	for j := range p.flask {
		if !p.flask[j].Coef.IsZero() || withBurette && !p.burette[j].Coef.IsZero() {
			list = append(list, j)
		}
	}
	return list
}

// lnMax is the largest logarithm of a concentration that is formed; beyond it
// exp would overflow long before a balance could be met.
const lnMax = 300

func expClamped(x float64) float64 {
	return math.Exp(math.Min(x, lnMax))
}

// Clone returns an independent copy, so that one goroutine can change
// parameters while another solves.
func (p *Problem) Clone() *Problem {
	c := *p
	c.flask = append([]unit.Decimal(nil), p.flask...)
	c.burette = append([]unit.Decimal(nil), p.burette...)
	c.fTotal = append([]unit.Decimal(nil), p.fTotal...)
	c.bTotal = append([]unit.Decimal(nil), p.bTotal...)
	c.lnBeta = append([]float64(nil), p.lnBeta...)
	return &c
}

// Flask returns the amount of a species put into the flask, mol.
func (p *Problem) Flask(species int) unit.Decimal { return p.flask[species] }

// Burette returns the concentration of a species in the burette, mol/L.
func (p *Problem) Burette(species int) unit.Decimal { return p.burette[species] }

// Volume returns the volume in the flask before the first drop, L.
func (p *Problem) Volume() unit.Decimal { return p.v0 }
