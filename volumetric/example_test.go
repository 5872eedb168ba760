package volumetric_test

import (
	"fmt"

	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/volumetric"
)

// A 25 mL pipette of class A, its limit read as a triangular distribution:
// 0.03 mL over the root of six.
func ExampleFindLimit() {
	l, err := volumetric.FindLimit(volumetric.Pipette, 25*unit.Millilitre, 0, "A", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	u, err := l.StdUnc(uncertainty.Triangular)
	fmt.Printf("%s: ±%.2f mL, u = %.4f mL, %v\n", l.Standard, l.Tolerance.Millilitres(), u.Millilitres(), err)
	// Output: ISO 648: ±0.03 mL, u = 0.0122 mL, <nil>
}
