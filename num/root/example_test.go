package root_test

import (
	"fmt"
	"math"

	"meniscus/num/root"
)

// Kepler's equation for a mean anomaly of 1 and an eccentricity of 0.5.
func ExampleFind() {
	x, err := root.Find(func(e float64) float64 { return e - 0.5*math.Sin(e) - 1 }, 0, math.Pi, 0)
	fmt.Printf("%.10f %v\n", x, err)
	// Output: 1.4987011335 <nil>
}
