// Package solution prepares and standardises solutions: what to weigh or
// measure for a wanted concentration, what the concentration is by what was
// really weighed, and what a primary standard makes of a titrant.
//
// It knows bottles and glassware, not titrations: how much of a solution one
// titration needs is for the packages above. Cautions come from constants.
package solution

import (
	"cmp"
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
	Keeps    string
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
	given := map[string]bool{}
	for _, s := range slices.Concat(w.Solutes, medium) {
		if given[s.Name] {
			continue // a counter-ion that another bottle brings, or the acid named twice
		}
		p, err := portion(s, w, medium)
		if err != nil {
			return r, err
		}
		given[s.Name] = true
		for _, g := range p.Reagent.Gives {
			if g.Species.Name != chem.Proton && g.Species.Name != chem.Hydroxide {
				given[g.Species.Name] = true
			}
		}
		r.Portions = append(r.Portions, p)
	}
	r.describe(len(w.Solutes))
	var names []string
	for _, p := range r.Portions {
		names = append(names, p.Reagent.Formula)
	}
	r.Cautions, err = constants.CautionsFor(names...)
	return r, err
}

// mediumSolutes reads "0.5 mol/L H2SO4 + 0.5 mol/L H3PO4".
func mediumSolutes(medium string) (list []Solute, notes []string, err error) {
	if medium == "" {
		return nil, nil, nil
	}
	for part := range strings.SplitSeq(medium, " + ") {
		name := constants.WithoutConcentration(part)
		q, err := unit.ParseQuantity(strings.TrimSuffix(part, name))
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
	if !(amount > 0) {
		return Portion{}, fmt.Errorf("%s: a concentration and a volume above 0 are needed", s.Name)
	}
	species, err := chem.ParseSpecies(s.Name)
	if err != nil {
		return Portion{}, fmt.Errorf("reading %q: %w", s.Name, err)
	}
	name := species.Name
	list, err := bottles(name)
	if err != nil {
		return Portion{}, err
	}
	var reagent constants.Reagent
	switch {
	case s.From != "":
		reagent, err = named(s.From, name, list, amount)
	case len(list) == 0:
		err = &BottleError{For: name, From: "no bottle", Known: nearest(species), Reason: "the tables know no reagent that gives it; make it from another state by reduction or oxidation, or name a salt"}
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
	for _, c := range choices(list, name, amount) {
		if c.Formula != reagent.Formula {
			p.Alternatives = append(p.Alternatives, c)
		}
	}
	return p, nil
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
	hydrates, err := constants.Hydrates(r.Formula)
	if !ok {
		if hydrates, err = constants.Hydrates(formula); len(hydrates) > 0 {
			return r, &BottleError{name, from, choices(hydrates, name, amount), "this water of crystallisation is not known; read the label"}
		}
		if err != nil {
			return r, fmt.Errorf("reading the bottle: %w", err)
		}
		return unlisted(formula, name, known)
	}
	if !dry && len(hydrates) > 1 && !strings.Contains(r.Formula, "·") && hydrates[0].Formula != r.Formula {
		return r, &BottleError{name, from, choices(hydrates, name, amount), `the label must say which hydrate; write "` + from + ` anhydrous" if it has none`}
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
		return constants.Reagent{}, &BottleError{name, formula, known, "neither the table of reagents nor that of ions knows it"}
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

// nearest lists reagents with the metal of a species that none gives.
func nearest(s chem.Species) []Choice {
	list, err := constants.Reagents()
	if err != nil {
		return nil
	}
	var out []Choice
	for _, r := range list {
		for _, e := range s.Elements {
			if !slices.Contains([]string{"H", "C", "N", "O", "S", "Cl", "K", "Na"}, e.Symbol) && r.Species.Count(e.Symbol).Sign() > 0 {
				out = append(out, Choice{Formula: r.Formula})
			}
		}
	}
	return out
}

// alkaliFirst puts alkali before all else, since cyanide goes into alkali only.
func alkaliFirst(list []Portion) []Portion {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b Portion) int {
		return cmp.Compare(b.Reagent.PerUnit(chem.Hydroxide), a.Reagent.PerUnit(chem.Hydroxide))
	})
	return list
}

// describe writes the steps, in the order of work: acid into most of the water,
// the rest into that, to the mark. solutes is how many were wanted besides the
// medium.
func (r *Recipe) describe(solutes int) {
	volume := fmt.Sprintf("%.4g mL", r.Wanted.Volume.Millilitres())
	r.Steps = append(r.Steps, fmt.Sprintf("put about %.3g mL of water into a beaker", 0.6*r.Wanted.Volume.Millilitres()))
	for _, p := range r.Portions {
		if p.Reagent.Form == constants.LiquidReagent {
			r.Steps = append(r.Steps, fmt.Sprintf("pour %.3g mL of %s (%g %%, %.2f g/mL) slowly into the water, stirring; let it cool",
				p.Volume.Millilitres(), p.Reagent.Name(), p.Reagent.Assay.Value, p.Reagent.Density.Value))
		}
	}
	for _, p := range alkaliFirst(r.Portions) {
		if p.Reagent.Form == constants.LiquidReagent {
			continue
		}
		if p.Reagent.Drying != "" {
			r.Steps = append(r.Steps, p.Reagent.Formula+", before weighing: "+p.Reagent.Drying)
		}
		r.Steps = append(r.Steps, fmt.Sprintf("weigh %.4f g of %s (%.4f to %.4f g will do) and write down the exact mass",
			float64(p.Mass), p.Reagent.Formula, 0.9*float64(p.Mass), 1.1*float64(p.Mass)))
		if p.Reagent.Dissolve != "" {
			r.Steps = append(r.Steps, "dissolve it "+p.Reagent.Dissolve)
		}
	}
	r.Steps = append(r.Steps, fmt.Sprintf("at 20 °C, rinse into the flask, make up to the mark at %s, and mix by turning it over twenty times", volume))
	for i, p := range r.Portions {
		if p.Reagent.Note != "" {
			r.Notes = append(r.Notes, p.Reagent.Formula+": "+p.Reagent.Note)
		}
		if i > 0 || i >= solutes {
			continue
		}
		r.Keeps, r.Bottle = p.Reagent.Keeps, p.Reagent.Bottle
		if p.Reagent.Primary {
			continue
		}
		if list, err := constants.StandardsFor(p.For); err == nil {
			r.Against = list
		}
		if p.Reagent.Damp != "" {
			r.Notes = append(r.Notes, p.Reagent.Formula+": "+p.Reagent.Damp+"; the mass weighed does not tell the exact concentration: standardise")
		}
	}
}
