package assay

import (
	"fmt"
	"math"
	"strings"

	"meniscus/chem"
	"meniscus/endpoint"
	"meniscus/titration"
	"meniscus/unit"
)

// coupleRule says why the potential at half or twice the equivalence volume
// is not the formal potential of a couple, or "".
func (e *Evaluation) coupleRule(reaction int) string {
	t := e.Setup.Titration
	var ox, red, h float64
	name := ""
	for _, term := range t.System().Reactions[reaction].Terms {
		sp := t.System().Species[term.Species].Name
		c := float64(term.Num) / math.Max(float64(term.Den), 1)
		switch {
		case sp == chem.Electron:
		case sp == chem.Proton:
			h = c
		case c < 0:
			ox -= c
			name += sp + " "
		default:
			red += c
		}
	}
	switch {
	case ox != red:
		return fmt.Sprintf("%g %s give %g reduced, so the ratio of the forms is not enough", ox, strings.TrimSpace(name), red)
	case h != 0 && !e.protonHeld():
		return "H+ takes part and its activity is not held"
	}
	return ""
}

func (e *Evaluation) protonHeld() bool {
	ok, sys := false, e.Setup.System()
	for _, c := range sys.Components() {
		ok = ok || c == chem.Proton
	}
	p := e.Setup.Titration.Predictor()
	tiny, _ := unit.DecimalOf(1e-6)
	if _, err := p.At(tiny); err != nil {
		return false
	}
	first, _, fine := p.Solver.LnActivitySlope(sys.Index(chem.Proton))
	return ok && fine && first == 0
}

// Parts of the uncertainty of a formal potential that all couples share.
const (
	partReference = "reference electrode"
	partJunction  = "liquid junction"
	partOffset    = "offset"
)

// formalPotentials reads each couple's potential at half and twice the
// equivalence volume, where the rule holds, and from the fit.
func (e *Evaluation) formalPotentials() {
	t := e.Setup.Titration
	if t == nil || t.System().Electron() < 0 || len(e.EquivalencePoints) == 0 {
		return
	}
	if len(e.EquivalencePoints) == 1 {
		e.halfTwice()
	}
	if e.Fit != nil {
		e.fittedPotentials()
	}
	e.media()
}

func (e *Evaluation) halfTwice() {
	p := e.EquivalencePoints[0]
	opt, freedom := e.endpointOptions(), 0.0
	if f := e.Fit; opt.Noise.Value == 0 && f != nil && f.Estimated && e.residualsFit() {
		// The few readings around say less about their noise than all do.
		opt.Noise.Value, freedom = f.Noise.Value, f.NoiseFreedom
	}
	half, twice := endpoint.HalfTwice(e.Curve, p.Volume, p.StdUnc, opt)
	for i, c := range e.Setup.Titration.Couples {
		mark, at := twice, "twice the equivalence volume"
		if e.inFlask(c.Reaction) {
			mark, at = half, "half the equivalence volume"
		}
		r := Result{Name: c.Name, Unit: "V", From: at, Freedom: math.Inf(1)}
		if why := e.coupleRule(c.Reaction); why != "" {
			r.Value, r.StdUnc, r.Note = math.NaN(), math.NaN(), "not read: "+why
		} else if mark.Refused != "" {
			r.Value, r.StdUnc, r.Note = math.NaN(), math.NaN(), "not read: "+mark.Refused
		} else {
			e.shePotential(&r, Part{Name: "reading", StdUnc: mark.StdUnc, Note: r.From, Freedom: freedom}, mark.Value, i)
		}
		r.Coverage = coverage(r.Freedom)
		e.FormalPotentials = append(e.FormalPotentials, r)
	}
}

// shePotential fills a formal potential from a reading, with the reference,
// the junction and the H+ term.
func (e *Evaluation) shePotential(r *Result, part Part, reading float64, couple int) {
	el, t := &e.Setup.Electrode, e.Setup.Titration
	c := t.Couples[couple]
	r.Value = reading + el.ReferenceV - el.Offset.Float()
	if c.Protons != 0 { // E0' = E + (RT ln10/F)(m/n) pH
		r.Value += t.Thermal() * math.Ln10 * c.Protons / c.Electrons * e.heldPH()
		r.Note = fmt.Sprintf("for [H+] = 1 mol/L, by %g H+ per %g electrons at pH %g", c.Protons, c.Electrons, e.heldPH())
	}
	r.addParts(
		part,
		Part{Name: partReference, StdUnc: el.ReferenceU, Note: el.Reference},
		Part{Name: partJunction, StdUnc: el.JunctionU, Note: el.JunctionNote},
		Part{Name: partOffset, StdUnc: el.Offset.U, Note: "as stated"},
	)
}

func (e *Evaluation) heldPH() float64 {
	p := e.Setup.Titration.Predictor()
	tiny, _ := unit.DecimalOf(1e-6)
	if pt, err := p.At(tiny); err == nil && !math.IsNaN(pt.PH) {
		return pt.PH
	}
	return 0
}

// fittedPotentials reports the couples' potentials from the whole curve. With
// a fitted slope the reading at equal concentrations of both forms is slope
// times E0' less the reference, so that is what is given against SHE.
func (e *Evaluation) fittedPotentials() {
	slope := -1
	for k, q := range e.Fit.Estimates {
		if q.Kind == titration.SlopeFraction {
			slope = k
		}
	}
	for k, q := range e.Fit.Estimates {
		if q.Kind != titration.CouplePotential {
			continue
		}
		s, g := e.Setup.Titration.Cell.Slope, make([]float64, len(e.Fit.Estimates))
		if s == 0 {
			s = 1
		}
		if slope >= 0 {
			s, g[slope] = e.Fit.Estimates[slope].Value, q.Value
		}
		g[k] = s
		u, freedom := e.Fit.Propagate(g)
		r := Result{Name: e.Setup.Titration.Couples[q.Index].Name, Unit: "V", From: "whole curve", Freedom: math.Inf(1)}
		el := &e.Setup.Electrode
		r.Value = s * q.Value
		r.addParts(
			Part{Name: "regression", StdUnc: u, Freedom: limited(freedom)},
			Part{Name: partReference, StdUnc: el.ReferenceU, Note: el.Reference},
			Part{Name: partJunction, StdUnc: el.JunctionU, Note: el.JunctionNote},
			Part{Name: partOffset, StdUnc: el.Offset.U, Note: "as stated"},
		)
		r.Coverage = coverage(r.Freedom)
		e.FormalPotentials = append(e.FormalPotentials, r)
	}
}

// limited gives degrees of freedom as a Part has them: 0 where not limited.
func limited(freedom float64) float64 {
	if math.IsInf(freedom, 1) {
		return 0
	}
	return freedom
}
