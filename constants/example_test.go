package constants_test

import (
	"fmt"

	"meniscus/constants"
	"meniscus/unit"
)

func ExampleCouple() {
	rows, err := constants.Couple("Fe^3+", "Fe^2+", "1 mol/L H2SO4")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range rows {
		fmt.Printf("%s: %g %s in %s\n", r.Reaction, r.Value, r.Kind.Unit(), r.Medium)
	}
	// Output: Fe^3+ + e^- = Fe^2+: 0.68 V in 1 mol/L H2SO4
}

func ExampleWaterPK() {
	for _, t := range []float64{25, 50} {
		pK, err := constants.WaterPK(unit.Celsius(t))
		fmt.Printf("%g °C: %.2f %v\n", t, pK, err)
	}
	// Output:
	// 25 °C: 14.00 <nil>
	// 50 °C: 13.26 <nil>
}
