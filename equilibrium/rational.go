package equilibrium

import (
	"math"
	"math/big"
)

// A rat is a small exact fraction in lowest terms with a positive
// denominator. Stoichiometry stays exact through every change of basis; a
// fraction that outgrows 2^53 turns into overflow, which callers check with
// ok.
type rat struct{ n, d int64 }

const ratLimit = 1 << 53

func newRat(n, d int64) rat {
	if d < 0 {
		n, d = -n, -d
	}
	g := gcd(n, d)
	if g > 1 {
		n, d = n/g, d/g
	}
	return rat{n, d}
}

func gcd(a, b int64) int64 {
	if a < 0 {
		a = -a
	}
	if b < 0 {
		b = -b
	}
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// commonDenominator returns the least common multiple of the denominators of
// a row. Entries that outgrew exact arithmetic are passed over.
func commonDenominator(row []rat) int64 {
	den := int64(1)
	for _, x := range row {
		if x.ok() {
			den = den / gcd(den, x.d) * x.d
		}
	}
	return den
}

var (
	ratZero = rat{0, 1}
	ratOne  = rat{1, 1}
	ratBad  = rat{0, 0} // overflow: every operation keeps it
)

func (a rat) ok() bool     { return a.d != 0 }
func (a rat) isZero() bool { return a.n == 0 && a.d != 0 }
func (a rat) float() float64 {
	return float64(a.n) / float64(a.d)
}
func (a rat) neg() rat { return rat{-a.n, a.d} }
func (a rat) sign() int {
	switch {
	case a.n > 0:
		return 1
	case a.n < 0:
		return -1
	}
	return 0
}

// checked builds a fraction from products that were also formed in float64,
// where an overflow shows.
func checked(n, d int64, nf, df float64) rat {
	if math.Abs(nf) > ratLimit*1024 || math.Abs(df) > ratLimit*1024 {
		return ratBad
	}
	r := newRat(n, d)
	if r.n > ratLimit || r.n < -ratLimit || r.d > ratLimit {
		return ratBad
	}
	return r
}

func (a rat) mul(b rat) rat {
	if !a.ok() || !b.ok() {
		return ratBad
	}
	if a.n == 0 || b.n == 0 {
		return ratZero
	}
	if a.d == 1 && b.d == 1 && abs64(a.n) < 1<<26 && abs64(b.n) < 1<<26 {
		return rat{a.n * b.n, 1}
	}
	return checked(a.n*b.n, a.d*b.d, float64(a.n)*float64(b.n), float64(a.d)*float64(b.d))
}

func (a rat) sub(b rat) rat {
	if !a.ok() || !b.ok() {
		return ratBad
	}
	if a.d == 1 && b.d == 1 {
		return rat{a.n - b.n, 1}
	}
	nf := float64(a.n)*float64(b.d) - float64(b.n)*float64(a.d)
	return checked(a.n*b.d-b.n*a.d, a.d*b.d, math.Abs(float64(a.n)*float64(b.d))+math.Abs(nf), float64(a.d)*float64(b.d))
}

// subMul returns a - b c, where b c alone may outgrow a fraction: along a
// chain of pivots it cancels against a.
func (a rat) subMul(b, c rat) rat {
	r := a.sub(b.mul(c))
	if r.ok() || !a.ok() || !b.ok() || !c.ok() {
		return r
	}
	x := new(big.Rat).Mul(b.big(), c.big())
	x.Sub(a.big(), x)
	if !x.Num().IsInt64() || !x.Denom().IsInt64() || abs64(x.Num().Int64()) > ratLimit || x.Denom().Int64() > ratLimit {
		return ratBad
	}
	return rat{x.Num().Int64(), x.Denom().Int64()}
}

func (a rat) big() *big.Rat { return big.NewRat(a.n, a.d) }

func (a rat) add(b rat) rat { return a.sub(b.neg()) }

// inv returns 1/a; a must not be zero.
func (a rat) inv() rat {
	if !a.ok() || a.n == 0 {
		return ratBad
	}
	return newRat(a.d, a.n)
}

func abs64(a int64) int64 {
	if a < 0 {
		return -a
	}
	return a
}
