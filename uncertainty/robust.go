package uncertainty

import (
	"fmt"
	"math"
	"slices"
)

// Median returns the middle reading, or the mean of the two in the middle; NaN
// for none.
func Median(xs []float64) float64 {
	if len(xs) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(xs))
	n := len(s)
	return s[(n-1)/2]/2 + s[n/2]/2
}

// Constants of Algorithm A (ISO 13528:2005, annex C).
const (
	madFactor    = 1.483
	winsorFactor = 1.5
	scaleFactor  = 1.134
)

// AlgorithmA returns the robust mean and standard deviation of ISO 13528:2005,
// annex C: from the median and 1.483 times the median absolute deviation,
// readings beyond 1.5 standard deviations are drawn in to that distance and
// mean and 1.134 times their standard deviation taken again, until both are
// steady to 1e-12. Where more than half of the readings are equal the median
// absolute deviation is 0 and so is the result's standard deviation. It is an
// error if there are fewer than three readings, one is not finite, all are
// equal, or 1000 rounds do not settle.
func AlgorithmA(xs []float64) (mean, sd float64, err error) {
	if err := usable(xs, 3); err != nil {
		return 0, 0, fmt.Errorf("robust mean: %w", err)
	}
	mean = Median(xs)
	drawn := make([]float64, len(xs))
	for i, x := range xs {
		drawn[i] = math.Abs(x - mean)
	}
	sd = madFactor * Median(drawn)
	for range 1000 {
		for i, x := range xs {
			drawn[i] = min(max(x, mean-winsorFactor*sd), mean+winsorFactor*sd)
		}
		m, s := MeanSD(drawn)
		s *= scaleFactor
		settled := math.Abs(m-mean) <= 1e-12*sd && math.Abs(s-sd) <= 1e-12*sd
		mean, sd = m, s
		if settled {
			return mean, sd, nil
		}
	}
	return mean, sd, fmt.Errorf("robust mean: not settled after 1000 rounds, at %g with standard deviation %g", mean, sd)
}
