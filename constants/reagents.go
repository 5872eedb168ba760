package constants

import (
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"

	"meniscus/chem"
)

// A ReagentForm says how a reagent is bought.
type ReagentForm string

// The forms.
const (
	SolidReagent     ReagentForm = "solid"
	LiquidReagent    ReagentForm = "liquid"    // concentrated: with assay and density
	IndicatorReagent ReagentForm = "indicator" // has no formula
)

// A Reagent is a substance as it is bought, with the habits of the trade.
type Reagent struct {
	Formula  string // with its water of crystallisation; the name of an indicator
	Names    []string
	CAS      string
	Form     ReagentForm
	Assay    Optional // mass percent, of a liquid
	Density  Optional // g/mL, of a liquid, or of the crystal
	Dissolve []string // what follows "dissolve it in" (empty: the water), then further steps
	Drying   string
	Keeps    int // days that the solution keeps, 3650 for years, 0 for hours
	Bottle   string
	Primary  bool   // is a primary standard
	Damp     string // why weighing alone does not tell the amount; "" if it does
	Medium   string // medium that the solution needs where none is asked for, such as "0.5 mol/L H2SO4"
	Water    string // which water, "" for the usual
	With     string // salt that goes into little water before it
	Before   bool   // dissolves in water only, before the acid
	Source   Source
	Note     string

	Indicator IndicatorSolution // zero for what is none

	Species chem.Species // zero for an indicator
	Gives   []chem.Term  // in water, for one formula unit; nil for an indicator
}

// Name returns the usual name, or the formula where the table has none.
func (r Reagent) Name() string {
	if len(r.Names) > 0 {
		return r.Names[0]
	}
	return r.Formula
}

// PerUnit returns how many of a species one formula unit gives, 0 if it gives
// none.
func (r Reagent) PerUnit(species string) float64 {
	for _, t := range r.Gives {
		if t.Species.Name == species {
			return t.Coefficient.Float()
		}
	}
	return 0
}

const reagentColumns = "formula | names | CAS | form | assay (%) | density (g/mL) | dissolve | drying | keeps (d) | bottle | flags | source | note"

var loadReagents = sync.OnceValues(func() ([]Reagent, error) {
	sources, err := Sources()
	if err != nil {
		return nil, err
	}
	return readReagents(files, sources)
})

// Reagents returns the reagents of the table, in its order: of several that
// give one species, or several hydrates, the first is the usual one.
func Reagents() ([]Reagent, error) {
	list, err := loadReagents()
	return slices.Clone(list), err
}

func readReagents(fsys fs.FS, sources map[string]Source) ([]Reagent, error) {
	records, err := readTable(fsys, "reagents.txt", reagentColumns)
	if err != nil {
		return nil, err
	}
	var list []Reagent
	seen := map[string]bool{}
	for _, rec := range records {
		r, err := readReagent(rec, sources)
		if err != nil {
			return nil, err
		}
		if seen[r.Formula] {
			return nil, rec.fail("%s stands twice", r.Formula)
		}
		seen[r.Formula] = true
		list = append(list, r)
	}
	return list, nil
}

func readReagent(rec record, sources map[string]Source) (Reagent, error) {
	r := Reagent{
		Formula: rec.get("formula"), Names: splitList(rec.get("names")), CAS: rec.get("CAS"), Form: ReagentForm(rec.get("form")),
		Dissolve: splitList(rec.get("dissolve")), Drying: rec.get("drying"), Bottle: rec.get("bottle"), Note: rec.get("note"),
	}
	var ok bool
	if r.Source, ok = sources[rec.get("source")]; !ok {
		return Reagent{}, rec.fail("source %q is not in sources.txt", rec.get("source"))
	}
	var err error
	if r.Assay, err = rec.number("assay (%)"); err != nil {
		return Reagent{}, err
	}
	if r.Density, err = rec.number("density (g/mL)"); err != nil {
		return Reagent{}, err
	}
	if r.Form == IndicatorReagent {
		if r.Indicator, err = readIndicatorSolution(r.Dissolve); err != nil {
			return Reagent{}, rec.fail("dissolve: %v", err)
		}
		return r, r.readKeeps(rec)
	}
	switch r.Form {
	case LiquidReagent:
		if !(r.Assay.Value > 0 && r.Assay.Value <= 100) || !(r.Density.Value > 0) {
			return Reagent{}, rec.fail("a liquid needs an assay and a density")
		}
	case SolidReagent:
	default:
		return Reagent{}, rec.fail("form %q is not known", r.Form)
	}
	if err := r.readComposition(rec); err != nil {
		return Reagent{}, err
	}
	return r, r.readKeeps(rec)
}

// readKeeps takes the days from the table, or from that of titrants, where they
// stand once for all salts.
func (r *Reagent) readKeeps(rec record) error {
	cell := rec.get("keeps (d)")
	t, isTitrant, err := titrantOf(*r)
	switch {
	case err != nil:
		return err
	case isTitrant && cell != "":
		return rec.fail("how long it keeps stands in titrants.txt under %s", t.Name)
	case isTitrant:
		r.Keeps = t.Keeps
		return nil
	}
	if r.Keeps, err = strconv.Atoi(cell); err != nil || r.Keeps < 0 {
		return rec.fail("keeps (d): a whole number of days is meant, found %q", cell)
	}
	return nil
}

// titrantOf finds the titrant that a solution of the reagent is.
func titrantOf(r Reagent) (Titrant, bool, error) {
	list, err := Titrants()
	if err != nil {
		return Titrant{}, false, err
	}
	for _, t := range list {
		if r.PerUnit(t.Species) > 0 || t.Species == WithoutWater(r.Formula) {
			return t, true, nil
		}
	}
	return Titrant{}, false, nil
}

func (r *Reagent) readComposition(rec record) (err error) {
	if r.Species, err = chem.ParseSpecies(r.Formula); err != nil {
		return rec.fail("%v", err)
	}
	r.Formula = r.Species.Name
	gives := ""
	for _, f := range splitFlags(rec.get("flags")) {
		switch f.key {
		case "primary":
			r.Primary = true
		case "damp":
			r.Damp = f.why
		case "medium":
			r.Medium = f.why
		case "water":
			r.Water = f.why
		case "with":
			r.With = f.why
		case "before acid":
			r.Before = true
		case "gives":
			gives = f.why
		default:
			return rec.fail("flag %q is not known", f.key)
		}
	}
	if gives == "" {
		if r.Gives, err = chem.Dissociate(r.Species); err != nil {
			return rec.fail("%v", err)
		}
		return nil
	}
	for part := range strings.SplitSeq(gives, " + ") {
		s, err := chem.ParseSpecies(strings.TrimSpace(part))
		if err != nil {
			return rec.fail("gives: %v", err)
		}
		r.Gives = append(r.Gives, chem.Term{Species: s, Coefficient: chem.Whole(1)})
	}
	return nil
}

// splitList splits at semicolons and drops what is empty.
func splitList(text string) []string {
	var out []string
	for part := range strings.SplitSeq(text, ";") {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

// FindReagent returns the reagent of a name or a formula, water of
// crystallisation included: FeSO4 is not FeSO4·7H2O.
func FindReagent(text string) (Reagent, bool, error) {
	list, err := loadReagents()
	if err != nil {
		return Reagent{}, false, err
	}
	text = strings.Join(strings.Fields(text), " ")
	formula := text
	if s, err := chem.ParseSpecies(text); err == nil {
		formula = s.Name
	}
	for _, r := range list {
		if r.Formula == formula || slices.ContainsFunc(append(r.Names, r.Formula), func(n string) bool { return strings.EqualFold(n, text) }) {
			return r, true, nil
		}
	}
	return Reagent{}, false, nil
}

// Hydrates returns the reagents that are one salt but for its water of
// crystallisation, in the order of the table. The formula may have any water,
// or none.
func Hydrates(formula string) ([]Reagent, error) {
	list, err := loadReagents()
	if err != nil {
		return nil, err
	}
	want, err := chem.ParseSpecies(formula)
	if err != nil {
		return nil, fmt.Errorf("looking for hydrates: %w", err)
	}
	dry := WithoutWater(want.Name)
	key, err := particles(dry)
	if err != nil {
		return nil, nil // a salt that the ions' table does not know has no row either
	}
	var out []Reagent
	for _, r := range list {
		if r.Form == IndicatorReagent {
			continue
		}
		other := WithoutWater(r.Formula)
		k, err := particles(other)
		if other == dry || err == nil && maps.Equal(k, key) {
			out = append(out, r)
		}
	}
	return out, nil
}

// particles says what a salt gives in water, in lowest terms, so that
// Fe(NH4)2(SO4)2 and (NH4)2Fe(SO4)2 are one.
func particles(formula string) (map[string]chem.Ratio, error) {
	s, err := chem.ParseSpecies(formula)
	if err != nil {
		return nil, err
	}
	terms, err := chem.Dissociate(s)
	if err != nil {
		return nil, err
	}
	m := map[string]chem.Ratio{}
	for _, t := range terms {
		m[t.Species.Name] = t.Coefficient
	}
	return m, nil
}

// WithoutWater returns a formula without its water of crystallisation.
func WithoutWater(formula string) string {
	dry, _, _ := strings.Cut(formula, "·")
	return dry
}

// Giving returns the reagents that give a species in water, in the order of the
// table. The species is a canonical name; a molecule counts for its own.
func Giving(species string) ([]Reagent, error) {
	list, err := loadReagents()
	if err != nil {
		return nil, err
	}
	var out []Reagent
	for _, r := range list {
		if r.PerUnit(species) > 0 {
			out = append(out, r)
		}
	}
	return out, nil
}
