package uncertainty

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// GrubbsCritical returns the value that Grubbs' statistic of n normal readings
// exceeds with probability alpha, testing both ends; for one end chosen
// beforehand double alpha. It is G = (n-1)/sqrt(n) sqrt(t²/(n-2+t²)), t with
// n-2 degrees of freedom exceeded with probability alpha/(2n) (Grubbs 1969,
// from memory), as in the printed tables. NaN for n below 3 or alpha outside 0
// to 1.
func GrubbsCritical(n int, alpha float64) float64 {
	if n < 3 || !(alpha > 0 && alpha < 1) {
		return math.NaN()
	}
	m := float64(n)
	t := tTwoSided(alpha/m, m-2)
	return (m - 1) / math.Sqrt(m) / math.Sqrt(1+(m-2)/t/t)
}

// Grubbs returns the largest distance from the mean in standard deviations,
// and which reading has it (the first of equals). It is an error if there are
// fewer than three readings, one is not finite, or all are equal.
func Grubbs(xs []float64) (g float64, index int, err error) {
	if err := usable(xs, 3); err != nil {
		return 0, 0, fmt.Errorf("grubbs test: %w", err)
	}
	mean, sd := MeanSD(xs)
	for i, x := range xs {
		if d := math.Abs(x-mean) / sd; d > g {
			g, index = d, i
		}
	}
	return g, index, nil
}

// MeanSD returns the mean and the standard deviation of a sample, NaN for the
// mean of none and for the standard deviation of one.
func MeanSD(xs []float64) (mean, sd float64) {
	n := float64(len(xs))
	for _, x := range xs {
		mean += x / n
	}
	ss, rest := 0.0, 0.0
	for _, x := range xs {
		ss += (x - mean) * (x - mean)
		rest += x - mean
	}
	if n == 0 {
		return math.NaN(), math.NaN()
	}
	return mean + rest/n, math.Sqrt((ss - rest*rest/n) / (n - 1))
}

func usable(xs []float64, least int) error {
	if len(xs) < least {
		return fmt.Errorf("%d readings, at least %d are needed", len(xs), least)
	}
	for i, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("reading %d is %v", i+1, x)
		}
	}
	if slices.Min(xs) == slices.Max(xs) {
		return errors.New("all readings are equal")
	}
	return nil
}

// dixonAlphas are the columns of dixonTable.
var dixonAlphas = []float64{0.10, 0.05, 0.04, 0.02, 0.01}

// dixonTable has the critical values of Q = gap/range, testing both ends
// (Rorabacher, Anal. Chem. 63 (1991) 139, as reproduced in Harvey, LibreTexts,
// appendix 6, and for n above 10 in the tables of a general statistics
// package). 0 is not tabulated here.
var dixonTable = map[int][5]float64{
	3:  {0.941, 0.970, 0.976, 0.988, 0.994},
	4:  {0.765, 0.829, 0.846, 0.889, 0.926},
	5:  {0.642, 0.710, 0.729, 0.780, 0.821},
	6:  {0.560, 0.625, 0.644, 0.698, 0.740},
	7:  {0.507, 0.568, 0.586, 0.637, 0.680},
	8:  {0.468, 0.526, 0.543, 0.590, 0.634},
	9:  {0.437, 0.493, 0.510, 0.555, 0.598},
	10: {0.412, 0.466, 0.483, 0.527, 0.568},
	11: {0.392, 0.444, 0, 0, 0.542},
	12: {0.376, 0.426, 0, 0, 0.522},
	13: {0.361, 0.410, 0, 0, 0.503},
	14: {0.349, 0.396, 0, 0, 0.488},
	15: {0.338, 0.384, 0, 0, 0.475},
	20: {0.300, 0.342, 0, 0, 0.425},
	25: {0.277, 0.317, 0, 0, 0.393},
	30: {0.260, 0.298, 0, 0, 0.372},
}

// DixonCritical returns the value that Dixon's Q (gap over range, r10) of n
// normal readings exceeds with probability alpha, testing both ends. It is
// tabulated for n of 3 to 15, 20, 25 and 30 and alpha of 0.10, 0.05 and 0.01,
// up to n = 10 also 0.04 and 0.02; others are an error.
func DixonCritical(n int, alpha float64) (float64, error) {
	row, ok := dixonTable[n]
	column := slices.Index(dixonAlphas, alpha)
	if !ok || column < 0 || row[column] == 0 {
		return 0, fmt.Errorf("dixon test: no critical value for %d readings at %g", n, alpha)
	}
	return row[column], nil
}

// Dixon returns Q, the gap between the more distant extreme reading and its
// neighbour over the range, and which reading that is. It is an error if there
// are fewer than three readings, one is not finite, or all are equal.
func Dixon(xs []float64) (q float64, index int, err error) {
	if err := usable(xs, 3); err != nil {
		return 0, 0, fmt.Errorf("dixon test: %w", err)
	}
	s := slices.Sorted(slices.Values(xs))
	n := len(s)
	low, high, width := s[1]-s[0], s[n-1]-s[n-2], s[n-1]-s[0]
	if low > high {
		return low / width, slices.Index(xs, s[0]), nil
	}
	return high / width, slices.Index(xs, s[n-1]), nil
}
