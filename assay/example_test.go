package assay_test

import (
	"fmt"

	"meniscus/assay"
	"meniscus/internal/lab"
	"meniscus/setup"
)

// Iron in 6 g of granules made up to 250 mL: simulated readings of an aliquot
// of 50 mL with 0.05 mol/L, which is 12.5 mmol in all, 11.63 %.
func ExampleEvaluate() {
	s, err := setup.Read([]byte(`
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.04 mol/L}}
burette: {contains: {Ce^4+: 0.1000 ± 0.0001 mol/L}}
sample: {mass: 6.0000 g, made up to: 250.0 mL, aliquot: 50.00 mL, report as: "% Fe"}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.70 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.40 V}
`), "iron.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	c := lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 1)
	e, err := assay.Evaluate(&c, s, assay.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(e.Methods[e.Recommended].Title)
	for _, r := range append(e.Concentrations, e.Contents...) {
		fmt.Printf("%s: %.4g ± %.2g %s\n", r.Name, r.Value, r.Expanded(), r.Unit)
	}
	// Output:
	// Whole-curve regression
	// Fe^2+: 0.04999 ± 9.9e-05 mol/L
	// % Fe: 11.63 ± 0.023 % w/w
}
