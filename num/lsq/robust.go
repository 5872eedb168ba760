package lsq

import (
	"math"
	"slices"
)

// Robust chooses how the weight of a residual falls with its size.
type Robust int

// Weights by u, the residual in units of the tuning constant times a robust
// standard deviation. The constants give 95 % of the efficiency of least
// squares on normal residuals (Huber, Robust Statistics, 1981; Holland and
// Welsch, Commun. Stat. A6 (1977) 813; both from memory).
const (
	LeastSquares Robust = iota // weight 1
	Huber                      // 1 up to u = 1, then 1/u; constant 1.345
	Biweight                   // Tukey's (1-u²)² up to u = 1, then 0; constant 4.685
)

const (
	huberConstant    = 1.345
	biweightConstant = 4.685

	// madFactor turns the median of absolute normal residuals into their
	// standard deviation: 1/Φ⁻¹(3/4).
	madFactor = 1.482602218505602

	maxReweights = 50
	steady       = 1e-6 // largest change of a weight that ends the reweighting
)

// robust fits by iterated reweighting. The biweight starts from Huber's
// solution, since its own sum has many minima.
func (f *fitter) robust(start []float64) (Result, error) {
	if err := f.minimise(start); err != nil {
		return Result{}, err
	}
	f.weight = grow(f.weight, f.problem.Residuals)
	for i := range f.weight {
		f.weight[i] = 1
	}
	if err := f.reweight(Huber); err != nil {
		return Result{}, err
	}
	if f.settings.Robust == Biweight {
		if err := f.reweight(Biweight); err != nil {
			return Result{}, err
		}
	}
	return f.robustResult()
}

func (f *fitter) reweight(kind Robust) error {
	at := slices.Clone(f.at.p)
	for range maxReweights {
		if f.assign(kind) <= steady {
			return nil
		}
		copy(at, f.at.p)
		if err := f.minimise(at); err != nil {
			return err
		}
	}
	return nil // weights that still move a little are as good as any
}

// assign sets the weights for the residuals at hand, and returns the largest
// change of a weight.
func (f *fitter) assign(kind Robust) float64 {
	sigma := f.spread()
	change := 0.0
	for i, r := range f.at.r {
		w, _, _ := influence(kind, r/sigma)
		change = math.Max(change, math.Abs(w-f.weight[i]*f.weight[i]))
		f.weight[i] = math.Sqrt(w)
	}
	f.at.ssr = f.sum(f.at.r)
	return change
}

// spread estimates the standard deviation of the residuals from the median of
// their sizes. The p smallest are left out: as many vanish in a fit of p
// parameters whatever the spread.
func (f *fitter) spread() float64 {
	if f.settings.Sigma > 0 {
		return f.settings.Sigma
	}
	f.sorted = grow(f.sorted, f.problem.Residuals)
	for i, r := range f.at.r {
		f.sorted[i] = math.Abs(r)
	}
	slices.Sort(f.sorted)
	rest := f.sorted[min(f.problem.Params, len(f.sorted)-1):]
	m := len(rest) / 2
	median := rest[m]
	if len(rest)%2 == 0 {
		median = (rest[m-1] + rest[m]) / 2
	}
	// More than half of the residuals may vanish; the others are then far out
	// by any measure.
	return math.Max(madFactor*median, 1e-12*f.sorted[len(f.sorted)-1]+math.SmallestNonzeroFloat64)
}

// influence returns the weight of a residual of u standard deviations, psi,
// which is weight times u, and the derivative of psi.
func influence(kind Robust, u float64) (weight, psi, slope float64) {
	size := math.Abs(u)
	switch kind {
	case Huber:
		if size <= huberConstant {
			return 1, u, 1
		}
		return huberConstant / size, math.Copysign(huberConstant, u), 0
	case Biweight:
		z := u / biweightConstant
		if math.Abs(z) >= 1 {
			return 0, 0, 0
		}
		k := 1 - z*z
		return k * k, u * k * k, k * (1 - 5*z*z)
	}
	return 1, u, 1
}

// robustResult gives the covariance Huber proposes for M-estimates (Robust
// Statistics, 1981, equations 7.6.4 and 7.6.5, from memory): the mean square
// of psi over the squared mean of its slope, times (JᵀJ)⁻¹ of the unweighted
// Jacobian.
func (f *fitter) robustResult() (Result, error) {
	n, p := float64(f.problem.Residuals), float64(f.problem.Params)
	sigma := f.spread()
	var square, slope, slope2 float64
	for _, r := range f.at.r {
		_, psi, d := influence(f.settings.Robust, r/sigma)
		square += psi * psi
		slope += d
		slope2 += d * d
	}
	mean := slope / n
	kappa := 1 + p/n*(slope2/n-mean*mean)/(mean*mean)
	variance := sigma * sigma * kappa * kappa * square / (n - p) / (mean * mean)
	weights := make([]float64, len(f.weight))
	for i, w := range f.weight {
		weights[i] = w * w
	}
	f.weight = f.weight[:0]
	if err := f.rank(); err != nil {
		return Result{}, err
	}
	res := f.result(variance)
	res.Weights = weights
	return res, nil
}
