package explain_test

import (
	"fmt"
	"os"

	"meniscus/explain"
	"meniscus/setup"
	"meniscus/working"
)

func Example() {
	s, err := setup.Read([]byte(`
title: Iron(II) with cerium(IV)
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}, medium: 1 mol/L H2SO4}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
electrode: {indicator: platinum, reference: SCE}
`), "iron.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	half, err := explain.Find(s, "half")
	if err != nil {
		fmt.Println(err)
		return
	}
	d, err := explain.At(s, half.Volume)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, b := range d.Sections[1].Blocks {
		if step, ok := b.(working.Step); ok && step.Quantity.Letter == "E" {
			short := &working.Document{Sections: []working.Section{{Blocks: []working.Block{working.Step{Say: working.P("The potential"), Quantity: step.Quantity, Formula: step.Formula}}}}}
			if err := working.WriteText(os.Stdout, short); err != nil {
				fmt.Println(err)
			}
			break
		}
	}
	// Output:
	//
	// 1. The potential
	//     E_textbook = E°′(Fe³⁺/Fe²⁺) + S · lg([Fe³⁺] / [Fe²⁺])
	//                = 0.68 V + 0.059159 V · lg((0.02000 mol/L) / (0.02000 mol/L))
	//                = 0.6800 V
}
