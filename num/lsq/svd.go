package lsq

import "math"

// maxSweeps bounds the Jacobi sweeps; a triangle of 10 columns needs about 7.
const maxSweeps = 40

// svd finds the singular values of the p×p matrix w by one-sided Jacobi
// rotations: on return w holds its old self times the orthogonal v, with
// orthogonal columns whose squared lengths are s2. Columns are stored one
// after the other (Golub and Van Loan, Matrix Computations, 8.6.3, from
// memory).
func svd(w, v, s2 []float64, p int) {
	clear(v)
	for i := range p {
		v[i*p+i] = 1
	}
	for range maxSweeps {
		if !sweep(w, v, p) {
			break
		}
	}
	for j := range p {
		col := w[j*p : j*p+p]
		s2[j] = dot(col, col)
	}
}

// sweep turns every pair of columns once and says whether any was not
// orthogonal already.
func sweep(w, v []float64, p int) bool {
	const orthogonal = 1e-15 // cosine; rounding of a product of p ≤ 10 terms
	turned := false
	for i := range p - 1 {
		for j := i + 1; j < p; j++ {
			x, y := w[i*p:i*p+p], w[j*p:j*p+p]
			xx, yy, xy := dot(x, x), dot(y, y), dot(x, y)
			if math.Abs(xy) <= orthogonal*math.Sqrt(xx)*math.Sqrt(yy) {
				continue
			}
			turned = true
			z := (yy - xx) / (2 * xy)
			t := math.Copysign(1, z) / (math.Abs(z) + math.Hypot(1, z))
			c := 1 / math.Hypot(1, t)
			rotate(x, y, c, c*t)
			rotate(v[i*p:i*p+p], v[j*p:j*p+p], c, c*t)
		}
	}
	return turned
}

func rotate(x, y []float64, c, s float64) {
	for k, a := range x {
		b := y[k]
		x[k], y[k] = c*a-s*b, s*a+c*b
	}
}

func dot(x, y []float64) float64 {
	sum := 0.0
	for i, a := range x {
		sum += a * y[i]
	}
	return sum
}
