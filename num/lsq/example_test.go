package lsq_test

import (
	"fmt"

	"meniscus/num/lsq"
)

// A straight line: the closed form is 0.7 + 1.4 x with s² = 0.3/1.
func ExampleFit() {
	x, y := []float64{0, 1, 2}, []float64{0.5, 2.5, 3.3}
	r, err := lsq.Fit(lsq.Problem{Params: 2, Residuals: 3, Eval: func(p, r, jac []float64) error {
		for i := range x {
			r[i] = p[0] + p[1]*x[i] - y[i]
			if jac != nil {
				jac[2*i], jac[2*i+1] = 1, x[i]
			}
		}
		return nil
	}}, []float64{0, 1}, lsq.Settings{}, nil)
	fmt.Printf("%.4f %.4f, sum of squares %.4f, %v\n", r.Params[0], r.Params[1], r.SSR, err)
	// Output: 0.7000 1.4000, sum of squares 0.2400, <nil>
}
