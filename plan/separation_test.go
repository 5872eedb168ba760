package plan

import (
	"fmt"
	"math"
	"testing"

	"meniscus/unit"
)

func TestSeparation(t *testing.T) {
	// Arithmetic with RT ln10/F = 59.159 mV at 25 °C, rounded to 1 mV.
	for _, c := range []struct {
		n1, n2 int
		want   [3]float64 // 99, 99.9, 99.99 %
	}{
		{1, 1, [3]float64{0.237, 0.355, 0.473}},
		{1, 2, [3]float64{0.177, 0.266, 0.355}},
		{1, 5, [3]float64{0.142, 0.213, 0.284}},
		{1, 6, [3]float64{0.138, 0.207, 0.276}},
	} {
		for i, complete := range []float64{0.99, 0.999, 0.9999} {
			got := float64(Separation(c.n1, c.n2, Decades(complete), unit.Celsius(25)))
			if math.Abs(got-c.want[i]) > 0.0005 {
				t.Errorf("%d+%d at %g: %.4f V, want %.3f", c.n1, c.n2, complete, got, c.want[i])
			}
		}
	}
}

func ExampleSeparation() {
	fmt.Printf("%.3f V\n", float64(Separation(1, 5, Decades(0.999), unit.Celsius(25))))
	// Output: 0.213 V
}
