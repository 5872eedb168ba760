package endpoint

import "meniscus/curve"

// steepestInterval takes the middle of the interval with the greatest dE/dV.
func steepestInterval(c *curve.Curve, opt Options) Result {
	return derivative{
		name: "steepest-interval", points: 2,
		locate:  func(*series, *local) locator { return middleOfSteepest },
		tabular: firstDifferences,
	}.find(c, opt)
}

func middleOfSteepest(v, y []float64) (float64, bool) {
	i := steepestOf(v, y)
	return 0.5 * (v[i] + v[i+1]), true
}

// steepestOf leaves out the outermost interval on either side: an end point
// there has no neighbour to be compared with.
func steepestOf(v, y []float64) int {
	best, slope := 1, -1.0
	for i := 1; i < len(v)-2; i++ {
		if h := v[i+1] - v[i]; h > 0 && (y[i+1]-y[i])/h > slope {
			best, slope = i, (y[i+1]-y[i])/h
		}
	}
	return best
}

func firstDifferences(l *local) []Row {
	out := make([]Row, len(l.v)-1)
	for i := range out {
		h := l.v[i+1] - l.v[i]
		out[i] = Row{Volume: volume(0.5 * (l.v[i] + l.v[i+1])), Value: (l.y[i+1] - l.y[i]) / h}
	}
	return out
}
