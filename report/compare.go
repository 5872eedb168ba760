package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"

	"meniscus/assay"
	"meniscus/report/figure"
	"meniscus/uncertainty"
)

// A Compared document is one of several that stand side by side.
type Compared struct {
	Title    string
	Document *Document // nil where there is nothing to evaluate
}

// A Difference is a result less that of the first document that has it.
type Difference struct {
	What, Value string
	Words       string // what the difference says, in a sentence
}

// Differences sets each result against the same result of the first document:
// one list a document, empty for the first. Same is what has the same name and
// unit. The results are taken to be independent.
func Differences(list []Compared) [][]Difference {
	out := make([][]Difference, len(list))
	first := map[string]int{}
	for i, c := range list {
		for _, r := range results(c.Document) {
			key := symbol(r) + " in " + unitText(r)
			j, ok := first[key]
			if !ok {
				first[key] = i
				continue
			}
			if i == j {
				continue // two runs without a mean: which one is meant?
			}
			for _, q := range results(list[j].Document) {
				if symbol(q)+" in "+unitText(q) == key {
					out[i] = append(out[i], difference(r, q, list[j].Title))
					break
				}
			}
		}
	}
	return out
}

// results are what a document says in the end: the means of its runs, or what
// its run gives.
func results(d *Document) []assay.Result {
	if d == nil {
		return nil
	}
	var list []assay.Result
	if d.Determination != nil {
		for _, m := range d.Determination.Means {
			list = append(list, m.Result)
		}
		return list
	}
	for _, e := range d.Evaluations {
		if e.Recommended >= 0 {
			list = append(append(list, e.Contents...), e.Concentrations...)
		}
	}
	return list
}

// difference compares the means of two results by the standard uncertainty of
// their difference, sqrt(u1² + u2²), with the degrees of freedom of Welch and
// Satterthwaite.
func difference(r, q assay.Result, other string) Difference {
	d := Difference{What: symbol(r), Words: "neither has an uncertainty, so nothing can be said of it"}
	by := r.Value - q.Value
	u := math.Hypot(r.StdUnc, q.StdUnc)
	if !(u > 0) || math.IsInf(u, 0) {
		d.Value = signed(plain(by, 3)) + " " + unitText(r)
		return d
	}
	k := uncertainty.Coverage(0.95, uncertainty.Welch([]float64{r.StdUnc, q.StdUnc}, []float64{r.Freedom, q.Freedom}))
	d.Value = signed(plusMinus(by, k*u)) + " " + unitText(r)
	d.Words = "no more than the uncertainty of both explains, against " + other
	if math.Abs(by) > k*u {
		d.Words = "more than the uncertainty of both explains (95 %), against " + other
	}
	return d
}

func signed(x string) string {
	if x != "" && x[0] >= '0' && x[0] <= '9' {
		return "+" + x
	}
	return x
}

// Pictures are one figure twice: wide, and for a phone.
type Pictures struct {
	Wide, Narrow template.HTML
	Missing      []string // what is not in it, and why
}

// Overlay draws the curves of several documents over each other, a figure for
// each kind of reading, since a pH and a potential have no common axis. Curves
// of the document i have the line of LinePattern(i). With share, volumes are
// divided by that of the last equivalence point.
func Overlay(list []Compared, share bool) ([]Pictures, error) {
	var kinds []string
	curves := map[string]*figure.Curve{}
	missing := map[string][]string{}
	for i, c := range list {
		if c.Document == nil {
			continue
		}
		for k, e := range c.Document.Evaluations {
			if e.Curve == nil {
				continue
			}
			name := c.Title
			if len(c.Document.Evaluations) > 1 {
				name += ", run " + c.Document.runName(k)
			}
			kind := valueAxis(e)
			f := curves[kind]
			if f == nil {
				f = &figure.Curve{XLabel: figure.Plain("volume added / mL"), YLabel: figure.Plain(kind)}
				if share {
					f.XLabel = figure.Plain("volume added / equivalence volume")
				}
				curves[kind] = f
				kinds = append(kinds, kind)
			}
			o, ok := overlay(e, share)
			if !ok {
				missing[kind] = append(missing[kind], name+" has no equivalence volume to divide by")
				continue
			}
			o.Label, o.Kind = figure.Plain(clean(name)), i
			f.Overlays = append(f.Overlays, o)
		}
	}
	var out []Pictures
	for i, kind := range kinds {
		one, err := pair(*curves[kind], fmt.Sprintf("overlay%d", i+1))
		if err != nil {
			return nil, err
		}
		one.Missing = missing[kind]
		out = append(out, one)
	}
	return out, nil
}

// Glance draws a run with its readings, its fitted curve and its equivalence
// points, and no more.
func Glance(e *assay.Evaluation) (Pictures, error) {
	f := Figure(e)
	f.Methods, f.Residual = nil, nil
	return pair(f, "glance")
}

// pair draws a figure wide and for a phone.
func pair(f figure.Curve, id string) (one Pictures, err error) {
	if one.Wide, err = drawn(f, id+"-wide"); err != nil {
		return one, err
	}
	f.Size = figure.Phone
	one.Narrow, err = drawn(f, id+"-narrow")
	return one, err
}

// overlay is the fitted curve of an evaluation, or else its readings that took
// part; not ok where volumes are to be divided and there is nothing to divide by.
func overlay(e *assay.Evaluation, share bool) (o figure.Overlay, ok bool) {
	scale, _ := shown(e.Curve.Kind)
	if e.Fit != nil {
		o.Volume, o.Value = fitted(e)
	}
	if len(o.Volume) == 0 {
		for _, r := range e.Curve.Readings {
			if r.Excluded == "" {
				o.Volume, o.Value = append(o.Volume, inMillilitres(r.Volume)), append(o.Value, r.Value*scale)
			}
		}
	}
	if !share {
		return o, true
	}
	if e.Recommended < 0 || len(e.EquivalencePoints) == 0 {
		return o, false
	}
	last := inMillilitres(slices.MaxFunc(e.EquivalencePoints, func(a, b assay.Point) int { return a.Order - b.Order }).Volume)
	if !(last > 0) {
		return o, false
	}
	for i := range o.Volume {
		o.Volume[i] /= last
	}
	return o, true
}

// LinePattern is the line of the i-th document of an Overlay, as lengths of line
// and gap in em; empty for an unbroken line.
func LinePattern(i int) []float64 {
	var list []float64
	for _, x := range figure.Patterns[i%len(figure.Patterns)] {
		list = append(list, x/3)
	}
	return list
}
