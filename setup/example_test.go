package setup_test

import (
	"fmt"

	"meniscus/setup"
)

func ExampleRead() {
	s, err := setup.Read([]byte(`
title: Vinegar
find: CH3COOH
flask: {volume: 50.00 mL, contains: {CH3COOH: 0.05 mol/L}}
burette: {contains: {NaOH: 0.1000 ± 0.0002 mol/L}}
electrode: {indicator: glass}
`), "vinegar.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range s.Reactions {
		fmt.Printf("%s, %s %.4g\n", r.Equation, r.Kind, r.Value)
	}
	fmt.Println(s.Burette.Contents[0].Conc.Text)
	// Output:
	// CH3COOH = CH3COO^- + H^+, pKa 4.756
	// H2O = H^+ + OH^-, pKw 14
	// 0.1000 ± 0.0002 mol/L
}

// An error says where, what, and what was meant.
func ExampleError() {
	_, err := setup.Read([]byte("flask:\n  volume: 50\n"), "iron.yaml")
	fmt.Println(err)
	// Output:
	// iron.yaml:2: flask, volume: "50": has no unit; a volume is meant, such as 50.00 mL
	//     2 |   volume: 50
	//       |           ^
}
