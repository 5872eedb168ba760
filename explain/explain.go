// Package explain works a titration out by hand: for any volume the amounts, the
// reaction, the mass-action expression that governs, its textbook value and the
// exact one, and species by species why they differ. It sets no text: see working.
package explain

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
	"meniscus/working"
)

// ErrNoChemistry reports a setup with a ratio only: nothing can be worked out
// for a volume.
var ErrNoChemistry = errors.New("the setup gives only a ratio; steps for a volume need species under flask and burette")

// A Place is a volume with a name.
type Place struct {
	Name   string // start, half, equivalence, twice; "" for any other volume
	Volume unit.Decimal
}

// A NoEquivalenceError reports a titration without an equivalence point, so
// that half and twice mean nothing.
type NoEquivalenceError struct{ Name string }

func (e *NoEquivalenceError) Error() string {
	return fmt.Sprintf("%q needs an equivalence point, and this titration has none within 1 L of titrant; give a volume, such as 12.5 mL", e.Name)
}

// An UnknownPlaceError reports a name that is no special point.
type UnknownPlaceError struct{ Name string }

func (e *UnknownPlaceError) Error() string {
	return fmt.Sprintf("no special point is called %q; have %s", e.Name, strings.Join(PlaceNames(), ", "))
}

// Places returns the special points of a titration: the start, half the first
// equivalence volume, each equivalence point of what is sought, and twice the
// last.
func Places(s *setup.Setup) ([]Place, error) {
	if s.Titration == nil {
		return nil, ErrNoChemistry
	}
	b, err := newBuilder(s)
	if err != nil {
		return nil, err
	}
	list := []Place{{string(Start), unit.Decimal{}}}
	ends := b.soughtEnds()
	if len(ends) == 0 {
		return list, nil
	}
	list = append(list, Place{string(Half), decimal(ends[0] / 2)})
	for _, v := range ends {
		list = append(list, Place{string(Equivalence), decimal(v)})
	}
	return append(list, Place{string(Twice), decimal(2 * ends[len(ends)-1])}), nil
}

// Find returns the special point of that name; the first, where there are more.
func Find(s *setup.Setup, name string) (Place, error) {
	if !slices.Contains(special, working.Kind(name)) {
		return Place{}, &UnknownPlaceError{name}
	}
	list, err := Places(s)
	if err != nil {
		return Place{}, err
	}
	for _, p := range list {
		if p.Name == name {
			return p, nil
		}
	}
	return Place{}, &NoEquivalenceError{name}
}

// At works out the titration after volume v (L) has been added.
func At(s *setup.Setup, v unit.Decimal) (*working.Document, error) {
	return Volumes(s, []Place{{Volume: v}})
}

// Volumes works out the titration at several volumes, one after another.
func Volumes(s *setup.Setup, places []Place) (*working.Document, error) {
	if s.Titration == nil {
		return nil, ErrNoChemistry
	}
	b, err := newBuilder(s)
	if err != nil {
		return nil, err
	}
	d := &working.Document{Title: s.Title, Lead: working.P("Worked out step by step. Textbook values stand beside the exact ones, which come from all balances and equilibria at once.")}
	if d.Title == "" {
		d.Title = "A titration, worked out"
	}
	d.Sections = append(d.Sections, b.given())
	if section, ok := b.settled(); ok {
		d.Sections = append(d.Sections, section)
	}
	for _, p := range places {
		sections, err := b.at(p)
		if err != nil {
			return nil, err
		}
		for i := range sections {
			sections[i].Kind = p.kind()
		}
		d.Sections = append(d.Sections, sections...)
	}
	if section, ok := b.concentration(); ok {
		d.Sections = append(d.Sections, section)
	}
	if section, ok := b.formal(); ok {
		d.Sections = append(d.Sections, section)
	}
	d.Sections = append(d.Sections, b.wholeCurve()...)
	if section, ok := b.carbonDioxide(); ok {
		d.Sections = append(d.Sections, section)
	}
	d.Explain()
	return d, b.err
}

// A builder works on one setup.
type builder struct {
	s            *setup.Setup
	t            *titration.Titration
	p            *titration.Predictor
	m            *titration.Model
	ends         []titration.Equivalence
	ways         []stage
	mix          *settling // of the flask; nil where nothing reacts before the first drop
	pt           titration.Point
	v            float64 // mL
	out          []working.Block
	err          error
	bound        map[string]float64 // mol/L in the flask that a stage's first species holds
	reagent      reagent            // of the burette, where couples react
	why          string             // there is no textbook value at this volume; "" for the usual reason
	shortCutTold bool
	told         bool // what holds for the whole titration
}

// farthest is how much titrant is looked at for equivalence points, L.
const farthest = 1

func newBuilder(s *setup.Setup) (*builder, error) {
	b := &builder{s: s, t: s.Titration, p: s.Titration.Predictor()}
	m, err := s.Titration.NewModel(nil, titration.Potential)
	if err != nil {
		return nil, fmt.Errorf("explaining the titration: %w", err)
	}
	b.m = m
	if b.ends, err = m.Equivalences(farthest); err != nil {
		return nil, fmt.Errorf("finding the equivalence points: %w", err)
	}
	b.plan()
	return b, nil
}

// soughtEnds are the volumes of what the setup seeks, or of the first change
// where the stages of the titration are not known, L.
func (b *builder) soughtEnds() []float64 {
	var list []float64
	sum := 0.0
	for _, w := range b.ways {
		sum += w.volume
		list = append(list, sum*1e-3)
	}
	if len(list) > 0 {
		return list
	}
	for _, e := range b.ends {
		if e.Volume > 0 && b.aboutSought(e) {
			list = append(list, e.Volume)
		}
	}
	if len(list) == 0 && len(b.ends) > 0 && b.ends[0].Volume > 0 {
		list = append(list, b.ends[0].Volume)
	}
	return list
}

// aboutSought says whether what is used up at an equivalence point shares an
// element with what is sought, hydrogen and oxygen aside.
func (b *builder) aboutSought(e titration.Equivalence) bool {
	for _, f := range b.s.Find {
		if e.Species == f.Species || related(e.Species, f.Species) {
			return true
		}
	}
	return false
}

func decimal(x float64) unit.Decimal {
	d, _ := unit.DecimalOf(math.Round(x*1e12) / 1e12)
	return d
}

// related says whether two species share an element other than H and O.
func related(a, b string) bool {
	x, err1 := chem.ParseSpecies(a)
	y, err2 := chem.ParseSpecies(b)
	if err1 != nil || err2 != nil {
		return a == b
	}
	for _, e := range x.Elements {
		if e.Symbol != "H" && e.Symbol != "O" && y.Count(e.Symbol).Float() != 0 {
			return true
		}
	}
	return a == b
}

func (b *builder) index(species string) int { return b.t.System().Index(species) }

func (b *builder) exact(species string) float64 {
	i := b.index(species)
	if i < 0 {
		return 0
	}
	return b.p.Solver.Concentration(i)
}

func (b *builder) add(blocks ...working.Block) { b.out = append(b.out, blocks...) }

// step adds a step and returns its quantity with the value.
func (b *builder) step(say working.Paragraph, q working.Symbol, formula working.Expr, f working.Format, u string) working.Symbol {
	st, err := working.Find(say, q, formula, f, u)
	if err != nil && b.err == nil {
		b.err = err
	}
	b.add(st)
	return st.Quantity
}

// given is the section of what is in flask and burette.
func (b *builder) given() working.Section {
	sec := working.Section{Kind: Given, Title: "What is given"}
	table := working.Table{
		Caption: working.P("What was put in; ions of strong electrolytes stand for their salts"),
		Head:    []working.Paragraph{working.P("where"), working.P("what"), working.P("concentration")},
	}
	row := func(where string, c setup.Content) {
		table.Rows = append(table.Rows, []working.Paragraph{working.Plain(where), {working.Chem(c.Species)}, working.P("@", concentrationOf(c))})
	}
	for _, c := range b.s.Flask.Contents {
		row("flask", c)
	}
	for _, c := range b.s.Burette.Contents {
		row("burette", c)
	}
	sec.Blocks = append(sec.Blocks, working.P("The flask holds @ before the first drop, at @.",
		b.flaskVolume().Value, working.Shortest(round9(b.s.Temperature.Celsius()), "°C")), table)
	if m := b.s.Flask.Medium; m != "" {
		sec.Blocks = append(sec.Blocks, append(working.P("Medium: "), working.Text(m+"; its formal potentials are used.")))
	}
	var rows [][]working.Paragraph
	for _, r := range b.s.Reactions {
		u := r.Unit
		if u == "" {
			u = "1"
		}
		rows = append(rows, []working.Paragraph{{working.Chem(r.Equation)}, working.Plain(r.Kind), working.P("@", shown(r.Value, u))})
	}
	sec.Blocks = append(sec.Blocks, working.Table{
		Caption: working.P("Reactions that take part, with the constants used; logarithms of constants and concentrations are those of their numbers in mol/L"),
		Head:    []working.Paragraph{working.P("reaction"), working.P("constant"), working.P("value")}, Rows: rows,
	})
	blocks, err := cautions(b.s)
	if err != nil && b.err == nil {
		b.err = err
	}
	sec.Blocks = append(sec.Blocks, blocks...)
	return sec
}

// shown is a constant as tables have it.
func shown(x float64, unitName string) working.Number {
	if unitName == "V" {
		return atLeastTwo(x, unitName)
	}
	return working.Shortest(x, unitName)
}

func concentrationOf(c setup.Content) working.Number {
	return working.Said(c.Conc.Float(), digits(c.Conc), "mol/L")
}

// digits are those that were written, where they were mol/L.
func digits(v setup.Value) string {
	x := v.Float()
	if text, _, ok := strings.Cut(v.Text, " mol/L"); ok {
		if d, err := unit.ParseDecimal(strings.TrimSpace(text)); err == nil && d.Float() == x {
			return strings.ReplaceAll(strings.TrimSpace(text), ",", ".")
		}
	}
	return working.Shortest(round12(x), "mol/L").Text
}

func round9(x float64) float64  { return math.Round(x*1e9) / 1e9 }
func round12(x float64) float64 { return math.Round(x*1e12) / 1e12 }
