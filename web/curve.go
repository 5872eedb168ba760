package web

import (
	"math"
	"slices"
	"strconv"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/num/dd"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

// A curveData is a predicted curve as the pages draw it. Volumes are in mL, the
// reading in mV, pH or pIon as Unit says, concentrations in mol/L.
type curveData struct {
	far       []string     // what it leaves out
	Axis      string       `json:"axis" doc:"what the curve shows, with its unit"`
	Symbol    string       `json:"symbol" doc:"short name of the reading, such as E or pH"`
	Unit      string       `json:"unit" doc:"mV, or empty for pH and pIon"`
	Reference string       `json:"reference" doc:"reference electrode of a potential"`
	Titrant   string       `json:"titrant"`
	StdUnc    float64      `json:"reading_uncertainty,omitempty" doc:"standard uncertainty of a potential from reference and junction alone, mV"`
	Volume    series       `json:"volume_mL"`
	Reading   series       `json:"reading" doc:"null where the composition leaves it undefined"`
	Slope     coarse       `json:"slope,omitempty" doc:"of the reading, a millilitre"`
	PH        series       `json:"pH,omitempty"`
	Species   []speciesRow `json:"species"`
	Shares    []shareGroup `json:"shares" doc:"null if left out"`
	Marks     []mark       `json:"landmarks"`
	Colours   []stretch    `json:"colours"`
	Governs   []stretch    `json:"governs"`
	Undefined string       `json:"undefined,omitempty" doc:"why the reading is undefined where it is null"`
}

type speciesRow struct {
	Name          string `json:"name"`
	Solid         bool   `json:"solid"`
	Concentration coarse `json:"mol_per_L"`
}

// A shareGroup is how one element is shared out among species.
type shareGroup struct {
	Of     string      `json:"of"`
	Shares []shareLine `json:"shares"`
}

type shareLine struct {
	Name  string `json:"name"`
	Share coarse `json:"share"`
}

type mark struct {
	Kind    string   `json:"kind" enum:"half,equivalence,twice"`
	Species string   `json:"species" doc:"used up at the equivalence point"`
	Volume  float64  `json:"volume_mL"`
	StdUnc  float64  `json:"standard_uncertainty_mL" doc:"from what the setup states; 0 if it states none"`
	Reading *float64 `json:"reading"`
}

// A stretch is a part of the volume axis of which one thing holds.
type stretch struct {
	From   float64 `json:"from_mL"`
	To     float64 `json:"to_mL"`
	Words  string  `json:"words"`
	Swatch string  `json:"swatch,omitempty" doc:"#rrggbb"`
}

// volumes spreads round steps over the curve and adds ever closer ones around
// each equivalence point, with the landmarks themselves.
func volumes(p *report.Prediction, marks []mark, want int) []unit.Decimal {
	last := p.Span() * 1e3 // mL
	per := float64(want) * 0.75
	if len(p.Equivalences) == 0 {
		per = float64(want)
	}
	step := niceStep(last / per)
	var list []float64
	for i := 0; float64(i)*step <= last*(1+1e-9); i++ {
		list = append(list, float64(i)*step)
	}
	for _, m := range marks {
		list = append(list, m.Volume)
		if m.Kind != "equivalence" {
			continue
		}
		// Where the round steps took all there was, a jump still needs its own.
		near := max(want-len(list), want/8) / (2 * len(p.Equivalences))
		for k := 0; k < near; k++ {
			d := m.Volume * math.Pow(10, -6+4.7*float64(k)/float64(max(near-1, 1)))
			list = append(list, m.Volume-d, m.Volume+d)
		}
	}
	slices.Sort(list)
	out := make([]unit.Decimal, 0, len(list))
	before := -1.0
	for _, v := range list {
		n := math.Round(v * 1e7) // tenths of a nanolitre, exact
		if n < 0 || v > last*(1+1e-9) || n == before {
			continue
		}
		before = n
		out = append(out, unit.Decimal{Coef: dd.From(n), Exp: -10})
	}
	return out
}

// niceStep returns the largest step of 1, 2 or 5 times a power of ten that is
// not above x much.
func niceStep(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{5, 2, 1} {
		if m*power <= x*1.2 {
			return m * power
		}
	}
	return power
}

// A wanted curve is about how many points, a volume besides (mL; below 0 for
// none) and what the page shows of it: leaving out the rest makes it quicker.
type wanted struct {
	points        int
	at            float64
	slope, shares bool
}

func allOf(points int) wanted { return wanted{points: points, at: -1, slope: true, shares: true} }

// drawCurve computes the curve of a setup.
func drawCurve(s *setup.Setup, want wanted) (*curveData, error) {
	p, err := report.Jumps(s)
	if err != nil {
		return nil, err
	}
	d := &curveData{far: p.Far, Axis: report.Typeset(p.Axis()), Reference: s.Electrode.Reference, Titrant: "titrant"}
	if c := s.Burette.Contents; len(c) > 0 {
		d.Titrant = report.Formula(c[0].Species)
	}
	cell := &s.Titration.Cell
	switch {
	case cell.Known:
		d.Symbol, d.Unit = "E", "mV"
		d.StdUnc = 1e3 * math.Hypot(s.Electrode.ReferenceU, s.Electrode.JunctionU)
	case cell.Sensor == titration.Glass:
		d.Symbol = "pH"
	default:
		d.Symbol = d.Axis
	}
	if d.Marks, err = marks(p); err != nil {
		return nil, err
	}
	list := volumes(p, d.Marks, want.points)
	if want.at >= 0 {
		if v, err := unit.ParseDecimal(strconv.FormatFloat(want.at, 'f', -1, 64) + "e-3"); err == nil {
			list = insertVolume(list, v)
		}
	}
	return d, d.trace(p, list, want)
}

func insertVolume(list []unit.Decimal, v unit.Decimal) []unit.Decimal {
	i, found := slices.BinarySearchFunc(list, v, func(a, b unit.Decimal) int {
		switch x, y := a.Float(), b.Float(); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	if found {
		return list
	}
	return slices.Insert(list, i, v)
}

// trace walks along the curve once and takes down everything.
func (d *curveData) trace(p *report.Prediction, list []unit.Decimal, want wanted) error {
	pred := p.Setup.Titration.Predictor()
	sys := pred.System()
	tint, err := newTint(p.Setup)
	if err != nil {
		return err
	}
	rows := make([]speciesRow, len(sys.Species))
	for j := range rows {
		rows[j].Concentration = make(coarse, len(list))
	}
	d.Volume, d.Reading = make(series, len(list)), make(series, len(list))
	if sys.Index(chem.Proton) >= 0 {
		d.PH = make(series, len(list))
	}
	if want.slope {
		d.Slope = make(coarse, len(list))
	}
	var colours, grips segments
	for i, v := range list {
		pt, err := pred.At(v)
		if err != nil {
			return err
		}
		p.Points = append(p.Points[:0], pt)
		mL := math.Round(pt.Volume.Millilitres()*1e7) / 1e7
		d.Volume[i], d.Reading[i] = mL, finely(p.Reading(0))
		if d.PH != nil {
			d.PH[i] = finely(pt.PH)
		}
		if want.slope {
			d.Slope[i] = d.slope(pred)
		}
		if pt.Undefined != "" && d.Undefined == "" {
			d.Undefined = report.Typeset(pt.Undefined)
		}
		for j := range rows {
			rows[j].Concentration[i] = present(pred.Solver, sys, j)
		}
		words, swatch := tint.see(pred.Solver, sys)
		colours.add(mL, words, swatch)
		grips.add(mL, gripWords(pred.Grips()), "")
	}
	for i := range grips.list {
		grips.list[i].Words = report.Typeset(grips.list[i].Words)
	}
	d.Colours, d.Governs = colours.list, grips.list
	for j := range rows {
		if sys.Species[j].Kind != equilibrium.Electron && slices.Max(rows[j].Concentration) > 1e-12 {
			rows[j].Name = report.Formula(sys.Species[j].Name)
			rows[j].Solid = sys.Species[j].Kind == equilibrium.Solid
			d.Species = append(d.Species, rows[j])
		}
	}
	if want.shares {
		d.Shares = shares(p.Setup, sys, rows)
	}
	return nil
}

// finely rounds a reading or a pH to far below what is shown of it.
func finely(x float64) float64 { return math.Round(x*1e5) / 1e5 }

// slope is that of the reading, a millilitre.
func (d *curveData) slope(pred *titration.Predictor) float64 {
	if d.Unit != "mV" {
		return bareSlope(pred) * 1e-3
	}
	first, _ := pred.Slope()
	return first
}

// bareSlope is the slope of -log10 of the activity sensed, a litre.
func bareSlope(pred *titration.Predictor) float64 {
	first, _, ok := pred.Solver.LnActivitySlope(pred.Cell.Species)
	if !ok {
		return math.NaN()
	}
	return -first / math.Ln10
}

// present is how much there is of a species, mol in a litre of solution.
func present(s *equilibrium.Solver, sys *equilibrium.System, j int) float64 {
	if sys.Species[j].Kind == equilibrium.Solid {
		return s.Amount(j)
	}
	return s.Concentration(j)
}

// marks lists half, equivalence and twice; with several equivalence points
// those only.
func marks(p *report.Prediction) ([]mark, error) {
	list := []mark{}
	if len(p.Equivalences) == 0 {
		return list, nil
	}
	u, err := spread(p)
	if err != nil {
		return nil, err
	}
	pred := p.Setup.Titration.Predictor()
	add := func(kind, species string, v, u float64) error {
		d, _ := unit.DecimalOf(math.Round(v*1e10) / 1e10)
		pt, err := pred.At(d)
		if err != nil {
			return err
		}
		p.Points = append(p.Points, pt)
		m := mark{Kind: kind, Species: report.Formula(species), Volume: math.Round(v*1e7) / 1e4, StdUnc: u * 1e3}
		if r := p.Reading(len(p.Points) - 1); !math.IsNaN(r) {
			m.Reading = &r
		}
		list = append(list, m)
		return nil
	}
	for _, e := range p.Equivalences {
		v := float64(e.Point.Volume)
		one := len(p.Equivalences) == 1
		if one {
			err = add("half", e.Species, v/2, 0)
		}
		if err == nil {
			err = add("equivalence", e.Species, v, u(v))
		}
		if err == nil && one {
			err = add("twice", e.Species, 2*v, 0)
		}
		if err != nil {
			return nil, err
		}
	}
	return list, nil
}

// spread returns the standard uncertainty of an equivalence volume (L) that the
// stated uncertainties of the concentrations and of the flask's volume cause,
// taken as independent.
func spread(p *report.Prediction) (func(v float64) float64, error) {
	s := p.Setup
	sys := s.System()
	var params []titration.Parameter
	var us []float64
	add := func(kind titration.ParameterKind, c setup.Content) {
		i := sys.Index(c.Species)
		if i < 0 && len(c.Ions) > 0 {
			for _, t := range c.Ions {
				if i = sys.Index(t.Species.Name); i >= 0 {
					break
				}
			}
		}
		if i >= 0 && c.Conc.U > 0 {
			params = append(params, titration.Parameter{Kind: kind, Index: i})
			us = append(us, c.Conc.U)
		}
	}
	for _, c := range s.Flask.Contents {
		add(titration.FlaskConcentration, c)
	}
	for _, c := range s.Burette.Contents {
		add(titration.BuretteConcentration, c)
	}
	m, err := s.Titration.NewModel(params, titration.Potential)
	if err != nil {
		return nil, err
	}
	last := float64(p.Equivalences[len(p.Equivalences)-1].Point.Volume)
	list, err := m.Equivalences(1.01 * last)
	if err != nil {
		return nil, err
	}
	flask := 0.0
	if v := s.Flask.Volume.Float(); v > 0 {
		flask = s.Flask.Volume.U / v
	}
	return func(v float64) float64 {
		sum := v * flask * v * flask
		for _, e := range list {
			if math.Abs(e.Volume-v) < 1e-9 {
				for i, g := range e.Gradient {
					sum += g * us[i] * g * us[i]
				}
			}
		}
		return math.Sqrt(sum)
	}, nil
}

// gripWords says which couple or pair governs, with formulas as they come: it
// is asked at every point.
func gripWords(list []titration.Grip) string {
	switch {
	case len(list) == 0:
		return "nothing: no couple has both its forms here"
	case len(list) == 1 || list[0].Share > 0.9:
		return list[0].Name
	}
	return list[0].Name + " with " + list[1].Name
}

// segments joins neighbouring points of which the same holds.
type segments struct{ list []stretch }

func (s *segments) add(v float64, words, swatch string) {
	n := len(s.list)
	if n > 0 && s.list[n-1].Words == words && s.list[n-1].Swatch == swatch {
		s.list[n-1].To = v
		return
	}
	from := v
	if n > 0 {
		from = (s.list[n-1].To + v) / 2
		s.list[n-1].To = from
	}
	s.list = append(s.list, stretch{from, v, words, swatch})
}
