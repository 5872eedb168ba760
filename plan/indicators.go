package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/constants"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

// An IndicatorFit is an indicator against one jump.
type IndicatorFit struct {
	Name   string
	Point  int     // index of the jump
	At     float64 // of the change, on Scale; NaN where it is not computed
	Scale  string  // "V" against SHE, "pH", "pMg^2+", or "mol/L" of Follows
	Of     string  // the particle followed, for metals, silver, iodine
	Error  float64 // L: volume of the change less the equivalence volume; NaN where the curve does not reach it
	Part   float64 // Error as part of the equivalence volume
	Fits   bool    // the change lies within the accuracy wanted
	Asked  bool    // the chemist named it
	Colour [2]constants.Shade
	Note   string
	Source constants.Source
}

// A sign is something seen in the flask: it comes when level turns from below
// 0 to above it, or goes the other way.
type sign struct {
	fit     IndicatorFit // what is known beforehand
	level   func(titration.Point) float64
	colours [2]constants.Shade // with level below 0, and above
}

// indicators compares what is asked for, and every indicator of the kind, with
// every jump, and keeps those whose change the curve passes between its
// neighbouring points: what was asked for first, then the smallest error.
func (p *Plan) indicators() error {
	for i, pt := range p.points {
		here, err := p.walk.at(pt.Volume, 0)
		if err != nil {
			return err
		}
		signs, err := p.signs(pt, here.PH)
		if err != nil {
			return err
		}
		var list []IndicatorFit
		for _, s := range signs {
			if !s.fit.Asked && slices.ContainsFunc(list, func(f IndicatorFit) bool { return f.Name == s.fit.Name }) {
				continue
			}
			f, ok, err := p.fit(s, i)
			if err != nil {
				return err
			}
			if ok || f.Asked {
				list = append(list, f)
			}
		}
		slices.SortStableFunc(list, better)
		p.Indicators = append(p.Indicators, list...)
	}
	// What was asked for changes at one point; of the others nothing is said.
	all := slices.Clone(p.Indicators)
	p.Indicators = slices.DeleteFunc(p.Indicators, func(f IndicatorFit) bool {
		return f.Asked && math.IsNaN(f.Error) && slices.ContainsFunc(all, func(g IndicatorFit) bool {
			return g.Name == f.Name && g.At == f.At && !math.IsNaN(g.Error)
		})
	})
	return nil
}

// A Suggestion is the indicator to make up for one equivalence point.
type Suggestion struct {
	Point  string        // what is used up there
	Fit    *IndicatorFit // nil where no indicator of the tables fits
	Itself bool          // the titrant colours, or the flask contains it: nothing is made
}

// Suggest returns the best indicator of each point that fits and that the tables
// say how to make up. Accuracy 0 is 0.1 %.
func Suggest(s *setup.Setup, accuracy float64) ([]Suggestion, error) {
	if s.Titration == nil {
		return nil, ErrNoChemistry
	}
	p := &Plan{Setup: s, Accuracy: accuracy, walk: newWalker(s)}
	if accuracy == 0 {
		p.Accuracy = usualAccuracy
	}
	if err := p.find(); err != nil {
		return nil, err
	}
	if err := p.indicators(); err != nil {
		return nil, err
	}
	flask := p.flask(s.Flask.Contents, "")
	var list []Suggestion
	for i, pt := range p.points {
		x := Suggestion{Point: pt.Name}
		for k := range p.Indicators {
			f := &p.Indicators[k]
			if f.Point != i || !f.Fits && f.Scale != "" {
				continue
			}
			r, known, err := constants.FindIndicatorSolution(f.Name)
			if err != nil {
				return nil, err
			}
			x.Itself = strings.HasSuffix(f.Name, " itself") || r.Indicator.Of != "" && overlaps(ions(r.Indicator.Of), flask)
			if known || x.Itself {
				x.Fit = f
				break
			}
		}
		list = append(list, x)
	}
	return list, nil
}

// better orders indicators: what was asked for, what fits, what follows a
// particle of this titration, then the smaller error.
func better(a, b IndicatorFit) int {
	rank := func(f IndicatorFit) int {
		n := 0
		for _, good := range []bool{f.Asked, f.Fits, f.Of != "" && !math.IsNaN(f.Error), !math.IsNaN(f.Error)} {
			n *= 2
			if !good {
				n++
			}
		}
		return n
	}
	if x := rank(a) - rank(b); x != 0 || a.Asked || math.IsNaN(a.Error) {
		return x
	}
	return int(math.Copysign(1, math.Abs(a.Error)-math.Abs(b.Error)))
}

// signs lists what may be seen at a point of this pH; NaN where none is known.
func (p *Plan) signs(pt Point, ph float64) ([]sign, error) {
	all, err := constants.Indicators(constants.RedoxIndicator, constants.AcidBaseIndicator)
	if err != nil {
		return nil, err
	}
	list, err := p.askedFor(all, ph)
	if err != nil {
		return nil, err
	}
	if kind := p.colourKind(); kind != "" {
		for _, ind := range all {
			if ind.Value.Known && ind.Also == "" && ind.Type == kind {
				list = append(list, p.byScale(ind, ph))
			}
		}
	}
	changes, err := constants.ColourChanges()
	if err != nil {
		return nil, err
	}
	for i, c := range changes {
		if i > 0 && changes[i-1].Indicator == c.Indicator {
			continue
		}
		own := slices.DeleteFunc(slices.Clone(changes), func(x constants.ColourChange) bool { return x.Indicator != c.Indicator })
		if s, ok := p.byParticle(own, pt, ph); ok {
			s.fit.Asked = p.named(c.Indicator)
			list = append(list, s)
		}
	}
	return list, nil
}

// colourKind is the kind of indicator that changes with what the cell follows;
// those of metals and silver follow their particle.
func (p *Plan) colourKind() constants.IndicatorType {
	switch p.Setup.Titration.Cell.Sensor {
	case titration.Glass:
		return constants.AcidBaseIndicator
	case titration.Ion:
		return ""
	}
	return constants.RedoxIndicator
}

// onScale is what changes at a potential against SHE or at a pH.
func onScale(kind constants.IndicatorType, at float64) (scale string, level func(titration.Point) float64) {
	if kind == constants.AcidBaseIndicator {
		return "pH", func(pt titration.Point) float64 { return pt.PH - at }
	}
	return "V", func(pt titration.Point) float64 { return pt.Standard - at }
}

// byScale is an indicator that changes at a potential or pH: pKa, or the
// potential against SHE at this pH.
func (p *Plan) byScale(ind constants.Indicator, ph float64) sign {
	at := ind.Value.Value
	if ind.Type == constants.RedoxIndicator && ind.Slope.Known && !math.IsNaN(ph) {
		at += ind.Slope.Value * ph
	}
	f := IndicatorFit{Name: ind.Name, At: at, Source: ind.Source, Note: ind.Note}
	var level func(titration.Point) float64
	f.Scale, level = onScale(ind.Type, at)
	return sign{f, level, ind.Colours}
}

// byParticle is an indicator that follows a particle of this titration; ok is
// false where none of its rows serves here. Of several metals each takes its
// share: the change is where half of the indicator is free of all.
func (p *Plan) byParticle(rows []constants.ColourChange, pt Point, ph float64) (s sign, ok bool) {
	sys := p.Setup.System()
	burette := p.flask(p.Setup.Burette.Contents, "")
	present := append(p.flask(p.Setup.Flask.Contents, ""), burette...)
	rows = slices.DeleteFunc(rows, func(c constants.ColourChange) bool {
		met := func(want, have []string) bool { return len(want) == 0 || overlaps(want, have) }
		metal := (c.LogK.Known || len(c.ByPH) > 0) && !slices.Contains(present, c.Particle)
		return metal || !met(c.Flask, []string{pt.Name}) || !met(c.Burette, burette) || !c.Serves(ph) || sys.Index(c.Particle) < 0
	})
	// Only the last solid leaves the excess to change side.
	if len(rows) == 0 || rows[0].Adsorbs && pt.Volume != p.main().Volume {
		return s, false
	}
	c := rows[0]
	s = sign{IndicatorFit{Name: c.Indicator, Of: c.Particle, At: math.NaN(), Source: c.Source, Note: c.Note}, nil, c.Colours}
	switch {
	case c.Adsorbs:
		s.fit.Note = "changes at the equivalence point by common practice, not computed; " + c.Note
	case c.Solid != "":
		p.bySolid(&s, c)
		return s, s.level != nil
	case c.Least > 0:
		j := sys.Index(c.Particle)
		s.fit.Scale, s.fit.At = "mol/L", c.Least
		s.level = func(titration.Point) float64 { return math.Log(p.walk.pred.Solver.Concentration(j) / c.Least) }
	default:
		p.byComplex(&s, rows, ph)
	}
	return s, true
}

// byComplex fills in a metal indicator.
func (p *Plan) byComplex(s *sign, rows []constants.ColourChange, ph float64) {
	sys := p.Setup.System()
	s.level = func(pt titration.Point) float64 {
		sum := 0.0
		for _, c := range rows {
			if ln, ok := p.walk.pred.Solver.LnActivity(sys.Index(c.Particle)); ok {
				sum += math.Exp(ln + math.Ln10*c.LogConditional(pt.PH))
			}
		}
		return math.Log(sum)
	}
	most := math.Inf(-1)
	for _, c := range rows {
		if k := c.LogConditional(ph); k > most {
			most, s.fit.At, s.fit.Of, s.fit.Note = k, k, c.Particle, c.Note
		}
	}
	s.fit.Scale = "p" + s.fit.Of
}

// merest keeps rounding from hiding a solid that is there: a solution in
// balance with it stands at the solubility product within this part.
const merest = 1e-6

// bySolid fills in an indicator that a solid shows. Where the flask does not
// contain the indicator, it is taken at its usual concentration.
func (p *Plan) bySolid(s *sign, c constants.ColourChange) {
	rows, err := constants.Solids()
	if err != nil {
		return
	}
	i := slices.IndexFunc(rows, func(r constants.Row) bool { return strings.HasPrefix(r.Text, c.Solid+" =") && r.Also == "" })
	if i < 0 {
		return
	}
	sys, solver := p.Setup.System(), p.walk.pred.Solver
	lnK := -rows[i].Value * math.Ln10
	s.level = func(titration.Point) float64 {
		sum := merest - lnK
		for _, t := range rows[i].Reaction.Terms {
			n := t.Coefficient.Float()
			switch j := sys.Index(t.Species.Name); {
			case t.Species.Name == c.Solid:
			case j >= 0 && solver.Concentration(j) > 0:
				ln, _ := solver.LnActivity(j)
				sum += n * ln
			default:
				sum += n * math.Log(c.Least)
			}
		}
		return sum
	}
	s.fit.Scale = "p" + c.Particle
	s.fit.At = p.silverAt(rows[i], c)
}

func (p *Plan) named(name string) bool {
	return slices.ContainsFunc(p.asked, func(a string) bool { return strings.EqualFold(a, name) })
}

// askedFor lists what the chemist named: a potential against SHE, a pH, or an
// indicator of the tables with all its values.
func (p *Plan) askedFor(all []constants.Indicator, ph float64) ([]sign, error) {
	var list []sign
	for _, a := range p.asked {
		if kind, at, ok := reading(a); ok {
			scale, level := onScale(kind, at)
			list = append(list, sign{IndicatorFit{Name: a, At: at, Scale: scale, Asked: true}, level, [2]constants.Shade{}})
			continue
		}
		for _, ind := range all {
			if ind.Value.Known && strings.EqualFold(ind.Name, a) {
				s := p.byScale(ind, ph)
				s.fit.Asked = true
				list = append(list, s)
			}
		}
	}
	return list, nil
}

// reading reads "0.85 V", "850 mV" or "pH 8.3". In water no colour changes beyond
// 3 V, below pH -2 or above pH 16: a digit or a unit slipped.
func reading(text string) (kind constants.IndicatorType, at float64, ok bool) {
	if after, found := strings.CutPrefix(strings.ToLower(strings.TrimSpace(text)), "ph"); found {
		d, err := unit.ParseDecimal(strings.TrimSpace(after))
		return constants.AcidBaseIndicator, d.Float(), err == nil && math.Abs(d.Float()-7) <= 9
	}
	q, err := unit.ParseQuantity(text)
	if err != nil {
		return "", 0, false
	}
	d, _, err := q.In(unit.DimPotential, "0.85 V")
	return constants.RedoxIndicator, d.Float(), err == nil && math.Abs(d.Float()) <= 3
}

// An IndicatorError says that what was asked for is no indicator.
type IndicatorError struct {
	Asked string
	Near  []string // names of the tables that hold a word of it
}

func (e *IndicatorError) Error() string {
	near := ""
	if len(e.Near) > 0 {
		near = "; the tables have " + strings.Join(e.Near, ", ")
	}
	return fmt.Sprintf("indicator %q: a potential against SHE such as \"0.85 V\", a pH such as \"pH 8.3\" or a name of the tables is meant%s", e.Asked, near)
}

// CheckIndicator says whether a text names an indicator, or a reading at which
// one changes.
func CheckIndicator(text string) error {
	if _, _, ok := reading(text); ok {
		return nil
	}
	all, err := constants.Indicators()
	if err != nil {
		return err
	}
	changes, err := constants.ColourChanges()
	if err != nil {
		return err
	}
	var names []string
	for _, i := range all {
		names = append(names, i.Name)
	}
	for _, c := range changes {
		names = append(names, c.Indicator)
	}
	e := &IndicatorError{Asked: text}
	for _, n := range names {
		if strings.EqualFold(n, text) {
			return nil
		}
		for w := range strings.FieldsSeq(strings.ToLower(text)) {
			if len(w) > 3 && strings.Contains(strings.ToLower(n), w) && !slices.Contains(e.Near, n) {
				e.Near = append(e.Near, n)
			}
		}
	}
	return e
}

// fit finds where a sign comes or goes around a point; ok is false where the
// curve does not pass it.
func (p *Plan) fit(s sign, i int) (f IndicatorFit, ok bool, err error) {
	f = s.fit
	f.Point, f.Colour, f.Error, f.Part = i, s.colours, math.NaN(), math.NaN()
	if s.level == nil { // not computed
		return f, true, nil
	}
	pt := p.points[i]
	d, coming, ok, err := p.walk.where(pt, s.level)
	if err != nil || !ok {
		f.Note = "the curve does not pass it"
		return f, false, err
	}
	if !coming {
		f.Colour[0], f.Colour[1] = f.Colour[1], f.Colour[0]
	}
	f.Error, f.Part = d, d/pt.Volume
	f.Fits = math.Abs(f.Part) <= p.Accuracy
	return f, true, nil
}

// silverAt is the reading of the sensor's scale at which the solid comes, for
// the indicator at its usual concentration.
func (p *Plan) silverAt(r constants.Row, c constants.ColourChange) float64 {
	x, n := -r.Value, 1.0
	for _, t := range r.Reaction.Terms {
		switch t.Species.Name {
		case c.Solid:
		case c.Particle:
			n = math.Abs(t.Coefficient.Float())
		default:
			x -= math.Abs(t.Coefficient.Float()) * math.Log10(c.Least)
		}
	}
	return -x / n
}
