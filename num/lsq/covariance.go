package lsq

import (
	"math"
	"slices"
)

// rank says whether the data separate the parameters at the solution, by the
// singular values of the Jacobian with columns of length 1. A column that has
// lost its length on the way there counts as no effect: the fit ran onto a
// plateau.
func (f *fitter) rank() error {
	p := f.problem.Params
	f.weighted()
	triangle(f.a, f.problem.Residuals, p, f.b, f.reduce)
	for j := range p {
		before := f.scale[j]
		f.scale[j] = 0
		for i := range j + 1 {
			f.scale[j] = math.Hypot(f.scale[j], f.a[i*p+j])
		}
		if f.scale[j] <= f.settings.rankTolerance()*before {
			return f.noEffect(j, before > negligible)
		}
	}
	for j := range p {
		col := f.w[j*p : j*p+p]
		clear(col)
		for i := range j + 1 {
			col[i] = f.a[i*p+j] / f.scale[j]
		}
	}
	svd(f.w, f.v, f.s2, p)
	least := slices.Index(f.s2, slices.Min(f.s2))
	if ratio := math.Sqrt(f.s2[least] / slices.Max(f.s2)); ratio <= f.settings.rankTolerance() {
		return f.inseparable(f.v[least*p:least*p+p], ratio)
	}
	return nil
}

func (f *fitter) noEffect(j int, plateau bool) error {
	null := make([]float64, f.problem.Params)
	null[j] = 1
	return &SingularError{Params: []int{j}, Null: null, Move: null, Last: slices.Clone(f.at.p), plateau: plateau}
}

func (f *fitter) inseparable(v []float64, ratio float64) error {
	const takesPart = 0.05 // of the largest component
	e := &SingularError{Null: slices.Clone(v), Move: make([]float64, len(v)), Ratio: ratio, Last: slices.Clone(f.at.p)}
	largest := 0.0
	for j, x := range v {
		largest = math.Max(largest, math.Abs(x))
		e.Move[j] = x / f.scale[j]
	}
	for j, x := range v {
		if math.Abs(x) >= takesPart*largest {
			e.Params = append(e.Params, j)
		}
	}
	return e
}

func (f *fitter) leastSquaresVariance() float64 {
	if f.settings.Sigma > 0 {
		return f.settings.Sigma * f.settings.Sigma
	}
	free := f.problem.Residuals - f.problem.Params
	if free == 0 {
		return math.NaN()
	}
	return f.at.ssr / float64(free)
}

// result reads the solution out of the workspace, after rank.
func (f *fitter) result(variance float64) Result {
	p := f.problem.Params
	memory := make([]float64, 2*p+3*p*p)
	take := func(n int) []float64 {
		s := memory[:n:n]
		memory = memory[n:]
		return s
	}
	res := Result{
		Params: take(p), StdErr: take(p),
		Unscaled: take(p * p), Covariance: take(p * p), Correlation: take(p * p),
		SSR: dot(f.at.r, f.at.r), DegreesOfFreedom: f.problem.Residuals - p,
		Variance: variance, Condition: math.Sqrt(slices.Max(f.s2) / slices.Min(f.s2)),
		Iterations: f.iterations, Evaluations: f.evaluations, Status: f.status,
	}
	copy(res.Params, f.at.p)
	f.invert(res.Unscaled)
	for i := range p {
		res.StdErr[i] = math.Sqrt(res.Unscaled[i*p+i] * variance)
		for j := range p {
			res.Covariance[i*p+j] = res.Unscaled[i*p+j] * variance
			res.Correlation[i*p+j] = res.Unscaled[i*p+j] /
				(math.Sqrt(res.Unscaled[i*p+i]) * math.Sqrt(res.Unscaled[j*p+j]))
		}
	}
	return res
}

// invert writes (JᵀJ)⁻¹ = D⁻¹ V S⁻² Vᵀ D⁻¹.
func (f *fitter) invert(to []float64) {
	p := f.problem.Params
	for i := range p {
		for j := range i + 1 {
			sum := 0.0
			for k := range p {
				sum += f.v[k*p+i] * f.v[k*p+j] / f.s2[k]
			}
			sum /= f.scale[i] * f.scale[j]
			to[i*p+j], to[j*p+i] = sum, sum
		}
	}
}
