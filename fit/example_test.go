package fit_test

import (
	"fmt"

	"meniscus/fit"
	"meniscus/internal/lab"
	"meniscus/setup"
)

// Simulated readings with noise of 0.5 mV and 0.01 mL; the truth is 0.05 mol/L,
// 0.68 V and 1.44 V.
func ExampleCurve() {
	s, err := setup.Read([]byte(`
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.04 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
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
	r, err := fit.Curve(&c, s.Titration, []fit.Target{{Species: s.System().Index("Fe^2+"), Name: "Fe^2+"}}, fit.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, e := range r.Estimates {
		fmt.Printf("%s = %.5f, u = %.5f\n", e.Name, e.Value, e.StdUnc)
	}
	for _, e := range r.Equivalences {
		fmt.Printf("equivalence at %.3f ± %.3f mL\n", e.Volume.Millilitres(), e.StdUnc.Millilitres())
	}
	// Output:
	// c(Fe^2+) = 0.04999, u = 0.00001
	// E0'(Fe^3+/Fe^2+) = 0.67953, u = 0.00110
	// E0'(Ce^4+/Ce^3+) = 1.43916, u = 0.00223
	// slope = 1.00069, u = 0.00159
	// equivalence at 24.997 ± 0.003 mL
}
