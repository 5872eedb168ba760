package fit

import (
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
)

// scaleNoise moves the estimated noise so that the reduced residuals have the
// variance that the fit leaves them, and returns the factor. Readings in the
// jump, where volume errors rule, say little about it and do not take part. A
// robust fit goes by the median, so that the readings it doubts do not hide in
// the noise they make.
func (f *fitter) scaleNoise() float64 {
	var ssr, share, free float64
	var sizes []float64
	grad := make([]float64, len(f.params))
	for i := range f.v {
		y, slope, ok, err := f.predict(i, f.v[i], grad)
		if err != nil || !ok {
			continue
		}
		s2 := slope * f.noise.Volume
		w := s2 * s2 / (f.noise.Value * f.noise.Value)
		if !(w < 1) {
			continue
		}
		d := (f.y[i] - y) / f.noise.Value
		ssr += d * d / (1 + w)
		share += 1 / (1 + w)
		free += 1 - f.leverage(i, grad, 1/math.Sqrt(1+w)/f.noise.Value)
		sizes = append(sizes, math.Abs(d)/math.Sqrt(1+w))
	}
	if free < 1 { // too few readings outside the jump: the last estimate stays
		if f.freedom == 0 {
			f.freedom = float64(f.res.DegreesOfFreedom)
		}
		return 1
	}
	n := float64(len(sizes))
	k := math.Sqrt(ssr / free)
	// What the known errors of volume add to the residuals tells nothing.
	f.freedom = free * share * share / (n * n)
	if f.opt.Robust {
		slices.Sort(sizes)
		k = medianToSigma * sizes[len(sizes)/2] * math.Sqrt(n/free)
		f.freedom *= medianEfficiency
	}
	floor := 1e-6 // a microvolt: below any meter's digit
	if f.c.Kind != curve.Potential {
		floor = 1e-5
	}
	was := f.noise.Value
	f.noise.Value = math.Max(f.noise.Value*k, floor)
	return f.noise.Value / was
}

// leverage is how much of reading i the parameters follow, 0 to 1: the
// reduced residual of a straight model has the variance 1 less that. The
// number of parameters is shared out by it among the readings that tell them.
func (f *fitter) leverage(i int, grad []float64, scale float64) float64 {
	h := quadratic(grad, f.res.Unscaled) * scale * scale
	if f.res.Weights != nil {
		h *= f.res.Weights[i]
	}
	return math.Min(h, 1)
}

// medianToSigma turns the median of normal deviations into their standard
// deviation: 1/0.6745. medianEfficiency is how much a standard deviation from
// the median knows of what one from squares does (from memory).
const (
	medianToSigma    = 1.4826
	medianEfficiency = 0.37
)

// fromNoise is the part of the covariance that goes with the square of the
// noise of a reading; the rest goes with that of the volume, which is known.
func (f *fitter) fromNoise() ([]float64, error) {
	n := len(f.params)
	sum, grad := make([]float64, n*n), make([]float64, n)
	for i := range f.v {
		_, scale, err := f.reading(i, grad)
		if err != nil {
			return nil, fmt.Errorf("sharing out the noise: %w", err)
		}
		w := scale * scale * f.noise.Value * f.noise.Value * scale * scale
		if f.res.Weights != nil {
			w *= f.res.Weights[i]
		}
		for j := range n {
			for k := range n {
				sum[j*n+k] += w * grad[j] * grad[k]
			}
		}
	}
	c := f.res.Covariance
	return product(product(c, sum, n), c, n), nil
}

// Propagate returns the standard uncertainty of a quantity with the derivatives
// g by the estimates, and its effective degrees of freedom: those of the noise
// where it was estimated, more where errors of volume, which are known, have a
// share in the variance; +Inf where the noise was stated.
func (r *Result) Propagate(g []float64) (u, freedom float64) {
	variance := math.Max(0, quadratic(g, r.Covariance))
	if !r.Estimated || variance == 0 {
		return math.Sqrt(variance), math.Inf(1)
	}
	// The relative variance of the square of the noise is 2/freedom, and the
	// variance follows it with its share.
	share := quadratic(g, r.fromNoise) / variance
	return math.Sqrt(variance), r.NoiseFreedom / (share * share)
}

// quadratic returns gᵀ a g.
func quadratic(g, a []float64) float64 {
	sum := 0.0
	for j := range g {
		for k := range g {
			sum += g[j] * a[j*len(g)+k] * g[k]
		}
	}
	return sum
}

// product returns the product of two n by n matrices.
func product(a, b []float64, n int) []float64 {
	out := make([]float64, n*n)
	for i := range n {
		for j := range n {
			for k := range n {
				out[i*n+j] += a[i*n+k] * b[k*n+j]
			}
		}
	}
	return out
}
