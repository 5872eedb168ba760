package assay

import (
	"math"

	"meniscus/fit"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

// takeExtras puts what was fitted besides what is sought into the titration
// that amounts are worked out with: a blank, and impurities that react. It
// reports whether a blank was fitted, which then replaces the one stated.
func (e *Evaluation) takeExtras() (blank bool) {
	var own *setup.Setup
	for _, q := range e.Fit.Estimates {
		if q.Kind != titration.Blank && !q.Free {
			continue
		}
		if own == nil {
			s, t := *e.Setup, *e.Setup.Titration
			t.Problem, s.Titration, own = t.Problem.Clone(), &t, &s
		}
		x, _ := unit.DecimalOf(math.Max(q.Value, 0))
		switch q.Kind {
		case titration.Blank:
			x, _ = unit.DecimalOf(q.Value)
			blank, e.blank = true, nil
			own.Blank = setup.Value{X: x, Text: "fitted"} // its uncertainty is in the regression's
		case titration.FlaskConcentration:
			own.Titration.Problem.SetFlask(q.Index, x.Mul(own.Titration.Problem.Volume()))
		case titration.BuretteConcentration:
			own.Titration.Problem.SetBurette(q.Index, x)
		}
	}
	if own != nil {
		e.Setup = own
	}
	return blank
}

// withExtras gives the equivalence point of the regression the uncertainty
// that the concentration has from it where a blank or an impurity was fitted
// along: the two hang together.
func (e *Evaluation) withExtras(points []*Point, f setup.Target, weight []float64) []*Point {
	if e.Recommended != 0 || e.Fit == nil || len(e.Setup.Extra) == 0 || len(points) != 1 || weight[0] == 0 {
		return points
	}
	q := *points[0]
	for _, x := range e.Fit.Estimates {
		if isTarget(x, f, e.Setup) {
			q.StdUnc = unit.Volume(x.StdUnc / math.Abs(weight[0]))
		}
	}
	return []*Point{&q}
}

func isTarget(x fit.Estimate, f setup.Target, s *setup.Setup) bool {
	return x.Kind == side(f.InBurette) && x.Index == s.System().Index(f.Species)
}
