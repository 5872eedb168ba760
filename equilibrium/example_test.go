package equilibrium_test

import (
	"fmt"
	"math"

	"meniscus/equilibrium"
	"meniscus/unit"
)

func decimal(text string) unit.Decimal {
	d, err := unit.ParseDecimal(text)
	if err != nil {
		panic(err)
	}
	return d
}

// Half of an acid of pKa 4.757 is neutralised: the pH is nearly the pKa, and
// the capacity nearly a quarter of the concentration.
func Example() {
	sys, err := equilibrium.NewSystem(
		[]equilibrium.Species{{Name: "HA"}, {Name: "A^-", Charge: -1}, {Name: "H^+", Charge: 1}, {Name: "OH^-", Charge: -1}},
		[]equilibrium.Reaction{
			{Name: "HA = H^+ + A^-", Terms: []equilibrium.Term{{Species: 0, Num: -1}, {Species: 1, Num: 1}, {Species: 2, Num: 1}}, LnK: -4.757 * math.Ln10},
			{Name: "H2O = H^+ + OH^-", Terms: []equilibrium.Term{{Species: 2, Num: 1}, {Species: 3, Num: 1}}, LnK: -13.997 * math.Ln10},
		})
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := sys.NewProblem(equilibrium.Mixture{
		Volume:  decimal("0.050"),
		Flask:   []equilibrium.Amount{{Species: 0, Value: decimal("0.005")}},
		Burette: []equilibrium.Amount{{Species: 3, Value: decimal("0.1")}},
	}, equilibrium.Activity{})
	if err != nil {
		fmt.Println(err)
		return
	}
	s := p.NewSolver()
	if err := s.At(decimal("0.025")); err != nil {
		fmt.Println(err)
		return
	}
	ln, _ := s.LnActivity(2)
	fmt.Printf("pH %.4f, [HA] %.5f, [A-] %.5f mol/L, capacity %.5f mol/L\n",
		-ln/math.Ln10, s.Concentration(0), s.Concentration(1), s.Capacity(2))
	// Output: pH 4.7575, [HA] 0.03332, [A-] 0.03335 mol/L, capacity 0.01668 mol/L
}
