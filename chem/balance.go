package chem

import (
	"fmt"
	"maps"
	"math/big"
	"slices"
)

// A BalanceError says why a skeleton has no unique coefficients.
type BalanceError struct {
	Reaction string
	Reason   string
	Ways     int // independent ways to balance it: 0 if there is none
}

func (e *BalanceError) Error() string { return "balancing " + e.Reaction + ": " + e.Reason }

// Helping species that Balance may add: those of a half-reaction in acid and
// in base.
var (
	acidHelpers = []string{Proton, Water, Electron}
	baseHelpers = []string{Hydroxide, Water, Electron}
)

// Balance finds the coefficients of a reaction of which only the species and
// their sides are known: the smallest whole numbers that conserve elements and
// charge, exact by rational elimination. Coefficients that r has are ignored.
// The error is a *BalanceError, with Ways above 1 if several independent
// reactions hide in the species.
func (r Reaction) Balance() (Reaction, error) { return r.balance(nil) }

// BalanceInAcid is Balance for a half-reaction in acid: H^+, H2O and e^- are
// added on the side where they are needed, unless already written.
func (r Reaction) BalanceInAcid() (Reaction, error) { return r.balance(acidHelpers) }

// BalanceInBase is BalanceInAcid with OH^- in place of H^+.
func (r Reaction) BalanceInBase() (Reaction, error) { return r.balance(baseHelpers) }

func (r Reaction) balance(helpers []string) (Reaction, error) {
	fail := func(ways int, format string, args ...any) (Reaction, error) {
		return Reaction{}, &BalanceError{r.String(), fmt.Sprintf(format, args...), ways}
	}
	terms := slices.Clone(r.Terms)
	for _, name := range helpers {
		if r.index(name) < 0 {
			s, err := parseSpecies(name, nil)
			if err != nil {
				return Reaction{}, err
			}
			terms = append(terms, Term{Species: s})
		}
	}
	for _, t := range terms {
		if t.Species.IsLabel {
			return fail(0, "%s is not made of element symbols", t.Species.Name)
		}
	}
	basis := nullSpace(conservation(terms), len(terms))
	switch {
	case len(basis) == 0:
		return fail(0, "no coefficients conserve all elements and the charge")
	case len(basis) > 1:
		return fail(len(basis), "there are %d independent ways; give a reaction for each", len(basis))
	}
	orient(basis[0], terms)
	whole, ok := wholeNumbers(basis[0])
	if !ok {
		return fail(1, "the coefficients are too large")
	}
	out := Reaction{}
	for i, t := range terms {
		written := t.Coefficient.Sign()
		switch {
		case whole[i].Sign() == 0 && written == 0:
			continue
		case whole[i].Sign() == 0:
			return fail(1, "%s takes no part", t.Species.Name)
		case written != 0 && written != whole[i].Sign():
			return fail(1, "%s belongs on the other side", t.Species.Name)
		}
		out.Terms = append(out.Terms, Term{t.Species, whole[i]})
	}
	return out.Ordered(), nil
}

// conservation returns one row for each element and one for the charge, one
// column for each term.
func conservation(terms []Term) [][]*big.Rat {
	rows := map[string][]*big.Rat{}
	at := func(what string, column int) *big.Rat {
		if rows[what] == nil {
			row := make([]*big.Rat, len(terms))
			for i := range row {
				row[i] = new(big.Rat)
			}
			rows[what] = row
		}
		return rows[what][column]
	}
	for j, t := range terms {
		for _, e := range t.Species.Elements {
			at(e.Symbol, j).Set(e.Count.Rat())
		}
		at(chargeRow, j).SetInt64(int64(t.Species.Charge))
	}
	matrix := make([][]*big.Rat, 0, len(rows))
	for _, what := range slices.Sorted(maps.Keys(rows)) {
		matrix = append(matrix, rows[what])
	}
	return matrix
}

// nullSpace returns a basis of the x with m x = 0, n columns wide, by
// Gauss-Jordan elimination. It overwrites m.
func nullSpace(m [][]*big.Rat, n int) [][]*big.Rat {
	var pivots []int
	for j := range n {
		rank := len(pivots)
		i := rank
		for i < len(m) && m[i][j].Sign() == 0 {
			i++
		}
		if i == len(m) {
			continue
		}
		m[rank], m[i] = m[i], m[rank]
		eliminate(m, rank, j)
		pivots = append(pivots, j)
	}
	var basis [][]*big.Rat
	for j := range n {
		if slices.Contains(pivots, j) {
			continue
		}
		x := make([]*big.Rat, n)
		for k := range x {
			x[k] = new(big.Rat)
		}
		x[j].SetInt64(1)
		for i, p := range pivots {
			x[p].Neg(m[i][j])
		}
		basis = append(basis, x)
	}
	return basis
}

// eliminate makes column j of m a unit vector with its 1 in row i.
func eliminate(m [][]*big.Rat, i, j int) {
	inverse := new(big.Rat).Inv(m[i][j])
	for _, x := range m[i] {
		x.Mul(x, inverse)
	}
	for k, row := range m {
		if k == i || row[j].Sign() == 0 {
			continue
		}
		factor := new(big.Rat).Set(row[j])
		for c, x := range row {
			x.Sub(x, new(big.Rat).Mul(factor, m[i][c]))
		}
	}
}

// orient turns x so that the first term, which is always a written one, has
// its side.
func orient(x []*big.Rat, terms []Term) {
	if x[0].Sign()*terms[0].Coefficient.Sign() < 0 {
		for _, v := range x {
			v.Neg(v)
		}
	}
}

// wholeNumbers scales x, one entry of which is 1 or -1, to the smallest whole
// numbers: those over the least common denominator, as the entry of 1 leaves
// no common divisor.
func wholeNumbers(x []*big.Rat) ([]Ratio, bool) {
	multiple := big.NewInt(1)
	for _, v := range x {
		gcd := new(big.Int).GCD(nil, nil, multiple, v.Denom())
		multiple.Mul(multiple, new(big.Int).Div(v.Denom(), gcd))
	}
	out := make([]Ratio, len(x))
	for i, v := range x {
		n, ok := ratioOf(new(big.Rat).Mul(v, new(big.Rat).SetInt(multiple)))
		if !ok {
			return nil, false
		}
		out[i] = n
	}
	return out, true
}
