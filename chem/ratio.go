package chem

import (
	"math/big"
	"strconv"
)

// A Ratio is an exact fraction in lowest terms: a stoichiometric coefficient
// or the count of an element. The zero value is 0, and == compares values.
type Ratio struct {
	num  int64
	den1 int64 // denominator minus one, so that the zero value is 0/1
}

// Whole returns the Ratio n/1.
func Whole(n int64) Ratio { return Ratio{num: n} }

// NewRatio returns num/den in lowest terms; ok is false if den is 0 or a term
// does not fit into an int64.
func NewRatio(num, den int64) (r Ratio, ok bool) {
	if den == 0 {
		return Ratio{}, false
	}
	return ratioOf(big.NewRat(num, den))
}

func ratioOf(x *big.Rat) (Ratio, bool) {
	if !x.Num().IsInt64() || !x.Denom().IsInt64() {
		return Ratio{}, false
	}
	return Ratio{x.Num().Int64(), x.Denom().Int64() - 1}, true
}

// Num returns the numerator, which carries the sign.
func (r Ratio) Num() int64 { return r.num }

// Den returns the denominator, at least 1.
func (r Ratio) Den() int64 { return r.den1 + 1 }

// Rat returns r as a new big.Rat.
func (r Ratio) Rat() *big.Rat { return big.NewRat(r.num, r.Den()) }

// Float returns the float64 nearest to num over den, each rounded first.
func (r Ratio) Float() float64 { return float64(r.num) / float64(r.Den()) }

// Sign returns -1, 0 or 1.
func (r Ratio) Sign() int {
	switch {
	case r.num < 0:
		return -1
	case r.num > 0:
		return 1
	}
	return 0
}

// Neg returns -r.
func (r Ratio) Neg() Ratio { return Ratio{-r.num, r.den1} }

// abs returns the magnitude of r.
func (r Ratio) abs() Ratio {
	if r.num < 0 {
		return r.Neg()
	}
	return r
}

// String returns r as "3", "-2" or "1/2".
func (r Ratio) String() string {
	s := strconv.FormatInt(r.num, 10)
	if r.den1 != 0 {
		s += "/" + strconv.FormatInt(r.Den(), 10)
	}
	return s
}

// small bounds numbers whose sums and products fit into an int64.
const small = 1 << 30

// whole says whether both are small whole numbers, as nearly all are.
func whole(a, b Ratio) bool {
	return a.den1|b.den1 == 0 && a.num < small && -a.num < small && b.num < small && -b.num < small
}

// plus returns a + b.
func plus(a, b Ratio) (Ratio, bool) {
	if whole(a, b) {
		return Ratio{num: a.num + b.num}, true
	}
	return ratioOf(new(big.Rat).Add(a.Rat(), b.Rat()))
}

// times returns a times b.
func times(a, b Ratio) (Ratio, bool) {
	if whole(a, b) {
		return Ratio{num: a.num * b.num}, true
	}
	return ratioOf(new(big.Rat).Mul(a.Rat(), b.Rat()))
}
