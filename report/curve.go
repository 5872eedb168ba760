package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"sort"

	"meniscus/chem"
	"meniscus/report/figure"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

// A Prediction is the curve of a setup, ready to write.
type Prediction struct {
	Setup        *setup.Setup
	Points       []titration.Point
	Equivalences []Mark
	Far          []string // changes that the curve leaves out, in words
	Sketch       bool     // the table format begins with a sketch for a terminal
	Dark         bool     // of figures
	asked        bool     // the volumes were asked for
}

// A Mark is an equivalence point that shows as a jump.
type Mark struct {
	Species string // used up there
	Point   titration.Point
	// Inflection is where the curve is steepest near an equivalence point.
	// Shift is its volume less the equivalence volume, L, which is kept apart
	// because it can be far below the digits of the volume.
	Inflection *titration.Point
	Shift      float64
}

// A CurveWriter writes a prediction in one format.
type CurveWriter struct {
	Name   string
	Binary bool
	Write  func(w io.Writer, p *Prediction) error
}

// CurveFormats lists the formats of a predicted curve.
var CurveFormats = []CurveWriter{
	{"table", false, curveTable},
	{"csv", false, curveCSV},
	{"json", false, curveJSON},
	{"svg", false, curveSVG},
	{"png", true, curvePNG},
	{"pdf", true, curvePDF},
}

// CurveFormat returns the format of that name.
func CurveFormat(name string) (CurveWriter, bool) {
	i := slices.IndexFunc(CurveFormats, func(f CurveWriter) bool { return f.Name == name })
	if i < 0 {
		return CurveWriter{}, false
	}
	return CurveFormats[i], true
}

// CurveFormatNames lists the names.
func CurveFormatNames() []string {
	var list []string
	for _, f := range CurveFormats {
		list = append(list, f.Name)
	}
	return list
}

// Predict computes the curve at the volumes of the setup or, if it has none,
// at volumes chosen dense where the curve is steep.
func Predict(s *setup.Setup, asked bool) (*Prediction, error) {
	p := &Prediction{Setup: s, asked: asked}
	pred := s.Titration.Predictor()
	if err := p.marks(pred, true); err != nil {
		return nil, err
	}
	volumes := s.Volumes
	if volumes == nil {
		volumes = p.chosen()
	}
	for _, v := range volumes {
		pt, err := pred.At(v)
		if err != nil {
			return nil, err
		}
		p.Points = append(p.Points, pt)
	}
	return p, nil
}

// Jumps finds the equivalence points only, without inflections and points of
// the curve, for those who choose their own volumes.
func Jumps(s *setup.Setup) (*Prediction, error) {
	p := &Prediction{Setup: s}
	return p, p.marks(s.Titration.Predictor(), false)
}

// marks finds the equivalence points that show as jumps.
func (p *Prediction) marks(pred *titration.Predictor, inflections bool) error {
	limit := 1.0
	if c := p.Setup.Burette.Capacity.Float(); c > 0 {
		limit = 4 * c
	}
	m, err := p.Setup.Titration.NewModel(nil, titration.Potential)
	if err != nil {
		return err
	}
	list, err := m.Equivalences(limit)
	if err != nil {
		return fmt.Errorf("finding the equivalence points: %w", err)
	}
	for i, e := range list {
		if e.Volume <= 0 || !m.Shows(list, i) {
			continue
		}
		pt, err := pred.At(titration.Exact(e.Volume))
		if err != nil {
			return err
		}
		mark := Mark{Species: e.Species, Point: pt}
		if inflections {
			if err := mark.inflection(pred, list, i); err != nil {
				return err
			}
		}
		p.Equivalences = append(p.Equivalences, mark)
	}
	p.leaveFar()
	return nil
}

// far is how many times the volume of what is sought is too far for the curve,
// where no burette says how far it goes.
const far = 4

// leaveFar leaves away changes far beyond what is sought, such as a buffer that
// is used up by the acid of a titrant after ten burettes: they would press the
// curve into its beginning. A note names them.
func (p *Prediction) leaveFar() {
	if len(p.Setup.Find) == 0 || p.Setup.Burette.Capacity.Float() > 0 || len(p.Equivalences) < 2 {
		return
	}
	sought := p.Equivalences[0].Point.Volume
	for _, m := range p.Equivalences {
		if slices.ContainsFunc(p.Setup.Find, func(t setup.Target) bool { return t.Species == m.Species }) {
			sought = max(sought, m.Point.Volume)
		}
	}
	i := slices.IndexFunc(p.Equivalences, func(m Mark) bool { return m.Point.Volume > far*sought })
	if i < 0 {
		return
	}
	for _, m := range p.Equivalences[i:] {
		p.Far = append(p.Far, fmt.Sprintf("%s would be used up at %s mL, far beyond what is sought: not on the curve", typeset(m.Species), plain(m.Point.Volume.Millilitres(), 4)))
	}
	p.Equivalences = p.Equivalences[:i]
}

// inflection fills in where the curve is steepest near an equivalence volume.
func (m *Mark) inflection(pred *titration.Predictor, list []titration.Equivalence, i int) error {
	v := list[i].Volume
	from, to := titration.Between(list, i)
	d, ok, err := pred.Turn(v, from, to)
	if err != nil || !ok {
		return err
	}
	pt, err := pred.At(titration.Away(v, d))
	m.Inflection, m.Shift = &pt, d
	return err
}

// AtReading returns the point at which the curve shows a reading (mV, pH or
// pIon), with the volume as part of the nearest equivalence volume less 1. ok
// is false where it shows it nowhere up to twice the last equivalence.
func (p *Prediction) AtReading(y float64) (pt titration.Point, off float64, ok bool, err error) {
	pred := p.Setup.Titration.Predictor()
	sign := 1.0
	f := func(v float64) (float64, error) {
		d, _ := unit.DecimalOf(v)
		pt, err := pred.At(d)
		return sign * (p.reading(pt) - y), err
	}
	lo, hi := p.span()*1e-9, p.span()
	a, err := f(lo)
	if err != nil {
		return pt, 0, false, err
	}
	if a > 0 {
		sign = -1
	}
	v, ok, err := titration.Rising(f, lo, hi)
	if !ok || err != nil {
		return pt, math.NaN(), false, err
	}
	d, _ := unit.DecimalOf(v)
	if pt, err = pred.At(d); err != nil || len(p.Equivalences) == 0 {
		return pt, math.NaN(), err == nil, err
	}
	near := math.Inf(1)
	for _, e := range p.Equivalences {
		if d := v/float64(e.Point.Volume) - 1; math.Abs(d) < math.Abs(near) {
			near = d
		}
	}
	return pt, near, true, nil
}

// span is where the curve ends by choice: twice the last equivalence, within
// the burette if it is given.
func (p *Prediction) span() float64 {
	last := 0.05
	if n := len(p.Equivalences); n > 0 {
		last = 2 * float64(p.Equivalences[n-1].Point.Volume)
		if n > 1 {
			last *= 0.75
		}
	} else if c := p.Setup.Burette.Capacity.Float(); c > 0 {
		last = c
	}
	return last
}

// chosen spreads volumes in round steps and adds ever closer ones around each
// equivalence.
func (p *Prediction) chosen() []unit.Decimal {
	last := p.span()
	set := map[float64]bool{}
	add := func(v float64) {
		if v >= 0 && v <= last*(1+1e-9) {
			set[math.Round(v*1e9)/1e9] = true
		}
	}
	step := niceStep(last / 18)
	for i := 0; float64(i)*step <= last*(1+1e-9); i++ {
		add(float64(i) * step)
	}
	for _, e := range p.Equivalences {
		v := float64(e.Point.Volume)
		add(v / 2)
		add(v)
		add(2 * v)
		for _, k := range []float64{0.0002, 0.001, 0.002, 0.004, 0.01, 0.02, 0.04} {
			d := niceStep(k * v)
			add(v - d)
			add(v + d)
		}
	}
	return sorted(set)
}

// niceStep returns the step of 1, 2 or 5 times a power of ten nearest to x.
func niceStep(x float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(x)))
	switch m := x / unit; {
	case m < 1.5:
		return unit
	case m < 3.5:
		return 2 * unit
	case m < 7.5:
		return 5 * unit
	}
	return 10 * unit
}

// dense is for figures: fine steps, finest around each equivalence.
func (p *Prediction) dense(from, to float64) []unit.Decimal {
	set := map[float64]bool{}
	for i := 0; i <= 300; i++ {
		set[math.Round((from+(to-from)*float64(i)/300)*1e10)/1e10] = true
	}
	for _, e := range p.Equivalences {
		v := float64(e.Point.Volume)
		for k := -60; k <= 60; k++ {
			d := math.Pow(10, -7+math.Abs(float64(k))/12) * v
			if k < 0 {
				d = -d
			}
			if x := v + d; x >= from && x <= to {
				set[math.Round(x*1e12)/1e12] = true
			}
		}
	}
	return sorted(set)
}

func sorted(set map[float64]bool) []unit.Decimal {
	list := make([]float64, 0, len(set))
	for v := range set {
		list = append(list, v)
	}
	sort.Float64s(list)
	out := make([]unit.Decimal, len(list))
	for i, v := range list {
		out[i], _ = unit.DecimalOf(v)
	}
	return out
}

// reading is what the curve shows: the potential where it is known, else pH
// or pIon.
func (p *Prediction) reading(pt titration.Point) float64 {
	switch {
	case p.Setup.Titration.Cell.Known:
		return pt.Potential * 1e3
	case p.Setup.Titration.Cell.Sensor == titration.Glass:
		return pt.PH
	}
	return pt.PIon
}

func (p *Prediction) axis() string {
	cell := &p.Setup.Titration.Cell
	switch {
	case cell.Known && cell.Sensor != titration.Glass:
		return "potential against " + p.Setup.Electrode.Reference + " / mV"
	case cell.Known:
		return "potential / mV"
	case cell.Sensor == titration.Glass:
		return "pH"
	}
	return "p" + pretty(p.Setup.Electrode.Ion)
}

// pretty writes a species with its charge above the line.
func pretty(name string) string {
	sp, err := chem.ParseSpecies(name)
	if err != nil {
		return name
	}
	return sp.Unicode()
}

func (p *Prediction) titrant() string {
	if c := p.Setup.Burette.Contents; len(c) > 0 {
		return pretty(c[0].Species)
	}
	return "titrant"
}

// figure draws the curve with its landmarks.
func (p *Prediction) figure() (figure.Curve, error) {
	f := figure.Curve{
		Title:  figure.Plain(p.Setup.Title),
		XLabel: figure.Plain("volume of " + p.titrant() + " added / mL"),
		YLabel: figure.Plain(p.axis()),
	}
	from, to := 0.0, p.span()
	if p.asked && len(p.Points) > 1 {
		from, to = float64(p.Points[0].Volume), float64(p.Points[len(p.Points)-1].Volume)
	}
	pred := p.Setup.Titration.Predictor()
	for _, v := range p.dense(from, to) {
		pt, err := pred.At(v)
		if err != nil {
			return f, err
		}
		f.ModelVolume = append(f.ModelVolume, pt.Volume.Millilitres())
		f.ModelValue = append(f.ModelValue, p.reading(pt))
	}
	f.Landmarks = p.landmarks(from, to)
	return f, nil
}

func (p *Prediction) landmarks(from, to float64) []figure.Landmark {
	var list []figure.Landmark
	add := func(label string, v float64, main bool) {
		if v >= from && v <= to*(1+1e-9) {
			list = append(list, figure.Landmark{Label: figure.Plain(label), Volume: v * 1e3, Main: main})
		}
	}
	for _, e := range p.Equivalences {
		v := float64(e.Point.Volume)
		if len(p.Equivalences) == 1 {
			add("half", v/2, false)
			add("equivalence", v, true)
			add("twice", 2*v, false)
		} else {
			add(pretty(e.Species), v, true)
		}
	}
	return list
}
