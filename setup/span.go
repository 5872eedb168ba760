package setup

import (
	"math/big"

	"meniscus/chem"
)

// A span is a set of independent reactions. A reaction that is a combination
// of others has no constant of its own, and the engine refuses it.
type span struct{ basis []pivoted }

type pivoted struct {
	pivot string
	terms map[string]*big.Rat // 1 at the pivot
}

// add takes a reaction in and reports whether it was independent. Water does
// not count: its activity is 1.
func (s *span) add(rx chem.Reaction) bool {
	v := s.reduce(rx)
	pivot := ""
	for name := range v {
		if pivot == "" || name < pivot {
			pivot = name
		}
	}
	if pivot == "" {
		return false
	}
	inverse := new(big.Rat).Inv(v[pivot])
	for _, c := range v {
		c.Mul(c, inverse)
	}
	s.basis = append(s.basis, pivoted{pivot, v})
	return true
}

// reduce returns what is left of a reaction beyond those of the span.
func (s *span) reduce(rx chem.Reaction) map[string]*big.Rat {
	v := map[string]*big.Rat{}
	for _, t := range rx.Terms {
		if t.Species.Name != chem.Water {
			v[t.Species.Name] = t.Coefficient.Rat()
		}
	}
	for _, b := range s.basis {
		c, ok := v[b.pivot]
		if !ok {
			continue
		}
		c = new(big.Rat).Set(c)
		for name, x := range b.terms {
			y := new(big.Rat).Mul(c, x)
			if old, ok := v[name]; ok {
				y.Sub(old, y)
			} else {
				y.Neg(y)
			}
			if v[name] = y; y.Sign() == 0 {
				delete(v, name)
			}
		}
	}
	return v
}
