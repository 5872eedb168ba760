package smooth

import (
	"fmt"
	"math"
	"testing"
)

// A polynomial of at most the fitted degree comes back exactly, whatever the
// spacing and weights.
func TestReproducesPolynomials(t *testing.T) {
	x := []float64{0, 0.3, 1, 1.1, 2.7, 3, 4.2, 5}
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = 2 - v + 0.5*v*v - 0.25*v*v*v
	}
	for _, tricube := range []bool{false, true} {
		for _, at := range []float64{-0.5, 0, 1.05, 2, 5} {
			e, ok := At(x, y, at, Settings{Points: 6, Degree: 3, Tricube: tricube})
			if !ok {
				t.Fatalf("at %g: not fitted", at)
			}
			want := [3]float64{2 - at + 0.5*at*at - 0.25*at*at*at, -1 + at - 0.75*at*at, 1 - 1.5*at}
			got := [3]float64{e.Value, e.Slope, e.Curvature}
			for k := range want {
				if math.Abs(got[k]-want[k]) > 1e-9 {
					t.Errorf("at %g, tricube %v: derivative %d is %g, want %g", at, tricube, k, got[k], want[k])
				}
			}
		}
	}
}

// The five-point quadratic of equal steps has the slope weights
// (-2, -1, 0, 1, 2)/10 and the value weights (-3, 12, 17, 12, -3)/35 of
// Savitzky and Golay, Anal. Chem. 36 (1964) 1627 (from memory): gains 1/10 and 17/35.
func TestSavitzkyGolayWeights(t *testing.T) {
	x := []float64{10, 11, 12, 13, 14}
	slope := []float64{-0.2, -0.1, 0, 0.1, 0.2}
	value := []float64{-3. / 35, 12. / 35, 17. / 35, 12. / 35, -3. / 35}
	for i := range x {
		y := make([]float64, len(x))
		y[i] = 1
		e, ok := At(x, y, 12, Settings{Degree: 2})
		if !ok || math.Abs(e.Slope-slope[i]) > 1e-14 || math.Abs(e.Value-value[i]) > 1e-14 {
			t.Errorf("weights of point %d: slope %g, value %g; want %g, %g", i, e.Slope, e.Value, slope[i], value[i])
		}
		if math.Abs(e.SlopeGain-0.1) > 1e-14 || math.Abs(e.ValueGain-17./35) > 1e-14 {
			t.Errorf("gains %g, %g; want 0.1, %g", e.SlopeGain, e.ValueGain, 17./35)
		}
	}
}

// The gains are the sums of squares of what each point adds.
func TestGainsAreSumsOfSquares(t *testing.T) {
	x := []float64{0, 0.3, 1, 1.1, 2.7, 3, 4.2}
	for _, tricube := range []bool{false, true} {
		s := Settings{Points: 7, Degree: 2, Tricube: tricube}
		var value, slope float64
		for i := range x {
			y := make([]float64, len(x))
			y[i] = 1
			e, _ := At(x, y, 1.6, s)
			value, slope = value+e.Value*e.Value, slope+e.Slope*e.Slope
		}
		e, ok := At(x, x, 1.6, s)
		if !ok || math.Abs(e.ValueGain/value-1) > 1e-9 || math.Abs(e.SlopeGain/slope-1) > 1e-9 {
			t.Errorf("tricube %v: gains %g, %g; want %g, %g", tricube, e.ValueGain, e.SlopeGain, value, slope)
		}
	}
}

func TestTakesTheNearestPoints(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4, 5, 6}
	y := []float64{100, 0, 0, 0, 0, 0, 100}
	for at, want := range map[float64]bool{3: true, 2.1: true, 0.4: false, 5.9: false} {
		e, ok := At(x, y, at, Settings{Points: 3, Degree: 1})
		if flat := ok && e.Value == 0 && e.Slope == 0; flat != want {
			t.Errorf("at %g: value %g from the nearest three; touches an end: %v", at, e.Value, !want)
		}
	}
}

func TestSaysWhenPointsCannotCarryTheDegree(t *testing.T) {
	for name, x := range map[string][]float64{
		"one abscissa": {2, 2, 2, 2, 2},
		"two of them":  {1, 1, 1, 2, 2},
		"too few":      {1, 2},
		"none":         {},
		"infinite":     {1, 2, 3, 4, math.Inf(1)},
	} {
		if e, ok := At(x, make([]float64, len(x)), 2, Settings{Degree: 2}); ok {
			t.Errorf("%s: got %+v", name, e)
		}
	}
	if _, ok := At([]float64{1, 2, 3}, []float64{1, math.NaN(), 3}, 2, Settings{Degree: 1}); ok {
		t.Error("NaN was smoothed")
	}
}

func ExampleAt() {
	x := []float64{0, 1, 2, 3, 4}
	y := []float64{0, 1, 4, 9, 16}
	e, _ := At(x, y, 2.5, Settings{Degree: 2})
	fmt.Printf("%.2f %.2f %.2f\n", e.Value, e.Slope, e.Curvature)
	// Output: 6.25 5.00 2.00
}
