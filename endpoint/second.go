package endpoint

import (
	"meniscus/curve"
	"meniscus/unit"
)

// secondDerivative takes the zero of the second difference, by the straight
// line between the last positive and the first negative one. A second
// difference is the change of slope from one interval to the next over the
// distance of their middles. It stands at the mean of its three readings, where
// it is exact for a cubic; for equal steps that is the middle one.
func secondDerivative(c *curve.Curve, opt Options) Result {
	return derivative{
		name: "second-derivative", points: 4,
		locate:  func(*series, *local) locator { return secondZero },
		tabular: secondDifferences,
	}.find(c, opt)
}

func secondZero(v, y []float64) (float64, bool) {
	i := steepestOf(v, y)
	p1, d1, ok1 := secondAt(v, y, i)
	p2, d2, ok2 := secondAt(v, y, i+1)
	if !ok1 || !ok2 || !(d1 >= 0 && d2 <= 0 && d1-d2 > 0) {
		return 0, false
	}
	return p1 + (p2-p1)*d1/(d1-d2), true
}

// secondAt returns the second difference around reading i and where it stands.
func secondAt(v, y []float64, i int) (at, value float64, ok bool) {
	h1, h2 := v[i]-v[i-1], v[i+1]-v[i]
	if !(h1 > 0 && h2 > 0) {
		return 0, 0, false
	}
	return v[i] + (h2-h1)/3, ((y[i+1]-y[i])/h2 - (y[i]-y[i-1])/h1) / (0.5 * (h1 + h2)), true
}

func secondDifferences(l *local) []Row {
	var out []Row
	for i := 1; i < len(l.v)-1; i++ {
		if at, value, ok := secondAt(l.v, l.y, i); ok {
			out = append(out, Row{Volume: volume(at), Value: value})
		}
	}
	return out
}

func volume(v float64) unit.Volume { return unit.Volume(v) }
