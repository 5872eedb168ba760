// Package smooth fits low polynomials to the neighbourhood of a point:
// value, slope and curvature of a noisy function at any abscissa. It does not
// choose how much to smooth; the caller says how many points take part.
package smooth

import (
	"math"
	"sort"
)

// MaxDegree is the highest degree of a local polynomial.
const MaxDegree = 3

// Settings of a local fit. The zero value takes five points, degree 0, equal
// weights.
type Settings struct {
	Points  int  // nearest points that take part; 0 is 5, more than there are means all
	Degree  int  // of the polynomial, 0 to MaxDegree; fewer than Degree+1 points fail
	Tricube bool // weights fall with distance (Cleveland 1979, from memory); false: equal
}

// An Estimate is the local polynomial at one abscissa.
type Estimate struct {
	Value, Slope, Curvature float64 // polynomial, its first and second derivative
	ValueGain, SlopeGain    float64 // variance of Value and Slope for unit variance of each y
	Points                  int     // that took part
}

// At fits a polynomial to the points nearest to at and returns it there. x
// must be ascending and as long as y (a panic otherwise). The second result is
// false when the points cannot carry the polynomial: too few distinct
// abscissae among them, or a number that is not finite.
func At(x, y []float64, at float64, s Settings) (Estimate, bool) {
	if len(x) != len(y) {
		panic("smooth: x and y differ in length")
	}
	k := s.Points
	if k == 0 {
		k = 5
	}
	k = min(k, len(x))
	degree := min(max(s.Degree, 0), MaxDegree)
	if k < degree+1 {
		return Estimate{}, false
	}
	lo := nearest(x, at, k)
	return fit(x[lo:lo+k], y[lo:lo+k], at, degree, s.Tricube)
}

// nearest returns where the k points nearest to at begin.
func nearest(x []float64, at float64, k int) int {
	return sort.Search(len(x)-k, func(i int) bool { return at-x[i] <= x[i+k]-at })
}

// fit solves the weighted normal equations in u = (x-at)/h, which keeps them
// well scaled: |u| is at most 1.
func fit(x, y []float64, at float64, degree int, tricube bool) (Estimate, bool) {
	h := math.Max(at-x[0], x[len(x)-1]-at)
	if !(h > 0) && degree > 0 || math.IsInf(h, 0) {
		return Estimate{}, false
	}
	if h <= 0 {
		h = 1
	}
	m := degree + 1
	var a, v normal // weighted sums with w, and with w squared for the gains
	var b [MaxDegree + 1]float64
	for i := range x {
		u := (x[i] - at) / h
		w := 1.0
		if tricube {
			w = tricubeAt(u)
		}
		a.add(u, w, m)
		v.add(u, w*w, m)
		for p, t := 0, w*y[i]; p < m; p, t = p+1, t*u {
			b[p] += t
		}
	}
	inv, ok := a.inverse(m)
	if !ok {
		return Estimate{}, false
	}
	var c [MaxDegree + 1]float64
	for p := range m {
		for q := range m {
			c[p] += inv[p][q] * b[q]
		}
	}
	e := Estimate{Value: c[0], ValueGain: sandwich(&inv, &v, 0, m), Points: len(x)}
	if degree > 0 {
		e.Slope, e.SlopeGain = c[1]/h, sandwich(&inv, &v, 1, m)/(h*h)
	}
	if degree > 1 {
		e.Curvature = 2 * c[2] / (h * h)
	}
	return e, finite(e.Value) && finite(e.Slope) && finite(e.Curvature)
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// tricubeAt is slightly stretched, so that the farthest point still counts.
func tricubeAt(u float64) float64 {
	t := math.Abs(u) / 1.05
	t = 1 - t*t*t
	return t * t * t
}

type normal [MaxDegree + 1][MaxDegree + 1]float64

func (a *normal) add(u, w float64, m int) {
	var power [2*MaxDegree + 1]float64
	power[0] = w
	for p := 1; p < 2*m-1; p++ {
		power[p] = power[p-1] * u
	}
	for p := range m {
		for q := range m {
			a[p][q] += power[p+q]
		}
	}
}

// inverse of the leading m by m block by Gauss-Jordan with pivots on the
// diagonal, which is safe for a positive definite matrix. A pivot that has
// lost all its digits means that the abscissae do not carry the degree.
func (a *normal) inverse(m int) (normal, bool) {
	const lost = 1e-12
	var inv normal
	w := *a
	for i := range m {
		inv[i][i] = 1
	}
	for i := range m {
		pivot := w[i][i]
		if !(pivot > lost*a[i][i]) {
			return inv, false
		}
		for j := range m {
			w[i][j] /= pivot
			inv[i][j] /= pivot
		}
		for r := range m {
			if f := w[r][i]; r != i && f != 0 {
				for j := range m {
					w[r][j] -= f * w[i][j]
					inv[r][j] -= f * inv[i][j]
				}
			}
		}
	}
	return inv, true
}

// sandwich returns the variance of coefficient p for unit variance of each y.
func sandwich(inv, v *normal, p, m int) float64 {
	var s float64
	for q := range m {
		for r := range m {
			s += inv[p][q] * v[q][r] * inv[p][r]
		}
	}
	return s
}
