package report

import (
	"fmt"
	"math"
	"strings"

	"meniscus/assay"
	"meniscus/setup"
)

// A step is one line of the working: what is done, and the numbers filled in.
type step struct{ Say, Show string }

// concentrationSteps shows how an end point became concentration i. The
// short way by hand is shown where it gives the same number; a concentration
// that needs the whole of the stoichiometry says so.
func concentrationSteps(e *assay.Evaluation, i int) []step {
	r := e.Concentrations[i]
	target, p := sought(e, r.Name)
	v := inMillilitres(p.Volume)
	steps := []step{{
		"End point by " + methodTitle(e, r.From),
		fmt.Sprintf("V_e = %s mL", plusMinus(v, inMillilitres(p.StdUnc))),
	}}
	net := v
	if b := e.Setup.Blank; b.Float() != 0 || b.U > 0 {
		net -= b.Float() * 1e3
		steps = append(steps, step{"Less the blank", fmt.Sprintf("V = %s mL − %s mL = %s mL", plain(v, 7), bare(b, 1e3), plain(net, 7))})
	}
	if hand, ok := byHand(e.Setup, r, target, net); ok {
		steps = append(steps, hand...)
	} else {
		steps = append(steps, step{
			"The concentration that puts the equivalence point there, through the stoichiometry of all that is in the flask",
			fmt.Sprintf("c(%s) = %s %s", formula(r.Name), plain(r.Value, 7), r.Unit),
		})
	}
	return append(steps, roundStep(r))
}

// sought finds the target and the end point of a concentration.
func sought(e *assay.Evaluation, species string) (setup.Target, assay.Point) {
	var target setup.Target
	for _, f := range e.Setup.Find {
		if f.Species == species {
			target = f
		}
	}
	point := mainPoint(e)
	for _, p := range e.EquivalencePoints {
		if p.Species == species {
			point = p
		}
	}
	return target, point
}

// A handCalculation goes from the net volume by amounts: known solution,
// ratio, sought solution. Volumes are in mL.
type handCalculation struct {
	known             setup.Content
	volume, sought    float64 // of the known and of the sought solution
	analyte, titrated int     // analyte for known, in the ratio
}

// findHand reports false where one known solution and a ratio of small whole
// numbers do not give the value.
func findHand(s *setup.Setup, r assay.Result, target setup.Target, net float64) (h handCalculation, ok bool) {
	known, flask := s.Burette.Contents, s.Flask.Volume.Float()*1e3
	if target.InBurette {
		known = s.Flask.Contents
	}
	if len(known) != 1 || !(flask > 0) || !(net > 0) || target.InBurette && known[0].Volume.Float() != s.Flask.Volume.Float() {
		return h, false
	}
	h = handCalculation{known: known[0], volume: net, sought: flask}
	if target.InBurette {
		h.volume, h.sought = flask, net
	}
	h.analyte, h.titrated, ok = smallRatio(r.Value * h.sought / (known[0].Conc.Float() * h.volume))
	return h, ok
}

// byHand shows the calculation by hand, where there is one.
func byHand(s *setup.Setup, r assay.Result, target setup.Target, net float64) ([]step, bool) {
	h, ok := findHand(s, r, target, net)
	if !ok {
		return nil, false
	}
	where, name, times := formula(h.known.Species), formula(r.Name), ""
	n := h.known.Conc.Float() * h.volume
	if h.analyte != h.titrated {
		times = fmt.Sprintf("%d/%d × %s mmol = ", h.analyte, h.titrated, plain(n, 7))
	}
	return []step{
		{"Amount of " + where, fmt.Sprintf("n(%s) = %s mol/L × %s mL = %s mmol", where, bare(h.known.Conc, 1), plain(h.volume, 7), plain(n, 7))},
		{fmt.Sprintf("%d %s for %d %s", h.analyte, name, h.titrated, where), fmt.Sprintf("n(%s) = %s%s mmol", name, times, plain(r.Value*h.sought, 7))},
		{"Over the volume it is in", fmt.Sprintf("c(%s) = %s mmol / %s mL = %s mol/L", name, plain(r.Value*h.sought, 7), plain(h.sought, 7), plain(r.Value, 7))},
	}, true
}

// smallRatio finds whole numbers up to 12 whose ratio is x.
func smallRatio(x float64) (a, b int, ok bool) {
	for b := 1; b <= 12; b++ {
		a := math.Round(x * float64(b))
		if a >= 1 && a <= 12 && math.Abs(a/float64(b)/x-1) < 1e-9 {
			return int(a), b, true
		}
	}
	return 0, 0, false
}

func roundStep(r assay.Result) step {
	if !(r.Expanded() > 0) {
		return step{"No uncertainty is known, so nothing says where to round", symbol(r) + " = " + plain(r.Value, 6) + " " + unitText(r)}
	}
	return step{
		fmt.Sprintf("Rounded to two figures of the expanded uncertainty, U = %s × %s %s", plain(r.Coverage, 3), twoFigures(r.StdUnc), unitText(r)),
		fmt.Sprintf("%s = %s", symbol(r), expanded(r)),
	}
}

// potentialSteps shows how a reading, or the regression, became a formal
// potential against SHE, and how its uncertainty adds up.
func potentialSteps(e *assay.Evaluation, r assay.Result) []step {
	if math.IsNaN(r.Value) {
		return nil
	}
	var steps []step
	el := e.Setup.Electrode
	if r.From == "whole curve" {
		steps = append(steps, step{"From the regression, the reference added to the readings", fmt.Sprintf("E°′ = %s V", plain(r.Value, 6))})
	} else {
		say := "Reading at " + r.From + ", plus the reference electrode"
		if r.Note != "" {
			say = "Reading at " + r.From + " with the H⁺ term, plus the reference electrode"
		}
		steps = append(steps, step{say, fmt.Sprintf("E°′ = %s V + %s V = %s V", plain(r.Value-el.ReferenceV, 5), plusMinus(el.ReferenceV, el.ReferenceU), plain(r.Value, 5))})
	}
	var names, squares []string
	for _, p := range r.Parts {
		names = append(names, p.Name)
		squares = append(squares, twoFigures(p.StdUnc*1e3)+"²")
	}
	if len(names) > 0 {
		steps = append(steps, step{
			"Standard uncertainty, of " + strings.Join(names, ", "),
			fmt.Sprintf("u = √(%s) mV = %s mV", strings.Join(squares, " + "), twoFigures(r.StdUnc*1e3)),
		})
	}
	return steps
}
