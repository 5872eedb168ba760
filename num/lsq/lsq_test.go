package lsq

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// linear returns the problem y = Σ p_j x_ij.
func linear(x [][]float64, y []float64) Problem {
	p := len(x[0])
	return Problem{Params: p, Residuals: len(y), Eval: func(b, r, jac []float64) error {
		for i, row := range x {
			r[i] = dot(row, b) - y[i]
			if jac != nil {
				copy(jac[i*p:], row)
			}
		}
		return nil
	}}
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.10g, want %.10g ± %g", what, got, want, within)
	}
}

// TestThermometer is the calibration line of JCGM 100:2008 (GUM), H.3.
func TestThermometer(t *testing.T) {
	temp := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	b := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	var x [][]float64
	for _, v := range temp {
		x = append(x, []float64{1, v - 20})
	}
	res, err := Fit(linear(x, b), []float64{0, 0}, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "y1", res.Params[0], -0.1712, 5e-5)
	near(t, "y2", res.Params[1], 0.00218, 5e-6)
	near(t, "u(y1)", res.StdErr[0], 0.0029, 5e-5)
	near(t, "u(y2)", res.StdErr[1], 0.00067, 5e-6)
	near(t, "r(y1,y2)", res.Correlation[1], -0.930, 5e-4)
	near(t, "s", math.Sqrt(res.Variance), 0.0035, 5e-5)
	if res.DegreesOfFreedom != 9 {
		t.Errorf("degrees of freedom %d, want 9", res.DegreesOfFreedom)
	}
	// u of the correction at 30 °C, 0.0041 °C, needs the covariance's sign.
	u2 := res.Covariance[0] + 2*10*res.Covariance[1] + 100*res.Covariance[3]
	near(t, "u(b(30))", math.Sqrt(u2), 0.0041, 5e-5)

	known, err := Fit(linear(x, b), []float64{0, 0}, Settings{Sigma: 0.007}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u(y1), known", known.StdErr[0], 0.007*math.Sqrt(res.Unscaled[0]), 1e-15)
}

// stackLoss is Brownlee's data (Statistical Theory and Methodology, 1965, from
// memory).
func stackLoss() Problem {
	air := []float64{80, 80, 75, 62, 62, 62, 62, 62, 58, 58, 58, 58, 58, 58, 50, 50, 50, 50, 50, 56, 70}
	water := []float64{27, 27, 25, 24, 22, 23, 24, 24, 23, 18, 18, 17, 18, 19, 18, 18, 19, 19, 20, 20, 20}
	acid := []float64{89, 88, 90, 87, 87, 87, 93, 93, 87, 80, 89, 88, 82, 93, 89, 86, 72, 79, 80, 82, 91}
	loss := []float64{42, 37, 37, 28, 18, 18, 19, 20, 15, 14, 14, 13, 11, 12, 8, 7, 8, 8, 9, 15, 15}
	var x [][]float64
	for i := range loss {
		x = append(x, []float64{1, air[i], water[i], acid[i]})
	}
	return linear(x, loss)
}

// TestStackLoss compares with the solutions that textbooks print for the stack
// loss data (from memory): least squares, and Huber's M-estimate for its scale
// of 2.441.
func TestStackLoss(t *testing.T) {
	for _, c := range []struct {
		settings Settings
		want     []float64
	}{
		{Settings{}, []float64{-39.9197, 0.7156, 1.2953, -0.1521}},
		{Settings{Robust: Huber, Sigma: 2.441}, []float64{-41.0265, 0.8294, 0.9261, -0.1278}},
	} {
		res, err := Fit(stackLoss(), make([]float64, 4), c.settings, nil)
		if err != nil {
			t.Fatal(err)
		}
		for j, w := range c.want {
			near(t, fmt.Sprintf("robust %d, coefficient %d", c.settings.Robust, j), res.Params[j], w, 2e-4*math.Max(1, math.Abs(w)))
		}
	}
}

// TestRobust puts wild readings on a line and looks for the line.
func TestRobust(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	var x [][]float64
	var y []float64
	for i := range 40 {
		v := float64(i)
		x, y = append(x, []float64{1, v}), append(y, 3+0.5*v+0.01*rng.NormFloat64())
	}
	y[4], y[17], y[33] = 100, -50, 80
	for _, kind := range []Robust{Huber, Biweight} {
		res, err := Fit(linear(x, y), []float64{0, 0}, Settings{Robust: kind}, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "intercept", res.Params[0], 3, 0.02)
		near(t, "slope", res.Params[1], 0.5, 1e-3)
		// 37 good readings: s/√n of a mean is 0.0016, of an intercept twice that.
		near(t, "u(intercept)", res.StdErr[0], 0.0032, 0.0013)
		if w := res.Weights[17]; w > 1e-2 {
			t.Errorf("robust %d: weight %g for the wildest reading", kind, w)
		}
	}
	res, _ := Fit(linear(x, y), []float64{0, 0}, Settings{Robust: Biweight}, nil)
	if res.Weights[4] != 0 || res.Weights[5] < 0.5 {
		t.Errorf("weights %.2g and %.2g of a wild and a good reading", res.Weights[4], res.Weights[5])
	}
}

func TestSingular(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5}
	problem := func(f func(b []float64, x float64) (float64, []float64)) Problem {
		_, d := f([]float64{1, 1, 1}, 1)
		p := len(d)
		return Problem{Params: p, Residuals: len(x), Eval: func(b, r, jac []float64) error {
			for i, v := range x {
				y, d := f(b, v)
				r[i] = y - math.Exp(v/3) // no line
				copy(jac[i*p:], d)
			}
			return nil
		}}
	}
	// Only b0·b1 and b2 matter.
	_, err := Fit(problem(func(b []float64, x float64) (float64, []float64) {
		return b[0]*b[1]*x + b[2], []float64{b[1] * x, b[0] * x, 1}
	}), []float64{1, 2, 0}, Settings{}, nil)
	var s *SingularError
	if !errors.As(err, &s) {
		t.Fatalf("error %v, want a SingularError", err)
	}
	if !slices.Equal(s.Params, []int{0, 1}) {
		t.Errorf("parameters %v, want 0 and 1", s.Params)
	}
	if !strings.Contains(err.Error(), "cannot tell parameters 0, 1 apart") {
		t.Errorf("message %q", err)
	}
	// The product is constant along the direction: db0·b1 + db1·b0 = 0.
	near(t, "null direction", s.Move[0]*s.Last[1]+s.Move[1]*s.Last[0], 0, 1e-9*math.Abs(s.Move[0]*s.Last[1]))

	_, err = Fit(problem(func(b []float64, x float64) (float64, []float64) {
		return b[0] * x, []float64{x, 0}
	}), []float64{1, 2}, Settings{}, nil)
	if !errors.As(err, &s) || !slices.Equal(s.Params, []int{1}) || !strings.Contains(err.Error(), "do not depend on parameter 1") {
		t.Errorf("error %v, want parameter 1 without effect", err)
	}
}

// TestSingularAtOnce: shorter first steps would not separate what the data do
// not separate, so they are not tried.
func TestSingularAtOnce(t *testing.T) {
	x := [][]float64{{1, 2, 0}, {1, 2, 1}, {1, 2, 3}, {1, 2, 4}}
	problem := linear(x, []float64{1, 2, 4, 8})
	eval, calls := problem.Eval, 0
	problem.Eval = func(p, r, jac []float64) error { calls++; return eval(p, r, jac) }
	_, err := Fit(problem, []float64{0, 0, 0}, Settings{}, nil)
	var s *SingularError
	if !errors.As(err, &s) || !slices.Equal(s.Params, []int{0, 1}) {
		t.Errorf("error %v, want parameters 0 and 1 not separated", err)
	}
	if calls > 4 {
		t.Errorf("%d evaluations of a linear problem", calls)
	}
}

func TestNotConverged(t *testing.T) {
	sets := load(t)
	s := sets[slices.IndexFunc(sets, func(s *dataset) bool { return s.name == "MGH09" })]
	_, err := Fit(s.problem, s.start[0], Settings{MaxEvaluations: 5}, nil)
	var n *NotConvergedError
	if !errors.As(err, &n) || len(n.Last) != 4 || n.Evaluations < 5 || !(n.Residual > math.Sqrt(s.ssr)) {
		t.Errorf("error %v, want a NotConvergedError", err)
	}

	// Derivatives of the wrong sign lead nowhere, and that must not pass for
	// a solution.
	wrong := s.problem
	wrong.Eval = func(p, r, jac []float64) error {
		err := s.problem.Eval(p, r, jac)
		for i := range jac {
			jac[i] = -jac[i]
		}
		return err
	}
	if _, err := Fit(wrong, s.start[1], Settings{}, nil); !errors.As(err, &n) {
		t.Errorf("error %v with wrong derivatives, want a NotConvergedError", err)
	}
}

func TestEvaluationFails(t *testing.T) {
	broken := errors.New("no equilibrium")
	// √(b-2) against 1.5: below b = 2 there is nothing.
	problem := Problem{Params: 1, Residuals: 2, Eval: func(p, r, jac []float64) error {
		if p[0] < 2 {
			return broken
		}
		root := math.Sqrt(p[0] - 2)
		r[0], r[1] = root-1, root-2
		jac[0], jac[1] = 0.5/root, 0.5/root
		return nil
	}}
	res, err := Fit(problem, []float64{100}, Settings{}, nil) // the first step leads to b < 2
	if err != nil {
		t.Fatal(err)
	}
	near(t, "b", res.Params[0], 4.25, 1e-6)
	if _, err := Fit(problem, []float64{1}, Settings{}, nil); !errors.Is(err, broken) {
		t.Errorf("error %v, want that of the problem", err)
	}
	if _, err := Fit(problem, []float64{math.NaN()}, Settings{}, nil); err == nil {
		t.Error("a NaN to start from is no error")
	}
	problem.Residuals, problem.Params = 1, 2
	if _, err := Fit(problem, []float64{1, 1}, Settings{}, nil); err == nil || !strings.Contains(err.Error(), "1 residuals cannot determine 2") {
		t.Errorf("error %v, want too few residuals", err)
	}
}

// TestExact fits readings without noise, and as many parameters as readings.
func TestExact(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4, 5}
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = 2 * math.Exp(-0.7*v)
	}
	s := dataset{y: y, value: []float64{2, 0.7}}
	for _, v := range x {
		s.x = append(s.x, []float64{v})
	}
	decay := s.residuals(func(b, x, d []float64) float64 {
		e := math.Exp(-b[1] * x[0])
		d[0], d[1] = e, -b[0]*x[0]*e
		return b[0] * e
	})
	res, err := Fit(decay, []float64{1, 0.1}, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "amplitude", res.Params[0], 2, 1e-14)
	near(t, "rate", res.Params[1], 0.7, 1e-14)
	if res.Status != Exact {
		t.Errorf("status %v, want exact", res.Status)
	}

	decay.Residuals = 2
	s.x = s.x[:2]
	res, err = Fit(decay, []float64{1, 0.1}, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "amplitude of 2 readings", res.Params[0], 2, 1e-14)
	if res.DegreesOfFreedom != 0 || !math.IsNaN(res.StdErr[0]) {
		t.Errorf("%d degrees of freedom, standard error %v; want 0 and none", res.DegreesOfFreedom, res.StdErr[0])
	}
}

// TestProfile compares with the interval from the closed form: for y =
// b0(1-exp(-b1 x)) the best b0 for a given b1 follows at once.
func TestProfile(t *testing.T) {
	sets := load(t)
	s := sets[slices.IndexFunc(sets, func(s *dataset) bool { return s.name == "BoxBOD" })]
	const student = 2.7764451 // 95 %, 4 degrees of freedom
	ssr := func(b1 float64) float64 {
		var yg, gg, yy float64
		for i, x := range s.x {
			g := 1 - math.Exp(-b1*x[0])
			yg, gg, yy = yg+s.y[i]*g, gg+g*g, yy+s.y[i]*s.y[i]
		}
		return yy - yg*yg/gg
	}
	limit := s.ssr * (1 + student*student/4)
	bisect := func(in, out float64) float64 {
		for range 200 {
			if mid := (in + out) / 2; ssr(mid) < limit {
				in = mid
			} else {
				out = mid
			}
		}
		return in
	}
	res, err := Fit(s.problem, s.start[1], Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Profile(s.problem, res, 1, student, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "low", got.Low, bisect(s.value[1], 0.01), 1e-7)
	near(t, "high", got.High, bisect(s.value[1], 5), 1e-7)
	// At 99.9 % the data leave the rate open: the plain mean of y is as good.
	open, err := Profile(s.problem, res, 1, 8.610, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(open.High, 1) {
		t.Errorf("upper end %g at 99.9 %%, want it open", open.High)
	}
	if _, err := Profile(s.problem, res, 1, 2, Settings{Robust: Huber}, nil); err == nil {
		t.Error("profile of a robust fit is no error")
	}
}

// TestProfileLinear: for a linear model the profile interval is ± t standard
// errors.
func TestProfileLinear(t *testing.T) {
	problem := stackLoss()
	res, err := Fit(problem, make([]float64, 4), Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for j, v := range res.Params {
		got, err := Profile(problem, res, j, 2.11, Settings{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("low of ", j), got.Low, v-2.11*res.StdErr[j], 1e-6*res.StdErr[j])
		near(t, fmt.Sprint("high of ", j), got.High, v+2.11*res.StdErr[j], 1e-6*res.StdErr[j])
	}
}

// TestReuse: a workspace that served another size changes nothing, and a fit
// in it allocates its result only.
func TestReuse(t *testing.T) {
	ws := new(Workspace)
	big, err := Fit(stackLoss(), make([]float64, 4), Settings{Robust: Biweight}, ws)
	if err != nil {
		t.Fatal(err)
	}
	problem := linear([][]float64{{1, 0}, {1, 1}, {1, 2}, {1, 4}}, []float64{1, 2, 2.5, 5})
	start := []float64{0, 0}
	fresh, err := Fit(problem, start, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Fit(problem, start, Settings{}, ws)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(fresh.Params, again.Params) || !slices.Equal(fresh.Covariance, again.Covariance) {
		t.Errorf("reused: %v, fresh: %v", again, fresh)
	}
	if big.Weights == nil || again.Weights != nil {
		t.Errorf("weights %v after a robust fit", again.Weights)
	}
	allocs := testing.AllocsPerRun(100, func() {
		if _, err := Fit(problem, start, Settings{}, ws); err != nil {
			t.Fatal(err)
		}
	})
	if allocs > 1 {
		t.Errorf("%v allocations in a fit, want the result's", allocs)
	}
}

func ExampleFit() {
	x, y := []float64{0, 1, 2, 3}, []float64{1.1, 1.9, 3.2, 3.8}
	line := Problem{Params: 2, Residuals: len(x), Eval: func(p, r, jac []float64) error {
		for i, v := range x {
			r[i] = p[0] + p[1]*v - y[i]
			if jac != nil {
				jac[2*i], jac[2*i+1] = 1, v
			}
		}
		return nil
	}}
	res, err := Fit(line, []float64{0, 0}, Settings{}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("slope %.3f, standard error %.3f, %s\n", res.Params[1], res.StdErr[1], res.Status)
	// Output: slope 0.940, standard error 0.091, converged
}

// TestFarStart: from here the first step, of the parameters' own size, leaps
// to where the model no longer depends on the rate; a shorter one does not.
func TestFarStart(t *testing.T) {
	sets := load(t)
	s := sets[slices.IndexFunc(sets, func(s *dataset) bool { return s.name == "BoxBOD" })]
	res, err := Fit(s.problem, []float64{25.344, 7.341}, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "rate", res.Params[1], s.value[1], 1e-8)
}
