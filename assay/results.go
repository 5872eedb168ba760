package assay

import (
	"fmt"
	"math"

	"meniscus/fit"
	"meniscus/setup"
	"meniscus/titration"
)

// main returns the end point that belongs to a sought species: its own, or
// the last one.
func (e *Evaluation) mainPoint(species string) *Point {
	points := e.EquivalencePoints
	for i := range points {
		if points[i].Species == species {
			return &points[i]
		}
	}
	if len(points) == 0 {
		return nil
	}
	return &points[0]
}

func (e *Evaluation) concentrations() {
	if e.Setup.Titration == nil {
		e.ratioOnly()
		return
	}
	targets, points := e.groups()
	for i := range targets {
		e.concentration(targets[i], points[i])
	}
}

// concentration turns equivalence volumes into the concentrations that give
// them, through the stoichiometry of the titration: those of the portions the
// species are in, where the flask was made of portions.
func (e *Evaluation) concentration(sought []setup.Target, points []*Point) {
	t := e.Setup.Titration
	known := e.knowns(sought)
	var params []titration.Parameter
	for _, f := range sought {
		i := t.System().Index(f.Species)
		if i < 0 {
			e.warnf("no concentration of %s is computed: %s", f.Species, f.Unfound)
			return
		}
		params = append(params, titration.Parameter{Kind: side(f.InBurette), Index: i, Name: "c(" + f.Species + ")", Unit: "mol/L"})
	}
	for _, k := range known {
		params = append(params, k.parameters(t)...)
	}
	m, err := t.NewModel(params, titration.Potential)
	if err != nil {
		e.warnf("no concentration is computed: %v", err)
		return
	}
	found, ok := solve(m, points, e.Setup.Blank.Float(), sought[0].InBurette)
	if !ok {
		for i, f := range sought {
			if v, b := float64(points[i].Volume), e.Setup.Blank.Float(); v <= b {
				e.warnf("no concentration of %s: the blank, %.4g mL, is no smaller than the end point, %.4g mL", f.Species, b*1e3, v*1e3)
				continue
			}
			e.warnf("no concentration of %s gives an equivalence volume of %.4g mL%s in this chemistry", f.Species, (float64(points[i].Volume)-e.Setup.Blank.Float())*1e3, e.lessBlank())
		}
		return
	}
	for i, f := range sought {
		r := Result{Name: f.Species, Value: found.values[i], Unit: "mol/L", From: e.Methods[e.Recommended].Name}
		b := budget{e: e, r: &r, f: f, known: known, portion: e.Setup.Flask.Volume, points: e.withExtras(points, f, found.weight[i]), weight: found.weight[i], slope: found.slope[i]}
		r.Way = b.way()
		if v, in := e.portion(f); in {
			b.portion = v
			b.scale(e.Setup.Flask.Volume.Float() / v.Float())
		}
		b.common()
		b.concentrations()
		r.addParts()
		e.Concentrations = append(e.Concentrations, r)
		e.contents(f, r)
	}
}

func (e *Evaluation) lessBlank() string {
	if e.Setup.Blank.Float() == 0 {
		return ""
	}
	return ", the blank subtracted,"
}

func side(burette bool) titration.ParameterKind {
	if burette {
		return titration.BuretteConcentration
	}
	return titration.FlaskConcentration
}

// portion returns the volume that a sought species of the flask was in; false
// where it is in the burette, or in several portions.
func (e *Evaluation) portion(f setup.Target) (setup.Value, bool) {
	var v setup.Value
	n := 0
	if !f.InBurette {
		for _, c := range e.Setup.Flask.Contents {
			if holds(c, f.Species) {
				v, n = c.Volume, n+1
			}
		}
	}
	return v, n == 1
}

func holds(c setup.Content, species string) bool {
	for _, ion := range c.Ions {
		if ion.Species.Name == species {
			return true
		}
	}
	return c.Species == species
}

// aliquotFactor is how many times the aliquot is in the whole solution of the
// sample, with its relative standard uncertainty.
func (e *Evaluation) aliquotFactor() (factor, rel float64) {
	s := e.Setup.Sample
	part, whole := s.Aliquot.Float(), s.MadeUpTo.Float()
	switch {
	case part == 0 && whole == 0:
		return 1, 0
	case part == 0 || whole == 0:
		missing := "aliquot"
		if part > 0 {
			missing = "made up to"
		}
		e.Warnings = append(e.Warnings, "the sample has no "+missing+": all of it is taken to be in the flask")
		return 1, 0
	case part > whole:
		e.Warnings = append(e.Warnings, "the aliquot is larger than what the sample was made up to")
	}
	return whole / part, math.Hypot(s.MadeUpTo.U/whole, s.Aliquot.U/part)
}

// lessBlankInFit takes the blank out of the concentrations that the regression
// found: in it the analyte stands for all that uses titrant up. Amounts in the
// flask are in proportion to the net volume, the titrant in inverse proportion.
func (e *Evaluation) lessBlankInFit() {
	blank, f := e.Setup.Blank.Float(), e.Fit
	if blank == 0 || len(f.Equivalences) == 0 {
		return
	}
	n := len(f.Estimates)
	for i := range f.Estimates {
		q := &f.Estimates[i]
		if q.Kind != titration.FlaskConcentration && q.Kind != titration.BuretteConcentration {
			continue
		}
		gross := float64(f.Equivalences[0].Volume)
		if p := fitPoint(f, e.Setup.System().Species[q.Index].Name); p != nil {
			gross = float64(p.Volume)
		}
		k := 1 - blank/gross
		if q.Kind == titration.BuretteConcentration {
			k = 1 / k
		}
		if !(k > 0) {
			continue
		}
		q.Value, q.StdUnc = q.Value*k, q.StdUnc*k
		if p := q.Profile; p != nil {
			p.Low, p.High, p.Half = p.Low*k, p.High*k, p.Half*k
		}
		for j := range n {
			f.Covariance[i*n+j] *= k
			f.Covariance[j*n+i] *= k
		}
	}
	e.Assumed = append(e.Assumed, fmt.Sprintf("the blank of %.4g mL is taken out of the concentrations of the regression in proportion to the volumes", blank*1e3))
}

func fitPoint(f *fit.Result, species string) *fit.Equivalence {
	for i := range f.Equivalences {
		if f.Equivalences[i].Species == species {
			return &f.Equivalences[i]
		}
	}
	return nil
}
