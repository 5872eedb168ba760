package titration

import (
	"math"

	"meniscus/unit"
)

// What makes a jump, common practice put into numbers: the curve around the
// equivalence point is more than jumpRatio times as steep as the flattest
// stretch on either side up to the neighbouring equivalence points, and across
// it ln a changes by more than leastRise, 10 mV for one electron.
const (
	jumpRatio = 2
	leastRise = 0.4
)

// The curve is looked at across a window: from 2 % of the volume before to 2 %
// after, but no further than a tenth of the way to a neighbour. The steepest
// half of it counts, as a solid that begins to fall bends the curve sharply just
// before the equivalence point. Either side is sampled in flatSamples parts.
const (
	windowPart    = 0.02
	neighbourPart = 0.1
	flatSamples   = 12
)

// sameVolume is the part of a volume within which two points are one.
const sameVolume = 1e-6

// Between returns the volumes to which the curve around equivalence i of a list
// belongs: those of its neighbours, or 0 and twice its own. Species that are
// used up at the same volume are one point.
func Between(list []Equivalence, i int) (from, to float64) {
	v := list[i].Volume
	from, to = 0, math.Inf(1)
	for _, e := range list {
		switch {
		case math.Abs(e.Volume-v) < sameVolume*v:
		case e.Volume < v:
			from = math.Max(from, e.Volume)
		default:
			to = math.Min(to, e.Volume)
		}
	}
	if math.IsInf(to, 1) {
		to = 2 * v
	}
	return from, to
}

// Shows says whether equivalence i of a list shows as a jump of the curve that
// the sensor follows. Of several at one volume the first stands for all.
func (m *Model) Shows(list []Equivalence, i int) bool {
	if i > 0 && list[i].Volume-list[i-1].Volume < sameVolume*list[i].Volume {
		return false
	}
	v := list[i].Volume - m.blank
	from, to := Between(list, i)
	from, to = math.Max(0, from-m.blank), to-m.blank
	if v <= 0 || to <= v {
		return false
	}
	h := math.Min(windowPart*v, neighbourPart*math.Min(v-from, to-v))
	var ln [5]float64
	for k := range ln {
		ln[k], _ = m.lnAt(v + h*(float64(k)/2-1))
	}
	steep := 0.0
	for k := range 3 {
		steep = math.Max(steep, math.Abs(ln[k+2]-ln[k])/h)
	}
	rise := math.Abs(ln[4] - ln[0])
	return rise > leastRise && steep > jumpRatio*m.flattest(from, v) && steep > jumpRatio*m.flattest(v, to)
}

// flattest returns the least slope of ln a between two volumes, 1/L; where
// nothing is defined it is 0.
func (m *Model) flattest(from, to float64) float64 {
	least := math.Inf(1)
	for k := 1; k < flatSamples; k++ {
		if _, s := m.lnAt(from + (to-from)*float64(k)/flatSamples); math.Abs(s) < least {
			least = math.Abs(s)
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// lnAt returns ln a of what the sensor follows and its slope; NaN where it is
// undetermined or the solver fails.
func (m *Model) lnAt(v float64) (ln, slope float64) {
	if m.Solver.At(Exact(v)) != nil {
		return math.NaN(), math.NaN()
	}
	ln, ok := m.Solver.LnActivity(m.Cell.Species)
	if !ok {
		return math.NaN(), math.NaN()
	}
	slope, _, _ = m.Solver.LnActivitySlope(m.Cell.Species)
	return ln, slope
}

// Exact is the shortest decimal of a volume to a nanolitre, which undoes the
// rounding of its computation.
func Exact(v float64) unit.Decimal {
	d, _ := unit.DecimalOf(math.Round(v*1e12) / 1e12)
	return d
}

// Away is a volume at a small distance from another one, which keeps the
// distance's own digits.
func Away(v, d float64) unit.Decimal {
	x, _ := unit.DecimalOf(d)
	return Exact(v).Add(x)
}

// finest is how close, in litres, a bisection looks: far below any curve, and
// within what the decimals of a volume can hold.
const finest = 1e-28

// Rising finds by bisection, to the last digit, where f turns from negative to
// positive between lo and hi. ok is false where the ends do not have these
// signs.
func Rising(f func(float64) (float64, error), lo, hi float64) (x float64, ok bool, err error) {
	a, err := f(lo)
	if err != nil || !(a < 0) {
		return 0, false, err
	}
	b, err := f(hi)
	if err != nil || !(b > 0) {
		return 0, false, err
	}
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi || hi-lo < finest {
			break
		}
		y, err := f(mid)
		if err != nil {
			return 0, false, err
		}
		if y < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2, true, nil
}
