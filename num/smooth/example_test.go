package smooth_test

import (
	"fmt"

	"meniscus/num/smooth"
)

// A parabola is met exactly: at 2.5 it is 6.25, rises by 5, and bends by 2.
func ExampleAt() {
	x := []float64{0, 1, 2, 3, 4, 5}
	y := []float64{0, 1, 4, 9, 16, 25}
	e, ok := smooth.At(x, y, 2.5, smooth.Settings{Points: 4, Degree: 2})
	fmt.Printf("%.4f %.4f %.4f %v\n", e.Value, e.Slope, e.Curvature, ok)
	// Output: 6.2500 5.0000 2.0000 true
}
