package endpoint_test

import (
	"fmt"

	"meniscus/curve"
	"meniscus/endpoint"
	"meniscus/unit"
)

// readings of 25 mL of an iron(II) solution with cerium(IV), in mL and mV.
func readings() *curve.Curve {
	c := &curve.Curve{Kind: curve.Potential}
	for i, r := range [][2]float64{
		{2, 379},
		{5, 406},
		{10, 433},
		{12, 441},
		{15, 453},
		{18, 468},
		{20, 479},
		{22, 495},
		{23, 506},
		{24, 525},
		{24.5, 543},
		{24.7, 555},
		{24.8, 565},
		{24.9, 581},
		{25, 642},
		{25.1, 1054},
		{25.2, 1074},
		{25.3, 1085},
		{25.5, 1098},
		{26, 1116},
		{28, 1145},
		{32, 1170},
		{40, 1192},
	} {
		c.Readings = append(c.Readings, curve.Reading{
			Row: i + 2, Volume: unit.Volume(r[0]) * unit.Millilitre, Value: r[1] / 1000,
		})
	}
	return c
}

func Example() {
	c := readings()
	for _, name := range []string{"steepest-interval", "second-derivative", "log-plot", "gran-acid-base-after"} {
		m, _ := endpoint.Find(name)
		r := m.Find(c, endpoint.Options{Noise: endpoint.Noise{Value: 0.001, Volume: 1e-5}})
		if r.Refused != "" {
			fmt.Printf("%s: refused, %s\n", m.Title, r.Refused)
			continue
		}
		p := r.Points[0]
		fmt.Printf("%s: %.2f ± %.2f mL\n", m.Title, p.Volume.Millilitres(), p.StdUnc.Millilitres())
	}
	// Output:
	// Steepest interval: 25.05 ± 0.03 mL
	// Zero of the second derivative: 25.05 ± 0.03 mL
	// Logarithmic (Nernst) plot: 25.04 ± 0.02 mL
	// Gran's line after the end point, acid-base: refused, it needs readings of pH, these are of potential
}

func ExampleHalfTwice() {
	half, _ := endpoint.HalfTwice(readings(), 25.02*unit.Millilitre, 0.02*unit.Millilitre, endpoint.Options{})
	fmt.Printf("%.1f mV ± %.1f mV at %.2f mL\n", half.Value*1e3, half.StdUnc*1e3, half.Volume.Millilitres())
	// Output: 443.2 mV ± 0.8 mV at 12.51 mL
}
