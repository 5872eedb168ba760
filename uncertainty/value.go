// Package uncertainty has values with a standard uncertainty and degrees of
// freedom: coverage factors, rounding, and the tests for outliers that go with
// replicates. It knows no chemistry; where an uncertainty comes from is said
// by whoever states it.
package uncertainty

import (
	"math"
	"strconv"
)

// A Value is a number with one standard uncertainty and its degrees of
// freedom. DoF 0 means that they are not known, and counts as +Inf: the
// uncertainty is taken as exact.
type Value struct {
	X, U, DoF float64
}

// String returns "0.024983 ± 0.000012", rounded as Round does.
func (v Value) String() string {
	x, u := Round(v.X, v.U)
	return x + " ± " + u
}

// Expanded returns the half-width kU of the interval about X that has coverage
// p, such as 0.95, and the coverage factor k.
func (v Value) Expanded(p float64) (width, k float64) {
	dof := v.DoF
	if dof == 0 {
		dof = math.Inf(1)
	}
	k = Coverage(p, dof)
	return k * v.U, k
}

// Coverage returns the factor k by which a standard uncertainty with dof
// degrees of freedom is multiplied for a symmetric interval of coverage p: the
// two-sided quantile of Student's t (GUM G.3, from memory), 1.96 for p = 0.95
// and dof = +Inf. It is NaN for p outside 0 to 1 or dof not above 0.
func Coverage(p, dof float64) float64 {
	if !(p >= 0 && p <= 1) || !(dof > 0) {
		return math.NaN()
	}
	return tTwoSided(1-p, dof)
}

// Welch returns the effective degrees of freedom of the root sum of squares of
// us, each with its dofs (Welch & Satterthwaite, GUM G.2b, from memory), not
// truncated to a whole number. +Inf in dofs is an exactly known uncertainty;
// if nothing else contributes the result is +Inf. It is NaN for lengths that
// differ, for a us below 0 or not finite, and for a dofs not above 0.
func Welch(us, dofs []float64) float64 {
	if len(us) != len(dofs) {
		return math.NaN()
	}
	largest := 0.0
	for i, u := range us {
		if !(u >= 0) || math.IsInf(u, 1) || !(dofs[i] > 0) {
			return math.NaN()
		}
		largest = math.Max(largest, u)
	}
	if largest == 0 {
		return math.Inf(1)
	}
	var square, fourth float64
	for i, u := range us {
		w := u / largest * (u / largest)
		square += w
		fourth += w * w / dofs[i]
	}
	return square * square / fourth
}

// Bounds of plain decimals: outside them a power of ten is written.
const plainMin, plainMax = 1e-6, 1e9

// Round returns u with two significant figures and x to the same decimal
// place (GUM 7.2.6, from memory), both as plain decimals: 0.024983 and
// 0.000012. Both get the exponent of the larger one when that is below 1e-6 or
// from 1e9 up. Without an uncertainty to round by (u = 0, NaN, infinite or
// negative) x keeps all its digits. Halves round as the nearest float64 does.
func Round(x, u float64) (xText, uText string) {
	if !(u > 0) || math.IsInf(u, 1) || math.IsNaN(x) || math.IsInf(x, 0) {
		return strconv.FormatFloat(x, 'g', -1, 64), strconv.FormatFloat(u, 'g', -1, 64)
	}
	place := exponent(u, 1) - 1 // power of ten of the last digit kept
	top := math.Max(math.Abs(x), u)
	if top >= plainMin && top < plainMax {
		return decimal(x, place, 0), decimal(u, place, 0)
	}
	shift := max(exponent(u, 1), exponent(x, max(exponent(x, 16)-place, 0)))
	suffix := "e" + strconv.Itoa(shift)
	return decimal(x, place, shift) + suffix, decimal(u, place, shift) + suffix
}

// exponent returns the power of ten of the first digit of x, rounded to digits
// decimals after it.
func exponent(x float64, digits int) int {
	if x == 0 {
		return -400
	}
	s := strconv.FormatFloat(math.Abs(x), 'e', digits, 64)
	for i := range s {
		if s[i] == 'e' {
			n, _ := strconv.Atoi(s[i+1:]) // FormatFloat wrote it
			return n
		}
	}
	return 0
}
