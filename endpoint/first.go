package endpoint

import (
	"math"

	"meniscus/curve"
	"meniscus/num/smooth"
)

// halfWidths of the smoothing window that are tried, in readings, and how
// quiet the slope has to be: its noise beside its greatest value.
var halfWidths = []int{2, 3, 5, 8, 12}

const quietSlope = 0.05

// smoothedFirst takes the peak of the slope of a local quadratic (Savitzky and
// Golay 1964, from memory, for any spacing): the vertex of the parabola
// through the three greatest slopes. Where the jump is narrower than the step
// that vertex only shows how the branches bend, so the middle of the two
// greatest slopes is taken, as good as the steepest interval. The window is five readings, or the
// narrowest of more that brings the noise of the slope under 5 % of its peak.
func smoothedFirst(c *curve.Curve, opt Options) Result {
	return derivative{
		name: "smoothed-first-derivative", points: 7,
		locate: func(s *series, l *local) locator {
			half := smoothing(s, l)
			if l.narrow {
				return func(v, y []float64) (float64, bool) { return betweenSteepest(v, y, half) }
			}
			return func(v, y []float64) (float64, bool) { return smoothPeak(v, y, half) }
		},
		tabular: func(l *local) []Row {
			out := make([]Row, 0, len(l.v))
			for i := range l.v {
				if slope, ok := slopeOf(l.v, l.y, i, halfWidths[0]); ok {
					out = append(out, Row{Volume: volume(l.v[i]), Value: slope})
				}
			}
			return out
		},
	}.find(c, opt)
}

// smoothing returns the half-width in readings.
func smoothing(s *series, l *local) int {
	half := halfWidths[0]
	for _, half = range halfWidths {
		if 2*half+1 >= len(l.v) {
			return half
		}
		lo := min(max(l.at-half, 0), len(l.v)-2*half-1)
		e, ok := smooth.At(l.v[lo:lo+2*half+1], l.y[lo:lo+2*half+1], l.v[l.at], smooth.Settings{Points: 2*half + 1, Degree: 2})
		if ok && math.Sqrt(e.SlopeGain)*s.noise < quietSlope*e.Slope {
			return half
		}
	}
	return half
}

// slopeOf returns the slope at reading i of the least-squares parabola through
// half readings on either side, fewer at the ends. It is smooth.At with equal
// weights, written out because resampling calls it thousands of times.
func slopeOf(v, y []float64, i, half int) (float64, bool) {
	lo, hi := max(0, i-half), min(len(v), i+half+1)
	v, y, at := v[lo:hi], y[lo:hi], v[i]
	n := float64(len(v))
	var s1, s2, s3, s4, t0, t1, t2 float64
	for k := range v {
		d := v[k] - at
		dd := d * d
		s1, s2, s3, s4 = s1+d, s2+dd, s3+dd*d, s4+dd*dd
		t0, t1, t2 = t0+y[k], t1+d*y[k], t2+dd*y[k]
	}
	// Centred sums, then Cramer's rule for y = a + b d + c d².
	xx, xz, zz := s2-s1*s1/n, s3-s1*s2/n, s4-s2*s2/n
	xy, zy := t1-s1*t0/n, t2-s2*t0/n
	det := xx*zz - xz*xz
	return (xy*zz - zy*xz) / det, det > 1e-12*xx*zz
}

// smoothPeak is the vertex of the slopes.
func smoothPeak(v, y []float64, half int) (float64, bool) {
	best, g, ok := greatestSlope(v, y, half)
	if !ok {
		return 0, false
	}
	return vertex(v[best-1:best+2], g)
}

// betweenSteepest is half-way between the two readings of greatest slope.
func betweenSteepest(v, y []float64, half int) (float64, bool) {
	best, g, ok := greatestSlope(v, y, half)
	if g[0] > g[2] {
		best--
	}
	return 0.5 * (v[best] + v[best+1]), ok
}

// greatestSlope returns the reading with the greatest slope, and the slopes
// before, at and after it. It is no nearer to the ends than two readings: a
// parabola through fewer than five points is too loose there.
func greatestSlope(v, y []float64, half int) (best int, g [3]float64, ok bool) {
	g[1] = math.Inf(-1)
	var prev float64
	for i := 1; i < len(v)-1; i++ {
		slope, ok := slopeOf(v, y, i, half)
		if !ok {
			return 1, g, false
		}
		if best == i-1 {
			g[2] = slope
		}
		if i > 1 && i < len(v)-2 && slope > g[1] {
			best, g[0], g[1] = i, prev, slope
		}
		prev = slope
	}
	return max(best, 1), g, best > 0
}

// vertex of the parabola through three points whose middle one is highest,
// held between the outer two.
func vertex(v []float64, g [3]float64) (float64, bool) {
	d1, d2 := (g[1]-g[0])/(v[1]-v[0]), (g[2]-g[1])/(v[2]-v[1])
	m1, m2 := 0.5*(v[0]+v[1]), 0.5*(v[1]+v[2])
	if !(d1 > d2) || !(m2 > m1) {
		return v[1], v[1] > v[0] && v[2] > v[1]
	}
	x := m1 + (m2-m1)*d1/(d1-d2)
	return min(max(x, v[0]), v[2]), true
}
