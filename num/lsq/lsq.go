// Package lsq fits the parameters of a nonlinear model by least squares, with
// exact derivatives from the caller, and says how well the data determine
// them: covariance, rank, profile intervals, robust weights. It knows no
// bounds (let the caller transform a parameter) and no models.
//
// The method is Levenberg and Marquardt's in the trust-region form of Moré
// (Lecture Notes in Mathematics 630 (1978) 105, from memory): each Jacobian is
// reduced by Householder reflections to a small triangle, the triangle with
// scaled columns to its singular values, and every damped step of that
// iteration then costs a few multiplications.
package lsq

import (
	"fmt"
	"math"
)

// A Problem is a vector of residuals that depends on parameters. Residuals are
// weighted by the caller: each divided by its standard deviation, or all left
// in one unit.
type Problem struct {
	Params    int // p, at least 1
	Residuals int // n, at least p

	// Eval writes the n residuals at p into r and, unless jac is nil, the
	// derivative of residual i for parameter j into jac[i*Params+j]. It must
	// not keep the slices. An error, or a number that is not finite, makes a
	// trial step shorter; at the start it ends the fit.
	Eval func(p, r, jac []float64) error
}

// Settings of a fit. The zero value is sound.
type Settings struct {
	// Offset ends the fit when the part of the residual vector that the
	// parameters could still take away is at most Offset of its length: the
	// parameters are then within Offset·√(n-p) standard errors of the minimum
	// (Bates and Watts, Technometrics 23 (1981) 179, from memory). 0 is 1e-8.
	Offset float64

	// MaxEvaluations of the problem from each first step tried, and in each
	// refit of a robust fit. 0 is 1000.
	MaxEvaluations int

	// RankTolerance is the ratio of smallest to largest singular value of the
	// Jacobian with columns of length 1, at the solution, below which the data
	// are said not to separate the parameters. 0 is 1e-10.
	RankTolerance float64

	// Robust chooses weights that fall with the residual. The zero value
	// gives every residual the weight 1.
	Robust Robust

	// Sigma is the standard deviation of every residual where it is known (1
	// for residuals divided by theirs). 0 means it is estimated by the fit.
	Sigma float64
}

// A Status says how a fit ended; each of them is a solution.
type Status int

// Ways for a fit to end.
const (
	Converged Status = iota // Settings.Offset was reached
	Exact                   // the residuals vanished within rounding
	Limited                 // rounding in the residuals allows no further decrease
)

func (s Status) String() string {
	switch s {
	case Converged:
		return "converged"
	case Exact:
		return "exact"
	case Limited:
		return "limited by rounding"
	}
	return fmt.Sprintf("lsq.Status(%d)", int(s))
}

// A Result is the solution of a fit. Matrices are p×p, row-major.
type Result struct {
	Params           []float64
	SSR              float64   // sum of squared residuals, without the weights of Robust
	DegreesOfFreedom int       // n - p
	Variance         float64   // of one residual: Sigma², or SSR/(n-p), or the robust estimate; NaN if n = p and Sigma is 0
	Unscaled         []float64 // (JᵀJ)⁻¹
	Covariance       []float64 // Unscaled × Variance; NaN with Variance
	StdErr           []float64 // roots of the diagonal of Covariance
	Correlation      []float64
	Weights          []float64 // of a robust fit, one a residual, 0 to 1; otherwise nil
	Condition        float64   // largest to smallest singular value, columns of length 1
	Iterations       int       // accepted steps
	Evaluations      int
	Status           Status
}

func (s Settings) offset() float64 { return orDefault(s.Offset, 1e-8) }

func (s Settings) rankTolerance() float64 { return orDefault(s.RankTolerance, 1e-10) }

func (s Settings) maxEvaluations() int {
	if s.MaxEvaluations > 0 {
		return s.MaxEvaluations
	}
	return 1000
}

func orDefault(x, otherwise float64) float64 {
	if x > 0 {
		return x
	}
	return otherwise
}

// Fit finds the parameters near start that make the sum of squared residuals
// least. The workspace may be nil; one that is reused, by one goroutine at a
// time, saves all allocation but that of the result. Errors: a start that
// cannot be evaluated, *NotConvergedError, *SingularError.
func Fit(problem Problem, start []float64, settings Settings, ws *Workspace) (Result, error) {
	if err := check(problem, start); err != nil {
		return Result{}, err
	}
	if ws == nil {
		ws = new(Workspace)
	}
	ws.resize(problem.Params, problem.Residuals)
	f := fitter{problem: problem, settings: settings, Workspace: ws}
	if settings.Robust != LeastSquares {
		return f.robust(start)
	}
	if err := f.minimise(start); err != nil {
		return Result{}, err
	}
	return f.result(f.leastSquaresVariance()), nil
}

func check(problem Problem, start []float64) error {
	if problem.Params < 1 {
		return fmt.Errorf("least squares needs at least 1 parameter, has %d", problem.Params)
	}
	if len(start) != problem.Params {
		panic(fmt.Sprintf("lsq: %d start values for %d parameters", len(start), problem.Params))
	}
	if problem.Residuals < problem.Params {
		return fmt.Errorf("%d residuals cannot determine %d parameters", problem.Residuals, problem.Params)
	}
	for j, v := range start {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("start value of parameter %d is %v", j, v)
		}
	}
	return nil
}
