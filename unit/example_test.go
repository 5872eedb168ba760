package unit_test

import (
	"fmt"

	"meniscus/unit"
)

func ExampleParseQuantity() {
	for _, text := range []string{"0.1000 ± 0.0002 mol/L (k=2)", "0.02010(5) M", "25 mL"} {
		q, err := unit.ParseQuantity(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		x, u, err := q.In(q.Dimension(), "")
		fmt.Printf("%.5g, u = %.2g (%s) %v\n", x.Float(), u, q.Dimension(), err)
	}
	// Output:
	// 0.1, u = 0.0001 (concentration) <nil>
	// 0.0201, u = 5e-05 (concentration) <nil>
	// 0.025, u = 0 (volume) <nil>
}
