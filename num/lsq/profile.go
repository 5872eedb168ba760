package lsq

import (
	"errors"
	"fmt"
	"math"
)

// An Interval is where a parameter may lie. An end that the data leave open is
// infinite.
type Interval struct {
	Low, High   float64
	Evaluations int
}

// Profile returns the interval of one parameter of a solution (index from 0)
// at whose ends the sum of squares, all other parameters fitted anew, has
// risen by t² times the variance of a residual: the profile t interval of
// Bates and Watts (Nonlinear Regression Analysis, 1988, chapter 6, from
// memory). For a level of confidence, t is Student's two-sided quantile for
// result.DegreesOfFreedom. A robust result is an error. A lower minimum met on
// the way ends the search with an error too: the solution was not the best.
func Profile(problem Problem, result Result, index int, t float64, settings Settings, ws *Workspace) (Interval, error) {
	if index < 0 || index >= problem.Params {
		panic(fmt.Sprintf("lsq: profile of parameter %d of %d", index, problem.Params))
	}
	if result.Weights != nil || settings.Robust != LeastSquares {
		return Interval{}, errors.New("profile interval of a robust fit: its sum of squares has no meaning")
	}
	if !(result.Variance > 0) || !(t > 0) {
		return Interval{}, fmt.Errorf("profile interval needs a residual variance and t above 0, has %v and %v", result.Variance, t)
	}
	pr := profiler{problem: problem, result: result, index: index, t: t, settings: settings, ws: ws}
	if ws == nil {
		pr.ws = new(Workspace)
	}
	pr.full = make([]float64, problem.Params)
	pr.jac = make([]float64, problem.Residuals*problem.Params)
	high, err := pr.end(+1)
	if err != nil {
		return Interval{}, fmt.Errorf("profiling parameter %d upwards: %w", index, err)
	}
	low, err := pr.end(-1)
	if err != nil {
		return Interval{}, fmt.Errorf("profiling parameter %d downwards: %w", index, err)
	}
	return Interval{Low: low, High: high, Evaluations: pr.evaluations}, nil
}

type profiler struct {
	problem     Problem
	result      Result
	index       int
	t           float64
	settings    Settings
	ws          *Workspace
	full, jac   []float64
	rest        []float64 // the other parameters at the last place
	evaluations int
}

// end walks outwards until the rise passes t, then closes in on it. The root
// of the rise is nearly straight in the parameter, so secants converge fast.
func (pr *profiler) end(sign float64) (float64, error) {
	const (
		farthest = 1e3  // standard errors; an interval wider than that is open
		closeTo  = 1e-8 // of t
	)
	pr.start()
	at, se := pr.result.Params[pr.index], pr.result.StdErr[pr.index]
	inner, innerRise := 0.0, 0.0
	outer := pr.t
	outerRise, err := pr.rise(at + sign*se*outer)
	for err == nil && outerRise < pr.t {
		if math.Abs(outerRise-pr.t) <= closeTo*pr.t {
			return at + sign*se*outer, nil
		}
		if outer > farthest*pr.t {
			return math.Inf(int(sign)), nil
		}
		inner, innerRise = outer, outerRise
		outer *= 1.5
		outerRise, err = pr.rise(at + sign*se*outer)
	}
	for range 100 {
		if err != nil {
			return 0, err
		}
		if math.Abs(outerRise-pr.t) <= closeTo*pr.t || outer-inner <= closeTo*outer {
			break
		}
		f := (pr.t - innerRise) / (outerRise - innerRise)
		next := inner + math.Min(0.99, math.Max(0.01, f))*(outer-inner)
		var rise float64
		rise, err = pr.rise(at + sign*se*next)
		if math.Abs(rise-pr.t) <= closeTo*pr.t {
			outer, outerRise = next, rise
		} else if rise < pr.t {
			inner, innerRise = next, rise
		} else {
			outer, outerRise = next, rise
		}
	}
	return at + sign*se*outer, nil
}

func (pr *profiler) start() {
	pr.rest = pr.rest[:0]
	for j, v := range pr.result.Params {
		if j != pr.index {
			pr.rest = append(pr.rest, v)
		}
	}
}

// rise returns the root of the increase of the sum of squares, in residual
// standard deviations, with the parameter held at value.
func (pr *profiler) rise(value float64) (float64, error) {
	ssr, err := pr.held(value)
	if err != nil {
		return 0, fmt.Errorf("holding it at %.6g: %w", value, err)
	}
	d := (ssr - pr.result.SSR) / pr.result.Variance
	if d < -1e-6*float64(max(pr.result.DegreesOfFreedom, 1)) {
		return 0, fmt.Errorf("holding it at %.6g gives a lower sum of squares, %.6g, than the solution, %.6g", value, ssr, pr.result.SSR)
	}
	return math.Sqrt(math.Max(0, d)), nil
}

func (pr *profiler) held(value float64) (float64, error) {
	p, n := pr.problem.Params, pr.problem.Residuals
	if p == 1 {
		r := make([]float64, n)
		pr.evaluations++
		err := pr.problem.Eval([]float64{value}, r, nil)
		return dot(r, r), err
	}
	reduced := Problem{Params: p - 1, Residuals: n, Eval: func(q, r, jac []float64) error {
		copy(pr.full, q[:pr.index])
		pr.full[pr.index] = value
		copy(pr.full[pr.index+1:], q[pr.index:])
		if err := pr.problem.Eval(pr.full, r, pr.jac); err != nil {
			return err
		}
		for i := range n {
			row := pr.jac[i*p : i*p+p]
			copy(jac[i*(p-1):], row[:pr.index])
			copy(jac[i*(p-1)+pr.index:], row[pr.index+1:])
		}
		return nil
	}}
	res, err := Fit(reduced, pr.rest, pr.settings, pr.ws)
	if err != nil {
		return 0, err
	}
	pr.evaluations += res.Evaluations
	pr.rest = append(pr.rest[:0], res.Params...)
	return res.SSR, nil
}
