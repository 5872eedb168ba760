package uncertainty

import "math"

// smallest keeps a continued fraction from dividing by zero.
const smallest = 1e-300

// maxTerms bounds the series and fractions here; they need a few times the
// square root of their largest parameter.
const maxTerms = 1 << 20

// deviance returns ln(ratio) - z where ratio is 1+z, each with its own digits:
// without cancellation for ratios near 1 and near 0. With r = z/(2+z),
// ln(1+z) = 2 artanh r and 2r - z = -r z.
func deviance(ratio, z float64) float64 {
	if !(math.Abs(z) < 0.4) {
		return math.Log(ratio) - z
	}
	r := z / (2 + z)
	sum, power := 0.0, 1.0
	for k := 3.0; ; k += 2 {
		next := sum + power/k
		if next == sum {
			return -r*z + 2*r*r*r*sum
		}
		sum, power = next, power*r*r
	}
}

// stirling returns ln Gamma(a) - ((a-1/2) ln a - a + ln(2 pi)/2) for a > 0:
// Stirling's series (Abramowitz & Stegun 6.1.41, from memory) from 16 up, and
// the recurrence Gamma(a+1) = a Gamma(a) below.
func stirling(a float64) float64 {
	sum := 0.0
	for ; a < 16; a++ {
		sum += (a+0.5)*math.Log1p(1/a) - 1
	}
	w := 1 / (a * a)
	return sum + (1./12-w*(1./360-w*(1./1260-w*(1./1680-w*(1./1188-w*691./360360)))))/a
}

// gammaTerm returns x^a e^-x / Gamma(a) for a, x > 0, to near full precision
// however large a is (the deviance form, after Loader 2000, from memory).
func gammaTerm(a, x float64) float64 {
	return math.Sqrt(a/(2*math.Pi)) * math.Exp(a*deviance(x/a, (x-a)/a)-stirling(a))
}

// incompleteGamma returns the regularized incomplete gamma functions P(a, x)
// and Q = 1 - P, the smaller one without cancellation (Abramowitz & Stegun
// 6.5.29 and 6.5.31, from memory), for a > 0 and x >= 0.
func incompleteGamma(a, x float64) (p, q float64) {
	switch {
	case x <= 0:
		return 0, 1
	case math.IsInf(x, 1):
		return 1, 0
	case x < a+1:
		term := 1 / a
		sum := term
		for k := 1.0; k < maxTerms && term > sum*1e-17; k++ {
			term *= x / (a + k)
			sum += term
		}
		p = math.Min(gammaTerm(a, x)*sum, 1)
		return p, 1 - p
	}
	b := x + 1 - a
	f := lentz(b, func(k float64) (float64, float64) { return -k * (k - a), b + 2*k })
	q = math.Min(gammaTerm(a, x)/f, 1)
	return 1 - q, q
}

// lentz evaluates b0 + a1/(b1 + a2/(b2 + ...)), with next(k) giving a_k and
// b_k, by the modified method of Lentz (Thompson & Barnett 1986, from memory).
func lentz(b0 float64, next func(k float64) (a, b float64)) float64 {
	f := b0
	if f == 0 {
		f = smallest
	}
	c, d := f, 0.0
	for k := 1.0; k < maxTerms; k++ {
		a, b := next(k)
		if d = b + a*d; d == 0 {
			d = smallest
		}
		if c = b + a/c; c == 0 {
			c = smallest
		}
		d = 1 / d
		f *= c * d
		if math.Abs(c*d-1) < 5e-16 {
			break
		}
	}
	return f
}

// incompleteBeta returns the regularized incomplete beta functions I_x(a, b)
// and 1 - I_x(a, b), the smaller one without cancellation, where y is 1 - x
// with its own digits. a and b must be above 0.
func incompleteBeta(a, b, x, y float64) (lower, upper float64) {
	switch {
	case x <= 0:
		return 0, 1
	case y <= 0:
		return 1, 0
	case x*(b+1) > y*(a+1):
		upper, lower = incompleteBeta(b, a, y, x)
		return lower, upper
	}
	lower = math.Min(betaTerm(a, b, x, y)/betaFraction(a, b, x, y), 1)
	return lower, 1 - lower
}

// betaTerm returns x^a y^b / B(a, b) in the deviance form.
func betaTerm(a, b, x, y float64) float64 {
	d := x*b - y*a
	e := a*deviance(x*(a+b)/a, d/a) + b*deviance(y*(a+b)/b, -d/b) + stirling(a+b) - stirling(a) - stirling(b)
	return math.Sqrt(a*b/(a+b)/(2*math.Pi)) * math.Exp(e)
}

// betaFraction is the continued fraction of DiDonato & Morris (ACM Trans. Math.
// Softw. 18 (1992) 360, from memory), which keeps its digits for large a.
func betaFraction(a, b, x, y float64) float64 {
	c := a*y - b*x + 1
	return lentz(a*c/(a+1), func(m float64) (float64, float64) {
		w, n := m*(b-m)*x, a+2*m-1
		return (a + m - 1) / n * (a + b + m - 1) / n * w * x, m + w/n + (a+m)*(c+m*(1+y))/(n+2)
	})
}

// solve returns the x > 0 at which a positive monotonic function reaches
// target: Newton's method on the logarithms, where distribution functions are
// nearly straight, kept inside a bracket. f returns the value and the
// derivative; start must be above 0.
func solve(target, start float64, rising bool, f func(x float64) (value, slope float64)) float64 {
	lo, hi := -700.0, 700.0
	u, goal := math.Log(start), math.Log(target)
	for range 200 {
		x := math.Exp(u)
		value, slope := f(x)
		gap := math.Log(value) - goal
		if gap > 0 == rising {
			hi = u
		} else {
			lo = u
		}
		step := -gap * value / (slope * x)
		if math.Abs(step) < 1e-9 { // quadratic: the next step would be rounding
			return x * (1 + step)
		}
		next := u + step
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if next == u {
			break
		}
		u = next
	}
	return math.Exp(u)
}
