package chain

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/goccy/go-yaml"

	"meniscus/chem"
	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/volumetric"
	"meniscus/yamlfile"
)

// Read reads the file of a chain; name stands in messages. Its keys are in
// docs/chain.md. Errors are *yamlfile.Error.
func Read(data []byte, name string) (*Shelf, error) {
	r := &reader{source: yamlfile.File{Name: name, Data: data}, s: &Shelf{}}
	if err := r.source.Decode(&r.f, "a chain needs solutions and what they were made from", "docs/chain.md"); err != nil {
		return nil, err
	}
	var order orderFile
	if err := yaml.Unmarshal(data, &order); err != nil {
		return nil, r.fail(nil, "%v", err)
	}
	var err error
	if r.s.Date, err = r.date(r.f.Date, "date"); err != nil {
		return nil, err
	}
	r.s.Title = r.f.Title
	for _, step := range []struct {
		names yaml.MapSlice
		read  func(name string) error
	}{
		{order.Ware, r.ware}, {order.Substances, r.substance}, {order.Solutions, r.solution}, {order.Determinations, r.determination},
	} {
		for _, item := range step.names {
			if err := step.read(yamlfile.Text(item.Key)); err != nil {
				return nil, err
			}
		}
	}
	if len(r.s.Solutions) == 0 {
		return nil, r.fail(nil, "has no solutions; write solutions: with a name and what each was made from")
	}
	return r.s, r.check()
}

type reader struct {
	source yamlfile.File
	f      shelfFile
	s      *Shelf
}

func (r *reader) fail(place []any, format string, args ...any) error {
	return r.source.Fail(place, format, args...)
}

// at appends to a place without touching it.
func at(place []any, keys ...any) []any { return append(append([]any{}, place...), keys...) }

// value reads a quantity that must be there.
func (r *reader) value(v any, dim unit.Dimension, example string, place ...any) (Value, error) {
	q, err := unit.ParseQuantity(yamlfile.Text(v))
	if err != nil {
		return Value{}, r.fail(place, "%v", err)
	}
	x, u, err := q.In(dim, example)
	if err != nil {
		return Value{}, r.fail(place, "%v", err)
	}
	return Value{X: x.Float(), U: u, Stated: q.Stated, Text: q.Text}, nil
}

// positive reads a quantity above 0.
func (r *reader) positive(v any, dim unit.Dimension, example string, place ...any) (Value, error) {
	q, err := r.value(v, dim, example, place...)
	if err == nil && !(q.X > 0) {
		err = r.fail(place, "%s is not above 0", q.Text)
	}
	return q, err
}

func (r *reader) date(v any, place ...any) (Date, error) {
	text := yamlfile.Text(v)
	if text == "" {
		return "", nil
	}
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		return "", r.fail(place, "%q is not a day; write it as 2026-11-24", text)
	}
	return Date(text), nil
}

// ratio reads "5 to 1", titrand to titrant.
func (r *reader) ratio(text string, place ...any) (a, b float64, err error) {
	left, right, ok := strings.Cut(text, " to ")
	a, err1 := strconv.ParseFloat(strings.TrimSpace(left), 64)
	b, err2 := strconv.ParseFloat(strings.TrimSpace(right), 64)
	if !ok || err1 != nil || err2 != nil || !(a > 0 && b > 0) || math.IsInf(a/b, 0) || a/b == 0 {
		return 0, 0, r.fail(place, "%q is not a ratio such as 5 to 1", text)
	}
	return a, b, nil
}

func (r *reader) ware(name string) error {
	f, place := r.f.Ware[name], []any{"ware", name}
	w := Ware{Name: name, Kind: yamlfile.Text(f.Kind)}
	if w.Kind == "" {
		w.Kind = firstWord(name)
	}
	var err error
	switch w.Kind {
	case "balance":
		err = r.balance(&w, f, place)
	case "burette", "pipette", "flask":
		err = r.glass(&w, f, place)
	default:
		err = r.fail(place, "%q is no kind of ware; write kind: burette, pipette, flask or balance", w.Kind)
	}
	r.s.Ware = append(r.s.Ware, w)
	return err
}

func firstWord(s string) string {
	if f := strings.Fields(s); len(f) > 0 {
		return f[0]
	}
	return ""
}

// balance reads a balance. Both terms are of a difference of two weighings: a
// repeatability stated for one weighing counts twice, and so does the
// linearity (EURACHEM/CITAC QUAM:2012, appendix A1, step 3).
func (r *reader) balance(w *Ware, f wareFile, place []any) error {
	for _, p := range []struct {
		v    any
		key  string
		into *unit.Mass
	}{{f.Repeatability, "repeatability", &w.Repeatability}, {f.Linearity, "linearity", &w.Linearity}} {
		if p.v == nil {
			continue
		}
		q, err := r.positive(p.v, unit.DimMass, "0.1 mg", at(place, p.key)...)
		if err != nil {
			return err
		}
		*p.into = unit.Mass(q.X * math.Sqrt2)
		if p.key == "linearity" {
			*p.into = unit.Mass(q.X / math.Sqrt(3) * math.Sqrt2) // a limit, rectangular
		}
	}
	if w.Repeatability == 0 && w.Linearity == 0 {
		return r.fail(place, "a balance needs its repeatability (standard uncertainty of one weighing) or its linearity (limit), such as linearity: 0.15 mg")
	}
	w.Note = "of two weighings"
	return nil
}

func (r *reader) glass(w *Ware, f wareFile, place []any) error {
	v, key := f.Volume, "volume"
	if v == nil {
		v, key = f.Capacity, "capacity"
	}
	if v == nil {
		return r.fail(place, "a %s needs its volume, such as volume: 25 mL", w.Kind)
	}
	q, err := r.positive(v, unit.DimVolume, "25 mL", at(place, key)...)
	if err != nil {
		return err
	}
	w.Volume, w.StdUnc, w.Note = unit.Volume(q.X), unit.Volume(q.U), "as stated"
	if f.Reading != nil {
		reading, err := r.positive(f.Reading, unit.DimVolume, "0.01 mL", at(place, "reading")...)
		if err != nil {
			return err
		}
		w.Reading = unit.Volume(reading.X)
	}
	switch {
	case f.Certificate != nil && w.Kind == "burette":
		return r.certificate(w, f.Certificate, at(place, "certificate"))
	case f.Certificate != nil:
		c, err := r.positive(f.Certificate, unit.DimVolume, "24.992 ± 0.006 mL (k=2)", at(place, "certificate")...)
		if err != nil {
			return err
		}
		if math.Abs(c.X/q.X-1) > 0.02 {
			return r.fail(at(place, "certificate"), "%s is more than 2 %% from the nominal %s", c.Text, q.Text)
		}
		w.Volume, w.StdUnc, w.Note = unit.Volume(c.X), unit.Volume(c.U), "by its certificate"
		return nil
	case q.Stated:
		return nil
	}
	return r.class(w, f, place)
}

// certificate reads the corrections of a burette: a list of {at, add}, and u.
func (r *reader) certificate(w *Ware, v any, place []any) error {
	list, ok := v.([]any)
	if !ok {
		return r.fail(place, "a burette's certificate is a list such as - {at: 10 mL, add: 0.012 ± 0.005 mL}")
	}
	var points []volumetric.Correction
	var u float64
	for i, item := range list {
		m, ok := item.(yaml.MapSlice)
		if !ok || len(m) != 2 {
			return r.fail(at(place, i), "at and add are meant, such as {at: 10 mL, add: 0.012 ± 0.005 mL}")
		}
		var p volumetric.Correction
		for _, f := range m {
			q, err := r.value(f.Value, unit.DimVolume, "10 mL", at(place, i, yamlfile.Text(f.Key))...)
			if err != nil {
				return err
			}
			switch yamlfile.Text(f.Key) {
			case "at":
				p.Reading = unit.Volume(q.X)
			case "add":
				p.Add, u = unit.Volume(q.X), math.Max(u, q.U)
			default:
				return r.fail(at(place, i), "unknown key %q; at and add are meant", yamlfile.Text(f.Key))
			}
		}
		points = append(points, p)
	}
	c, err := volumetric.NewCertificate(points, unit.Volume(u))
	if err != nil {
		return r.fail(place, "%v", err)
	}
	w.Certificate, w.StdUnc, w.Note = &c, unit.Volume(u), "by its certificate"
	return nil
}

// class takes the limit of the class, which is A where nothing is said.
func (r *reader) class(w *Ware, f wareFile, place []any) error {
	var division Value
	if f.Division != nil {
		var err error
		if division, err = r.positive(f.Division, unit.DimVolume, "0.1 mL", at(place, "division")...); err != nil {
			return err
		}
	}
	class := yamlfile.Text(f.Class)
	l, err := volumetric.FindLimit(volumetric.Kind(w.Kind), w.Volume, unit.Volume(division.X), class, yamlfile.Text(f.Standard))
	if err != nil {
		return r.fail(place, "%v", err)
	}
	if w.StdUnc, err = l.StdUnc(uncertainty.Triangular); err != nil {
		return r.fail(place, "%v", err)
	}
	w.Note = fmt.Sprintf("%s class %s, ±%g mL taken as triangular", l.Standard, l.Class, float64(l.Tolerance)*1e3)
	if class == "" {
		r.note("%s: class A is taken, as no class is given", w.Name)
	}
	return nil
}

func (r *reader) note(format string, args ...any) {
	r.s.Notes = append(r.s.Notes, fmt.Sprintf(format, args...))
}

func (r *reader) substance(name string) error {
	f, place := r.f.Substances[name], []any{"substances", name}
	text := yamlfile.Text(f.Formula)
	if text == "" {
		text = name
	}
	sp, err := chem.ParseSpecies(text)
	if err != nil {
		return r.fail(place, "formula: %v", err)
	}
	s := Substance{Name: name, Species: sp, Purity: Value{X: 1}}
	if s.Molar, err = sp.MolarMass(); err != nil {
		return r.fail(place, "formula: %v", err)
	}
	if f.Purity == nil {
		r.note("%s: taken as 100 %% pure, as no purity is given", name)
	} else if s.Purity, err = r.positive(f.Purity, unit.DimFraction, "99.97 ± 0.02 %", at(place, "purity")...); err != nil {
		return err
	}
	if s.Purity.X > 1.02 {
		return r.fail(at(place, "purity"), "%s is more than pure", s.Purity.Text)
	}
	if f.Density != nil {
		d, err := r.positive(f.Density, unit.DimDensity, "2.68 g/mL", at(place, "density")...)
		if err != nil {
			return err
		}
		s.Density = d.X
	}
	r.s.Substances = append(r.s.Substances, s)
	return nil
}

func (r *reader) solution(name string) error {
	f, place := r.f.Solutions[name], []any{"solutions", name}
	s := Solution{Name: name, Lot: yamlfile.Text(f.Lot)}
	var err error
	if f.Species != nil {
		sp, err := chem.ParseSpecies(yamlfile.Text(f.Species))
		if err != nil {
			return r.fail(at(place, "species"), "%v", err)
		}
		s.Species = sp.Name
	}
	if s.Made, err = r.date(f.Made, at(place, "made")...); err != nil {
		return err
	}
	if s.Expires, err = r.date(f.Expires, at(place, "expires")...); err != nil {
		return err
	}
	if s.Made != "" && s.Expires != "" && s.Expires < s.Made {
		return r.fail(at(place, "expires"), "%s is before it was made, %s", s.Expires, s.Made)
	}
	origins := 0
	for _, given := range []bool{f.Concentration != nil, f.Weighed != nil, f.Diluted != nil, f.Standardised != nil} {
		if given {
			origins++
		}
	}
	if origins != 1 {
		return r.fail(place, "%d of concentration, weighed, diluted and standardised are given; one of them says where its strength comes from", origins)
	}
	switch {
	case f.Concentration != nil:
		var v Value
		v, err = r.positive(f.Concentration, unit.DimConc, "0.1000 ± 0.0002 mol/L (k=2)", at(place, "concentration")...)
		if err == nil && !v.Stated {
			r.note("%s: its concentration is taken as exact, as no uncertainty is stated", name)
		}
		s.Stated = &v
	case f.Weighed != nil:
		s.Weighed, err = r.weighed(f.Weighed, s.Species, at(place, "weighed"))
	case f.Diluted != nil:
		s.Diluted = &Diluted{From: yamlfile.Text(f.Diluted.From), Pipette: yamlfile.Text(f.Diluted.By), Flask: yamlfile.Text(f.Diluted.In)}
	default:
		s.Standardised, err = r.titration(f.Standardised, at(place, "standardised"))
	}
	r.s.Solutions = append(r.s.Solutions, s)
	return err
}

func (r *reader) weighed(f *weighedFile, species string, place []any) (*Weighed, error) {
	w := &Weighed{Substance: yamlfile.Text(f.Substance), Balance: yamlfile.Text(f.On), Flask: yamlfile.Text(f.In)}
	var err error
	if w.Mass, err = r.positive(f.Mass, unit.DimMass, "1.2258 g", at(place, "mass")...); err != nil {
		return nil, err
	}
	sub := find(r.s.Substances, w.Substance, func(s Substance) string { return s.Name })
	if sub == nil {
		return nil, r.fail(at(place, "substance"), "%q is not under substances", w.Substance)
	}
	w.Gives, err = r.gives(f.Gives, sub, species, place)
	return w, err
}

// gives is how much of a species one substance brings.
func (r *reader) gives(v any, sub *Substance, species string, place []any) (float64, error) {
	if v != nil {
		x, err := strconv.ParseFloat(yamlfile.Text(v), 64)
		if err != nil || !(x > 0) || math.IsInf(x, 0) {
			return 0, r.fail(at(place, "gives"), "%q is not a number above 0: how many of the species one formula gives", yamlfile.Text(v))
		}
		return x, nil
	}
	if species == "" || species == sub.Species.Name {
		return 1, nil
	}
	terms, err := chem.Dissociate(sub.Species)
	if err == nil {
		for _, t := range terms {
			if t.Species.Name == species {
				return t.Coefficient.Float(), nil
			}
		}
	}
	return 0, r.fail(place, "how many %s one %s gives is not plain from the formula; write gives: 1", species, sub.Species.Name)
}

// find returns the first whose name it is, nil if there is none.
func find[T any](list []T, name string, of func(T) string) *T {
	for i := range list {
		if of(list[i]) == name {
			return &list[i]
		}
	}
	return nil
}
