package plan

import (
	"fmt"
	"math"

	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
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
	x, _ := unit.DecimalOf(math.Round(v*1e12) / 1e12)
	y, _ := unit.DecimalOf(d)
	return w.pred.At(x.Add(y))
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
		p := Point{Species: e.Species, Next: e.Next, Volume: e.Volume, To: 2 * e.Volume}
		if i > 0 {
			p.From = list[i-1].Volume
		}
		if i+1 < len(list) {
			p.To = list[i+1].Volume
		}
		if e.Volume <= 0 || !w.shows(p) {
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

// leastRise is the change of ln a within 2 % of an equivalence volume below
// which nobody would see a jump: 10 mV for one electron.
const leastRise = 0.4

// shows says whether the curve is at least three times as steep at a point as
// half way to its neighbours, and rises by what can be seen.
func (w *walker) shows(p Point) bool {
	steep := func(v float64) float64 {
		if _, err := w.at(v, 0); err != nil {
			return math.NaN()
		}
		a, _, ok := w.pred.Solver.LnActivitySlope(w.pred.Cell.Species)
		if !ok {
			return math.NaN()
		}
		return math.Abs(a)
	}
	var ln [2]float64
	for i, x := range []float64{0.98, 1.02} {
		if _, err := w.at(x*p.Volume, 0); err != nil {
			return false
		}
		ln[i], _ = w.pred.Solver.LnActivity(w.pred.Cell.Species)
	}
	here := steep(p.Volume)
	return here > 3*steep((p.Volume+p.From)/2) && here > 3*steep((p.Volume+p.To)/2) && math.Abs(ln[1]-ln[0]) > leastRise
}

// inflection finds the zero of the second derivative within 3 % of the
// equivalence point, if the curve bends the right way on both sides of it.
func (w *walker) inflection(p *Point) error {
	p.Inflection, p.InflectionReading = math.NaN(), math.NaN()
	bend := func(d float64) (float64, error) {
		if _, err := w.at(p.Volume, d); err != nil {
			return 0, err
		}
		first, second, ok := w.pred.Solver.LnActivitySlope(w.pred.Cell.Species)
		if !ok {
			return math.NaN(), nil
		}
		return -second * math.Copysign(1, first), nil
	}
	d, ok, err := bisect(bend, -0.03*p.Volume, 0.03*p.Volume)
	if !ok || err != nil {
		return err
	}
	p.Inflection = d
	p.InflectionReading, err = w.read(p.Volume, d)
	return err
}

// where finds the distance from a point at which the curve shows a value y of
// f, between its neighbours; ok is false where it does not.
func (w *walker) where(p Point, f func(titration.Point) float64, y float64) (d float64, ok bool, err error) {
	lo, hi := 0.98*(p.From-p.Volume), 0.98*(p.To-p.Volume)
	value := func(d float64) (float64, error) {
		pt, err := w.at(p.Volume, d)
		return f(pt) - y, err
	}
	a, err := value(lo)
	if err != nil {
		return 0, false, err
	}
	sign := 1.0
	if a > 0 {
		sign = -1
	}
	return bisect(func(d float64) (float64, error) {
		x, err := value(d)
		return sign * x, err
	}, lo, hi)
}

// finest is how close, in litres, a bisection looks: far below any curve, and
// within what the decimals of a volume can hold.
const finest = 1e-28

// bisect finds where f turns from negative to positive between lo and hi. ok
// is false where the ends do not have these signs.
func bisect(f func(float64) (float64, error), lo, hi float64) (x float64, ok bool, err error) {
	a, err := f(lo)
	if err != nil || !(a < 0) {
		return 0, false, err
	}
	b, err := f(hi)
	if err != nil || !(b > 0) {
		return 0, false, err
	}
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi || hi-lo < finest {
			break
		}
		y, err := f(mid)
		if err != nil {
			return 0, false, err
		}
		if y < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2, true, nil
}
