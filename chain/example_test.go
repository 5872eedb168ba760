package chain_test

import (
	"fmt"
	"log"

	"meniscus/chain"
)

func Example() {
	s, err := chain.Read([]byte(`
ware:
  burette: {capacity: 25 mL, class: A, reading: 0.01 mL}
  pipette: {volume: 10 mL, class: A}
solutions:
  chloride: {concentration: 0.05000 ± 0.00005 mol/L}
  silver:
    standardised:
      flask: {solution: chloride, by: pipette}
      burette: {solution: silver, by: burette}
      ratio: 1 to 1
      volumes: [9.87 mL, 9.89 mL, 9.86 mL]
`), "shelf.yaml")
	if err != nil {
		log.Fatal(err)
	}
	c, err := chain.Compute(s)
	if err != nil {
		log.Fatal(err)
	}
	r := c.Find("silver")
	fmt.Println(r.Budget.Value, r.Unit)
	fmt.Println("rests on", r.Path)
	// Output:
	// 0.05064 ± 0.00013 mol/L
	// rests on [chloride]
}
