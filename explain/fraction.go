package explain

import (
	"math"

	"meniscus/working"
)

// A fraction is a stoichiometric ratio: p over q, whole numbers.
type fraction struct{ p, q float64 }

// largestWhole is the largest whole number looked for in a stoichiometric
// ratio; the largest of the tables is 6 to 1, sums of stages make more of it.
const largestWhole = 60

// fractionOf writes a ratio that stoichiometry made, and only rounding has
// touched, in whole numbers.
func fractionOf(x float64) (fraction, bool) {
	for q := 1.0; q <= largestWhole; q++ {
		if p := math.Round(x * q); math.Abs(p) <= largestWhole && math.Abs(p/q-x) <= 1e-9*math.Abs(x) {
			return fraction{p, q}, true
		}
	}
	return fraction{}, false
}

// timesOf is an expression so many times, by a fraction where there is one.
func timesOf(x float64, e working.Expr) working.Expr {
	if f, ok := fractionOf(x); ok {
		return f.times(e)
	}
	return working.Times(working.Count(round9(x)), e)
}

func gcd(a, b float64) float64 {
	for b != 0 {
		a, b = b, math.Mod(a, b)
	}
	return math.Abs(a)
}

// times is an expression by the fraction, as one would write it.
func (f fraction) times(e working.Expr) working.Expr {
	switch {
	case f.p == 1 && f.q == 1:
		return e
	case f.q == 1:
		return working.Times(working.Count(f.p), e)
	case f.p == 1:
		return working.Over(e, working.Count(f.q))
	}
	return working.Times(working.Over(working.Count(f.p), working.Count(f.q)), e)
}
