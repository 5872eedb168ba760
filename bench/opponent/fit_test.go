package opponent

import (
	"errors"
	"math"
	"testing"
)

// misra1a is the problem Misra1a of the NIST Statistical Reference Datasets,
// nonlinear regression: data, certified parameters, their standard deviations
// and the residual sum of squares (from memory; that they agree to ten digits
// with each other is what this test shows).
var misra1a = struct{ x, y, params, deviations []float64 }{
	x: []float64{
		77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
		378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0,
	},
	y: []float64{
		10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
		44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78,
	},
	params:     []float64{2.3894212918e2, 5.5015643181e-4},
	deviations: []float64{2.7070075241, 7.2668688436e-6},
}

const misra1aSum = 1.2455138894e-1

func misra1aModel(params, v, e []float64) {
	for i, x := range v {
		e[i] = params[0] * -math.Expm1(-params[1]*x)
	}
}

func TestFitMisra1a(t *testing.T) {
	for _, start := range [][]float64{{500, 1e-4}, {250, 5e-4}} { // as NIST gives them
		got, err := Fit(misra1aModel, misra1a.x, misra1a.y, nil, start, 1e-10)
		if err != nil {
			t.Fatal(err)
		}
		for j := range got.Params {
			if off := got.Params[j]/misra1a.params[j] - 1; math.Abs(off) > 1e-8 {
				t.Errorf("parameter %d: %.10e, want %.10e", j, got.Params[j], misra1a.params[j])
			}
			if off := got.StdUnc[j]/misra1a.deviations[j] - 1; math.Abs(off) > 1e-6 {
				t.Errorf("deviation %d: %.10e, want %.10e", j, got.StdUnc[j], misra1a.deviations[j])
			}
		}
		if off := got.SumSquares/misra1aSum - 1; math.Abs(off) > 1e-9 {
			t.Errorf("sum of squares %.10e, want %.10e", got.SumSquares, misra1aSum)
		}
	}
}

// TestFitWeightedLine compares with the closed form of a weighted line.
func TestFitWeightedLine(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5, 6}
	y := []float64{2.1, 3.9, 6.2, 7.8, 10.1, 12.2}
	sigma := []float64{0.1, 0.3, 0.2, 0.1, 0.5, 0.2}
	line := func(params, v, e []float64) {
		for i, x := range v {
			e[i] = params[0] + params[1]*x
		}
	}
	got, err := Fit(line, x, y, sigma, []float64{1, 1}, 1e-10)
	if err != nil {
		t.Fatal(err)
	}
	var s, sx, sy, sxx, sxy float64
	for i := range x {
		w := 1 / (sigma[i] * sigma[i])
		s, sx, sy = s+w, sx+w*x[i], sy+w*y[i]
		sxx, sxy = sxx+w*x[i]*x[i], sxy+w*x[i]*y[i]
	}
	slope := (s*sxy - sx*sy) / (s*sxx - sx*sx)
	offset := (sy - slope*sx) / s
	if math.Abs(got.Params[0]-offset) > 1e-9 || math.Abs(got.Params[1]-slope) > 1e-9 {
		t.Errorf("%v, want %.10f and %.10f", got.Params, offset, slope)
	}
}

// TestFitUnusedParameter: one that changes nothing stays where it was.
func TestFitUnusedParameter(t *testing.T) {
	constant := func(params, v, e []float64) {
		for i := range v {
			e[i] = params[0]
		}
	}
	got, err := Fit(constant, []float64{1, 2, 3}, []float64{1, 2, 6}, nil, []float64{1, 7}, 1e-9)
	if err != nil || math.Abs(got.Params[0]-3) > 1e-9 || got.Params[1] != 7 {
		t.Errorf("%v, error %v, want the mean 3, and 7", got.Params, err)
	}
}

func TestFitReportsNoConvergence(t *testing.T) {
	fallsForEver := func(params, v, e []float64) {
		for i := range v {
			e[i] = math.Exp(-params[0])
		}
	}
	if _, err := Fit(fallsForEver, []float64{1, 2}, []float64{0, 0}, nil, []float64{1}, 1e-12); !errors.Is(err, ErrNoFit) {
		t.Errorf("error %v, want %v", err, ErrNoFit)
	}
}
