package setup

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"meniscus/chem"
	"meniscus/unit"
)

// A Basis is what a content is over.
type Basis int

// The bases of contents.
const (
	ByMass   Basis = iota // of the sample
	ByVolume              // of the sample
	ByTablet
	ByClaim // on the label
)

// A Report is how a content is to be reported: a unit and a substance.
type Report struct {
	Text    string // as written
	Unit    string // for people
	Basis   Basis
	Moles   bool    // an amount, not a mass
	Scale   float64 // units in the base unit: 100 for %, 1000 for mg/L
	Species string  // "" is what is titrated
	Dry     bool    // of the dry substance
}

// reportUnits are the units of contents, the longest spelling of each first.
var reportUnits = []struct {
	spelling string
	Report
}{
	{"% of label claim", Report{Unit: "% of label claim", Basis: ByClaim, Scale: 100}},
	{"% label claim", Report{Unit: "% of label claim", Basis: ByClaim, Scale: 100}},
	{"% of label", Report{Unit: "% of label claim", Basis: ByClaim, Scale: 100}},
	{"% w/w", Report{Unit: "% w/w", Scale: 100}},
	{"% w/v", Report{Unit: "g/100 mL", Basis: ByVolume, Scale: 0.1}},
	{"%", Report{Unit: "% w/w", Scale: 100}},
	{"g/100 mL", Report{Unit: "g/100 mL", Basis: ByVolume, Scale: 0.1}},
	{"g/kg", Report{Unit: "g/kg", Scale: 1000}},
	{"mg/kg", Report{Unit: "mg/kg", Scale: 1e6}},
	{"mg/g", Report{Unit: "mg/g", Scale: 1000}},
	{"mmol/kg", Report{Unit: "mmol/kg", Scale: 1e6, Moles: true}},
	{"mol/kg", Report{Unit: "mol/kg", Scale: 1000, Moles: true}},
	{"g/L", Report{Unit: "g/L", Basis: ByVolume, Scale: 1}},
	{"mg/L", Report{Unit: "mg/L", Basis: ByVolume, Scale: 1000}},
	{"mol/L", Report{Unit: "mol/L", Basis: ByVolume, Scale: 1, Moles: true}},
	{"mmol/L", Report{Unit: "mmol/L", Basis: ByVolume, Scale: 1000, Moles: true}},
	{"mg per tablet", Report{Unit: "mg per tablet", Basis: ByTablet, Scale: 1000}},
	{"mg/tablet", Report{Unit: "mg per tablet", Basis: ByTablet, Scale: 1000}},
}

// ParseReport reads how a content is reported: "% Fe2O3", "mg/L as CaCO3",
// "mg per tablet C6H8O6", "mg C6H8O6 per tablet", "% Fe, dry basis".
func ParseReport(text string) (Report, error) {
	rest := strings.Join(strings.Fields(text), " ")
	dry := false
	for _, tail := range []string{", dry basis", " dry basis", ", dry"} {
		if s, ok := strings.CutSuffix(rest, tail); ok && !dry {
			rest, dry = strings.TrimSpace(s), true
		}
	}
	if s, ok := strings.CutSuffix(rest, " per tablet"); ok && strings.HasPrefix(s, "mg ") {
		rest = "mg per tablet " + strings.TrimPrefix(s, "mg ")
	}
	for _, u := range reportUnits {
		tail, ok := strings.CutPrefix(rest, u.spelling)
		if !ok || tail != "" && tail[0] != ' ' && u.spelling != "%" {
			continue
		}
		r := u.Report
		r.Text, r.Dry = text, dry
		tail = strings.TrimSpace(tail)
		for _, word := range []string{"as ", "of "} {
			tail = strings.TrimPrefix(tail, word)
		}
		if tail != "" {
			sp, err := chem.ParseSpecies(tail)
			if err != nil {
				return r, fmt.Errorf("%q: %w", text, err)
			}
			if _, err := sp.MolarMass(); err != nil && !r.Moles {
				return r, fmt.Errorf("%q: %w", text, err)
			}
			r.Species = sp.Name
		}
		if dry && r.Basis != ByMass {
			return r, fmt.Errorf("%q: only a content by mass of sample has a dry basis", text)
		}
		return r, nil
	}
	return Report{}, fmt.Errorf("%q begins with no unit of a content; have %s, each with a substance, such as \"%% Fe2O3\" or \"mg/L as CaCO3\"", text, reportSpellings())
}

func reportSpellings() string {
	var list []string
	seen := map[string]bool{}
	for _, u := range reportUnits {
		if !seen[u.Unit] {
			list, seen[u.Unit] = append(list, u.Unit), true
		}
	}
	return strings.Join(list, ", ")
}

// SetReports replaces what the sample is reported as.
func (s *Setup) SetReports(texts []string) error {
	var list []Report
	for _, t := range texts {
		r, err := ParseReport(t)
		if err != nil {
			return err
		}
		list = append(list, r)
	}
	if s.Sample == nil {
		s.Sample = &Sample{}
	}
	s.Sample.Reports, s.Sample.ReportAs = list, ""
	if len(texts) > 0 {
		s.Sample.ReportAs = texts[0]
	}
	return nil
}

// reports reads what a content is made of beyond the volumes.
func (r *reader) reports() error {
	f, s := r.f.Sample, r.s.Sample
	list, ok := f.ReportAs.([]any)
	if !ok && f.ReportAs != nil {
		list = []any{f.ReportAs}
	}
	for i, v := range list {
		place := []any{"sample", "report as"}
		if ok {
			place = append(place, i)
		}
		q, err := ParseReport(text(v))
		if err != nil {
			return r.fail(place, "%v", err)
		}
		s.Reports = append(s.Reports, q)
	}
	if len(list) > 0 {
		s.ReportAs = text(list[0])
	}
	var err error
	if s.Drying, err = r.value(f.Drying, unit.DimFraction, "5.2 %", "sample", "loss on drying"); err != nil {
		return err
	}
	if d := s.Drying.Float(); d < 0 || d >= 1 {
		return r.fail([]any{"sample", "loss on drying"}, "%s is not from 0 to below 100 %%", text(f.Drying))
	}
	if s.Tablet, err = r.value(f.Tablet, unit.DimMass, "0.6512 g", "sample", "tablet mass"); err != nil {
		return err
	}
	if f.Tablets != nil {
		n, err := strconv.Atoi(text(f.Tablets))
		if err != nil || n < 1 {
			return r.fail([]any{"sample", "tablets"}, "%q is no number of tablets", text(f.Tablets))
		}
		s.Tablets.X, _ = unit.DecimalOf(float64(n))
	}
	return r.claim()
}

func (r *reader) claim() error {
	v := r.f.Sample.Claim
	if v == nil {
		return nil
	}
	place := []any{"sample", "label claim"}
	q, err := unit.ParseQuantity(text(v))
	if err != nil {
		return r.fail(place, "%v", err)
	}
	dim := q.Dimension()
	switch dim {
	case unit.DimMass, unit.DimMassConc, unit.DimFraction:
	default:
		return r.fail(place, "%q is not a mass in each tablet, a mass concentration or a mass fraction, such as 500 mg", text(v))
	}
	c := Claim{Dimension: dim}
	if c.Value, err = r.value(v, dim, "500 mg", place...); err != nil {
		return err
	}
	if !(c.Float() > 0) {
		return r.fail(place, "%s is not above 0", text(v))
	}
	r.s.Sample.Claim = c
	return nil
}

// indirect reads what the titrated stands for: an analyte with a ratio, or the
// reaction that set the titrated free.
func (r *reader) indirect() error {
	f := r.f.Indirect
	if f == nil {
		return nil
	}
	if len(r.s.Find) != 1 || r.s.Find[0].InBurette {
		return r.fail([]any{"indirect"}, "needs one substance under find, in the flask: the one that is titrated in place of the analyte")
	}
	sp, err := chem.ParseSpecies(f.Analyte)
	if err != nil {
		return r.fail([]any{"indirect", "analyte"}, "%v", err)
	}
	out := &Indirect{Species: sp.Name, Text: f.Reaction}
	switch {
	case (f.Ratio == nil) == (f.Reaction == ""):
		return r.fail([]any{"indirect"}, "needs a ratio of analyte to titrated, such as 2 to 1, or the reaction between them, and not both")
	case f.Ratio != nil:
		q, err := parseRatio(text(f.Ratio))
		if err != nil {
			return r.fail([]any{"indirect", "ratio"}, "%q is not a ratio of analyte to titrated such as 2 to 1", text(f.Ratio))
		}
		out.Analyte, out.Titrated = q.Titrand, q.Titrant
		out.Text = fmt.Sprintf("%g %s for %g %s", q.Titrand, sp.Name, q.Titrant, r.s.Find[0].Species)
	default:
		rx, err := chem.ParseReaction(f.Reaction)
		if err != nil {
			return r.fail([]any{"indirect", "reaction"}, "%v", err)
		}
		out.Analyte, out.Titrated = math.Abs(rx.Coefficient(sp.Name).Float()), math.Abs(rx.Coefficient(r.s.Find[0].Species).Float())
		if out.Analyte == 0 || out.Titrated == 0 {
			return r.fail([]any{"indirect", "reaction"}, "%s does not hold both %s and %s", f.Reaction, sp.Name, r.s.Find[0].Species)
		}
	}
	r.s.Indirect = out
	return nil
}
