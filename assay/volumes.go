package assay

import (
	"fmt"
	"strings"

	"meniscus/setup"
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
		return e, nil
	}
	if err := e.nameStated(); err != nil {
		return nil, err
	}
	e.concentrations()
	return e, nil
}

// nameStated gives end points without a name the species of the equivalences
// of the titration, in order.
func (e *Evaluation) nameStated() error {
	m, err := e.Setup.Titration.NewModel(nil, 0)
	if err != nil {
		return err
	}
	list, err := m.Equivalences(1e4)
	if err != nil {
		return err
	}
	var names []string
	for _, q := range list {
		names = append(names, q.Species)
	}
	points := e.EquivalencePoints
	if len(points) > len(list) {
		return fmt.Errorf("%d end points are stated, but the titration has %d (%s used up)", len(points), len(list), strings.Join(names, ", "))
	}
	for i := range points {
		if points[i].Species == "" {
			points[i].Species = names[i]
		} else if !contains(names, points[i].Species) {
			return fmt.Errorf("no end point of the titration is where %s is used up; it has %s", points[i].Species, strings.Join(names, ", "))
		}
	}
	return nil
}

func contains(list []string, want string) bool {
	for _, x := range list {
		if x == want {
			return true
		}
	}
	return false
}
