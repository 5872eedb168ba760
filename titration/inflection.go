package titration

import (
	"fmt"
	"math"

	"meniscus/num/dd"
	"meniscus/unit"
)

// An Inflection is where the curve is steepest near an equivalence point.
type Inflection struct {
	Volume float64 // L
	Beyond float64 // L from the equivalence point, with digits of its own
	Value  float64 // reading there
	At     float64 // reading at the equivalence point
}

// widestInflection is how far from the equivalence volume it is looked for, as
// a part of it.
const widestInflection = 0.25

// Inflection finds the zero of d²E/dV² nearest to volume v (L), that of an
// equivalence point, from the model's exact second derivative. It reports
// false where the curve has none within a quarter of v.
func (m *Model) Inflection(v float64) (Inflection, bool, error) {
	curvature := func(d float64) (float64, error) {
		y, slope, second, err := m.second(v, d)
		if math.IsNaN(y) {
			return math.NaN(), err
		}
		return second * math.Copysign(1, slope), err
	}
	w := 1e-13 * v
	for ; w < widestInflection*v; w *= 2 {
		before, err := curvature(-w)
		if err != nil {
			return Inflection{}, false, err
		}
		after, err := curvature(w)
		if err != nil {
			return Inflection{}, false, err
		}
		if before > 0 && after < 0 {
			break
		}
	}
	if w >= widestInflection*v {
		return Inflection{}, false, nil
	}
	lo, hi := -w, w
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		f, err := curvature(mid)
		if err != nil {
			return Inflection{}, false, err
		}
		if f > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	out := Inflection{Volume: v + lo, Beyond: lo}
	var err error
	if out.Value, _, _, err = m.second(v, lo); err == nil {
		out.At, _, _, err = m.second(v, 0)
	}
	return out, err == nil, err
}

// second returns the reading at v+d, its slope and the change of that.
func (m *Model) second(v, d float64) (y, slope, second float64, err error) {
	x := dd.From(v - m.blank).Add(dd.From(d))
	y, slope, ok, err := m.EvalDecimal(unit.Decimal{Coef: x}, nil)
	if err != nil {
		return math.NaN(), 0, 0, fmt.Errorf("the curve %.3g L from its equivalence point: %w", d, err)
	}
	if !ok {
		return math.NaN(), 0, 0, nil
	}
	species, gain, _ := m.gain()
	_, curved, _ := m.Solver.LnActivitySlope(species)
	return y, slope, gain * curved, nil
}
