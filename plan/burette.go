package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/volumetric"
)

// usualCapacity is the burette where a setup names none.
const usualCapacity = 0.050 // L

// Bounds of a good end point as parts of the burette, and the coverage of a
// normal guess that is wanted on its scale: common practice, and 95 %.
const (
	lowEnd, highEnd = 0.60, 0.90
	coverage95      = 1.96
)

// An Aliquot is one way to bring the end into the burette.
type Aliquot struct {
	Pipette  float64 // L
	Strength float64 // of the titrant, mol/L
	Volume   float64 // L at the end
	Low      float64 // L, 95 % of the guess's range
	High     float64
	RelU     float64 // relative standard uncertainty of Volume
}

// A Burette says where in the burette the end falls, and how to have it
// between 60 and 90 %.
type Burette struct {
	Capacity float64
	Given    bool // the setup names it
	Class    string
	Here     Aliquot // as the setup has it; Pipette is the flask's volume
	HereOK   bool
	Aim      float64 // L
	Ways     []Aliquot
	Mass     float64 // g of sample for Aim, 0 where none is weighed
	Note     string
	Scale    []ScaleU // relative uncertainty of volume along the scale
}

// A ScaleU is the relative standard uncertainty of one volume.
type ScaleU struct{ Volume, RelU float64 }

func (p *Plan) burette() error {
	s := p.Setup
	b := &p.Burette
	b.Capacity, b.Class = usualCapacity, s.Burette.Class
	if c := s.Burette.Capacity.Float(); c > 0 {
		b.Capacity, b.Given = c, true
	}
	if b.Class == "" {
		b.Class = "A"
	}
	for _, x := range []float64{0.2, 0.4, 0.7, 0.9} {
		if u, err := p.relU(x * b.Capacity); err == nil {
			b.Scale = append(b.Scale, ScaleU{x * b.Capacity, u})
		}
	}
	m := p.main()
	if m == nil {
		return nil
	}
	c := p.strength()
	b.Here = p.way(float64(s.Titration.V0), c, m.Volume)
	b.HereOK = b.Here.Volume >= lowEnd*b.Capacity && b.Here.High <= b.Capacity && b.Here.Volume <= highEnd*b.Capacity
	b.Aim = math.Min(0.75*b.Capacity, b.Capacity/(1+coverage95*p.Guess))
	p.ways(m.Volume, c)
	if s.Sample != nil && s.Sample.Mass.Float() > 0 {
		b.Mass = s.Sample.Mass.Float() * b.Aim / m.Volume
	}
	switch {
	case b.Aim < lowEnd*b.Capacity:
		b.Note = fmt.Sprintf("a guess that is uncertain by %s %% (standard uncertainty) does not fit a single filling between 60 and 90 %%; the end is aimed at %s %% so that it is on the scale in 95 of 100 cases. A rough titration first is better: it costs one run, and the next can be planned from it",
			number(100*p.Guess), number(math.Round(100*b.Aim/b.Capacity)))
	case m.Volume > b.Capacity:
		b.Note = fmt.Sprintf("the burette of %s mL is too small for an end at %s mL", number(b.Capacity*1e3), number(m.Volume*1e3))
	}
	return nil
}

// strength is the concentration of the first content of the burette.
func (p *Plan) strength() float64 {
	if c := p.Setup.Burette.Contents; len(c) > 0 {
		return c[0].Conc.Float()
	}
	return math.NaN()
}

func (p *Plan) way(pipette, strength, v float64) Aliquot {
	a := Aliquot{Pipette: pipette, Strength: strength, Volume: v}
	a.Low, a.High = v*math.Max(0, 1-coverage95*p.Guess), v*(1+coverage95*p.Guess)
	u, err := p.relU(v)
	if err != nil {
		u = math.NaN()
	}
	a.RelU = u
	return a
}

// mostWays is how many ways are proposed; those from tooOdd on only if there is
// no other.
const (
	mostWays = 5
	tooOdd   = 2.5
)

// usualPipettes are what every laboratory has; usualStrengths what is commonly
// made up, within a decade: common practice.
var (
	usualPipettes  = []float64{0.010, 0.020, 0.025, 0.050}
	usualStrengths = []float64{1, 2, 5, 2.5}
)

// strengths lists the concentrations worth proposing beside c: usual ones
// within a decade, and simple parts and multiples of c, which need one dilution.
func strengths(c float64) []float64 {
	list := []float64{c, c / 2, 2 * c, c / 2.5, 2.5 * c, c / 4, 4 * c, c / 5, 5 * c, c / 10, 10 * c}
	ten := math.Pow(10, math.Floor(math.Log10(c))-1)
	for range 3 {
		for _, u := range usualStrengths {
			if x := u * ten; x > c/10.001 && x < c*10.001 {
				list = append(list, x)
			}
		}
		ten *= 10
	}
	for i, x := range list {
		list[i] = tidy(x)
	}
	slices.SortFunc(list, func(a, b float64) int { return int(math.Copysign(1, a-b)) })
	return slices.CompactFunc(list, func(a, b float64) bool { return math.Abs(a/b-1) < 1e-6 })
}

// tidy takes the rounding of a computation off a concentration.
func tidy(x float64) float64 {
	y, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 6, 64), 64)
	return y
}

// usual says whether a strength is 1, 2, 2.5 or 5 times a power of ten.
func usual(c float64) bool {
	m := c / math.Pow(10, math.Floor(math.Log10(c)+1e-9))
	return slices.ContainsFunc(usualStrengths, func(u float64) bool { return math.Abs(m/u-1) < 1e-6 })
}

// oddness ranks a way: the strength in use before another, usual ones and
// usual pipettes before odd ones, then what is near the aim.
func (b *Burette) oddness(a Aliquot, c float64) float64 {
	x := math.Abs(a.Volume-b.Aim) / b.Capacity
	if r := math.Abs(math.Log2(a.Strength / c)); r > 1e-6 {
		x += 0.5 + 0.2*r
		if !usual(a.Strength) {
			x++
		}
	}
	if !slices.Contains(usualPipettes, a.Pipette) {
		x++
		if a.Pipette != 0.005 && a.Pipette != 0.100 {
			x += 2
		}
	}
	return x
}

// ways lists what pipettes and strengths bring the end between 60 and 90 % with
// the guess's range on the scale, the least odd first. V is proportional to
// the aliquot and to 1/strength.
func (p *Plan) ways(v, c float64) {
	b := &p.Burette
	if !(c > 0) {
		return
	}
	v0 := float64(p.Setup.Titration.V0)
	for _, strength := range strengths(c) {
		for _, size := range pipettes() {
			a := p.way(size, strength, v*size/v0*c/strength)
			if a.Volume >= lowEnd*b.Capacity && a.Volume <= highEnd*b.Capacity && a.High <= b.Capacity {
				b.Ways = append(b.Ways, a)
			}
		}
	}
	slices.SortStableFunc(b.Ways, func(x, y Aliquot) int {
		return int(math.Copysign(1, b.oddness(x, c)-b.oddness(y, c)))
	})
	n := 0
	for n < len(b.Ways) && n < mostWays && (n == 0 || b.oddness(b.Ways[n], c) < tooOdd) {
		n++
	}
	b.Ways = b.Ways[:n]
}

// pipettes returns the nominal volumes of class A pipettes from 5 mL, L.
func pipettes() []float64 {
	var list []float64
	for _, l := range volumetric.Limits() {
		if v := float64(l.Capacity); l.Kind == volumetric.Pipette && l.Class == "A" && v >= 0.005 && !slices.Contains(list, v) {
			list = append(list, v)
		}
	}
	slices.Sort(list)
	return list
}

// readingU is the standard uncertainty of one reading of the scale, common
// practice for tenths of a millilitre estimated to a fifth.
const readingU = 0.01e-3 // L

// relU is the relative standard uncertainty of a volume from the burette: the
// limit of its class, triangular, and two readings. Fillings beyond the first
// have readings of their own.
func (p *Plan) relU(v float64) (float64, error) {
	l, err := volumetric.FindLimit(volumetric.Burette, unit.Volume(p.Burette.Capacity), 0, p.Burette.Class, "")
	if err != nil {
		return 0, err
	}
	cal, err := l.StdUnc(uncertainty.Triangular)
	if err != nil {
		return 0, err
	}
	sh, err := volumetric.Delivery{
		Calibration: cal, Reading: readingU, Readings: 2, Fillings: max(1, int(math.Ceil(v/p.Burette.Capacity))),
	}.Uncertainty(unit.Volume(v))
	return float64(sh.Total) / v, err
}
