package titration_test

import (
	"fmt"

	"meniscus/setup"
	"meniscus/unit"
)

// Iron(II) with cerium(IV): half way, at the equivalence point, where E is the
// mean of both formal potentials, and at twice its volume.
func ExampleTitration_Predictor() {
	s, err := setup.Read([]byte(`
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
`), "iron.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	p := s.Titration.Predictor()
	for _, text := range []string{"0.0125", "0.0250", "0.0500"} {
		v, _ := unit.ParseDecimal(text)
		pt, err := p.At(v)
		fmt.Printf("%.2f mL: %.4f V %v\n", pt.Volume.Millilitres(), pt.Potential, err)
	}
	// Output:
	// 12.50 mL: 0.6800 V <nil>
	// 25.00 mL: 1.0600 V <nil>
	// 50.00 mL: 1.4400 V <nil>
}
