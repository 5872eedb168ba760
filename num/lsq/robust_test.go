package lsq

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// TestRobustEfficiency: both constants are made for 95 % of the efficiency of
// the mean of normal readings, so its standard error grows by 1/√0.95.
func TestRobustEfficiency(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 3))
	const n = 20000
	x, y := make([][]float64, n), make([]float64, n)
	for i := range y {
		x[i], y[i] = []float64{1}, rng.NormFloat64()
	}
	for _, kind := range []Robust{Huber, Biweight} {
		res, err := Fit(linear(x, y), []float64{0}, Settings{Robust: kind}, nil)
		if err != nil {
			t.Fatal(err)
		}
		want := 1 / math.Sqrt(0.95*n)
		near(t, "standard error of the mean", res.StdErr[0], want, 0.015*want)
		near(t, "mean", res.Params[0], 0, 4*want)
	}
}

// TestSpread: the robust standard deviation is not biased low by parameters
// that follow the readings: its mean over many fits of 4 parameters to 12
// readings is near the truth, 1.
func TestSpread(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 8))
	ws := new(Workspace)
	sum := 0.0
	const trials = 400
	for range trials {
		x, y := make([][]float64, 12), make([]float64, 12)
		for i := range y {
			v := float64(i)/6 - 1
			x[i], y[i] = []float64{1, v, v * v, v * v * v}, rng.NormFloat64()
		}
		res, err := Fit(linear(x, y), make([]float64, 4), Settings{Robust: Huber}, ws)
		if err != nil {
			t.Fatal(err)
		}
		sum += math.Sqrt(res.Variance)
	}
	near(t, "mean standard deviation", sum/trials, 1, 0.1)
}

// TestAfterFailure: weights of a robust fit that failed on the way do not
// leak into the next fit.
func TestAfterFailure(t *testing.T) {
	x := [][]float64{{1}, {1}, {1}, {1}, {1}}
	y := []float64{1, 2, 3, 4, 100}
	broken := errors.New("broken")
	good := linear(x, y)
	bad, calls := good, 0
	bad.Eval = func(p, r, jac []float64) error {
		if calls++; calls > 3 {
			return broken
		}
		return good.Eval(p, r, jac)
	}
	ws := new(Workspace)
	if _, err := Fit(bad, []float64{0}, Settings{Robust: Huber}, ws); !errors.Is(err, broken) {
		t.Fatalf("error %v, want that of the problem", err)
	}
	res, err := Fit(good, []float64{0}, Settings{}, ws)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", res.Params[0], 22, 1e-12)
}
