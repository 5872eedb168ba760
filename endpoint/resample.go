package endpoint

import (
	"math"
	"math/rand/v2"
)

// Resampling of derivative methods.
const (
	draws   = 300 // gives the uncertainty to 4 %
	aroundN = 8   // readings taken on either side of the steepest interval
	minFits = 0.5 // of the draws have to give an end point
)

// A locator finds the end point in readings around one jump; false if it
// cannot. v is rising and distinct.
type locator func(v, y []float64) (float64, bool)

// A local is the stretch of a curve around one jump.
type local struct {
	v, y   []float64
	at     int // v[at] to v[at+1] is the steepest interval
	step   float64
	narrow bool
}

// around cuts out the readings of a jump, as far as its flanks.
func (s *series) around(j steep, n int) local {
	lo := max(j.at+1-n, 0, min(j.left, j.at+1-side))
	hi := min(j.at+1+n, len(s.v), max(j.right+2, j.at+1+side))
	return local{
		v: s.v[lo:hi], y: s.y[lo:hi], at: j.at - lo,
		step:   s.v[j.at+1] - s.v[j.at],
		narrow: s.y[j.at+1]-s.y[j.at] > narrowShare*(s.y[hi-1]-s.y[lo]),
	}
}

// narrowShare is the part of the change of reading over the stretch above
// which a jump counts as narrower than the interval that holds it.
const narrowShare = 0.6

// spread returns the standard uncertainty of what find gives on readings like
// these, and the number of draws that gave an end point. Each draw puts the
// same jump at a random place within the step, because where it fell between
// two readings is chance, and adds noise: the reading is that of the recorded
// volume plus its error. The uncertainty is the root mean square distance from
// the inflection that was put in. The seed is fixed: the same readings give
// the same number.
//
// Where the jump is narrower than the step it is at least step/sqrt(12), the
// standard deviation of a place that may be anywhere in the interval.
func (l *local) spread(s *series, find locator) (float64, int) {
	floor := l.step / math.Sqrt(12)
	f, ok := fitShape(l.v, l.y, l.at, s.noise, s.noiseV)
	if !ok {
		if f, ok = smoothShape(l.v, l.y); !ok {
			return floor, 0
		}
	}
	sum, n := l.draw(s, f, find)
	if float64(n) < minFits*draws {
		return l.step, n
	}
	u := math.Sqrt(sum / float64(n))
	if l.narrow {
		u = max(u, floor)
	}
	return u, n
}

// draw returns the sum of squared errors and the number of draws in it.
func (l *local) draw(s *series, f *shape, find locator) (sum float64, count int) {
	rng := rand.New(rand.NewPCG(1, 2))
	y := make([]float64, len(l.v))
	truth := f.inflection()
	for range draws {
		shift := l.step * (rng.Float64() - 0.5)
		for i, v := range l.v {
			y[i] = f.at(v+s.noiseV*rng.NormFloat64()-shift) + s.noise*rng.NormFloat64()
		}
		if got, ok := find(l.v, y); ok {
			d := got - truth - shift
			sum += d * d
			count++
		}
	}
	return sum, count
}
