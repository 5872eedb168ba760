package lsq

import "math"

// negligible is the length of a column that counts as 0, so that squares stay
// within the range of a float64.
const negligible = 1e-140

// triangle reduces the n×p matrix a, row-major, by Householder reflections to
// an upper triangle in its first p rows, and b with it; w is scratch of length
// p. The lengths of columns stay what they were. What is below the triangle is
// rubbish afterwards (Golub and Van Loan, Matrix Computations, 5.2, from
// memory).
func triangle(a []float64, n, p int, b, w []float64) {
	for k := range p {
		norm := length(a, n, p, k)
		if norm < negligible {
			a[k*p+k] = 0
			continue
		}
		if a[k*p+k] > 0 {
			norm = -norm
		}
		// v = column - norm·e, and 2/vᵀv = -1/(norm·v_k).
		vk := a[k*p+k] - norm
		a[k*p+k] = vk
		reflect(a, n, p, k, b, w, -1/(norm*vk))
		a[k*p+k] = norm
	}
}

// length returns the length of column k from row k down.
func length(a []float64, n, p, k int) float64 {
	sum := 0.0
	for i := k*p + k; i < n*p; i += p {
		sum += a[i] * a[i]
	}
	return math.Sqrt(sum)
}

// reflect applies 1 - beta v vᵀ to the columns right of k and to b; v is in
// column k.
func reflect(a []float64, n, p, k int, b, w []float64, beta float64) {
	clear(w)
	wb := 0.0
	for i := k; i < n; i++ {
		row := a[i*p : i*p+p]
		v := row[k]
		for j := k + 1; j < p; j++ {
			w[j] += v * row[j]
		}
		wb += v * b[i]
	}
	for i := k; i < n; i++ {
		row := a[i*p : i*p+p]
		v := beta * row[k]
		for j := k + 1; j < p; j++ {
			row[j] -= v * w[j]
		}
		b[i] -= v * wb
	}
}
