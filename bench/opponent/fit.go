package opponent

import (
	"errors"
	"math"
)

// A Model sets e[i] to what it predicts at v[i] for the parameters.
type Model func(params, v, e []float64)

// A FitResult is what Fit found.
type FitResult struct {
	Params     []float64
	StdUnc     []float64 // from the scatter of the residuals; nil without degrees of freedom
	SumSquares float64   // of the weighted residuals
	Steps      int       // accepted and refused
}

// ErrNoFit says that Fit did not converge within its steps.
var ErrNoFit = errors.New("the fit does not converge")

// maxSteps is far beyond what a fit that converges needs.
const maxSteps = 200

// Fit adjusts params from start so that the model comes closest to e at v, by
// least squares. sigma holds the standard uncertainty of each e, or is nil for
// equal weights. It ends when a step changes no parameter by more than
// tolerance times the parameter, or the sum of squares by more than the square
// of that.
//
// Method: Levenberg-Marquardt with Marquardt's scaling, each step by
// Householder QR of the Jacobian with the damping rows below it; the Jacobian
// by central differences. Marquardt, J. SIAM 11 (1963) 431, and Golub and Van
// Loan, Matrix Computations, on QR, from memory.
func Fit(model Model, v, e, sigma, start []float64, tolerance float64) (FitResult, error) {
	f := newFitter(model, v, e, sigma, start)
	lambda := 1e-3
	f.jacobian()
	for step := 1; step <= maxSteps; step++ {
		f.solve(lambda)
		for j := range f.trial {
			f.trial[j] = f.params[j] + f.delta[j]
		}
		trialSum := f.residuals(f.trial, f.trialResid)
		gain := f.sum - trialSum
		small := f.isSmall(tolerance)
		if gain >= 0 {
			f.params, f.trial = f.trial, f.params
			f.resid, f.trialResid = f.trialResid, f.resid
			f.sum = trialSum
			if small || gain <= tolerance*tolerance*f.sum {
				return f.result(step), nil
			}
			lambda /= 10
			f.jacobian()
			continue
		}
		if small { // no better point in reach of the arithmetic
			return f.result(step), nil
		}
		lambda *= 10
	}
	return f.result(maxSteps), ErrNoFit
}

// fitter holds the state of one fit, so that a step allocates nothing.
type fitter struct {
	model                Model
	v, e, sigma          []float64
	params, trial, delta []float64
	resid, trialResid    []float64 // (e - model)/sigma
	up, down             []float64 // model at params with one moved
	columns              [][]float64
	work                 [][]float64 // columns of the system being reduced, n rows and p below
	right                []float64
	sum                  float64
	diagonal             []float64 // norms of the columns
}

func newFitter(model Model, v, e, sigma, start []float64) *fitter {
	n, p := len(v), len(start)
	row := func(length int) []float64 { return make([]float64, length) }
	f := &fitter{
		model: model, v: v, e: e, sigma: sigma,
		params: append([]float64(nil), start...), trial: row(p), delta: row(p),
		resid: row(n), trialResid: row(n), up: row(n), down: row(n),
		columns: make([][]float64, p), work: make([][]float64, p),
		right: row(n + p), diagonal: row(p),
	}
	for j := range p {
		f.columns[j], f.work[j] = row(n), row(n+p)
	}
	f.sum = f.residuals(f.params, f.resid)
	return f
}

// residuals sets r to the weighted residuals and returns their sum of squares,
// infinite where the model has no value.
func (f *fitter) residuals(params, r []float64) float64 {
	f.model(params, f.v, r)
	sum := 0.0
	for i := range r {
		r[i] = f.weigh(i, f.e[i]-r[i])
		sum += r[i] * r[i]
	}
	if math.IsNaN(sum) {
		return math.Inf(1)
	}
	return sum
}

func (f *fitter) weigh(i int, x float64) float64 {
	if f.sigma == nil {
		return x
	}
	return x / f.sigma[i]
}

// jacobian sets columns to the derivatives of the weighted model by central
// differences; the cube root of the rounding error balances both errors.
func (f *fitter) jacobian() {
	for j, x := range f.params {
		h := 6e-6 * math.Abs(x)
		if h == 0 {
			h = 6e-6
		}
		f.params[j] = x + h
		f.model(f.params, f.v, f.up)
		f.params[j] = x - h
		f.model(f.params, f.v, f.down)
		f.params[j] = x
		sum := 0.0
		for i := range f.up {
			d := f.weigh(i, (f.up[i]-f.down[i])/(2*h))
			f.columns[j][i] = d
			sum += d * d
		}
		f.diagonal[j] = math.Sqrt(sum)
	}
}

// solve sets delta to the step with damping lambda: the least-squares solution
// of the Jacobian with rows sqrt(lambda) times the column norms below it.
func (f *fitter) solve(lambda float64) {
	n := len(f.v)
	clear(f.right)
	copy(f.right, f.resid)
	for j, column := range f.columns {
		clear(f.work[j])
		copy(f.work[j], column)
		f.work[j][n+j] = math.Sqrt(lambda) * f.diagonal[j]
		if f.diagonal[j] == 0 {
			f.work[j][n+j] = 1 // a parameter that nothing depends on stays
		}
	}
	reduce(f.work, f.right)
	backSubstitute(f.work, f.right, f.delta)
}

// isSmall says whether the step is below tolerance in every parameter.
func (f *fitter) isSmall(tolerance float64) bool {
	for j, d := range f.delta {
		if math.Abs(d) > tolerance*math.Abs(f.params[j]) {
			return false
		}
	}
	return true
}

func (f *fitter) result(steps int) FitResult {
	result := FitResult{Params: f.params, SumSquares: f.sum, Steps: steps}
	n, p := len(f.v), len(f.params)
	if n <= p {
		return result
	}
	f.jacobian()
	f.solve(0) // leaves R in work
	scatter := math.Sqrt(f.sum / float64(n-p))
	result.StdUnc = make([]float64, p)
	unit, column := make([]float64, p), make([]float64, p)
	for k := range p { // column k of the inverse of R
		clear(unit)
		unit[k] = 1
		backSubstitute(f.work, unit, column)
		for j, x := range column {
			result.StdUnc[j] += x * x
		}
	}
	for j, variance := range result.StdUnc {
		result.StdUnc[j] = scatter * math.Sqrt(variance)
	}
	return result
}

// reduce turns the columns into an upper triangle by Householder reflections,
// and applies them to right.
func reduce(columns [][]float64, right []float64) {
	for k, column := range columns {
		pivot := column[k:]
		norm := 0.0
		for _, x := range pivot {
			norm += x * x
		}
		if norm == 0 {
			continue
		}
		alpha := -math.Copysign(math.Sqrt(norm), pivot[0])
		pivot[0] -= alpha // pivot is now the reflection vector
		half := -alpha * pivot[0]
		for _, other := range columns[k+1:] {
			reflect(pivot, other[k:], half)
		}
		reflect(pivot, right[k:], half)
		pivot[0] = alpha
	}
}

// reflect applies the reflection with the given vector, half being half its
// square, to x.
func reflect(vector, x []float64, half float64) {
	dot := 0.0
	for i, w := range vector {
		dot += w * x[i]
	}
	dot /= half
	for i, w := range vector {
		x[i] -= dot * w
	}
}

// backSubstitute solves the upper triangle for x.
func backSubstitute(columns [][]float64, right, x []float64) {
	for j := len(x) - 1; j >= 0; j-- {
		sum := right[j]
		for k := j + 1; k < len(x); k++ {
			sum -= columns[k][j] * x[k]
		}
		x[j] = sum / columns[j][j]
	}
}
