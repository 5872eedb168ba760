package titration

import (
	"fmt"
	"math"
)

// An Inflection is where the curve is steepest near an equivalence point.
type Inflection struct {
	Volume float64 // L
	Beyond float64 // L from the equivalence point, with digits of its own
	Value  float64 // reading there
	At     float64 // reading at the equivalence point
}

// widestTurn is how far from an equivalence volume, as a part of it, the
// steepest point is looked for, and no further than half way to a neighbour;
// firstTurn is where the search begins.
const (
	widestTurn = 0.25
	firstTurn  = 1e-13
)

// Turn returns how far from an equivalence volume, whose neighbours are from
// and to, the curve is steepest: the zero of the second derivative nearest to
// it. ok is false where there is none.
func (p *Predictor) Turn(v, from, to float64) (d float64, ok bool, err error) {
	bend := func(d float64) (float64, error) {
		if err := p.Solver.At(Away(v, d)); err != nil {
			return 0, fmt.Errorf("at %.6g mL: %w", v*1e3, err)
		}
		first, second, ok := p.Solver.LnActivitySlope(p.Cell.Species)
		if !ok {
			return math.NaN(), nil
		}
		return -second * math.Copysign(1, first), nil
	}
	left, right := math.Min(widestTurn*v, (v-from)/2), math.Min(widestTurn*v, (to-v)/2)
	for w := firstTurn * v; ; w *= 2 {
		lo, hi := math.Min(w, left), math.Min(w, right)
		if d, ok, err = Rising(bend, -lo, hi); ok || err != nil || lo == left && hi == right {
			return d, ok, err
		}
	}
}

// Inflection finds where the model's curve is steepest near the equivalence
// point list[i], from its exact second derivative.
func (m *Model) Inflection(list []Equivalence, i int) (Inflection, bool, error) {
	v := list[i].Volume
	from, to := Between(list, i)
	d, ok, err := m.Turn(v-m.blank, from-m.blank, to-m.blank)
	if err != nil || !ok {
		return Inflection{}, false, err
	}
	out := Inflection{Volume: v + d, Beyond: d}
	if out.Value, err = m.away(v, d); err == nil {
		out.At, err = m.away(v, 0)
	}
	return out, err == nil, err
}

// away is the reading at a small distance from a volume; NaN where undefined.
func (m *Model) away(v, d float64) (float64, error) {
	y, _, ok, err := m.EvalDecimal(Away(v-m.blank, d), nil)
	if err != nil {
		return math.NaN(), fmt.Errorf("the curve %.3g L from its equivalence point: %w", d, err)
	}
	if !ok {
		return math.NaN(), nil
	}
	return y, nil
}
