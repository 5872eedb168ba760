package assay

import (
	"fmt"
	"math"

	"meniscus/fit"
	"meniscus/titration"
)

// A Profile is an interval of 95 % by the sum of squares of the regression,
// beside what ± k u says.
type Profile struct {
	Name, Unit string
	Value      float64
	Low, High  float64 // ±Inf where the readings leave it open
	Half       float64 // k u
	Differs    bool    // an end lies further than a tenth of k u from ± k u
	Refused    string  // why there is none; "" where there is
}

// profiles gathers the intervals of equivalence points and parameters, and
// carries those of the equivalence points over to the concentrations.
func (e *Evaluation) profiles() {
	if e.Fit == nil {
		return
	}
	for i, q := range e.Fit.Equivalences {
		if q.Profile == nil || !q.Visible {
			continue
		}
		name := EndPoint
		if len(e.Fit.Equivalences) > 1 {
			name = fmt.Sprintf("%s,%d (%s)", EndPoint, i+1, q.Species)
		}
		e.Profiles = append(e.Profiles, profileOf(name, "mL", float64(q.Volume), *q.Profile, 1e3))
	}
	for _, q := range e.Fit.Estimates {
		if q.Profile == nil {
			continue
		}
		scale, unit := 1.0, q.Unit
		if unit == "L" {
			scale, unit = 1e3, "mL"
		}
		one, _ := q.Shown(1, 0)
		e.Profiles = append(e.Profiles, profileOf(q.Name, unit, q.Value, *q.Profile, scale*one))
	}
	if e.Recommended == 0 {
		for _, r := range e.Concentrations {
			e.profileOfResult(r)
		}
	}
}

func profileOf(name, unit string, x float64, i fit.Interval, scale float64) Profile {
	p := Profile{Name: name, Unit: unit, Value: x * scale, Low: i.Low * scale, High: i.High * scale, Half: i.Half * math.Abs(scale), Differs: i.Differs(x), Refused: i.Refused}
	if p.Low > p.High {
		p.Low, p.High = p.High, p.Low
	}
	return p
}

// profileOfResult carries the interval of the equivalence volume over to a
// concentration; what else the concentration rests on joins in quadrature on
// either side.
func (e *Evaluation) profileOfResult(r Result) {
	q := fitPoint(e.Fit, r.Name)
	if q == nil && len(e.Fit.Equivalences) == 1 {
		q = &e.Fit.Equivalences[0]
	}
	if q == nil || q.Profile == nil {
		return
	}
	p := Profile{Name: "result c(" + r.Name + ")", Unit: r.Unit, Value: r.Value, Half: r.Expanded()}
	blank := e.Setup.Blank.Float()
	net := float64(q.Volume) - blank
	switch {
	case q.Profile.Refused != "":
		p.Refused = q.Profile.Refused
	case len(e.Setup.Extra) > 0:
		p.Refused = "it hangs on what was fitted besides"
	case !(q.Profile.Low > blank):
		p.Refused = "the readings leave the equivalence volume open"
	default:
		low, high := r.Value*(q.Profile.Low-blank)/net, r.Value*(q.Profile.High-blank)/net
		for _, t := range e.Fit.Estimates {
			if t.Kind == titration.BuretteConcentration && e.Setup.System().Species[t.Index].Name == r.Name {
				low, high = r.Value*net/(q.Profile.High-blank), r.Value*net/(q.Profile.Low-blank)
			}
		}
		rest := 0.0
		for _, part := range r.Parts {
			if !part.Random {
				rest = math.Hypot(rest, part.StdUnc*r.Coverage)
			}
		}
		i := fit.Interval{Low: r.Value - math.Hypot(r.Value-low, rest), High: r.Value + math.Hypot(high-r.Value, rest), Half: p.Half}
		p.Low, p.High, p.Differs = i.Low, i.High, i.Differs(r.Value)
	}
	e.Profiles = append(e.Profiles, p)
}
