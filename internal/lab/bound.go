package lab

import "math"

// CRB returns the Cramér-Rao bounds: the smallest standard deviation that any
// unbiased estimate of each parameter of the model can have, all of them
// unknown. volumes are in litres, noise in the unit of the model, volumeNoise
// in litres. Errors of volume enter to first order, as noise of
// |dy/dV| volumeNoise: exact away from a jump narrower than volumeNoise, and
// there a reading counts for almost nothing anyway. NaN where the readings
// cannot tell the parameters apart.
func CRB(model func(v float64, p []float64) float64, p, volumes []float64, noise, volumeNoise float64) []float64 {
	n := len(p)
	info := make([][]float64, n)
	for i := range info {
		info[i] = make([]float64, n)
	}
	grad := make([]float64, n)
	q := make([]float64, n)
	for _, v := range volumes {
		slope := richardson(func(x float64) float64 { return model(x, p) }, v)
		variance := noise*noise + slope*slope*volumeNoise*volumeNoise
		for k := range p {
			copy(q, p)
			grad[k] = scale(p[k]) * richardson(func(x float64) float64 { q[k] = x; return model(v, q) }, p[k])
		}
		for i := range n {
			for j := range n {
				info[i][j] += grad[i] * grad[j] / variance
			}
		}
	}
	out := make([]float64, n)
	for k, v := range inverseDiagonal(info) {
		out[k] = scale(p[k]) * math.Sqrt(v)
	}
	return out
}

// scale keeps the elimination well scaled whatever the units of p.
func scale(p float64) float64 {
	if p == 0 {
		return 1
	}
	return math.Abs(p)
}

// richardson returns the derivative of f at x from two central differences,
// with the term in h squared removed. The step is a millionth of x: wide
// enough for ten digits of a smooth curve, narrow beside the distance of any
// reading to a jump.
func richardson(f func(float64) float64, x float64) float64 {
	h := 1e-6 * math.Abs(x)
	if h == 0 {
		h = 1e-9
	}
	d := func(h float64) float64 { return (f(x+h) - f(x-h)) / (2 * h) }
	return (4*d(h/2) - d(h)) / 3
}

// inverseDiagonal returns the diagonal of the inverse of the symmetric a, by
// Gauss-Jordan elimination; NaN where a is singular. a is overwritten.
func inverseDiagonal(a [][]float64) []float64 {
	n := len(a)
	inv := make([][]float64, n)
	for i := range inv {
		inv[i] = make([]float64, n)
		inv[i][i] = 1
	}
	for i := range n {
		best := i
		for r := i; r < n; r++ {
			if math.Abs(a[r][i]) > math.Abs(a[best][i]) {
				best = r
			}
		}
		a[i], a[best], inv[i], inv[best] = a[best], a[i], inv[best], inv[i]
		pivot := a[i][i]
		for j := range n {
			a[i][j] /= pivot
			inv[i][j] /= pivot
		}
		for r := range n {
			if f := a[r][i]; r != i {
				for j := range n {
					a[r][j] -= f * a[i][j]
					inv[r][j] -= f * inv[i][j]
				}
			}
		}
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = inv[i][i]
	}
	return out
}
