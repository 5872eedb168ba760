package chain

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/uncertainty"
)

// A Result is the strength of a solution or the content of a sample, with the
// whole model behind it.
type Result struct {
	Name    string
	Unit    string
	Sample  bool // a determination, not a solution
	Model   *uncertainty.Model
	Budget  *uncertainty.Budget
	Alone   float64  // standard uncertainty if nothing were shared
	Path    []string // solutions and substances it rests on
	Runs    *Scatter // of its own runs; nil where there are none
	Doubts  []string
	Expired bool // it rests on a solution used after its day
}

// Chain is what a shelf says.
type Chain struct {
	Shelf       *Shelf
	Results     []Result
	Correlation [][]float64 // of Results, from what they share
	Warnings    []string
}

// Compute follows every solution and determination of the shelf. An error names
// the run that cannot be.
func Compute(s *Shelf) (*Chain, error) {
	c := &Chain{Shelf: s}
	n := &names{of: map[string]string{}, taken: map[string]bool{}}
	for _, x := range s.Solutions {
		r, err := result(s, n, x.Name, nil)
		if err != nil {
			return nil, err
		}
		c.Results = append(c.Results, *r)
	}
	for i := range s.Determinations {
		r, err := result(s, n, s.Determinations[i].Name, &s.Determinations[i])
		if err != nil {
			return nil, err
		}
		c.Results = append(c.Results, *r)
	}
	c.correlate()
	for i := range c.Results {
		r := &c.Results[i]
		s.judgeDates(r)
		for _, d := range r.Doubts {
			c.Warnings = append(c.Warnings, r.Name+": "+d)
		}
	}
	return c, nil
}

// model builds the model of one solution, or of d.
func model(s *Shelf, n *names, name string, d *Determination, apart bool) (*builder, *uncertainty.Model, error) {
	b := &builder{s: s, names: n, apart: apart, have: map[string]expr{}, runs: map[string]Scatter{}}
	var e expr
	var err error
	unit := "mol/L"
	if d == nil {
		e, err = b.strength(name)
	} else {
		e, err = b.mean("w", name, &d.Titration, "", &d.Report)
		unit = d.Report.Unit
	}
	if err != nil {
		return nil, nil, err
	}
	m := &uncertainty.Model{Title: name, Measurand: e.text, Unit: unit, Inputs: b.inputs}
	if len(b.equations) == 0 { // a stated strength is its own input
		b.equations, m.Measurand = []string{"c = " + e.text}, "c"
	}
	m.Equations = strings.Join(b.equations, "\n")
	return b, m, nil
}

func result(s *Shelf, n *names, name string, d *Determination) (*Result, error) {
	b, m, err := model(s, n, name, d, false)
	if err != nil {
		return nil, err
	}
	r := &Result{Name: name, Unit: m.Unit, Sample: d != nil, Model: m, Doubts: b.notes}
	if r.Budget, err = m.Propagate(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	r.Doubts = append(r.Doubts, r.Budget.Warnings...)
	for _, p := range b.path {
		if p != name && !slices.Contains(r.Path, p) {
			r.Path = append(r.Path, p)
		}
	}
	if sc, ok := b.runs[name]; ok {
		r.Runs = &sc
	}
	_, apart, err := model(s, &names{of: map[string]string{}, taken: map[string]bool{}}, name, d, true)
	if err != nil {
		return nil, err
	}
	alone, err := apart.Propagate()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	r.Alone = alone.U
	return r, nil
}

// correlate fills the correlation matrix: inputs are independent, so two
// results share what their common inputs do to both.
func (c *Chain) correlate() {
	n := len(c.Results)
	c.Correlation = make([][]float64, n)
	effect := make([]map[string]float64, n)
	for i, r := range c.Results {
		effect[i] = map[string]float64{}
		for _, s := range r.Budget.Shares {
			effect[i][s.Name] = s.Sensitivity * s.U
		}
	}
	for i := range n {
		c.Correlation[i] = make([]float64, n)
		for j := range n {
			sum := 0.0
			for name, e := range effect[i] {
				sum += e * effect[j][name]
			}
			u := c.Results[i].Budget.U * c.Results[j].Budget.U
			switch {
			case i == j:
				c.Correlation[i][j] = 1
			case u > 0:
				c.Correlation[i][j] = sum / u
			}
		}
	}
}

// Find returns the result of that name, nil if there is none.
func (c *Chain) Find(name string) *Result {
	return find(c.Results, name, func(r Result) string { return r.Name })
}

// A Move is what a changed strength does to one result.
type Move struct {
	Name          string
	Unit          string
	Before, After uncertainty.Value
	Sample        bool
}

// Shift returns the move, as a fraction of the value before.
func (m Move) Shift() float64 { return m.After.X/m.Before.X - 1 }

// Correct states the strength of one solution anew, in mol/L, and returns the
// chain that follows with every result that moves or changes its uncertainty.
func (c *Chain) Correct(solution string, v Value) (*Chain, []Move, error) {
	changed := *c.Shelf
	changed.Solutions = slices.Clone(c.Shelf.Solutions)
	s := changed.solution(solution)
	if s == nil {
		return nil, nil, fmt.Errorf("%q is not a solution of this shelf", solution)
	}
	s.Weighed, s.Diluted, s.Standardised, s.Stated = nil, nil, nil, &v
	after, err := Compute(&changed)
	if err != nil {
		return nil, nil, err
	}
	var moves []Move
	for i := range c.Results {
		a, b := &c.Results[i], &after.Results[i]
		tiny := 1e-12 * math.Abs(a.Budget.X)
		if math.Abs(a.Budget.X-b.Budget.X) > tiny || math.Abs(a.Budget.U-b.Budget.U) > tiny {
			moves = append(moves, Move{a.Name, a.Unit, a.Budget.Value, b.Budget.Value, a.Sample})
		}
	}
	return after, moves, nil
}
