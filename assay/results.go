package assay

import (
	"fmt"
	"math"
	"strings"

	"meniscus/chem"
	"meniscus/setup"
	"meniscus/titration"
)

// main returns the end point that belongs to a sought species: its own, or
// the last one.
func (e *Evaluation) mainPoint(species string) *Point {
	points := e.EquivalencePoints
	for i := range points {
		if points[i].Species == species {
			return &points[i]
		}
	}
	if len(points) == 0 {
		return nil
	}
	return &points[0]
}

func (e *Evaluation) concentrations() {
	if e.Setup.Titration == nil {
		e.ratioOnly()
		return
	}
	for _, f := range e.Setup.Find {
		p := e.mainPoint(f.Species)
		if p == nil {
			continue
		}
		if r, ok := e.concentration(f, p); ok {
			e.Concentrations = append(e.Concentrations, r)
			e.content(f, r)
		}
	}
}

// concentration turns an equivalence volume into the concentration that
// gives it, through the stoichiometry of the titration: that of the portion
// the species is in, where the flask was made of portions.
func (e *Evaluation) concentration(f setup.Target, p *Point) (Result, bool) {
	t := e.Setup.Titration
	known := e.knowns(f)
	params := []titration.Parameter{{Kind: side(f.InBurette), Index: t.System().Index(f.Species), Name: "c(" + f.Species + ")", Unit: "mol/L"}}
	for _, k := range known {
		params = append(params, k.parameters(t)...)
	}
	if params[0].Index < 0 {
		return Result{}, false
	}
	m, err := t.NewModel(params, titration.Potential)
	if err != nil {
		return Result{}, false
	}
	net := float64(p.Volume) - e.Setup.Blank.Float()
	eq, c, ok := solveConcentration(m, net, p.Species, f.InBurette)
	if !ok {
		e.Warnings = append(e.Warnings, fmt.Sprintf("no concentration of %s gives an equivalence volume of %.4g mL%s in this chemistry", f.Species, net*1e3, e.lessBlank()))
		return Result{}, false
	}
	r := Result{Name: f.Species, Value: c, Unit: "mol/L", From: e.Methods[e.Recommended].Name, Freedom: math.Inf(1)}
	if e.Recommended == 0 && e.Fit.Estimated {
		r.Freedom = float64(e.Fit.Freedom)
	}
	b := budget{e: e, r: &r, f: f, eq: eq, known: known, perVolume: 1 / math.Abs(eq.Gradient[0]), portion: e.Setup.Flask.Volume}
	if v, in := e.portion(f); in {
		b.portion = v
		b.scale(e.Setup.Flask.Volume.Float() / v.Float())
	}
	b.add(p)
	return r, true
}

func (e *Evaluation) lessBlank() string {
	if e.Setup.Blank.Float() == 0 {
		return ""
	}
	return ", the blank subtracted,"
}

func side(burette bool) titration.ParameterKind {
	if burette {
		return titration.BuretteConcentration
	}
	return titration.FlaskConcentration
}

// portion returns the volume that a sought species of the flask was in; false
// where it is in the burette, or in several portions.
func (e *Evaluation) portion(f setup.Target) (setup.Value, bool) {
	var v setup.Value
	n := 0
	if !f.InBurette {
		for _, c := range e.Setup.Flask.Contents {
			if holds(c, f.Species) {
				v, n = c.Volume, n+1
			}
		}
	}
	return v, n == 1
}

func holds(c setup.Content, species string) bool {
	for _, ion := range c.Ions {
		if ion.Species.Name == species {
			return true
		}
	}
	return c.Species == species
}

// solveConcentration finds the value of the model's first parameter that puts
// the equivalence at v, and returns that equivalence. The volume is a straight
// function of an amount in the flask and a reciprocal one of a concentration
// in the burette, so a few Newton steps do.
func solveConcentration(m *titration.Model, v float64, species string, inBurette bool) (*titration.Equivalence, float64, bool) {
	values := m.Start()
	for range 60 {
		eq, err := m.Equivalences(1e4)
		if err != nil {
			return nil, 0, false
		}
		var at *titration.Equivalence
		for i := range eq {
			if eq[i].Gradient[0] != 0 && (at == nil || eq[i].Species == species) {
				at = &eq[i]
			}
		}
		if at == nil {
			return nil, 0, false
		}
		c := values[0]
		next := c + (v-at.Volume)/at.Gradient[0]
		if inBurette {
			next = c * at.Volume / v
		}
		if !(next > 0) || math.IsInf(next, 0) {
			return nil, 0, false
		}
		values[0] = next
		if m.Set(values) != nil {
			return nil, 0, false
		}
		if math.Abs(next-c) < 1e-14*c {
			return at, next, true
		}
	}
	return nil, 0, false
}

// content reports the sample: the share by mass, or the amount in it.
func (e *Evaluation) content(f setup.Target, c Result) {
	s := e.Setup.Sample
	if s == nil || f.InBurette || s.ReportAs == "" {
		return
	}
	if s.Mass.X.Coef.IsZero() {
		e.Assumed = append(e.Assumed, "no content is reported: the sample has no mass")
		return
	}
	want := strings.TrimSpace(strings.Trim(strings.TrimSpace(s.ReportAs), "%"))
	sp, err := chem.ParseSpecies(want)
	if err != nil {
		e.Warnings = append(e.Warnings, fmt.Sprintf("report as %q: %v", s.ReportAs, err))
		return
	}
	mass, err := sp.MolarMass()
	if err != nil {
		e.Warnings = append(e.Warnings, fmt.Sprintf("report as %q: %v", s.ReportAs, err))
		return
	}
	per, err := unitsPer(sp, f.Species)
	if err != nil {
		e.Warnings = append(e.Warnings, fmt.Sprintf("report as %q: %v", s.ReportAs, err))
		return
	}
	factor, rel := e.aliquotFactor()
	amount := c.Value * e.amountVolume(f) * factor / per
	r := Result{
		Name: s.ReportAs, Unit: "% w/w", From: c.From, Freedom: c.Freedom, Coverage: c.Coverage,
		Value: 100 * amount * float64(mass.Value) / s.Mass.Float(),
		Note:  fmt.Sprintf("%.6g g of %s in %.6g g of sample", amount*float64(mass.Value), sp.Name, s.Mass.Float()),
	}
	for _, q := range c.Parts {
		if u := q.inAmount / c.Value * r.Value; u > 0 {
			r.Parts = append(r.Parts, Part{q.Name, u, q.Note, u})
		}
	}
	r.addParts(
		Part{Name: "mass of sample", StdUnc: s.Mass.U / s.Mass.Float() * r.Value, Note: "as stated"},
		Part{Name: "aliquot factor", StdUnc: rel * r.Value, Note: "as stated"},
		Part{Name: "molar mass of " + sp.Name, StdUnc: float64(mass.StdUnc/mass.Value) * r.Value, Note: "CIAAW 2021"},
	)
	if r.Value > 100 {
		e.Warnings = append(e.Warnings, fmt.Sprintf("a content of %.4g %% is impossible; look at the aliquot factor, the sample mass and the units", r.Value))
	}
	e.Contents = append(e.Contents, r)
}

// aliquotFactor is how many times the aliquot is in the whole solution of the
// sample, with its relative standard uncertainty.
func (e *Evaluation) aliquotFactor() (factor, rel float64) {
	s := e.Setup.Sample
	part, whole := s.Aliquot.Float(), s.MadeUpTo.Float()
	switch {
	case part == 0 && whole == 0:
		return 1, 0
	case part == 0 || whole == 0:
		missing := "aliquot"
		if part > 0 {
			missing = "made up to"
		}
		e.Warnings = append(e.Warnings, "the sample has no "+missing+": all of it is taken to be in the flask")
		return 1, 0
	case part > whole:
		e.Warnings = append(e.Warnings, "the aliquot is larger than what the sample was made up to")
	}
	return whole / part, math.Hypot(s.MadeUpTo.U/whole, s.Aliquot.U/part)
}

// amountVolume is the volume in litres whose concentration is reported.
func (e *Evaluation) amountVolume(f setup.Target) float64 {
	if v, ok := e.portion(f); ok {
		return v.Float()
	}
	return e.Setup.Flask.Volume.Float()
}

// unitsPer returns how many of the titrated species one formula unit of the
// reported substance holds: 2 iron in Fe2O3, by the element that both share
// besides H and O.
func unitsPer(report chem.Species, titrated string) (float64, error) {
	sp, err := chem.ParseSpecies(titrated)
	if err != nil {
		return 0, err
	}
	if report.Name == sp.Name {
		return 1, nil
	}
	for _, el := range sp.Elements {
		if el.Symbol == "H" || el.Symbol == "O" {
			continue
		}
		if n := report.Count(el.Symbol); n.Sign() > 0 {
			return n.Float() / el.Count.Float(), nil
		}
	}
	return 0, fmt.Errorf("%s and %s share no element to count by", report.Name, sp.Name)
}
