package plan

import (
	"fmt"
	"math"

	"meniscus/setup"
	"meniscus/titration"
)

// farthest is the volume, in litres, up to which equivalence points are looked
// for: beyond any burette, so that a plan can say by how much.
const farthest = 10.0

// A Point is an equivalence point that shows as a jump of the curve.
type Point struct {
	Species string  // used up there
	Next    string  // dominant from there on in its place
	Name    string  // of Species, by the form that was put into the flask
	Volume  float64 // L
	Reading float64 // at equivalence, in the unit of the scale
	// From and To are the volumes between which the curve belongs to this point.
	From, To float64 // L
	// Inflection is where the curve is steepest, less the equivalence volume,
	// L; NaN where the curve does not turn there.
	Inflection        float64
	InflectionReading float64
}

// A readout is what the electrode is read in.
type readout struct {
	unit  string // mV, or "" for pH and pIon
	name  string // potential, pH, pCa
	value func(titration.Point) float64
	times float64 // from V or 1
}

func scaleOf(s *setup.Setup) readout {
	c := s.Titration.Cell
	switch {
	case c.Sensor == titration.Glass:
		return readout{"", "pH", func(p titration.Point) float64 { return p.PH }, 1}
	case c.Known:
		return readout{"mV", "potential", func(p titration.Point) float64 { return p.Potential * 1e3 }, 1e3}
	}
	return readout{"", "p" + s.Electrode.Ion, func(p titration.Point) float64 { return p.PIon }, 1}
}

// A walker evaluates the curve of a setup at volumes given as a base and a
// small distance from it, which keeps the distance's own digits.
type walker struct {
	pred  *titration.Predictor
	scale readout
}

func newWalker(s *setup.Setup) *walker { return &walker{s.Titration.Predictor(), scaleOf(s)} }

func (w *walker) at(v, d float64) (titration.Point, error) {
	return w.pred.At(titration.Away(v, d))
}

// read returns the reading, in the unit of the scale; NaN if undefined.
func (w *walker) read(v, d float64) (float64, error) {
	pt, err := w.at(v, d)
	return w.scale.value(pt), err
}

// points returns the equivalence points that show, in order.
func (w *walker) points(s *setup.Setup) ([]Point, error) {
	m, err := s.Titration.NewModel(nil, titration.Potential)
	if err != nil {
		return nil, err
	}
	list, err := m.Equivalences(farthest)
	if err != nil {
		return nil, fmt.Errorf("finding the equivalence points: %w", err)
	}
	var out []Point
	for i, e := range list {
		p := Point{Species: e.Species, Next: e.Next, Volume: e.Volume}
		p.From, p.To = titration.Between(list, i)
		if e.Volume <= 0 || !m.Shows(list, i) {
			continue
		}
		if p.Reading, err = w.read(p.Volume, 0); err != nil {
			return nil, err
		}
		if err := w.inflection(&p); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

// inflection fills in where the curve is steepest.
func (w *walker) inflection(p *Point) error {
	d, ok, err := w.pred.Turn(p.Volume, p.From, p.To)
	if err != nil || !ok {
		p.Inflection, p.InflectionReading = math.NaN(), math.NaN()
		return err
	}
	p.Inflection = d
	p.InflectionReading, err = w.read(p.Volume, d)
	return err
}

// rising says whether the reading grows along the curve.
func (p *Plan) rising(pt Point) (bool, error) {
	a, err := p.walk.read(pt.Volume, -0.01*pt.Volume)
	if err != nil {
		return false, err
	}
	b, err := p.walk.read(pt.Volume, 0.01*pt.Volume)
	return b > a, err
}

// where finds the distance from a point at which a level turns from one side of
// 0 to the other, between its neighbours; coming is true where it rises. ok is
// false where it does not turn.
func (w *walker) where(p Point, level func(titration.Point) float64) (d float64, coming, ok bool, err error) {
	lo, hi := 0.98*(p.From-p.Volume), 0.98*(p.To-p.Volume)
	value := func(d float64) (float64, error) {
		pt, err := w.at(p.Volume, d)
		return level(pt), err
	}
	a, err := value(lo)
	if err != nil {
		return 0, false, false, err
	}
	sign := 1.0
	if a > 0 {
		sign = -1
	}
	d, ok, err = titration.Rising(func(d float64) (float64, error) {
		x, err := value(d)
		return sign * x, err
	}, lo, hi)
	return d, sign > 0, ok, err
}
