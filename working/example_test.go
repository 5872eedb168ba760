package working_test

import (
	"fmt"
	"os"

	"meniscus/working"
)

func Example() {
	c := working.Symbol{Letter: "c", Of: "Fe^2+", Meaning: "the concentration of {Fe^2+} in the flask before the first drop", Value: working.Said(0.05, "0.0500", "mol/L")}
	v := working.Symbol{Letter: "V", Sub: "0", Meaning: "the volume in the flask before the first drop", Value: working.Said(50, "50.00", "mL")}
	n := working.Symbol{Letter: "n", Of: "Fe^2+", Meaning: "the amount of {Fe^2+} put into the flask"}
	step, err := working.Find(working.P("Amount of {Fe^2+} in the flask"), n, working.Times(c, v), working.Decimals(3), "mmol")
	if err != nil {
		fmt.Println(err)
		return
	}
	d := &working.Document{Title: "Iron(II)", Sections: []working.Section{{Title: "Start", Blocks: []working.Block{step}}}}
	d.Explain()
	if err := working.WriteText(os.Stdout, d); err != nil {
		fmt.Println(err)
	}
	// Output:
	// Iron(II)
	// ========
	//
	// Start
	// -----
	//
	// 1. Amount of Fe²⁺ in the flask
	//     n(Fe²⁺) = c(Fe²⁺) · V₀
	//             = 0.0500 mol/L · 50.00 mL
	//             = 2.500 mmol
	//     where n(Fe²⁺) is the amount of Fe²⁺ put into the flask, in mmol
	//           c(Fe²⁺) is the concentration of Fe²⁺ in the flask before the first drop, in
	//             mol/L
	//           V₀ is the volume in the flask before the first drop, in mL
}
