package report

import (
	"math"
	"slices"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/fit"
	"meniscus/report/figure"
	"meniscus/setup"
)

// Figure gathers what a figure of an evaluation shows: the readings, those left
// out among them; the fitted curve and the reduced residuals, where the
// regression does not refuse; half, equivalence and twice (or each
// equivalence point, where there are several) by the recommended method; and
// the end points of the other methods. Volumes are in mL, values in mV, or pH
// and pIon as they are. It evaluates the model of the fit, so two goroutines
// must not call it with the same evaluation.
func Figure(e *assay.Evaluation) figure.Curve {
	f := figure.Curve{XLabel: figure.Plain("volume added / mL"), YLabel: figure.Plain("potential / mV")}
	if e.Setup != nil {
		f.Title = figure.Plain(clean(e.Setup.Title))
		f.XLabel = figure.Plain("volume of " + titrant(e.Setup) + " added / mL")
	}
	if e.Curve == nil {
		return f
	}
	f.YLabel = figure.Plain(valueAxis(e))
	scale, _ := shown(e.Curve.Kind)
	for _, r := range e.Curve.Readings {
		f.Volume = append(f.Volume, inMillilitres(r.Volume))
		f.Value = append(f.Value, r.Value*scale)
		f.LeftOut = append(f.LeftOut, r.Excluded != "")
	}
	if e.Fit != nil {
		f.ModelVolume, f.ModelValue = fitted(e)
		f.ModelLabel = figure.Plain("fitted curve")
		f.Residual = residualsByReading(e)
		f.ResidualLabel = figure.Plain("(reading − curve) / its standard deviation")
	}
	f.Landmarks = evaluationLandmarks(e)
	for i, m := range e.Methods {
		if i == e.Recommended {
			continue
		}
		for _, p := range m.Points {
			f.Methods = append(f.Methods, figure.Landmark{Label: figure.Plain(inSentence(m.Title)), Volume: inMillilitres(p.Volume), U: inMillilitres(p.StdUnc)})
		}
	}
	return f
}

func titrant(s *setup.Setup) string {
	if c := s.Burette.Contents; len(c) > 0 {
		return formula(c[0].Species)
	}
	return "titrant"
}

func valueAxis(e *assay.Evaluation) string {
	switch e.Curve.Kind {
	case curve.PH:
		return "pH"
	case curve.PIon:
		if e.Setup != nil && e.Setup.Electrode.Ion != "" {
			return "p" + formula(e.Setup.Electrode.Ion)
		}
		return "pIon"
	}
	if e.Setup != nil && e.Setup.Electrode.Reference != "" {
		return "potential against " + clean(e.Setup.Electrode.Reference) + " / mV"
	}
	return "potential / mV"
}

// fitted evaluates the fitted curve at volumes that lie even over the readings
// and ever closer around the equivalence points.
func fitted(e *assay.Evaluation) (v, y []float64) {
	first, last := math.Inf(1), math.Inf(-1)
	for _, r := range e.Curve.Readings {
		first, last = min(first, float64(r.Volume)), max(last, float64(r.Volume))
	}
	if !(last > first) || e.Fit.Model == nil {
		return nil, nil
	}
	scale, _ := shown(e.Curve.Kind)
	for _, x := range closeVolumes(first, last, e.Fit.Equivalences) {
		value, _, ok, err := e.Fit.Model.Eval(x, nil)
		if err != nil || !ok {
			value = math.NaN()
		}
		v, y = append(v, x*1e3), append(y, value*scale)
	}
	return v, y
}

// closeVolumes is 200 even steps and, around each equivalence point, 30 to a
// side from a tenth of its volume down to a millionth.
func closeVolumes(first, last float64, points []fit.Equivalence) []float64 {
	const even, around = 200, 30
	list := []float64{}
	for i := 0; i <= even; i++ {
		list = append(list, first+(last-first)*float64(i)/even)
	}
	for _, q := range points {
		v := float64(q.Volume)
		for k := range around {
			d := v * math.Pow(10, -1-5*float64(k)/(around-1))
			for _, x := range []float64{v - d, v + d} {
				if x > first && x < last {
					list = append(list, x)
				}
			}
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// residualsByReading has one reduced residual for each reading of the curve,
// NaN where the reading took no part in the fit. Reduced, because on the steep
// part an error of volume gives a residual a hundred times the others.
func residualsByReading(e *assay.Evaluation) []float64 {
	list := make([]float64, len(e.Curve.Readings))
	for i, q := range byReading(e) {
		list[i] = math.NaN()
		if q != nil {
			list[i] = q.Reduced
		}
	}
	return list
}

// byReading pairs the readings with their residuals, which are in the same
// order; nil where a reading took no part.
func byReading(e *assay.Evaluation) []*fit.Residual {
	list := make([]*fit.Residual, len(e.Curve.Readings))
	if e.Fit == nil {
		return list
	}
	k := 0
	for i, r := range e.Curve.Readings {
		if k < len(e.Fit.Residuals) && r.Excluded == "" && e.Fit.Residuals[k].Row == r.Row && e.Fit.Residuals[k].Volume == r.Volume {
			list[i] = &e.Fit.Residuals[k]
			k++
		}
	}
	return list
}

func evaluationLandmarks(e *assay.Evaluation) []figure.Landmark {
	var list []figure.Landmark
	points := e.EquivalencePoints
	for _, p := range points {
		m := figure.Landmark{Label: figure.Plain("equivalence"), Volume: inMillilitres(p.Volume), U: inMillilitres(p.StdUnc), Main: true}
		if len(points) > 1 && p.Species != "" {
			m.Label = figure.Plain(formula(p.Species))
		}
		list = append(list, m)
	}
	if len(points) == 1 {
		v := inMillilitres(points[0].Volume)
		list = append(list, figure.Landmark{Label: figure.Plain("half"), Volume: v / 2})
		if last := lastVolume(e.Curve); 2*v <= last {
			list = append(list, figure.Landmark{Label: figure.Plain("twice"), Volume: 2 * v})
		}
	}
	return list
}

// lastVolume is the largest volume read, mL.
func lastVolume(c *curve.Curve) float64 {
	last := math.Inf(-1)
	for _, r := range c.Readings {
		last = max(last, inMillilitres(r.Volume))
	}
	return last
}
