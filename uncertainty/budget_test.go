package uncertainty

import (
	"math"
	"strings"
	"testing"
)

// sum is a model y = a + b + ... with these uncertainties.
func sum(us ...float64) *Model {
	m := &Model{Measurand: "y", Equations: "y = 0"}
	for i, u := range us {
		name := string(rune('a' + i))
		m.Equations += " + " + name
		m.Inputs = append(m.Inputs, Input{Name: name, X: 1, Stated: Stated{Width: u}})
	}
	return m
}

// With u 4 and 1, u² = 17; a fourth of it leaves 3.25 for the larger one, a
// factor 4/sqrt(3.25). The smaller one alone leaves sqrt(16/17).
func TestHalvingOneInput(t *testing.T) {
	b := budgetOf(t, sum(1, 4, 0))
	if len(b.Halving) != 2 {
		t.Fatalf("%+v", b.Halving)
	}
	h, no := b.Halving[0], b.Halving[1]
	if h.Name != "b" || !(math.Abs(h.Factor-4/math.Sqrt(3.25)) <= 1e-12) || !(math.Abs(h.Rest-1/math.Sqrt(17)) <= 1e-12) {
		t.Errorf("%+v", h)
	}
	if no.Name != "a" || no.Factor != 0 || !(math.Abs(no.Rest-math.Sqrt(16./17)) <= 1e-12) {
		t.Errorf("%+v", no)
	}
	if b.Together.String() != "b" || b.Together.Factor != h.Factor {
		t.Errorf("%+v", b.Together)
	}
	m := sum(1, 4)
	m.Inputs[1].Stated.Width /= h.Factor
	if half := budgetOf(t, m); !(math.Abs(half.U-b.U/2) <= 1e-12) {
		t.Errorf("u %g with the factor, want %g", half.U, b.U/2)
	}
}

// Three of 2, 2 and 1: u² = 9, a fourth 2.25. Two together leave 1, so they may
// have 1.25 instead of 8.
func TestHalvingTakesSeveral(t *testing.T) {
	b := budgetOf(t, sum(2, 1, 2))
	for _, h := range b.Halving {
		if h.Factor != 0 {
			t.Errorf("%+v", h)
		}
	}
	if order := b.Halving[0].Name + b.Halving[1].Name + b.Halving[2].Name; order != "acb" {
		t.Errorf("in the order %s", order)
	}
	if b.Together.String() != "a and c" || !(math.Abs(b.Together.Factor-math.Sqrt(8/1.25)) <= 1e-12) {
		t.Errorf("%+v", b.Together)
	}
	exact := sum(0, 0)
	exact.Correlations = []Correlation{{A: "a", B: "b", R: 0.5}}
	if b := budgetOf(t, exact); b.Correlation != 0 || b.U != 0 || !math.IsInf(b.DoF, 1) {
		t.Errorf("%+v", b)
	}
	if one := budgetOf(t, sum(0)); one.Together.Factor != 0 || len(one.Halving) != 0 || one.U != 0 {
		t.Errorf("%+v", one)
	}
}

// Correlation r between a and b: with s on u(a) = 2, u(b) = 1, r = 0.5 the
// variance 4 s² + 2 s + 1 of 7 is 7/4 at s = (sqrt(4+12)-2)/8 = 0.25.
func TestHalvingWithCorrelation(t *testing.T) {
	m := sum(2, 1)
	m.Correlations = []Correlation{{A: "a", B: "b", R: 0.5}}
	b := budgetOf(t, m)
	if h := b.Halving[0]; h.Name != "a" || !(math.Abs(h.Factor-4) <= 1e-12) {
		t.Errorf("%+v", b.Halving)
	}
	if !(math.Abs(b.Correlation-2./7) <= 1e-12) || !(math.Abs(b.Shares[0].Share-4./7) <= 1e-12) {
		t.Errorf("share of the correlation %g, of a %g", b.Correlation, b.Shares[0].Share)
	}
}

// A factor 4 for the larger of 2 and 1 is more than one asks of a bench; both
// by 2 will do.
func TestHalvingStaysFeasible(t *testing.T) {
	b := budgetOf(t, sum(1, 2))
	if h := b.Halving[0]; h.Name != "b" || !(math.Abs(h.Factor-4) <= 1e-12) || b.Together.String() != "b and a" || !(math.Abs(b.Together.Factor-2) <= 1e-12) {
		t.Errorf("%+v, %+v", b.Halving, b.Together)
	}
}

// With r = -1 the part of a is taken from that of b: (4 s - 1)² = 9/4 at s = 5/8,
// and a smaller a only makes it worse; 4 alone is 4/3 of what is left of both.
func TestHalvingOfWhatCancels(t *testing.T) {
	m := sum(1, 4)
	m.Correlations = []Correlation{{A: "a", B: "b", R: -1}}
	b := budgetOf(t, m)
	if h := b.Halving; h[0].Name != "b" || !(math.Abs(h[0].Factor-1.6) <= 1e-12) || h[1].Factor != 0 || !(math.Abs(h[1].Rest-4./3) <= 1e-12) {
		t.Errorf("%+v", h)
	}
}

// Readings: a factor f takes f² times as many.
func TestHalvingByMoreReadings(t *testing.T) {
	m := &Model{Measurand: "y", Equations: "y = a", Inputs: []Input{{Name: "a", Readings: []float64{1, 2, 3, 4, 5}}}}
	if h := budgetOf(t, m).Halving[0]; h.Factor != 2 || h.Readings != 20 {
		t.Errorf("%+v", h)
	}
}

// y = x²: slope 2x, h = 2; u² gains h²u⁴/2 and the value u² (GUM 5.1.2, note).
// For a normal x these are exact: Var(x²) = 4x²u² + 2u⁴.
func TestSecondOrderOfASquare(t *testing.T) {
	m := &Model{Measurand: "y", Equations: "y = x^2", Inputs: []Input{{Name: "x", X: 1, Stated: Stated{Width: 0.4}}}}
	b := budgetOf(t, m)
	if want := math.Sqrt(4*0.16 + 2*0.0256); !(math.Abs(b.StdUnc2-want) <= 1e-12) || !(math.Abs(b.Bias-0.16) <= 1e-12) || len(b.Warnings) != 1 {
		t.Errorf("%g and %g, want %g and 0.16; %q", b.StdUnc2, b.Bias, want, b.Warnings)
	}
	m.Inputs[0].Stated.Width = 0.01
	if b := budgetOf(t, m); len(b.Warnings) != 0 {
		t.Errorf("%q", b.Warnings)
	}
	// x y with both 1 ± u: Var = 2u² + u⁴. sin has third derivatives: with g = 1,
	// g''' = -1 at 0 the extra is -u⁴ within the step's own error.
	m = &Model{Measurand: "y", Equations: "y = x*z", Inputs: []Input{{Name: "x", X: 1, Stated: Stated{Width: 0.3}}, {Name: "z", X: 1, Stated: Stated{Width: 0.3}}}}
	if b, want := budgetOf(t, m), math.Sqrt(2*0.09+0.0081); !(math.Abs(b.StdUnc2-want) <= 1e-12) || b.Bias != 0 {
		t.Errorf("%g, want %g", b.StdUnc2, want)
	}
	m = &Model{Measurand: "y", Equations: "y = sin(x)", Inputs: []Input{{Name: "x", X: 0, Stated: Stated{Width: 0.1}}}}
	if b, want := budgetOf(t, m), math.Sqrt(0.01-0.0001); !(math.Abs(b.StdUnc2-want) <= 1e-6) {
		t.Errorf("%g, want %g", b.StdUnc2, want)
	}
	m = &Model{Measurand: "y", Equations: "y = ln(x)", Inputs: []Input{{Name: "x", X: 1, Stated: Stated{Width: 1.5}}}}
	if b := budgetOf(t, m); !math.IsNaN(b.StdUnc2) || len(b.Warnings) != 1 || !strings.Contains(b.Warnings[0], "no number") {
		t.Errorf("%g, %q", b.StdUnc2, b.Warnings)
	}
}

// The 0.57 with 9 and 0.25 with many degrees of freedom of a university course,
// as a model; k is the t of 12.8 degrees of freedom.
func TestEffectiveFreedomOfAModel(t *testing.T) {
	m := sum(0.57, 0.25)
	m.Inputs[0].DoF = 9
	b := budgetOf(t, m)
	if !(math.Abs(b.DoF-12.8) <= 0.1) || !(b.K > 2.160 && b.K < 2.179) { // t for 13 and 12
		t.Errorf("%g degrees of freedom, k %g", b.DoF, b.K)
	}
	if v := b.Expanded / b.U; v != b.K {
		t.Errorf("expanded by %g, k %g", v, b.K)
	}
	m.Correlations = []Correlation{{A: "a", B: "b", R: 0.2}}
	if b := budgetOf(t, m); b.DoF != 9 || len(b.Warnings) != 1 || !strings.Contains(b.Warnings[0], "fewest") {
		t.Errorf("correlated: %g degrees of freedom, %q", b.DoF, b.Warnings)
	}
	m.Correlations = []Correlation{{A: "a", B: "b", R: 0}}
	if b := budgetOf(t, m); !(math.Abs(b.DoF-12.8) <= 0.1) || b.Correlation != 0 || len(b.Warnings) != 0 {
		t.Errorf("a correlation of 0 counts: %g degrees of freedom", b.DoF)
	}
	m.Correlations = []Correlation{{A: "b", B: "a", R: 0.2}}
	m.Inputs[0].DoF, m.Inputs[1].DoF = 0, 7
	if b := budgetOf(t, m); b.DoF != 7 {
		t.Errorf("the second has fewer: %g degrees of freedom", b.DoF)
	}
	if b := budgetOf(t, sum(1, 2)); !math.IsInf(b.DoF, 1) || !(math.Abs(b.K-1.959964) <= 1e-6) {
		t.Errorf("%g degrees of freedom, k %g", b.DoF, b.K)
	}
}

func TestModelsThatCannotBe(t *testing.T) {
	x := Input{Name: "x", X: 1, Stated: Stated{Width: 1}}
	for word, m := range map[string]*Model{
		"no inputs":      {Measurand: "y", Equations: "y = 1"},
		"not a number":   {Measurand: "y", Equations: "y = x", Inputs: []Input{{Name: "x", X: math.NaN()}}},
		"from 0 up":      {Measurand: "y", Equations: "y = x", Inputs: []Input{{Name: "x", Stated: Stated{Width: -1}}}},
		"above 0":        {Measurand: "y", Equations: "y = x", Inputs: []Input{{Name: "x", DoF: -2}}},
		"two or more":    {Measurand: "y", Equations: "y = x", Inputs: []Input{{Name: "x", Readings: []float64{}}}},
		"reading +Inf":   {Measurand: "y", Equations: "y = x", Inputs: []Input{{Name: "x", Readings: []float64{1, math.Inf(1)}}}},
		"begins with a":  {Measurand: "y", Equations: "y = x", Inputs: []Input{{Name: "2x"}}},
		"gives no numb":  {Measurand: "y", Equations: "y = 1/(x - 1)", Inputs: []Input{x}},
		"no finite slop": {Measurand: "y", Equations: "y = sqrt(x - 1)", Inputs: []Input{x}},
	} {
		if _, err := m.Propagate(); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%v, want %q", err, word)
		}
	}
}

// Var(x²) is 4x²u² + E(x-1)⁴ - u⁴ about x = 1 for every symmetric distribution.
func TestSecondOrderByShape(t *testing.T) {
	for _, s := range []struct {
		stated Stated
		fourth float64 // E(x-1)⁴ by integration
	}{
		{Stated{Rectangular, 0.6, 0}, math.Pow(0.6, 4) / 5},
		{Stated{Triangular, 0.6, 0}, math.Pow(0.6, 4) / 15},
		{Stated{Arcsine, 0.6, 0}, 3 * math.Pow(0.6, 4) / 8},
		{Stated{Trapezoidal, 0.6, 0}, math.Pow(0.6, 4) / 15},
		{Stated{Trapezoidal, 0.6, 1}, math.Pow(0.6, 4) / 5},
		// a trapezoid of base a and top b: (a⁶-b⁶)/(15 (a²-b²))
		{Stated{Trapezoidal, 0.6, 0.5}, (math.Pow(0.6, 6) - math.Pow(0.3, 6)) / (15 * (0.36 - 0.09))},
		{Stated{StudentT, 0.2, 10}, 4 * math.Pow(0.2, 4)},
		{Stated{Normal, 0.6, 2}, 3 * math.Pow(0.3, 4)},
	} {
		u, err := s.stated.StdUnc()
		if err != nil {
			t.Fatal(err)
		}
		m := &Model{Measurand: "y", Equations: "y = x^2", Inputs: []Input{{Name: "x", X: 1, Stated: s.stated}}}
		want := math.Sqrt(4*u*u + s.fourth - u*u*u*u)
		if b := budgetOf(t, m); !(math.Abs(b.StdUnc2-want) <= 1e-9) {
			t.Errorf("%+v: %.9f, want %.9f", s.stated, b.StdUnc2, want)
		}
	}
	// x - x³/6 at 0 has slope 1 and third derivative -1: u² - K u⁴/3, K = 1.8.
	m := &Model{Measurand: "y", Equations: "y = x - x^3/6", Inputs: []Input{{Name: "x", Stated: Stated{Rectangular, 0.1 * math.Sqrt(3), 0}}}}
	if b, want := budgetOf(t, m), math.Sqrt(0.01-0.6*0.0001); !(math.Abs(b.StdUnc2-want) <= 1e-12) {
		t.Errorf("%g, want %g", b.StdUnc2, want)
	}
}
