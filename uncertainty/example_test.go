package uncertainty_test

import (
	"fmt"

	"meniscus/uncertainty"
)

// A mean of five with its interval: t for four degrees of freedom is 2.78.
func ExampleValue_Expanded() {
	v := uncertainty.Value{X: 24.983, U: 0.0121, DoF: 4}
	width, k := v.Expanded(0.95)
	fmt.Printf("%v, k = %.2f, ±%.3f\n", v, k, width)
	// Output: 24.983 ± 0.012, k = 2.78, ±0.034
}
