package curve_test

import (
	"fmt"
	"math"
	"os"
	"strings"

	"meniscus/curve"
)

func ExampleRead() {
	const pasted = `Zugabe / mL; Spannung / mV
0,00; 345,2
12,5O; 412,7
24,95; 500,1
24,90; 506,0
`
	rec, err := curve.Read(strings.NewReader(pasted), "pasted text", curve.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	v, e := rec.Curves[0].Used()
	for i := range v {
		fmt.Printf("%.2f mL  %.1f mV\n", v[i]*1e3, e[i]*1e3)
	}
	for _, b := range rec.BadCells {
		fmt.Println(b)
	}
	// Output:
	// 0.00 mL  345.2 mV
	// 24.95 mL  500.1 mV
	// 24.90 mL  506.0 mV
	// row 3, column Zugabe / mL: "12,5O": not a number: letter O for zero?
	// row 5, column Zugabe / mL: "24,90": volume falls from 24.95 to 24.9 mL: second run, reading error or refilled burette?
}

func ExampleRead_leftOut() {
	const text = "V (mL),pH\n0,3.1\n5,4.2\n5,7.9\n"
	rec, err := curve.Read(strings.NewReader(text), "run.csv", curve.Options{
		Drop: []curve.Drop{{Row: 4, Reason: "bubble at the glass"}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	v, _ := rec.Curves[0].Used()
	fmt.Println(len(rec.Curves[0].Readings), "readings,", len(v), "take part")
	// Output: 3 readings, 2 take part
}

func ExampleWriteCSV() {
	c := curve.Curve{Kind: curve.PH, Readings: []curve.Reading{{Volume: 0.0125, Value: 4.76, Time: math.NaN()}}}
	if err := curve.WriteCSV(os.Stdout, c); err != nil {
		fmt.Println(err)
	}
	// Output:
	// volume_mL,pH
	// 12.5,4.76
}
