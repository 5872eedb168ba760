package root

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

// TestFind: roots known in closed form.
func TestFind(t *testing.T) {
	for _, c := range []struct {
		name string
		f    func(float64) float64
		a, b float64
		want float64
		most int // evaluations; bisection alone needs more than 50
	}{
		{"√2", func(x float64) float64 { return x*x - 2 }, 0, 2, math.Sqrt2, 14},
		{"golden section, ends swapped", func(x float64) float64 { return x*x - x - 1 }, 2, 1, math.Phi, 14},
		{"ln 3", func(x float64) float64 { return math.Exp(x) - 3 }, -10, 10, math.Log(3), 25},
		{"triple root", func(x float64) float64 { return (x - 1) * (x - 1) * (x - 1) }, 0, 3, 1, 130},
		{"jump", func(x float64) float64 { return math.Copysign(1, x-0.3) }, 0, 1, 0.3, 70},
		{"steep", func(x float64) float64 { return math.Tanh(1e6 * (x - 0.7)) }, 0, 1, 0.7, 70},
		{"at the left end", func(x float64) float64 { return x }, 0, 1, 0, 2},
		{"at the right end", func(x float64) float64 { return x - 1 }, 0, 1, 1, 2},
		{"zero within", math.Cbrt, -1, 2, 0, 2300},
		{"tiny", func(x float64) float64 { return x - 1e-200 }, 0, 1, 1e-200, 1300},
	} {
		n := 0
		got, err := Find(func(x float64) float64 { n++; return c.f(x) }, c.a, c.b, 0)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if math.Abs(got-c.want) > 5e-16*math.Abs(c.want)+1e-300 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		if n > c.most {
			t.Errorf("%s: %d evaluations, want at most %d", c.name, n, c.most)
		}
	}
}

func TestTolerance(t *testing.T) {
	n := 0
	got, err := Find(func(x float64) float64 { n++; return math.Cos(x) }, 1, 2, 1e-3)
	if err != nil || math.Abs(got-math.Pi/2) > 1e-3 || n > 6 {
		t.Errorf("%v (%v) in %d evaluations", got, err, n)
	}
}

func TestErrors(t *testing.T) {
	if _, err := Find(func(x float64) float64 { return x*x + 1 }, -1, 1, 0); !errors.Is(err, ErrNoBracket) {
		t.Errorf("error %v, want ErrNoBracket", err)
	}
	if _, err := Find(math.Sqrt, -1, 1, 0); err == nil {
		t.Error("a NaN at an end is no error")
	}
	hole := func(x float64) float64 {
		if x > 0.4 && x < 0.6 {
			return math.NaN()
		}
		return x - 0.5
	}
	if _, err := Find(hole, 0, 1, 0); err == nil {
		t.Error("a NaN within is no error")
	}
}

func ExampleFind() {
	x, err := Find(func(x float64) float64 { return x*x*x - 2 }, 0, 2, 1e-9)
	fmt.Printf("%.6f %v\n", x, err)
	// Output: 1.259921 <nil>
}
