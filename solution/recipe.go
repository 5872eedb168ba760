// Package solution prepares and standardises solutions: what to weigh or
// measure for a wanted concentration, what the concentration is by what was
// really weighed, and what a primary standard makes of a titrant.
//
// It knows bottles and glassware, not titrations: how much of a solution one
// titration needs is for the packages above. Cautions come from constants.
package solution

import (
	"fmt"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/unit"
)

// A Solute is what a solution shall contain: a species or a salt.
type Solute struct {
	Name string
	Conc unit.Concentration
	From string // the bottle, formula with its water; "" for the usual one
}

// A Wanted is a solution to make.
type Wanted struct {
	Solutes []Solute
	Medium  string // such as "1 mol/L H2SO4"; "" for water
	Volume  unit.Volume
}

// A Portion is what goes into the vessel of one bottle.
type Portion struct {
	Reagent      constants.Reagent
	For          string             // the species or salt wanted
	Conc         unit.Concentration // of it
	PerUnit      float64            // of it, in one formula unit
	MolarMass    chem.MolarMass
	Mass         unit.Mass   // of a solid, or of the liquid
	Volume       unit.Volume // of a liquid; 0 for a solid
	Alternatives []Choice
}

// A Choice is another bottle that would do.
type Choice struct {
	Formula string
	Mass    unit.Mass
}

// A Recipe says how to make a solution.
type Recipe struct {
	Wanted   Wanted
	Portions []Portion
	Steps    []string
	Keeps    int // days, 3650 for years, 0 for hours
	Bottle   string
	Against  []constants.Standard // what to standardise it against; nil if it is exact as weighed
	Cautions constants.Cautions
	Notes    []string
}

// A BottleError says that the bottle named cannot be used as it stands.
type BottleError struct {
	For, From string
	Known     []Choice // bottles that would do, with the mass each
	Reason    string
	Way       string // how to come to it all the same; "" for none
}

func (e *BottleError) Error() string {
	s := fmt.Sprintf("%s for %s: %s", e.From, e.For, e.Reason)
	var list []string
	for _, k := range e.Known {
		if k.Mass == 0 {
			list = append(list, k.Formula)
			continue
		}
		list = append(list, fmt.Sprintf("%s (%s)", k.Formula, grams(k.Mass)))
	}
	if len(list) > 0 {
		s += "; known are " + strings.Join(list, ", ")
	}
	if e.Way != "" {
		s += ". " + e.Way
	}
	return s
}

func grams(m unit.Mass) string { return fmt.Sprintf("%.4g g", float64(m)) }

// Make returns the recipe of a solution. A *BottleError says which bottles
// would do, and how much of each, where the one named is not known.
func Make(w Wanted) (Recipe, error) {
	r := Recipe{Wanted: w}
	medium, notes, err := mediumSolutes(w.Medium)
	if err != nil {
		return r, err
	}
	r.Notes = notes
	if err := r.fill(w.Solutes, medium); err != nil {
		return r, err
	}
	if err := r.addNeeded(); err != nil {
		return r, err
	}
	r.describe(len(w.Solutes))
	var names []string
	for _, p := range r.Portions {
		names = append(names, p.Reagent.Formula)
	}
	r.Cautions, err = constants.CautionsFor(names...)
	return r, err
}

// fill finds the bottle of each solute, and leaves out what another brings.
func (r *Recipe) fill(solutes, medium []Solute) error {
	given := map[string]bool{}
	for _, s := range slices.Concat(solutes, medium) {
		if given[s.Name] {
			continue // a counter-ion that another bottle brings, or the acid named twice
		}
		p, err := portion(s, r.Wanted, medium)
		if err != nil {
			return err
		}
		given[s.Name] = true
		for _, g := range p.Reagent.Gives {
			if g.Species.Name != chem.Proton && g.Species.Name != chem.Hydroxide {
				given[g.Species.Name] = true
			}
		}
		r.Portions = append(r.Portions, p)
	}
	return nil
}

// addNeeded adds the acid, alkali or salt without which a solute would not
// dissolve or not last, and says so.
func (r *Recipe) addNeeded() error {
	for _, p := range slices.Clone(r.Portions) {
		var need []Solute
		if p.Reagent.Medium != "" && !r.Gives(chem.Proton) && !r.Gives(chem.Hydroxide) {
			list, _, err := mediumSolutes(p.Reagent.Medium)
			if err != nil {
				return err
			}
			need = list
		}
		if w := p.Reagent.With; w != "" && !slices.ContainsFunc(r.Portions, func(q Portion) bool { return q.Reagent.Formula == w }) {
			need = append(need, Solute{Name: w, Conc: 4 * p.Conc}) // as in the table of titrants
		}
		for _, s := range need {
			q, err := portion(s, r.Wanted, nil)
			if err != nil {
				return err
			}
			r.Portions = append(r.Portions, q)
			r.Notes = append(r.Notes, fmt.Sprintf("%s needs %s and none was asked for: %.4g mol/L is put in; say another with the medium", Pretty(p.Reagent), s.Name, float64(s.Conc)))
		}
	}
	return nil
}

// Gives says whether a bottle of the recipe gives a species in water.
func (r *Recipe) Gives(species string) bool {
	return slices.ContainsFunc(r.Portions, func(p Portion) bool { return p.Reagent.PerUnit(species) > 0 })
}

// ByMass says whether the concentration follows from what is weighed of a primary
// standard, so that it is worth a volumetric flask.
func (r *Recipe) ByMass() bool { return r.Portions[0].Reagent.Primary && r.exact(r.Portions[0]) }

// mediumSolutes reads "0.5 mol/L H2SO4 + 0.5 mol/L H3PO4".
func mediumSolutes(medium string) (list []Solute, notes []string, err error) {
	if medium == "" {
		return nil, nil, nil
	}
	for part := range strings.SplitSeq(medium, " + ") {
		name := constants.WithoutConcentration(part)
		q, err := unit.ParseQuantity(strings.TrimSuffix(part, name))
		if _, alone := unit.ParseQuantity(part); alone == nil {
			return nil, nil, fmt.Errorf("medium %q: of what? such as \"1 mol/L H2SO4\" is meant", part)
		}
		if err != nil {
			notes = append(notes, fmt.Sprintf("medium %q has no concentration: make it up by hand", part))
			continue
		}
		c, _, err := q.In(unit.DimConc, "1 mol/L")
		if err != nil {
			return nil, nil, fmt.Errorf("medium %s: %w", part, err)
		}
		list = append(list, Solute{Name: name, Conc: unit.Concentration(c.Float())})
	}
	return list, notes, nil
}

func portion(s Solute, w Wanted, medium []Solute) (Portion, error) {
	amount := float64(s.Conc) * float64(w.Volume)
	if err := s.possible(w.Volume); err != nil {
		return Portion{}, err
	}
	s, err := s.byFormula()
	if err != nil {
		return Portion{}, err
	}
	species, err := chem.ParseSpecies(s.Name)
	if err != nil {
		return Portion{}, fmt.Errorf("reading %q: %w", s.Name, err)
	}
	name := species.Name
	if s.From == "" && strings.Contains(name, "·") { // which water is in the bottle was said
		s.From, name = name, constants.WithoutWater(name)
	}
	list, err := bottles(name)
	if err != nil {
		return Portion{}, err
	}
	var reagent constants.Reagent
	switch {
	case s.From != "":
		reagent, err = named(s.From, name, list, amount)
	case len(list) == 0:
		err = unsold(species, amount)
	default:
		reagent = preferred(list, medium)
	}
	if err != nil {
		return Portion{}, err
	}
	p := Portion{Reagent: reagent, For: name, Conc: s.Conc, PerUnit: perUnit(reagent, name)}
	if !(p.PerUnit > 0) {
		return p, &BottleError{For: name, From: reagent.Formula, Known: choices(list, name, amount), Reason: "it does not give " + name}
	}
	if p.MolarMass, err = reagent.Species.MolarMass(); err != nil {
		return p, fmt.Errorf("molar mass of %s: %w", reagent.Formula, err)
	}
	p.Mass = massOf(reagent, name, amount)
	if reagent.Form == constants.LiquidReagent {
		p.Volume = unit.Volume(float64(p.Mass) / (1000 * reagent.Density.Value))
	}
	if err := p.holds(w.Volume); err != nil {
		return p, err
	}
	for _, c := range choices(list, name, amount) {
		if c.Formula != reagent.Formula {
			p.Alternatives = append(p.Alternatives, c)
		}
	}
	return p, nil
}

// byFormula returns a solute that was named in words, "potassium permanganate" or
// "permanganate", as the tables write it.
func (s Solute) byFormula() (Solute, error) {
	named := func(n string) bool { return strings.EqualFold(n, strings.Join(strings.Fields(s.Name), " ")) }
	r, ok, err := constants.FindReagent(s.Name)
	if err != nil {
		return s, err
	}
	if ok && r.Form == constants.IndicatorReagent {
		return s, &LimitError{fmt.Sprintf("%s is an indicator: it is made up by the gram, not by the mole; ask for it by its name alone", s.Name)}
	}
	if ok && slices.ContainsFunc(r.Names, named) {
		if s.Name = r.Formula; !strings.Contains(r.Formula, "·") && s.From == "" {
			s.From = r.Formula + " anhydrous"
		}
		return s, nil
	}
	list, err := constants.Titrants()
	if err != nil {
		return s, err
	}
	if i := slices.IndexFunc(list, func(t constants.Titrant) bool { return named(t.Name) }); i >= 0 {
		s.Name = list[i].Species
	}
	return s, nil
}

// A LimitError says that a quantity lies outside of what is made in a laboratory.
type LimitError struct{ Reason string }

func (e *LimitError) Error() string { return e.Reason }

// Limits of what is made: beyond them a digit or a unit slipped.
const (
	leastVolume = 1 * unit.Millilitre
	mostVolume  = unit.Volume(1000)
	leastConc   = 1e-9 // mol/L
	mostSolid   = 2000 // g in a litre of solution
)

// possible says whether a concentration and a volume can be meant.
func (s Solute) possible(v unit.Volume) error {
	limit := func(format string, args ...any) error { return &LimitError{fmt.Sprintf(format, args...)} }
	switch {
	case !(float64(s.Conc) > 0):
		return limit("%s at %g mol/L: a concentration above 0 is needed", s.Name, float64(s.Conc))
	case float64(s.Conc) < leastConc:
		return limit("%s at %g mol/L: from 1e-9 mol/L can be made, by dilution", s.Name, float64(s.Conc))
	case !(v >= leastVolume*(1-1e-9) && v <= mostVolume*(1+1e-9)):
		return limit("a volume of %.6g mL: from 1 mL to 1000 L can be made", v.Millilitres())
	}
	return nil
}

// holds says whether a litre can hold so much of a bottle.
func (p Portion) holds(v unit.Volume) error {
	switch {
	case p.Volume > v:
		return &LimitError{fmt.Sprintf("%g mol/L %s is more than the bottle holds: %s of %g %% is %.3g mol/L", float64(p.Conc), p.For, p.Reagent.Name(), p.Reagent.Assay.Value, float64(p.Conc)*float64(v/p.Volume))}
	case p.Volume == 0 && float64(p.Mass)/float64(v) > mostSolid:
		return &LimitError{fmt.Sprintf("%g mol/L %s takes %.4g g of %s for each litre of solution: no litre holds so much", float64(p.Conc), p.For, float64(p.Mass)/float64(v), p.Reagent.Formula)}
	}
	return nil
}

// bottles lists what gives a species: hydrates of a salt, or the reagents that
// give an ion.
func bottles(name string) ([]constants.Reagent, error) {
	if strings.Contains(name, "^") {
		return constants.Giving(name)
	}
	if r, ok, err := constants.FindReagent(name); err != nil || ok {
		list := []constants.Reagent{r}
		more, err := constants.Hydrates(name)
		for _, m := range more {
			if m.Formula != r.Formula {
				list = append(list, m)
			}
		}
		if !strings.Contains(name, "·") && len(more) > 0 {
			return more, err // a bare salt in a setup means its ions, not a bottle
		}
		return list, err
	}
	list, err := constants.Hydrates(name)
	if err != nil || len(list) > 0 {
		return list, err
	}
	return constants.Giving(name)
}

// preferred is the first bottle that brings an ion of the medium, and otherwise
// the first.
func preferred(list []constants.Reagent, medium []Solute) constants.Reagent {
	for _, m := range medium {
		s, err := chem.ParseSpecies(m.Name)
		if err != nil {
			continue
		}
		terms, err := chem.Dissociate(s)
		if err != nil {
			continue
		}
		for _, r := range list {
			for _, t := range terms {
				if t.Species.Name != chem.Proton && r.PerUnit(t.Species.Name) > 0 {
					return r
				}
			}
		}
	}
	return list[0]
}

// named finds the bottle that the person has. A formula without water is not
// taken for a salt that usually has some.
func named(from, name string, list []constants.Reagent, amount float64) (constants.Reagent, error) {
	formula, dry := strings.CutSuffix(strings.TrimSpace(from), " anhydrous")
	r, ok, err := constants.FindReagent(formula)
	if err != nil {
		return r, err
	}
	known := choices(list, name, amount)
	if !ok {
		hydrates, err := constants.Hydrates(formula)
		if len(hydrates) > 0 {
			return r, &BottleError{For: name, From: from, Known: choices(hydrates, name, amount), Reason: "this water of crystallisation is not known; read the label"}
		}
		if err != nil {
			return r, fmt.Errorf("reading the bottle: %w", err)
		}
		return unlisted(formula, name, known)
	}
	hydrates, err := constants.Hydrates(r.Formula)
	if err != nil {
		return r, fmt.Errorf("looking for hydrates of %s: %w", r.Formula, err)
	}
	if !dry && len(hydrates) > 1 && !strings.Contains(r.Formula, "·") && hydrates[0].Formula != r.Formula {
		return r, &BottleError{For: name, From: from, Known: choices(hydrates, name, amount), Reason: `the label must say which hydrate; write "` + from + ` anhydrous" if it has none`}
	}
	return r, nil
}

// unlisted is a salt that the table does not have: its mass can be computed,
// its habits are not known.
func unlisted(formula, name string, known []Choice) (constants.Reagent, error) {
	s, err := chem.ParseSpecies(formula)
	if err != nil {
		return constants.Reagent{}, fmt.Errorf("reading the bottle: %w", err)
	}
	gives, err := chem.Dissociate(s)
	if err != nil {
		return constants.Reagent{}, &BottleError{For: name, From: formula, Known: known, Reason: "neither the table of reagents nor that of ions knows it"}
	}
	return constants.Reagent{
		Formula: s.Name, Form: constants.SolidReagent, Species: s, Gives: gives,
		Note: "not in the table of reagents: nothing is known here of its drying, keeping and hazards",
	}, nil
}

func perUnit(r constants.Reagent, name string) float64 {
	if n := r.PerUnit(name); n > 0 {
		return n
	}
	if strings.Contains(name, "^") {
		return 0
	}
	return 1
}

func massOf(r constants.Reagent, name string, amount float64) unit.Mass {
	m, err := r.Species.MolarMass()
	if err != nil {
		return 0
	}
	mass := amount / perUnit(r, name) * float64(m.Value)
	if r.Form == constants.LiquidReagent {
		mass /= r.Assay.Value / 100
	}
	return unit.Mass(mass)
}

func choices(list []constants.Reagent, name string, amount float64) []Choice {
	var out []Choice
	for _, r := range list {
		if perUnit(r, name) > 0 {
			out = append(out, Choice{r.Formula, massOf(r, name, amount)})
		}
	}
	return out
}

// unsold says how to come to a state that no bottle has: from another state of
// the element, by a reductor of the table.
func unsold(s chem.Species, amount float64) error {
	e := &BottleError{For: s.Name, From: "no bottle", Reason: "the tables know no reagent that gives it"}
	list, err := constants.Reagents()
	if err != nil {
		return err
	}
	element := ""
	for _, r := range list {
		for _, x := range s.Elements {
			n := r.Species.Count(x.Symbol).Float()
			if n == 0 || slices.Contains([]string{"H", "C", "N", "O", "S", "Cl", "K", "Na"}, x.Symbol) {
				continue
			}
			m, err := r.Species.MolarMass()
			if err != nil {
				return fmt.Errorf("molar mass of %s: %w", r.Formula, err)
			}
			element = x.Symbol
			e.Known = append(e.Known, Choice{r.Formula, unit.Mass(amount / n * float64(m.Value))})
		}
	}
	reductions, err := constants.Reductions()
	if err != nil {
		return err
	}
	for _, r := range reductions {
		if r.Product == s.Name && len(e.Known) > 0 {
			e.Way = fmt.Sprintf("It is made just before use: dissolve %s of %s (the same amount of %s) and reduce it with %s", grams(e.Known[0].Mass), e.Known[0].Formula, element, r.Reductor)
			if r.Note != "" {
				e.Way += " (" + r.Note + ")"
			}
			e.Way += "; keep air away and standardise at once"
			return e
		}
	}
	e.Way = "Name a salt of it, or make it from another state"
	return e
}
