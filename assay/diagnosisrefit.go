package assay

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/curve"
	"meniscus/fit"
	"meniscus/setup"
	"meniscus/titration"
)

// A cause is something that can be fitted along.
type cause struct {
	name  string
	param titration.Parameter
	in    *setup.Setup // with the impurity; nil is the setup itself
	// say turns a fit with it into words; false where the size makes no sense.
	say func(d *diagnosis, x *fit.Extension) (Finding, bool)
}

// causes lists what is tried. Each is one row: a further cause is a further
// row and its words.
func (d *diagnosis) causes() []cause {
	e := d.e
	list := []cause{
		{name: "lag", param: titration.Parameter{Kind: titration.Lag, Name: "lag"}, say: sayLag},
		{name: "drift", param: titration.Parameter{Kind: titration.Drift, Name: "drift"}, say: sayDrift},
		{name: "shift", param: titration.Parameter{Kind: titration.Blank, Name: "blank", Unit: "L"}, say: sayShift},
	}
	if e.Curve.Kind == curve.PH && e.Setup.System().Electron() < 0 {
		for _, burette := range []bool{true, false} {
			if s, p, err := e.Setup.WithCarbonate(burette); err == nil {
				list = append(list, cause{name: "carbonate", param: p, in: s, say: sayCarbonate})
			}
		}
	}
	if e.Setup.System().Electron() < 0 {
		list = append(list, d.constants()...)
	}
	return slices.DeleteFunc(list, func(c cause) bool {
		return slices.ContainsFunc(e.Fit.Estimates, func(q fit.Estimate) bool {
			return q.Kind == c.param.Kind && q.Index == c.param.Index && c.in == nil
		})
	})
}

// mostConstants of the chemistry that are doubted.
const mostConstants = 3

// constants are those of reactions of what is sought.
func (d *diagnosis) constants() []cause {
	var list []cause
	for i, rx := range d.e.Setup.System().Reactions {
		name := d.e.Setup.Reactions[i]
		touches := false
		for _, f := range d.e.targets() {
			for _, t := range rx.Terms {
				touches = touches || t.Species == f.Species && d.e.Setup.System().Species[t.Species].Name != chem.Proton
			}
		}
		if touches && len(list) < mostConstants {
			list = append(list, cause{name: "constant", say: sayConstant, param: titration.Parameter{
				Kind: titration.LnConstant, Index: i, Name: name.Kind + " of " + name.Equation,
			}})
		}
	}
	return list
}

// A trial is a cause with the fit it gave.
type trial struct {
	cause
	x       *fit.Extension
	t       *titration.Titration
	finding Finding
}

// refits looks for causes by fitting with them. Readings far off are either
// what a cause does to them, or slips: the shorter explanation counts.
func (d *diagnosis) refits() {
	e := d.e
	all, found, err := d.search(e.Curve, e.Fit)
	if err != nil {
		return
	}
	rest, off := withoutFar(e.Curve, e.Fit)
	if len(off) == 0 || 10*len(off) > e.Fit.Points+9 {
		d.found = append(d.found, found...)
		return
	}
	fewer, others, err := d.search(rest, e.Fit)
	if err != nil || fewer > all-alikeWithin-2*float64(len(off)) {
		d.found = append(d.found, found...)
		return
	}
	for _, q := range off {
		d.add(d.sayOutlier(q, rest))
	}
	d.found = append(d.found, others...)
}

// search returns the sum of squares that the causes found leave, and these.
func (d *diagnosis) search(c *curve.Curve, r *fit.Result) (left float64, found []Finding, err error) {
	t := *d.e.Setup.Titration
	t.Cell.Known = true
	x, err := fit.NewExtender(c, &t, r)
	if err != nil {
		return 0, nil, err
	}
	left = x.SSR()
	causes, at := d.causes(), &t
	for range mostCauses {
		trials := d.try(x, at, causes)
		if len(trials) == 0 {
			break
		}
		best := trials[0]
		d.compare(&best, trials[1:])
		found, left = append(found, best.finding), best.x.After
		x, at = x.Keep(best.t, best.x), best.t
		causes = slices.DeleteFunc(causes, func(c cause) bool { return c.name == best.name || c.in != nil })
	}
	return left, found, nil
}

// try fits with each cause and returns those that chance does not explain,
// the best first.
func (d *diagnosis) try(x *fit.Extender, t *titration.Titration, causes []cause) []trial {
	var list []trial
	for _, c := range causes {
		tr := trial{cause: c, t: t}
		var err error
		if c.in == nil {
			tr.x, err = x.With(c.param)
		} else {
			own := *c.in.Titration
			own.Cell.Known = true
			tr.t = &own
			tr.x, err = x.WithIn(&own, translate(x.Parameters(), t, &own), c.param)
		}
		if err != nil {
			continue
		}
		p := math.Min(1, tr.x.P*float64(len(causes)))
		if p > possibleBelow {
			continue
		}
		var ok bool
		if tr.finding, ok = c.say(d, tr.x); !ok {
			continue
		}
		tr.finding.P, tr.finding.Confidence = p, Possible
		list = append(list, tr)
	}
	slices.SortStableFunc(list, func(a, b trial) int {
		switch {
		case a.x.After < b.x.After:
			return -1
		case a.x.After > b.x.After:
			return 1
		}
		return 0
	})
	return list
}

// compare names what explains the readings as well, and settles confidence.
func (d *diagnosis) compare(best *trial, others []trial) {
	f := &best.finding
	variance := best.x.After / float64(max(best.x.Result.Freedom, 1))
	for _, o := range others {
		if (o.x.After-best.x.After)/variance < alikeWithin {
			f.Alike = append(f.Alike, o.finding.Title)
		}
	}
	if f.P < likelyBelow && len(f.Alike) == 0 {
		f.Confidence = Likely
	}
	f.Evidence += fmt.Sprintf("; with it the sum of squares falls from %s to %s (F = %s, %s by chance for all causes tried)", figures(best.x.Before), figures(best.x.After), figures(best.x.F), chance(f.P))
	f.Evidence += d.effect(best.x)
}

// effect says what the cause does to the equivalence volume.
func (d *diagnosis) effect(x *fit.Extension) string {
	if len(x.Result.Equivalences) == 0 || len(d.e.Fit.Equivalences) == 0 {
		return ""
	}
	was := d.e.Fit.Equivalences[0]
	for _, q := range x.Result.Equivalences {
		if q.Species == was.Species {
			return fmt.Sprintf("; V_e is %s mL with it, %s mL without", measure(float64(q.Volume)*1e3, float64(q.StdUnc)*1e3), measure(float64(was.Volume)*1e3, float64(was.StdUnc)*1e3))
		}
	}
	return ""
}

// translate gives parameters the indices of another titration of the same
// chemistry.
func translate(list []titration.Parameter, from, to *titration.Titration) []titration.Parameter {
	out := slices.Clone(list)
	for k := range out {
		p := &out[k]
		switch p.Kind {
		case titration.FlaskConcentration, titration.BuretteConcentration:
			p.Index = to.System().Index(from.System().Species[p.Index].Name)
		case titration.CouplePotential:
			p.Index = slices.IndexFunc(to.Couples, func(c titration.Couple) bool { return c.Name == from.Couples[p.Index].Name })
		case titration.LnConstant:
			name := from.System().Reactions[p.Index].Name
			for i, rx := range to.System().Reactions {
				if rx.Name == name {
					p.Index = i
				}
			}
		}
	}
	return out
}

// withoutFar returns the curve without the readings far off, and these.
func withoutFar(c *curve.Curve, r *fit.Result) (*curve.Curve, []fit.Residual) {
	var off []fit.Residual
	out := *c
	out.Readings = slices.Clone(c.Readings)
	for _, q := range r.Residuals {
		if !(math.Abs(q.Reduced) > farOff) {
			continue
		}
		for i := range out.Readings {
			x := &out.Readings[i]
			if x.Row == q.Row && x.Volume == q.Volume && x.Value == q.Value && x.Excluded == "" {
				x.Excluded = "far off the curve"
				off = append(off, q)
				break
			}
		}
	}
	return &out, off
}

// figures writes a number with three figures.
func figures(x float64) string { return strings.TrimSpace(fmt.Sprintf("%.3g", x)) }

// chance writes a probability.
func chance(p float64) string {
	if p < 1e-6 {
		return "less than one in a million"
	}
	return fmt.Sprintf("%.2g %%", 100*p)
}
