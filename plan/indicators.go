package plan

import (
	"math"
	"slices"

	"meniscus/constants"
	"meniscus/titration"
)

// An IndicatorFit is an indicator against one jump.
type IndicatorFit struct {
	constants.Indicator
	Point  int     // index of the jump
	At     float64 // V against SHE, or pH, of the change at the acidity there
	Range  [2]float64
	Error  float64    // L: volume of the change less the equivalence volume
	Span   [2]float64 // L: the same at both ends of the change; NaN where the curve does not reach
	Part   float64    // Error as part of the equivalence volume
	Fits   bool       // the change lies within the accuracy wanted
	Colour [2]constants.Shade
}

// indicators compares every indicator of the kind with every jump, and keeps
// those whose change the curve passes between its neighbouring points, the
// smallest error first.
func (p *Plan) indicators() error {
	kind := constants.RedoxIndicator
	switch p.Setup.Titration.Cell.Sensor {
	case titration.Glass:
		kind = constants.AcidBaseIndicator
	case titration.Ion:
		return nil
	}
	all, err := constants.Indicators(kind)
	if err != nil {
		return err
	}
	for i, pt := range p.points {
		ph := 0.0
		if x, err := p.walk.at(pt.Volume, 0); err == nil && !math.IsNaN(x.PH) {
			ph = x.PH
		}
		rising, err := p.rising(pt)
		if err != nil {
			return err
		}
		var list []IndicatorFit
		for _, ind := range all {
			if !ind.Value.Known || ind.Also != "" || slices.ContainsFunc(list, func(f IndicatorFit) bool { return f.Name == ind.Name }) {
				continue
			}
			f, ok, err := p.fit(ind, i, ph, rising)
			if err != nil {
				return err
			}
			if ok {
				list = append(list, f)
			}
		}
		slices.SortStableFunc(list, func(a, b IndicatorFit) int {
			return int(math.Copysign(1, math.Abs(a.Error)-math.Abs(b.Error)))
		})
		p.Indicators = append(p.Indicators, list...)
	}
	return nil
}

// rising says whether the reading grows along the curve.
func (p *Plan) rising(pt Point) (bool, error) {
	a, err := p.walk.read(pt.Volume, -0.01*pt.Volume)
	if err != nil {
		return false, err
	}
	b, err := p.walk.read(pt.Volume, 0.01*pt.Volume)
	return b > a, err
}

// change is where an indicator changes at a pH: pKa, or the potential against
// SHE.
func (p *Plan) change(ind constants.Indicator, ph float64) float64 {
	if ind.Type != constants.RedoxIndicator || !ind.Slope.Known {
		return ind.Value.Value
	}
	return ind.Value.Value + ind.Slope.Value*ph
}

func (p *Plan) fit(ind constants.Indicator, i int, ph float64, rising bool) (IndicatorFit, bool, error) {
	f := IndicatorFit{Indicator: ind, Point: i, At: p.change(ind, ph), Colour: ind.Colours}
	value := func(pt titration.Point) float64 { return pt.Standard }
	if ind.Type == constants.AcidBaseIndicator {
		value = func(pt titration.Point) float64 { return pt.PH }
		f.Range = [2]float64{ind.From.Value, ind.To.Value}
	} else {
		w := ind.Width(p.Setup.Temperature)
		f.Range = [2]float64{f.At - w, f.At + w}
	}
	if !rising {
		f.Range[0], f.Range[1] = f.Range[1], f.Range[0]
		f.Colour[0], f.Colour[1] = f.Colour[1], f.Colour[0]
	}
	pt := p.points[i]
	d, ok, err := p.walk.where(pt, value, f.At)
	if err != nil || !ok {
		return f, false, err
	}
	f.Error, f.Part = d, d/pt.Volume
	for k, y := range f.Range {
		x, ok, err := p.walk.where(pt, value, y)
		if err != nil {
			return f, false, err
		}
		if f.Span[k] = x; !ok {
			f.Span[k] = math.NaN()
		}
	}
	f.Fits = math.Abs(f.Part) <= p.Accuracy
	return f, true, nil
}
