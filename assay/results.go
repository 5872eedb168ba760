package assay

import (
	"fmt"
	"math"
	"strings"

	"meniscus/chem"
	"meniscus/endpoint"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
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

// ratioOnly reports nothing but the ratio that the setup gives: there are no
// concentrations to work with.
func (e *Evaluation) ratioOnly() {
	r := e.Setup.Ratio
	if r == nil || len(e.Setup.Burette.Contents) == 0 {
		e.Assumed = append(e.Assumed, "no concentration is reported: the setup names no titrant")
	}
}

// concentration turns an equivalence volume into the concentration that
// gives it, through the stoichiometry of the titration.
func (e *Evaluation) concentration(f setup.Target, p *Point) (Result, bool) {
	t := e.Setup.Titration
	j := t.System().Index(f.Species)
	kind := titration.FlaskConcentration
	if f.InBurette {
		kind = titration.BuretteConcentration
	}
	m, err := t.NewModel([]titration.Parameter{{Kind: kind, Index: j, Name: "c(" + f.Species + ")", Unit: "mol/L"}}, titration.Potential)
	if err != nil || j < 0 {
		return Result{}, false
	}
	blank := e.Setup.Blank.Float()
	target := float64(p.Volume) - blank
	c, ok := solveConcentration(m, target, p.Species)
	if !ok {
		e.Warnings = append(e.Warnings, fmt.Sprintf("no concentration of %s gives an equivalence volume of %.4g mL in this chemistry", f.Species, p.Volume.Millilitres()))
		return Result{}, false
	}
	r := Result{Name: f.Species, Value: c, Unit: "mol/L", From: e.Methods[e.Recommended].Name, Freedom: math.Inf(1)}
	if e.Recommended == 0 {
		r.Freedom = float64(e.Fit.Freedom)
		if !e.Fit.Estimated {
			r.Freedom = math.Inf(1)
		}
	}
	e.budget(&r, f, p, target)
	return r, true
}

// solveConcentration finds the value of the model's only parameter that puts
// the equivalence at v. The volume is a straight or reciprocal function of
// it, so a few Newton steps do.
func solveConcentration(m *titration.Model, v float64, species string) (float64, bool) {
	c := m.Start()[0]
	for range 60 {
		eq, err := m.Equivalences(1e4)
		if err != nil {
			return 0, false
		}
		var at *titration.Equivalence
		for i := range eq {
			if eq[i].Gradient[0] != 0 && (at == nil || eq[i].Species == species) {
				at = &eq[i]
			}
		}
		if at == nil {
			return 0, false
		}
		next := c + (v-at.Volume)/at.Gradient[0]
		if at.Gradient[0] < 0 { // in the burette: V is inverse in c
			next = c * at.Volume / v
		}
		if !(next > 0) {
			return 0, false
		}
		done := math.Abs(next-c) < 1e-14*c
		c = next
		if err := m.Set([]float64{c}); err != nil {
			return 0, false
		}
		if done {
			return c, true
		}
	}
	return c, true
}

// budget adds the parts of the uncertainty of a concentration: end point,
// blank, titrant, volume in the flask, burette. All enter as products or
// quotients, so relative uncertainties add in squares.
func (e *Evaluation) budget(r *Result, f setup.Target, p *Point, net float64) {
	s := e.Setup
	add := func(name string, rel float64, note string) {
		if rel > 0 {
			r.Parts = append(r.Parts, Part{name, rel * r.Value, note})
		}
	}
	add("equivalence volume", float64(p.StdUnc)/net, e.Methods[e.Recommended].Title)
	add("blank", s.Blank.U/net, "as stated")
	known, where := s.Burette.Contents, "titrant"
	if f.InBurette {
		known, where = s.Flask.Contents, "titrand"
	}
	stated := false
	for _, c := range known {
		if c.Conc.Stated {
			stated = true
			add("concentration of "+where+" "+c.Species, c.Conc.U/c.Conc.Float(), "as stated")
		}
	}
	if !stated {
		e.Assumed = append(e.Assumed, "the concentration of the "+where+" is taken as exact: no uncertainty is stated")
	}
	if s.Flask.Volume.Stated {
		add("volume in the flask", s.Flask.Volume.U/s.Flask.Volume.Float(), "as stated")
	} else {
		e.Assumed = append(e.Assumed, "the volume in the flask is taken as exact: no uncertainty is stated")
	}
	sum := 0.0
	for _, q := range r.Parts {
		sum += q.StdUnc * q.StdUnc
	}
	r.StdUnc = math.Sqrt(sum)
	if len(r.Parts) > 0 && !math.IsInf(r.Freedom, 1) && r.Parts[0].StdUnc > 0 {
		// Welch and Satterthwaite with one limited part (GUM G.4, from memory)
		r.Freedom *= math.Pow(r.StdUnc/r.Parts[0].StdUnc, 4)
	}
	r.Coverage = coverage(r.Freedom)
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
	factor, rel := 1.0, 0.0
	if !s.Aliquot.X.Coef.IsZero() && !s.MadeUpTo.X.Coef.IsZero() {
		factor = s.MadeUpTo.Float() / s.Aliquot.Float()
		rel = math.Hypot(s.MadeUpTo.U/s.MadeUpTo.Float(), s.Aliquot.U/s.Aliquot.Float())
	}
	amount := c.Value * e.Setup.Flask.Volume.Float() * factor / per
	r := Result{
		Name: s.ReportAs, Unit: "% w/w", From: c.From, Freedom: c.Freedom, Coverage: c.Coverage,
		Value: 100 * amount * float64(mass.Value) / s.Mass.Float(),
		Note:  fmt.Sprintf("%.6g g of %s in %.6g g of sample", amount*float64(mass.Value), sp.Name, s.Mass.Float()),
	}
	for _, q := range c.Parts {
		if q.Name != "volume in the flask" || factor == 1 {
			r.Parts = append(r.Parts, Part{q.Name, q.StdUnc / c.Value * r.Value, q.Note})
		}
	}
	for _, q := range []Part{
		{"mass of sample", s.Mass.U / s.Mass.Float() * r.Value, "as stated"},
		{"aliquot factor", rel * r.Value, "as stated"},
		{"molar mass of " + sp.Name, float64(mass.StdUnc/mass.Value) * r.Value, "CIAAW 2021"},
	} {
		if q.StdUnc > 0 {
			r.Parts = append(r.Parts, q)
		}
	}
	sum := 0.0
	for _, q := range r.Parts {
		sum += q.StdUnc * q.StdUnc
	}
	r.StdUnc = math.Sqrt(sum)
	if r.Value > 100 {
		e.Warnings = append(e.Warnings, fmt.Sprintf("a content of %.4g %% is impossible; look at the aliquot factor, the sample mass and the units", r.Value))
	}
	e.Contents = append(e.Contents, r)
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

// coupleRule says why the potential at half or twice the equivalence volume
// is not the formal potential of a couple, or "".
func (e *Evaluation) coupleRule(reaction int) string {
	t := e.Setup.Titration
	var ox, red, h float64
	name := ""
	for _, term := range t.System().Reactions[reaction].Terms {
		sp := t.System().Species[term.Species].Name
		c := float64(term.Num) / math.Max(float64(term.Den), 1)
		switch {
		case sp == chem.Electron:
		case sp == chem.Proton:
			h = c
		case c < 0:
			ox -= c
			name += sp + " "
		default:
			red += c
		}
	}
	switch {
	case ox != red:
		return fmt.Sprintf("%g %s give %g reduced, so the ratio of the forms is not enough", ox, strings.TrimSpace(name), red)
	case h != 0 && !e.protonHeld():
		return "H+ takes part and its activity is not held"
	}
	return ""
}

func (e *Evaluation) protonHeld() bool {
	ok, sys := false, e.Setup.System()
	for _, c := range sys.Components() {
		ok = ok || c == chem.Proton
	}
	p := e.Setup.Titration.Predictor()
	tiny, _ := unit.DecimalOf(1e-6)
	if _, err := p.At(tiny); err != nil {
		return false
	}
	first, _, fine := p.Solver.LnActivitySlope(sys.Index(chem.Proton))
	return ok && fine && first == 0
}

// formalPotentials reads each couple's potential at half and twice the
// equivalence volume, where the rule holds, and from the fit.
func (e *Evaluation) formalPotentials() {
	t := e.Setup.Titration
	if t == nil || t.System().Electron() < 0 || len(e.EquivalencePoints) == 0 {
		return
	}
	if len(e.EquivalencePoints) == 1 {
		e.halfTwice()
	}
	if e.Fit != nil {
		e.fittedPotentials()
	}
}

func (e *Evaluation) halfTwice() {
	p := e.EquivalencePoints[0]
	half, twice := endpoint.HalfTwice(e.Curve, p.Volume, p.StdUnc, e.endpointOptions())
	for i, c := range e.Setup.Titration.Couples {
		mark, at := twice, "twice the equivalence volume"
		if e.inFlask(c.Reaction) {
			mark, at = half, "half the equivalence volume"
		}
		r := Result{Name: c.Name, Unit: "V", From: at, Freedom: math.Inf(1)}
		if why := e.coupleRule(c.Reaction); why != "" {
			r.Value, r.StdUnc, r.Note = math.NaN(), math.NaN(), "not read: "+why
		} else if mark.Refused != "" {
			r.Value, r.StdUnc, r.Note = math.NaN(), math.NaN(), "not read: "+mark.Refused
		} else {
			e.shePotential(&r, mark.Value, mark.StdUnc, i)
		}
		r.Coverage = coverage(r.Freedom)
		e.FormalPotentials = append(e.FormalPotentials, r)
	}
}

// shePotential fills a formal potential from a reading, with the reference,
// the junction and the H+ term.
func (e *Evaluation) shePotential(r *Result, reading, u float64, couple int) {
	el, t := &e.Setup.Electrode, e.Setup.Titration
	c := t.Couples[couple]
	r.Value = reading + el.ReferenceV
	if c.Protons != 0 { // E0' = E + (RT ln10/F)(m/n) pH
		r.Value += t.Thermal() * math.Ln10 * c.Protons / c.Electrons * e.heldPH()
		r.Note = fmt.Sprintf("for [H+] = 1 mol/L, by %g H+ per %g electrons at pH %g", c.Protons, c.Electrons, e.heldPH())
	}
	for _, q := range []Part{{"reading", u, r.From}, {"reference electrode", el.ReferenceU, el.Reference}, {"liquid junction", el.JunctionU, el.JunctionNote}} {
		if q.StdUnc > 0 {
			r.Parts = append(r.Parts, q)
		}
	}
	r.StdUnc = math.Sqrt(u*u + el.ReferenceU*el.ReferenceU + el.JunctionU*el.JunctionU)
}

func (e *Evaluation) heldPH() float64 {
	p := e.Setup.Titration.Predictor()
	tiny, _ := unit.DecimalOf(1e-6)
	if pt, err := p.At(tiny); err == nil && !math.IsNaN(pt.PH) {
		return pt.PH
	}
	return 0
}

// fittedPotentials reports the couples' potentials from the whole curve. With
// a fitted slope the reading at equal concentrations of both forms is slope
// times E0' less the reference, so that is what is given against SHE.
func (e *Evaluation) fittedPotentials() {
	slope := -1
	for k, q := range e.Fit.Estimates {
		if q.Kind == titration.SlopeFraction {
			slope = k
		}
	}
	n := len(e.Fit.Estimates)
	cov := e.Fit.Covariance
	for k, q := range e.Fit.Estimates {
		if q.Kind != titration.CouplePotential {
			continue
		}
		s, variance := e.Setup.Titration.Cell.Slope, 0.0
		if s == 0 {
			s = 1
		}
		variance = s * s * cov[k*n+k]
		if slope >= 0 {
			s = e.Fit.Estimates[slope].Value
			variance = s*s*cov[k*n+k] + 2*s*q.Value*cov[k*n+slope] + q.Value*q.Value*cov[slope*n+slope]
		}
		r := Result{Name: e.Setup.Titration.Couples[q.Index].Name, Unit: "V", From: "whole curve", Freedom: math.Inf(1)}
		el := &e.Setup.Electrode
		r.Value = s * q.Value
		for _, part := range []Part{{"regression", math.Sqrt(math.Max(variance, 0)), ""}, {"reference electrode", el.ReferenceU, el.Reference}, {"liquid junction", el.JunctionU, el.JunctionNote}} {
			if part.StdUnc > 0 {
				r.Parts = append(r.Parts, part)
			}
			r.StdUnc = math.Hypot(r.StdUnc, part.StdUnc)
		}
		r.Coverage = coverage(r.Freedom)
		e.FormalPotentials = append(e.FormalPotentials, r)
	}
}
