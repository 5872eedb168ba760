package assay

import (
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/setup"
	"meniscus/uncertainty"
	"meniscus/unit"
)

// An Input is a run of a determination.
type Input struct {
	Name    string
	Curve   *curve.Curve
	Blank   bool        // titrated without the analyte
	Aliquot setup.Value // instead of the sample's, where it is above 0
}

// A Run is an evaluated one.
type Run struct {
	Name       string
	Blank      bool
	Evaluation *Evaluation
}

// A BlankResult is a blank that was measured, in litres.
type BlankResult struct {
	Value, StdUnc float64
	Freedom       float64 // 0 where not limited
	Volumes       []float64
	How           string // the uncertainty was found
}

// A Determination is what several runs say together.
type Determination struct {
	Setup *setup.Setup
	Runs  []Run
	Blank *BlankResult // nil where none was measured
	Means []Mean
}

// A Mean is a result over runs. Its uncertainty takes the scatter of the runs
// for what differs between them, and what they share once.
type Mean struct {
	Result
	Replicates *uncertainty.Replicates
	Runs       []string // names, in the order of the values
	Notes      []string
}

// A BlankError reports a blank run without an end point.
type BlankError struct{ Run string }

func (e *BlankError) Error() string {
	return fmt.Sprintf("the blank %s gives no end point by any method; write its volume under blank instead, such as blank: 0.05 ± 0.01 mL", e.Run)
}

// MeasuredBlank sums up volumes of blanks; u is that of a single one, used
// where there is only one.
func MeasuredBlank(volumes []float64, u float64) *BlankResult {
	b := &BlankResult{Volumes: volumes}
	if len(volumes) == 1 {
		b.Value, b.StdUnc, b.How = volumes[0], u, "measured once, with the uncertainty of its end point"
		return b
	}
	mean, sd := uncertainty.MeanSD(volumes)
	n := float64(len(volumes))
	b.Value, b.StdUnc, b.Freedom = mean, sd/math.Sqrt(n), n-1
	b.How = fmt.Sprintf("from the scatter of %d blanks", len(volumes))
	if !(sd > 0) {
		b.StdUnc, b.Freedom = u/math.Sqrt(n), 0
		b.How = fmt.Sprintf("%d equal blanks, with the uncertainty of an end point", len(volumes))
	}
	return b
}

// WithBlank returns a setup whose blank is one that was measured.
func WithBlank(s *setup.Setup, b *BlankResult) *setup.Setup {
	out := *s
	x, _ := unit.DecimalOf(b.Value)
	out.Blank = setup.Value{X: x, U: b.StdUnc, Stated: true, Text: fmt.Sprintf("%.4g mL", b.Value*1e3)}
	return &out
}

// EvaluateBlank evaluates a run without analyte and returns the volume it
// took. The setup's own blank is not subtracted from it.
func EvaluateBlank(in Input, s *setup.Setup, opt Options) (*Evaluation, error) {
	bare := *s
	bare.Blank, bare.Sample = setup.Value{}, nil
	e, err := evaluate(in.Curve, &bare, opt, nil)
	if err != nil {
		return nil, err
	}
	if e.Recommended < 0 {
		return nil, &BlankError{in.Name}
	}
	e.Concentrations, e.Contents, e.FormalPotentials = nil, nil, nil
	return e, nil
}

// EvaluateRun evaluates a run with a blank that was measured, nil for that of
// the setup.
func EvaluateRun(in Input, s *setup.Setup, blank *BlankResult, opt Options) (*Evaluation, error) {
	if blank != nil {
		s = WithBlank(s, blank)
	}
	if in.Aliquot.Float() > 0 {
		own, sample := *s, setup.Sample{}
		if s.Sample != nil {
			sample = *s.Sample
		}
		sample.Aliquot = in.Aliquot
		own.Sample = &sample
		s = &own
	}
	return evaluate(in.Curve, s, opt, blank)
}

// BlankOf sums up the blanks among evaluated runs; nil where there are none.
func BlankOf(runs []Run) *BlankResult {
	var volumes []float64
	u := 0.0
	for _, r := range runs {
		if r.Blank {
			p := r.Evaluation.EquivalencePoints[0]
			volumes = append(volumes, float64(p.Volume))
			u = math.Max(u, float64(p.StdUnc))
		}
	}
	if len(volumes) == 0 {
		return nil
	}
	return MeasuredBlank(volumes, u)
}

// Determine evaluates runs of one determination: blanks first, then the others
// with the blank subtracted, and what they say together.
func Determine(inputs []Input, s *setup.Setup, opt Options, limit float64) (*Determination, error) {
	runs := make([]Run, len(inputs))
	var err error
	for i, in := range inputs {
		runs[i] = Run{Name: in.Name, Blank: in.Blank}
		if in.Blank {
			if runs[i].Evaluation, err = EvaluateBlank(in, s, opt); err != nil {
				return nil, err
			}
		}
	}
	blank := BlankOf(runs)
	for i, in := range inputs {
		if !in.Blank {
			if runs[i].Evaluation, err = EvaluateRun(in, s, blank, opt); err != nil {
				return nil, err
			}
			if opt.Like == nil {
				opt.Like = runs[i].Evaluation.Fit
			}
		}
	}
	return Combine(runs, s, blank, limit), nil
}

// Combine sums up evaluated runs. limit is that of the concordance rule, in
// litres of end point volume; 0 for none.
func Combine(runs []Run, s *setup.Setup, blank *BlankResult, limit float64) *Determination {
	d := &Determination{Setup: s, Runs: runs, Blank: blank}
	c := combiner{limit: limit, byKey: map[string]*gathered{}}
	for _, r := range runs {
		if r.Blank || r.Evaluation.Recommended < 0 {
			continue
		}
		if p := r.Evaluation.EquivalencePoints; len(p) == 1 {
			c.add(r.Name, volumeResult(p[0], r.Evaluation))
		}
		for _, q := range r.Evaluation.Concentrations {
			c.add(r.Name, q)
		}
		for _, q := range r.Evaluation.Contents {
			c.add(r.Name, q)
		}
	}
	for _, key := range c.order {
		if m, ok := c.byKey[key].mean(c.limit); ok {
			d.Means = append(d.Means, m)
		}
	}
	return d
}

// EndPoint is the name of a mean of end point volumes.
const EndPoint = "V_e"

func volumeResult(p Point, e *Evaluation) Result {
	r := Result{Name: EndPoint, Value: p.Volume.Millilitres(), Unit: "mL", From: e.Methods[e.Recommended].Name}
	r.addParts(Part{Name: "equivalence volume", StdUnc: p.StdUnc.Millilitres(), Note: e.Methods[e.Recommended].Title, Freedom: p.Freedom, Random: true})
	return r
}

type gathered struct {
	results []Result
	names   []string
}

type combiner struct {
	limit float64
	byKey map[string]*gathered
	order []string
}

func (c *combiner) add(run string, r Result) {
	if math.IsNaN(r.Value) {
		return
	}
	key := r.Name + "\x00" + r.Unit
	g := c.byKey[key]
	if g == nil {
		g = &gathered{}
		c.byKey[key], c.order = g, append(c.order, key)
	}
	g.results, g.names = append(g.results, r), append(g.names, run)
}

// sameResult is the part of the uncertainty of one end point within which results
// are one: those of the same readings evaluated twice, which agree to what the
// iteration leaves. Two runs come so close in one of some thousand cases.
const sameResult = 1e-3

// mean combines the results of the runs for one quantity.
func (g *gathered) mean(limit float64) (Mean, bool) {
	xs := make([]float64, len(g.results))
	for i, r := range g.results {
		xs[i] = r.Value
	}
	if g.results[0].Name != EndPoint {
		limit = 0
	}
	random, shared := g.parts()
	if slices.Max(xs)-slices.Min(xs) < sameResult*slices.Min(random) {
		for i := range xs {
			xs[i] = xs[0]
		}
	}
	reps, err := uncertainty.Replicate(xs, limit*1e3)
	if err != nil {
		return Mean{}, false
	}
	m := Mean{Replicates: reps, Runs: g.names}
	m.Working = g.results[0].Working
	m.Name, m.Unit, m.Value, m.From = g.results[0].Name, g.results[0].Unit, reps.Mean, "mean of runs"
	m.repeatability(random)
	m.trend()
	m.addParts(shared...)
	return m, true
}

// parts gives the random part of each run, and the parts that all share as
// the mean of what they are in each.
func (g *gathered) parts() (random []float64, shared []Part) {
	n := float64(len(g.results))
	at := map[string]int{}
	for _, r := range g.results {
		square := 0.0
		for _, p := range r.Parts {
			if p.Random {
				square += p.StdUnc * p.StdUnc
				continue
			}
			i, ok := at[p.Name]
			if !ok {
				i = len(shared)
				at[p.Name] = i
				shared = append(shared, Part{Name: p.Name, Note: p.Note, Freedom: p.Freedom})
			}
			shared[i].StdUnc += p.StdUnc / n
			shared[i].inAmount += p.inAmount / n
		}
		random = append(random, math.Sqrt(square))
	}
	return random, shared
}

// scatterLevel is the probability below which the runs scatter more than their
// end points explain.
const scatterLevel = 0.01

// repeatability adds the part that differs from run to run: by the scatter of
// the runs, or where they are all equal by what each end point carries. Never
// both: the scatter already holds it.
func (m *Mean) repeatability(random []float64) {
	n := float64(len(random))
	square := 0.0
	for _, u := range random {
		square += u * u / n
	}
	if !(m.Replicates.SD > 0) {
		m.addParts(Part{Name: "repeatability", StdUnc: math.Sqrt(square / n), Note: fmt.Sprintf("%d equal results, so by the uncertainty of each end point", len(random)), Random: true})
		m.Notes = append(m.Notes, "the runs give equal results, so their scatter says nothing: the uncertainty of the end points stands for it; are they copies of one run?")
		return
	}
	m.addParts(Part{
		Name: "repeatability", StdUnc: m.Replicates.StdUnc, Freedom: n - 1, Random: true,
		Note: fmt.Sprintf("scatter of %d runs; the uncertainty of each end point is in it and not added", len(random)),
	})
	if square > 0 {
		chi := (n - 1) * m.Replicates.SD * m.Replicates.SD / square
		if p := 1 - uncertainty.Chi2CDF(chi, n-1); p < scatterLevel {
			m.Notes = append(m.Notes, fmt.Sprintf("the runs scatter %.2g times as much as the uncertainty of their end points explains: something else differs between them, such as the aliquot, the sample or the time", m.Replicates.SD/math.Sqrt(square)))
		}
	}
}
