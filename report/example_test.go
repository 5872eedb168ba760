package report_test

import (
	"fmt"
	"os"

	"meniscus/report"
	"meniscus/setup"
)

// At the equivalence point E is the mean of both formal potentials.
func ExamplePredict() {
	s, err := setup.Read([]byte(`
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
volumes: 25.00 mL
`), "iron.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := report.Predict(s, true)
	if err != nil {
		fmt.Println(err)
		return
	}
	f, _ := report.CurveFormat("csv")
	if err := f.Write(os.Stdout, p); err != nil {
		fmt.Println(err)
	}
	// Output:
	// volume_mL,potential_mV,pH,potential_SHE_mV,pIon,undefined
	// 25,1060,,1060,,
}
