package electrode_test

import (
	"fmt"

	"meniscus/electrode"
	"meniscus/unit"
)

// A potential read against calomel, as it would be against silver chloride
// and against the standard hydrogen electrode.
func ExampleConvert() {
	from, err := electrode.FindReference("SCE")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, name := range []string{"SHE", "Ag/AgCl, 3 M KCl"} {
		to, err := electrode.FindReference(name)
		if err != nil {
			fmt.Println(err)
			continue
		}
		v, u, _ := electrode.Convert(0.500, from, to, unit.Celsius(25))
		fmt.Printf("%.1f ± %.1f mV against %s\n", v.Millivolts(), u.Millivolts(), to.Name)
	}
	// Output:
	// 741.0 ± 2.0 mV against SHE
	// 534.0 ± 2.8 mV against Ag/AgCl, 3 mol/L KCl
}
