package fit

import (
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
)

// An outside is what a reading may tell about the noise: what the model leaves
// of it, V, what an error of its volume does to it, V, and how much of its
// variance the parameters follow, V².
type outside struct{ left, steep, leverage float64 }

// scaleNoise moves the estimated noise so that the reduced residuals have the
// variance that the fit leaves them, and returns the factor. Which readings take
// part, and with what weight, hangs on the noise, so that is repeated until it
// stands; the parameters stay.
func (f *fitter) scaleNoise() float64 {
	f.left = f.left[:0]
	if f.set(f.res.Params) != nil {
		return 1 // the fit came by there, so it can be set
	}
	grad := make([]float64, len(f.params))
	for i := range f.v {
		y, slope, ok, err := f.asRead(i, grad)
		if err != nil || !ok {
			continue
		}
		x := outside{f.y[i] - y, slope * f.noise.Volume, quadratic(grad, f.res.Unscaled)}
		if f.res.Weights != nil {
			x.leverage *= f.res.Weights[i]
		}
		f.left = append(f.left, x)
	}
	floor := 1e-6 // a microvolt: below any meter's digit
	if f.c.Kind != curve.Potential {
		floor = 1e-5
	}
	was := f.noise.Value
	for range noiseRounds {
		k := f.noiseFactor(was)
		f.noise.Value = math.Max(f.noise.Value*k, floor)
		if math.Abs(k-1) < noiseDone || f.noise.Value == floor {
			break
		}
	}
	return f.noise.Value / was
}

// noiseFactor is how many times as large as supposed the noise is. Readings in
// the jump, where volume errors rule, say little about it and do not take part.
// A robust fit goes by the median, so that the readings it doubts do not hide
// in the noise they make. The leverages are those at the noise of the fit: the
// reduced residual of a straight model has the variance 1 less the leverage, so
// the number of parameters is shared out among the readings that tell them.
func (f *fitter) noiseFactor(fitted float64) float64 {
	var ssr, share, free float64
	var sizes []float64
	for _, x := range f.left {
		w := x.steep * x.steep / (f.noise.Value * f.noise.Value)
		if !(w < 1) {
			continue
		}
		d := x.left / f.noise.Value
		ssr += d * d / (1 + w)
		share += 1 / (1 + w)
		free += 1 - math.Min(x.leverage/(fitted*fitted*(1+w)), 1)
		sizes = append(sizes, math.Abs(d)/math.Sqrt(1+w))
	}
	if free < 1 { // too few readings outside the jump: the last estimate stays
		if f.freedom == 0 {
			f.freedom = float64(f.res.DegreesOfFreedom)
		}
		return 1
	}
	n := float64(len(sizes))
	// What the known errors of volume add to the residuals tells nothing.
	f.freedom = free * share * share / (n * n)
	if f.opt.Robust {
		f.freedom *= medianEfficiency
		slices.Sort(sizes)
		return medianToSigma * sizes[len(sizes)/2] * math.Sqrt(n/free)
	}
	return math.Sqrt(ssr / free)
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
