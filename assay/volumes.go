package assay

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

// StatedName is the name of the method of end points that were handed in.
const StatedName = "stated-volume"

// A StatedPoint is an end point volume that is known already.
type StatedPoint struct {
	Species string // used up there; "" to go by order
	Volume  setup.Value
}

// FromVolumes computes concentrations and contents from the end points of one
// run, with a blank that was measured or nil for that of the setup.
func FromVolumes(points []StatedPoint, s *setup.Setup, blank *BlankResult) (*Evaluation, error) {
	if blank != nil {
		s = WithBlank(s, blank)
	}
	e := &Evaluation{Setup: s, blank: blank, Reason: "the end point is stated"}
	e.Warnings = append(e.Warnings, s.Warnings...)
	e.Assumed = append(e.Assumed, s.Notes...)
	m := Method{Name: StatedName, Title: "Volume as stated"}
	for i, p := range points {
		m.Points = append(m.Points, Point{Order: i + 1, Species: p.Species, Volume: unit.Volume(p.Volume.Float()), StdUnc: unit.Volume(p.Volume.U)})
		if !p.Volume.Stated {
			e.Assumed = append(e.Assumed, fmt.Sprintf("the end point at %s is taken as exact: no uncertainty is stated", p.Volume.Text))
		}
	}
	e.Methods, e.EquivalencePoints = []Method{m}, m.Points
	if s.Titration == nil {
		e.ratioOnly()
	} else {
		if err := e.nameStated(); err != nil {
			return nil, err
		}
		e.concentrations()
	}
	e.checkBlank()
	e.checkZero()
	for _, r := range e.Contents {
		if r.StdUnc > 0 && !slices.ContainsFunc(r.Parts, func(p Part) bool { return p.Random }) {
			e.warnf("the uncertainty of %s leaves out that of the end point, for which none is stated; write it as 24.36 ± 0.02 mL, or give repeated volumes", r.Name)
			break
		}
	}
	return e, nil
}

// nameStated gives end points without a name the species of the equivalences
// of the titration in order: of those where the curve jumps, unless more are
// stated.
func (e *Evaluation) nameStated() error {
	t := e.Setup.Titration
	output := titration.Potential
	if e.Setup.Electrode.Indicator == "glass" {
		output = titration.PH
	}
	m, err := t.NewModel(nil, output)
	if err != nil {
		return err
	}
	list, err := m.Equivalences(1e4)
	if err != nil {
		return err
	}
	var names, shown []string
	for i, q := range list {
		names = append(names, q.Species)
		if jumps(m, list, i) {
			shown = append(shown, q.Species)
		}
	}
	points := e.EquivalencePoints
	if len(points) > len(list) {
		return fmt.Errorf("%d end points are stated, but the titration has %d (%s used up)", len(points), len(list), strings.Join(names, ", "))
	}
	if len(shown) < len(points) {
		shown = names
	}
	for i := range points {
		if points[i].Species == "" {
			points[i].Species = shown[i]
			if len(names) > 1 {
				e.Assumed = append(e.Assumed, fmt.Sprintf("the end point at %.6g mL is where %s is used up", points[i].Volume.Millilitres(), shown[i]))
			}
		} else if !slices.Contains(names, points[i].Species) {
			return fmt.Errorf("no end point of the titration is where %s is used up; it has %s", points[i].Species, strings.Join(names, ", "))
		}
	}
	return nil
}

// steeper is how many times as steep as half way to its neighbours a curve is
// at an equivalence that shows.
const steeper = 3

func jumps(m *titration.Model, list []titration.Equivalence, i int) bool {
	v := list[i].Volume
	before, after := 0.0, 2*v
	if i > 0 {
		before = list[i-1].Volume
	}
	if i+1 < len(list) {
		after = list[i+1].Volume
	}
	_, here, ok, err := m.Eval(v, nil)
	if err != nil || !ok {
		return false
	}
	for _, w := range []float64{(v + before) / 2, (v + after) / 2} {
		_, slope, ok, err := m.Eval(w, nil)
		if err == nil && ok && math.Abs(here) < steeper*math.Abs(slope) {
			return false
		}
	}
	return true
}
