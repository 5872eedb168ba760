package uncertainty

import (
	"errors"
	"fmt"
	"math"
)

// Propagate returns the standard uncertainty of a quantity with the
// derivatives grad for its inputs, whose covariance matrix is cov, row-major:
// the root of gradᵀ cov grad (GUM 5.2, equation 13, from memory). Lengths that
// do not fit, and a cov that gives a negative square by more than rounding, are
// errors.
func Propagate(grad, cov []float64) (float64, error) {
	out, err := PropagateAll(grad, 1, cov)
	if err != nil {
		return 0, err
	}
	return math.Sqrt(out[0]), nil
}

// PropagateAll returns the m×m covariance matrix of m quantities with the
// m×n derivatives jac for n inputs of covariance cov (n×n); all row-major
// (GUM H.2.3, from memory).
func PropagateAll(jac []float64, m int, cov []float64) ([]float64, error) {
	if m < 1 || len(jac)%m != 0 {
		return nil, fmt.Errorf("%d derivatives are no matrix of %d rows", len(jac), m)
	}
	n := len(jac) / m
	if len(cov) != n*n {
		return nil, fmt.Errorf("%d covariances for %d inputs, want %d", len(cov), n, n*n)
	}
	out := make([]float64, m*m)
	for a := range m {
		for b := range m {
			sum, size := bilinear(jac[a*n:a*n+n], cov, jac[b*n:b*n+n])
			if a == b && sum < 0 {
				if sum < -1e-12*size {
					return nil, errors.New("the covariance matrix gives a negative variance")
				}
				sum = 0
			}
			out[a*m+b] = sum
		}
	}
	return out, nil
}

// bilinear returns xᵀ cov y and the sum of the sizes of its terms.
func bilinear(x, cov, y []float64) (sum, size float64) {
	n := len(x)
	for i := range n {
		for j := range n {
			term := x[i] * cov[i*n+j] * y[j]
			sum += term
			size += math.Abs(term)
		}
	}
	return sum, size
}
