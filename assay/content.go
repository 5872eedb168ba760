package assay

import (
	"errors"
	"fmt"
	"math"

	"meniscus/chem"
	"meniscus/setup"
	"meniscus/uncertainty"
)

// A Working has the numbers between the amount that was titrated and a
// content, so that a report can open them.
type Working struct {
	Way                         *Way // how the concentration followed; nil where by no simple way
	Titrated, Analyte, Reported string
	Amount                      float64    // mol of what was titrated, in the flask
	Ratio                       [2]float64 // analyte for titrated
	Factor                      float64    // aliquots in the whole sample
	Per                         float64    // analyte in one formula unit of what is reported
	Counted                     string     // how Per was found
	MolarMass                   float64    // g/mol; 0 where an amount is reported
	Whole                       float64    // g, or mol, of what is reported in the sample
	Over                        float64    // g, L or tablets it is divided by
	OverText                    string
	Claim                       float64 // g, g/L or a fraction on the label; 0 without
	Drying                      float64 // loss on drying, where the dry substance is reported
	Report                      setup.Report
}

// contents reports what is sought as the sample asks for.
func (e *Evaluation) contents(f setup.Target, c Result) {
	s := e.Setup.Sample
	if s == nil || f.InBurette {
		return
	}
	volume := e.Setup.Flask.Volume
	if v, ok := e.portion(f); ok {
		volume = v
	}
	e.contentsOf(f, c, volume)
}

// contentsOf reports the content from a concentration in a volume.
func (e *Evaluation) contentsOf(f setup.Target, c Result, volume setup.Value) {
	for _, q := range e.Setup.Sample.Reports {
		r, err := e.content(f, c, volume, q)
		var unrelated *countError
		if errors.As(err, &unrelated) && e.forAnother(f, q) {
			continue
		}
		if err != nil {
			e.warnf("no content is reported as %q: %v", q.Text, err)
			continue
		}
		e.Contents = append(e.Contents, *r)
	}
}

// forAnother says whether a report is about another of several that are sought.
func (e *Evaluation) forAnother(f setup.Target, q setup.Report) bool {
	sp, err := chem.ParseSpecies(q.Species)
	if err != nil {
		return false
	}
	for _, g := range e.Setup.Find {
		if g.Species != f.Species {
			if _, _, err := unitsPer(sp, g.Species); err == nil {
				return true
			}
		}
	}
	return false
}

// A countError says why a substance cannot be counted by an analyte.
type countError struct{ reason string }

func (e *countError) Error() string { return e.reason }

// content goes from an amount in the flask by aliquot, ratio, molar mass and
// basis to a content.
func (e *Evaluation) content(f setup.Target, c Result, volume setup.Value, q setup.Report) (*Result, error) {
	w := &Working{Titrated: f.Species, Analyte: f.Species, Ratio: [2]float64{1, 1}, Report: q, Amount: c.Value * volume.Float(), Way: c.Way}
	if in := e.Setup.Indirect; in != nil {
		w.Analyte, w.Ratio = in.Species, [2]float64{in.Analyte, in.Titrated}
	}
	if w.Reported = q.Species; w.Reported == "" {
		w.Reported = w.Analyte
	}
	sp, err := chem.ParseSpecies(w.Reported)
	if err != nil {
		return nil, err
	}
	if w.Per, w.Counted, err = unitsPer(sp, w.Analyte); err != nil {
		return nil, err
	}
	factor, rel := e.aliquotFactor()
	w.Factor = factor
	w.Whole = w.Amount * factor * w.Ratio[0] / w.Ratio[1] / w.Per
	r := &Result{Name: contentName(q, w.Reported), Unit: q.Unit, From: c.From, Working: w}
	parts := []Part{{Name: "aliquot factor", StdUnc: rel, Note: "as stated"}}
	if !q.Moles {
		m, err := sp.MolarMass()
		if err != nil {
			return nil, err
		}
		w.MolarMass = float64(m.Value)
		w.Whole *= w.MolarMass
		parts = append(parts, Part{Name: "molar mass of " + sp.Name, StdUnc: float64(m.StdUnc / m.Value), Note: "CIAAW 2021"})
	}
	over, err := e.over(w, volume)
	if err != nil {
		return nil, err
	}
	r.Value = w.Whole / w.Over * q.Scale
	for _, p := range c.Parts {
		p.StdUnc = p.inAmount / c.Value * r.Value
		p.inAmount = p.StdUnc
		if p.StdUnc > 0 {
			r.Parts = append(r.Parts, p)
		}
	}
	for _, p := range append(over, parts...) {
		p.StdUnc *= r.Value
		r.addParts(p)
	}
	e.basis(r, w)
	r.addParts()
	return r, nil
}

func contentName(q setup.Report, substance string) string {
	if q.Unit == "% w/w" {
		return "% " + substance
	}
	return substance
}

// over finds what a content is divided by, with its relative parts.
func (e *Evaluation) over(w *Working, volume setup.Value) ([]Part, error) {
	s := e.Setup.Sample
	one := func(name string, v setup.Value) []Part {
		w.Over = v.Float()
		return []Part{{Name: name, StdUnc: v.U / v.Float(), Note: "as stated"}}
	}
	needMass := func() error {
		if s.Mass.Float() == 0 {
			return errors.New("the sample has no mass")
		}
		return nil
	}
	switch b := w.Report.Basis; {
	case b == setup.ByMass || b == setup.ByClaim && s.Claim.Dimension == "fraction":
		w.OverText = "g"
		return one("mass of sample", s.Mass), needMass()
	case b == setup.ByVolume || b == setup.ByClaim && s.Claim.Dimension == "mass concentration":
		w.OverText = "mL"
		switch {
		case s.Volume.Float() > 0:
			return one("volume of sample", s.Volume), nil
		case s.Aliquot.Float() > 0 && s.MadeUpTo.Float() == 0:
			return one("volume of sample", s.Aliquot), nil
		case s.MadeUpTo.Float() > 0:
			return nil, errors.New("the sample has no volume; only what it was made up to")
		}
		e.Assumed = append(e.Assumed, "the sample is the "+volume.Text+" that was put into the flask")
		return one("volume of sample", volume), nil
	case b == setup.ByClaim && s.Claim.Dimension == "":
		return nil, errors.New("the sample has no label claim; write it under sample, such as label claim: 500 mg")
	case s.Tablets.Float() > 0 && s.Tablet.Float() == 0:
		w.Over, w.OverText = s.Tablets.Float(), "tablets"
		return nil, nil
	case s.Tablet.Float() > 0:
		w.OverText = "tablets"
		if err := needMass(); err != nil {
			return nil, err
		}
		w.Over = s.Mass.Float() / s.Tablet.Float()
		return []Part{
			{Name: "mass of sample", StdUnc: s.Mass.U / s.Mass.Float(), Note: "as stated"},
			{Name: "mean mass of a tablet", StdUnc: s.Tablet.U / s.Tablet.Float(), Note: "as stated"},
		}, nil
	}
	return nil, errors.New("the sample has neither a tablet mass nor a number of tablets")
}

// basis turns a content into a share of the label claim, or of the dry
// substance, and says what is impossible.
func (e *Evaluation) basis(r *Result, w *Working) {
	s := e.Setup.Sample
	scale := func(k float64, p Part) {
		r.Value *= k
		for i := range r.Parts {
			r.Parts[i].StdUnc *= k
		}
		p.StdUnc *= r.Value
		r.addParts(p)
	}
	if w.Report.Basis == setup.ByClaim {
		w.Claim = s.Claim.Float()
		scale(1/w.Claim, Part{Name: "label claim", StdUnc: s.Claim.U / w.Claim, Note: "as stated"})
	}
	switch d := s.Drying; {
	case w.Report.Dry && d.Text == "":
		e.warnf("%s: the sample has no loss on drying, so the content is that of the sample as it was weighed", w.Report.Text)
	case w.Report.Dry:
		w.Drying = d.Float()
		scale(1/(1-w.Drying), Part{Name: "loss on drying", StdUnc: d.U / (1 - w.Drying), Note: "as stated"})
		r.Unit += ", dry basis"
	case d.Text != "" && w.Report.Basis == setup.ByMass:
		e.Assumed = append(e.Assumed, w.Report.Text+" is that of the sample as it was weighed, before drying")
	}
	substance := "g"
	if w.Report.Moles {
		substance = "mol"
	}
	unit, over := w.OverText, w.Over
	if unit == "mL" {
		over *= 1e3
	}
	whole := fmt.Sprintf("%.6g", w.Whole)
	if u := math.Abs(w.Whole / r.Value * r.StdUnc); u > 0 && !math.IsInf(u, 0) {
		whole, _ = uncertainty.Round(w.Whole, u) // the sample's own part is small, and no figure is lost by it
	}
	r.Note = fmt.Sprintf("%s %s of %s in %.6g %s of sample", whole, substance, w.Reported, over, unit)
	if unit == "tablets" {
		r.Note = fmt.Sprintf("%s g of %s in %.6g tablets", whole, w.Reported, over)
	}
	if w.Counted != "" {
		r.Note += "; " + w.Counted
	}
	if w.Report.Basis == setup.ByMass && !w.Report.Moles && r.Value > w.Report.Scale {
		e.warnf("a content of %.4g %s is impossible; look at the aliquot factor, the sample mass and the units", r.Value, r.Unit)
	}
}

// asCarbonate is what alkalinity and hardness are counted by: one formula unit
// for two charges (common practice).
const asCarbonate = "CaCO3"

// unitsPer returns how many of the analyte one formula unit of the reported
// substance stands for, and how they were counted where that needs saying: 2
// iron in Fe2O3, by the element that both share besides H and O; and for
// CaCO3 by charge.
func unitsPer(report chem.Species, analyte string) (float64, string, error) {
	sp, err := chem.ParseSpecies(analyte)
	if err != nil {
		return 0, "", err
	}
	if report.Name == sp.Name {
		return 1, "", nil
	}
	if z := math.Abs(float64(sp.Charge)); report.Name == asCarbonate && z > 0 {
		if z == 2 {
			return 1, "", nil
		}
		return 2 / z, fmt.Sprintf("as CaCO3, %g %s count for one, by charge", 2/z, sp.Name), nil
	}
	for _, el := range sp.Elements {
		if el.Symbol == "H" || el.Symbol == "O" {
			continue
		}
		if n := report.Count(el.Symbol); n.Sign() > 0 {
			return n.Float() / el.Count.Float(), "", nil
		}
	}
	if ions, err := chem.Dissociate(report); err == nil {
		for _, t := range ions {
			if t.Species.Name == sp.Name {
				return t.Coefficient.Float(), "", nil
			}
		}
	}
	return 0, "", &countError{fmt.Sprintf("%s and %s share no element to count by; write indirect: {analyte: %s, ratio: 1 to 1} with the ratio of it to %s", report.Name, sp.Name, report.Name, sp.Name)}
}
