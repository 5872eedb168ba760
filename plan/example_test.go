package plan_test

import (
	"fmt"

	"meniscus/plan"
	"meniscus/unit"
)

// 99.9 % reaction between two one-electron couples needs 0.355 V, and less
// where one takes up five.
func ExampleSeparation() {
	p := plan.Decades(0.999)
	fmt.Printf("%.3f V\n", float64(plan.Separation(1, 1, p, unit.Celsius(25))))
	fmt.Printf("%.3f V\n", float64(plan.Separation(1, 5, p, unit.Celsius(25))))
	// Output:
	// 0.355 V
	// 0.213 V
}
