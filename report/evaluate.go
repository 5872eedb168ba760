package report

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"

	"meniscus/assay"
	"meniscus/unit"
)

// runName is the name that the source gives to run i, or its number.
func (d Document) runName(i int) string {
	if q := d.Determination; q != nil && i < len(q.Runs) {
		if q.Runs[i].Blank {
			return q.Runs[i].Name + " (blank)"
		}
		return q.Runs[i].Name
	}
	if c := d.Evaluations[i].Curve; c != nil && c.Name != "" {
		return c.Name
	}
	return strconv.Itoa(i + 1)
}

// allWarnings joins those of all runs, each with the run's name where there
// are several.
func (d Document) allWarnings() []string {
	list := []string{}
	for i, e := range d.Evaluations {
		for _, w := range e.Warnings {
			if len(d.Evaluations) > 1 {
				w = fmt.Sprintf("run %s: %s", d.runName(i), w)
			}
			if !slices.Contains(list, w) {
				list = append(list, w)
			}
		}
	}
	return list
}

// both joins lists into a new one that is never nil.
func both(lists ...[]string) []string {
	return append([]string{}, slices.Concat(lists...)...)
}

// inMillilitres undoes the rounding of a volume kept in litres, to 1e-15 L.
func inMillilitres(v unit.Volume) float64 { return float64(v) * 1e3 }

// mainPoint is the end point that the result is about: that of the first
// species sought, or the first.
func mainPoint(e *assay.Evaluation) assay.Point {
	if e.Setup != nil {
		for _, f := range e.Setup.Find {
			for _, p := range e.EquivalencePoints {
				if f.Species != "" && p.Species == f.Species {
					return p
				}
			}
		}
	}
	return e.EquivalencePoints[0]
}

// A share is a part of an uncertainty with its share of the variance.
type share struct {
	assay.Part
	share float64 // 0 to 1; NaN where there is no uncertainty
}

// shares sorts the parts of a result, the largest first.
func shares(r assay.Result) []share {
	sum := 0.0
	for _, p := range r.Parts {
		sum += p.StdUnc * p.StdUnc
	}
	list := make([]share, 0, len(r.Parts))
	for _, p := range r.Parts {
		s := share{p, math.NaN()}
		if sum > 0 {
			s.share = p.StdUnc * p.StdUnc / sum
		}
		list = append(list, s)
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].StdUnc > list[j].StdUnc })
	return list
}
