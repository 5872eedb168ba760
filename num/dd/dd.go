// Package dd computes with double-double numbers: an unevaluated sum of two
// float64, about 31 decimal digits. It exists so that differences of amounts
// near an equivalence point keep their digits. It has no transcendental
// functions.
//
// Algorithms: error-free transformations of Dekker (Numer. Math. 18 (1971)
// 224) and Knuth (TAOCP 2, 4.2.2), from memory.
package dd

import (
	"math"
	"math/big"
)

// A Num is the number Hi + Lo with |Lo| at most half a unit in the last place
// of Hi. The zero value is 0. Integers of up to 106 bits are held exactly.
type Num struct{ Hi, Lo float64 }

// From returns f exactly.
func From(f float64) Num { return Num{f, 0} }

// Float returns the nearest float64.
func (a Num) Float() float64 { return a.Hi + a.Lo }

func twoSum(a, b float64) (s, e float64) {
	s = a + b
	bb := s - a
	return s, (a - (s - bb)) + (b - bb)
}

func quickTwoSum(a, b float64) (s, e float64) {
	s = a + b
	return s, b - (s - a)
}

func twoProd(a, b float64) (p, e float64) {
	p = a * b
	return p, math.FMA(a, b, -p)
}

// Add returns a + b.
func (a Num) Add(b Num) Num {
	s1, s2 := twoSum(a.Hi, b.Hi)
	t1, t2 := twoSum(a.Lo, b.Lo)
	s2 += t1
	s1, s2 = quickTwoSum(s1, s2)
	s2 += t2
	s1, s2 = quickTwoSum(s1, s2)
	return Num{s1, s2}
}

// Neg returns -a.
func (a Num) Neg() Num { return Num{-a.Hi, -a.Lo} }

// Sub returns a - b.
func (a Num) Sub(b Num) Num { return a.Add(b.Neg()) }

// Mul returns a b.
func (a Num) Mul(b Num) Num {
	p, e := twoProd(a.Hi, b.Hi)
	e += a.Hi*b.Lo + a.Lo*b.Hi
	p, e = quickTwoSum(p, e)
	return Num{p, e}
}

// MulFloat returns a f.
func (a Num) MulFloat(f float64) Num {
	p, e := twoProd(a.Hi, f)
	e = math.FMA(a.Lo, f, e)
	p, e = quickTwoSum(p, e)
	return Num{p, e}
}

// Div returns a/b; b must not be 0.
func (a Num) Div(b Num) Num {
	q1 := a.Hi / b.Hi
	r := a.Sub(b.MulFloat(q1))
	q2 := r.Hi / b.Hi
	r = r.Sub(b.MulFloat(q2))
	q3 := r.Hi / b.Hi
	q1, q2 = quickTwoSum(q1, q2)
	return Num{q1, q2}.Add(Num{q3, 0})
}

// Sign returns -1, 0 or 1.
func (a Num) Sign() int {
	switch {
	case a.Hi > 0 || a.Hi == 0 && a.Lo > 0:
		return 1
	case a.Hi < 0 || a.Hi == 0 && a.Lo < 0:
		return -1
	}
	return 0
}

// IsZero says whether a is exactly 0.
func (a Num) IsZero() bool { return a.Hi == 0 && a.Lo == 0 }

// FromRat returns the double-double nearest to r.
func FromRat(r *big.Rat) Num {
	hi, _ := r.Float64()
	if math.IsInf(hi, 0) {
		return Num{hi, 0}
	}
	rest := new(big.Rat).SetFloat64(hi)
	rest.Sub(r, rest)
	lo, _ := rest.Float64()
	return Num{hi, lo}
}
