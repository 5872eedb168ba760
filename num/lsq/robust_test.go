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

// TestSpread: the median is that of the sizes without the p smallest, and
// 1.4826 times it is the standard deviation.
func TestSpread(t *testing.T) {
	f := fitter{problem: Problem{Params: 2, Residuals: 6}, Workspace: new(Workspace)}
	f.at.r = []float64{0, -8, 4, 0, 1, -2}
	near(t, "even count", f.spread(), 1.4826*3, 1e-4)
	f.problem.Residuals = 5
	f.at.r = f.at.r[:5]
	near(t, "odd count", f.spread(), 1.4826*4, 1e-4)
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
