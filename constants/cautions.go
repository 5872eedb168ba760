package constants

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"meniscus/chem"
	"meniscus/unit"
)

// Closing is the sentence that ends every list of cautions.
const Closing = "The supplier's safety data sheet, the local chemical hygiene plan and local disposal rules decide; these are reminders, not a risk assessment."

// A Statement is a hazard statement in words of our own.
type Statement struct {
	Code, Words string
	Pictogram   string // in words; "" for none
	Protection  string // what it asks for beyond the usual; "" for nothing
}

// A Hazard is the usual classification of a reagent as bought.
type Hazard struct {
	Reagent    string // formula, or name of an indicator
	Name       string
	As         string // what was asked for, where the reagent stands for it: "MnO4^-"
	Signal     string // danger, warning or ""
	Statements []Statement
	Source     Source
	Note       string
}

// Pictograms returns the pictures on the bottle, in words.
func (h Hazard) Pictograms() []string {
	var list []string
	for _, s := range h.Statements {
		list = addNew(list, s.Pictogram)
	}
	return list
}

// Words returns the statements in words, each once.
func (h Hazard) Words() []string {
	var list []string
	for _, s := range h.Statements {
		list = addNew(list, s.Words)
	}
	return list
}

// A WasteStream is a bottle for waste.
type WasteStream struct {
	Name, Say string
	Takes     []string // of what was asked for
}

// Cautions is what to know about reagents that are used together.
type Cautions struct {
	Hazards     []Hazard
	Unknown     []string // reagents that the table does not have: nothing said of them is not harmless
	Protection  []string
	Precautions []string // what must not meet, what must never be done
	Waste       []WasteStream
	Closing     string
}

// usual is what everyone wears, whatever the reagents.
const usual = "goggles, closed lab coat, suitable gloves"

// CautionsFor returns the cautions for reagents that are used together, named
// by formula (with or without water), by name, or as a species ("MnO4^-"); a
// concentration before it is passed over ("1 mol/L H2SO4"). What the tables do
// not know is listed as unknown. Water is harmless.
func CautionsFor(reagents ...string) (Cautions, error) {
	t, err := loadCautions()
	if err != nil {
		return Cautions{}, err
	}
	c := Cautions{Protection: []string{usual}, Closing: Closing}
	var all []string // what everything gives
	for _, text := range reagents {
		text = WithoutConcentration(text)
		if r, ok, err := FindReagent(text); err == nil && ok && r.Indicator.Of != "" {
			text = r.Indicator.Of // what is in the bottle
		}
		h, found := t.hazard(text)
		gives := givesWords(text, h.Reagent)
		if slices.Equal(gives, []string{chem.Water}) {
			continue
		}
		switch {
		case found && !slices.ContainsFunc(c.Hazards, func(o Hazard) bool { return o.Reagent == h.Reagent }):
			c.Hazards = append(c.Hazards, h)
		case !found && !harmless(gives):
			c.Unknown = addNew(c.Unknown, text)
		}
		for _, s := range h.Statements {
			for _, p := range splitList(s.Protection) {
				c.Protection = addNew(c.Protection, p)
			}
		}
		all = addNew(all, gives...)
		name := text
		if found && h.As == "" {
			name = h.Reagent
		}
		c.Waste = t.addWaste(c.Waste, name, gives)
	}
	for _, p := range t.precautions {
		if fits(p.when, all) && (len(p.and) == 0 || fits(p.and, all)) {
			c.Precautions = addNew(c.Precautions, p.say)
		}
	}
	return c, nil
}

// WithoutConcentration drops what stands before the reagent in "1 mol/L H2SO4".
func WithoutConcentration(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	words := strings.Fields(text)
	for i := len(words) - 1; i > 0; i-- {
		if q, err := unit.ParseQuantity(strings.Join(words[:i], " ")); err == nil && q.Unit != "" {
			return strings.Join(words[i:], " ")
		}
	}
	return text
}

// addNew appends what is not empty and not there yet.
func addNew(list []string, more ...string) []string {
	for _, s := range more {
		if s != "" && !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	return list
}

// harmless says that only ions are given whose salts are reagents of their own
// right nowhere: what a spectator is.
func harmless(gives []string) bool {
	for _, g := range gives {
		if !slices.Contains([]string{"Na^+", "K^+", "NH4^+", "Cl^-", "SO4^2-", "NO3^-", "H^+", chem.Water}, g) {
			return false
		}
	}
	return len(gives) > 0
}

// fits says whether one of the words of a rule is among the substances.
func fits(words, all []string) bool {
	return slices.ContainsFunc(words, func(w string) bool {
		if class, ok := classes[w]; ok {
			return slices.ContainsFunc(all, class)
		}
		return slices.Contains(all, w)
	})
}

// classes are the words in parentheses of precautions.txt.
var classes = map[string]func(string) bool{
	"(concentrated acid)": func(s string) bool {
		return slices.Contains([]string{"HCl", "H2SO4", "HNO3", "HClO4", "H3PO4", "CH3COOH"}, s)
	},
	"(acid)": func(s string) bool {
		return slices.Contains([]string{chem.Proton, "HCl", "H2SO4", "HNO3", "HClO4", "H3PO4", "CH3COOH", "H2C2O4", "H3C6H5O7"}, s)
	},
	"(chloride acid)": func(s string) bool { return s == "HCl" },
	"(organic)":       organic,
}

// organic says whether a substance has carbon that burns: cyanides, carbonates
// and the oxides are not meant, nor are labels.
func organic(name string) bool {
	s, err := chem.ParseSpecies(name)
	if err != nil || s.Count("C").Sign() == 0 {
		return false
	}
	return s.Count("H").Sign() > 0 && !slices.Contains([]string{"HCO3^-", "H2CO3", "HCN", "NaHCO3", "HC2O4^-", "H2C2O4"}, s.Name)
}

// givesWords names a substance without its water, what it gives in water and
// the substance that stands for it.
func givesWords(text, reagent string) []string {
	var list []string
	for _, name := range []string{text, reagent} {
		if name == "" {
			continue
		}
		if r, ok, err := FindReagent(name); err == nil && ok {
			list = addNew(list, WithoutWater(r.Formula))
			if name == text || !strings.Contains(text, "^") { // an ion stands for itself, not for its salt's partner
				for _, g := range r.Gives {
					list = addNew(list, g.Species.Name)
				}
			}
			continue
		}
		s, err := chem.ParseSpecies(name)
		if err != nil {
			list = addNew(list, name)
			continue
		}
		list = addNew(list, WithoutWater(s.Name))
		if terms, err := chem.Dissociate(s); err == nil {
			for _, g := range terms {
				list = addNew(list, g.Species.Name)
			}
		}
	}
	return list
}

// cautionTables is what hazards.txt, hstatements.txt, precautions.txt and
// waste.txt hold.
type cautionTables struct {
	statements  map[string]Statement
	hazards     []hazardRow
	precautions []precaution
	waste       []wasteRow
}

type hazardRow struct {
	Hazard
	species []string // that it stands for
}

type precaution struct {
	when, and []string
	say       string
}

type wasteRow struct {
	name, say string
	takes     []string
}

// hazard finds the row of a reagent: by formula or name, then by formula
// without water, then as the reagent that stands for a species.
func (t *cautionTables) hazard(text string) (Hazard, bool) {
	r, ok, _ := FindReagent(text)
	formula := text
	if ok {
		formula = r.Formula
	} else if s, err := chem.ParseSpecies(text); err == nil {
		formula = s.Name
	}
	for _, h := range t.hazards {
		if h.Reagent == formula {
			return h.Hazard, true
		}
	}
	if hydrates, err := Hydrates(formula); err == nil && len(hydrates) > 0 {
		for _, h := range t.hazards {
			if h.Reagent == hydrates[0].Formula {
				return h.Hazard, true
			}
		}
	}
	for _, h := range t.hazards {
		if slices.Contains(h.species, formula) {
			h.As = formula
			return h.Hazard, true
		}
	}
	return Hazard{}, false
}

// addWaste puts a reagent into its stream: that of the first row which takes
// something of it.
func (t *cautionTables) addWaste(list []WasteStream, name string, gives []string) []WasteStream {
	for _, w := range t.waste {
		if !fits(w.takes, gives) {
			continue
		}
		i := slices.IndexFunc(list, func(s WasteStream) bool { return s.Name == w.name })
		if i < 0 {
			list = append(list, WasteStream{Name: w.name, Say: w.say})
			i = len(list) - 1
		}
		list[i].Takes = addNew(list[i].Takes, name)
		return list
	}
	return list
}

var loadCautions = sync.OnceValues(func() (*cautionTables, error) {
	sources, err := Sources()
	if err != nil {
		return nil, err
	}
	t := &cautionTables{statements: map[string]Statement{}}
	for _, f := range []func(map[string]Source) error{t.readStatements, t.readHazards, t.readPrecautions, t.readWaste} {
		if err := f(sources); err != nil {
			return nil, err
		}
	}
	return t, nil
})

func (t *cautionTables) readStatements(map[string]Source) error {
	records, err := readTable(files, "hstatements.txt", "code | words | pictogram | protection")
	if err != nil {
		return err
	}
	for _, r := range records {
		s := Statement{r.get("code"), r.get("words"), r.get("pictogram"), r.get("protection")}
		if _, twice := t.statements[s.Code]; twice || s.Words == "" {
			return r.fail("%s stands twice, or has no words", s.Code)
		}
		t.statements[s.Code] = s
	}
	return nil
}

func (t *cautionTables) readHazards(sources map[string]Source) error {
	records, err := readTable(files, "hazards.txt", "formula | for | signal | statements | source | note")
	if err != nil {
		return err
	}
	for _, r := range records {
		reagent, ok, err := FindReagent(r.get("formula"))
		if err != nil {
			return err
		}
		if !ok {
			return r.fail("%s is not in reagents.txt", r.get("formula"))
		}
		h := hazardRow{Hazard{
			Reagent: reagent.Formula, Name: reagent.Name(), Signal: r.get("signal"),
			Source: sources[r.get("source")], Note: r.get("note"),
		}, splitList(r.get("for"))}
		if h.Source.Key == "" {
			return r.fail("source %q is not in sources.txt", r.get("source"))
		}
		if h.Signal != "" && h.Signal != "danger" && h.Signal != "warning" {
			return r.fail("signal %q is neither danger nor warning", h.Signal)
		}
		for code := range strings.FieldsSeq(r.get("statements")) {
			s, ok := t.statements[code]
			if !ok {
				return r.fail("%s is not in hstatements.txt", code)
			}
			h.Statements = append(h.Statements, s)
		}
		t.hazards = append(t.hazards, h)
	}
	return nil
}

func (t *cautionTables) readPrecautions(map[string]Source) error {
	records, err := readTable(files, "precautions.txt", "when | and | say | source")
	if err != nil {
		return err
	}
	for _, r := range records {
		p := precaution{splitList(r.get("when")), splitList(r.get("and")), r.get("say")}
		for _, w := range append(slices.Clone(p.when), p.and...) {
			if err := checkWord(w); err != nil {
				return r.fail("%v", err)
			}
		}
		t.precautions = append(t.precautions, p)
	}
	return nil
}

// checkWord wants the canonical name of a species, an indicator or a class.
func checkWord(w string) error {
	if _, ok := classes[w]; ok || strings.HasPrefix(w, "(") && !ok {
		if !ok {
			return fmt.Errorf("class %s is not known", w)
		}
		return nil
	}
	s, err := chem.ParseSpecies(w)
	if err != nil {
		return err
	}
	if s.Name != w {
		return fmt.Errorf("%s is written %s", w, s.Name)
	}
	return nil
}

func (t *cautionTables) readWaste(map[string]Source) error {
	records, err := readTable(files, "waste.txt", "stream | takes | say | source")
	if err != nil {
		return err
	}
	for _, r := range records {
		w := wasteRow{r.get("stream"), r.get("say"), splitList(r.get("takes"))}
		for _, s := range w.takes {
			if err := checkWord(s); err != nil {
				return r.fail("%v", err)
			}
		}
		t.waste = append(t.waste, w)
	}
	return nil
}

// WasteOrder returns the names of the waste streams in the order in which they
// claim a mixture: a bottle with silver and acid is silver's.
func WasteOrder() ([]string, error) {
	t, err := loadCautions()
	if err != nil {
		return nil, err
	}
	var list []string
	for _, w := range t.waste {
		list = append(list, w.name)
	}
	return list, nil
}
