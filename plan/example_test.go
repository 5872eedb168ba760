package plan_test

import (
	"fmt"

	"meniscus/plan"
	"meniscus/setup"
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

// Iron(II) with cerium(IV): how large the jump is, and whether an indicator that
// changes at 0.85 V does.
func ExampleFor() {
	s, err := setup.Read([]byte(`
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}, medium: 1 mol/L H2SO4}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
`), "iron.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := plan.For(s, plan.Options{Accuracy: 0.001, Indicators: []string{"0.85 V"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	j, f := p.Jumps[0], p.Indicators[0]
	fmt.Printf("%s used up at %.2f mL, jump %.0f mV\n", j.Name, j.Volume*1e3, j.Height)
	fmt.Printf("%s: %.3f %%, fits: %t\n", f.Name, 100*f.Part, f.Fits)
	// Output:
	// Fe^2+ used up at 25.00 mL, jump 405 mV
	// 0.85 V: -0.134 %, fits: false
}
