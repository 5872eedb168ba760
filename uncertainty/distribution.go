package uncertainty

import "math"

// NormalCDF returns the probability that a standard normal variable is at most
// x, with full relative precision in the lower tail.
func NormalCDF(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

func normalDensity(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// NormalQuantile returns the x at which NormalCDF(x) is p: -Inf for 0, +Inf
// for 1, NaN outside 0 to 1.
func NormalQuantile(p float64) float64 {
	switch {
	case !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return -normalLower(1 - p)
	}
	return normalLower(p)
}

// normalLower is the quantile for p up to 1/2. Near the middle math.Erfinv is
// exact; in the tail Newton's method on ln p mends the digits that 1 - 2p
// lost.
func normalLower(p float64) float64 {
	if p == 0 {
		return math.Inf(-1)
	}
	if p > 0.05 {
		return math.Sqrt2 * math.Erfinv(2*p-1)
	}
	x := -math.Sqrt(-2 * math.Log(p)) // beyond the quantile, where Newton is safe
	for range 50 {
		f := NormalCDF(x)
		if f == 0 {
			return x
		}
		step := math.Log(f/p) * f / normalDensity(x)
		x -= step
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return x
}

// largeDoF is where Hill's expansion takes over from the incomplete beta
// function; its error there is below rounding.
const largeDoF = 1e5

// TCDF returns the probability that a variable with Student's t distribution
// of dof degrees of freedom is at most t. dof is any number above 0, and +Inf
// means normal; NaN for others. The lower tail has full relative precision.
func TCDF(t, dof float64) float64 {
	if !(dof > 0) || math.IsNaN(t) {
		return math.NaN()
	}
	outside, inside := tParts(math.Abs(t), dof)
	switch {
	case t < 0:
		return outside / 2
	case outside < 0.5:
		return 1 - outside/2
	}
	return 0.5 + inside/2
}

// tParts returns the probabilities that |T| is above and below t >= 0, by
// Abramowitz & Stegun 26.7.1 (from memory).
func tParts(t, dof float64) (outside, inside float64) {
	if dof > largeDoF {
		z := hillNormal(t, dof)
		return math.Erfc(z / math.Sqrt2), math.Erf(z / math.Sqrt2)
	}
	if t > 1e150 { // t*t overflows; x^a/(a B(a, 1/2)) is all that is left
		e := dof*(math.Log(dof)/2-math.Log(t)) + stirling(dof/2+0.5) - stirling(dof/2) + dof/2*math.Log1p(1/dof) - 0.5
		return math.Exp(e) * math.Sqrt(2/(math.Pi*dof)), 1
	}
	square := t * t
	return incompleteBeta(dof/2, 0.5, dof/(dof+square), square/(dof+square))
}

// hillNormal turns t into the normal deviate of equal probability: the first
// two terms of G. W. Hill, Algorithm 395, Comm. ACM 13 (1970) 617, from memory.
// The third is below rounding for a large dof.
func hillNormal(t, dof float64) float64 {
	if math.IsInf(dof, 1) {
		return t
	}
	a := dof - 0.5
	b := 48 * a * a
	z2 := a * math.Log1p(t/dof*t)
	z := math.Sqrt(z2)
	return z + z*(z2+3)/b
}

// tDensity is the derivative of TCDF.
func tDensity(t, dof float64) float64 {
	if math.IsInf(dof, 1) {
		return normalDensity(t)
	}
	c := math.Exp(stirling((dof+1)/2)-stirling(dof/2)+dof/2*deviance(1+1/dof, 1/dof)) / math.Sqrt(2*math.Pi)
	return c * math.Exp(-(dof+1)/2*math.Log1p(t/dof*t))
}

// TQuantile returns the t at which TCDF(t, dof) is p: -Inf for 0, +Inf for 1,
// NaN for p outside 0 to 1 or dof not above 0.
func TQuantile(p, dof float64) float64 {
	switch {
	case !(p >= 0 && p <= 1) || !(dof > 0):
		return math.NaN()
	case p > 0.5:
		return tTwoSided(2*(1-p), dof)
	}
	return -tTwoSided(2*p, dof)
}

// tTwoSided returns the t >= 0 that |T| exceeds with probability q.
func tTwoSided(q, dof float64) float64 {
	switch {
	case q <= 0:
		return math.Inf(1)
	case q >= 1:
		return 0
	}
	z := -normalLower(q / 2)
	if math.IsInf(dof, 1) {
		return z
	}
	if q > 0.5 {
		return solve(1-q, z, true, func(t float64) (float64, float64) {
			_, inside := tParts(t, dof)
			return inside, 2 * tDensity(t, dof)
		})
	}
	return solve(q, z, false, func(t float64) (float64, float64) {
		outside, _ := tParts(t, dof)
		return outside, -2 * tDensity(t, dof)
	})
}

// hugeChi2 is where the chi-square functions turn to the cube-root
// approximation of Wilson & Hilferty (1931, from memory), good to 1e-6 there.
const hugeChi2 = 1e9

// Chi2CDF returns the probability that a chi-square variable of dof degrees of
// freedom is at most x (incomplete gamma function). dof must be above 0 and
// finite, or the result is NaN.
func Chi2CDF(x, dof float64) float64 {
	if !(dof > 0) || math.IsInf(dof, 1) || math.IsNaN(x) {
		return math.NaN()
	}
	if dof > hugeChi2 {
		c := 2 / (9 * dof)
		return NormalCDF((math.Cbrt(x/dof) - 1 + c) / math.Sqrt(c))
	}
	p, _ := incompleteGamma(dof/2, x/2)
	return p
}

// Chi2Quantile returns the x at which Chi2CDF(x, dof) is p: 0 for 0, +Inf for
// 1, NaN for p outside 0 to 1 or dof not above 0 and finite.
func Chi2Quantile(p, dof float64) float64 {
	switch {
	case !(p >= 0 && p <= 1) || !(dof > 0) || math.IsInf(dof, 1):
		return math.NaN()
	case p == 0:
		return 0
	case p == 1:
		return math.Inf(1)
	}
	c := 2 / (9 * dof)
	root := 1 - c + NormalQuantile(p)*math.Sqrt(c)
	if dof > hugeChi2 {
		return dof * root * root * root
	}
	start := dof * math.Max(root*root*root, 1e-3)
	density := func(x float64) float64 { return gammaTerm(dof/2, x/2) / x }
	if p > 0.5 {
		return solve(1-p, start, false, func(x float64) (float64, float64) {
			_, q := incompleteGamma(dof/2, x/2)
			return q, -density(x)
		})
	}
	return solve(p, start, true, func(x float64) (float64, float64) {
		lower, _ := incompleteGamma(dof/2, x/2)
		return lower, density(x)
	})
}
