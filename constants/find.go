package constants

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"meniscus/chem"
)

// Found is what the tables say about a word.
type Found struct {
	Read       string // how the word was understood: "element Fe", "species Fe^3+", ...
	Rows       []Row
	Indicators []Indicator
	Colours    []Colour
}

// Empty says that nothing was found.
func (f Found) Empty() bool { return len(f.Rows)+len(f.Indicators)+len(f.Colours) == 0 }

// An UnknownWordError reports a word that the tables do not know.
type UnknownWordError struct {
	Word string
	Near []string // words that come near, at most five
}

func (e *UnknownWordError) Error() string {
	if len(e.Near) == 0 {
		return fmt.Sprintf("%q: no element, name, formula, medium or kind of constant in the tables", e.Word)
	}
	return fmt.Sprintf("%q is not in the tables; did you mean %s?", e.Word, strings.Join(e.Near, ", "))
}

// A query is one word understood.
type query struct {
	read      string
	row       func(Row) bool
	indicator func(Indicator) bool
	colour    func(Colour) bool
}

func noRow(Row) bool             { return false }
func noIndicator(Indicator) bool { return false }
func noColour(Colour) bool       { return false }

// Find returns what the tables hold about a word: an element by symbol (case
// counts) or name, a species in any notation, a name such as "acetic acid",
// "iron(III)" or "ferroin", a medium, or a kind ("redox", "formal", "pKa",
// "pKsp", "complex", "water", "indicator", "metal indicator", "all", ...).
// Several words not known together are looked up each, and all must fit:
// "iron formal". Errors: *UnknownWordError, or that of loading.
func Find(word string) (Found, error) {
	t, err := load()
	if err != nil {
		return Found{}, err
	}
	if q, ok := t.understand(word); ok {
		return t.collect([]query{q}), nil
	}
	var all []query
	for w := range strings.FieldsSeq(word) {
		q, ok := t.understand(w)
		if !ok {
			return Found{}, &UnknownWordError{word, t.near(word)}
		}
		all = append(all, q)
	}
	if len(all) == 0 {
		return Found{}, &UnknownWordError{Word: word}
	}
	return t.collect(all), nil
}

func (t *tables) collect(all []query) Found {
	var f Found
	var read []string
	for _, q := range all {
		read = append(read, q.read)
	}
	f.Read = strings.Join(read, ", and ")
	for _, r := range t.rows {
		if !slices.ContainsFunc(all, func(q query) bool { return !q.row(r) }) {
			f.Rows = append(f.Rows, r)
		}
	}
	for _, i := range t.indicators {
		if !slices.ContainsFunc(all, func(q query) bool { return !q.indicator(i) }) {
			f.Indicators = append(f.Indicators, i)
		}
	}
	for _, c := range t.colours {
		if !slices.ContainsFunc(all, func(q query) bool { return !q.colour(c) }) {
			f.Colours = append(f.Colours, c)
		}
	}
	return f
}

// understand tries the readings of a word in turn.
func (t *tables) understand(word string) (query, bool) {
	word = strings.Join(strings.Fields(word), " ")
	for _, try := range []func(string) (query, bool){
		t.asElement, t.asKind, t.asName, t.asIndicator, t.asSpecies, t.asMedium,
	} {
		if q, ok := try(word); ok {
			return q, true
		}
	}
	return query{}, false
}

// elementNames are spellings that the table of atomic weights does not have.
var elementNames = map[string]string{
	"aluminum": "Al", "cesium": "Cs", "sulphur": "S", "caesium": "Cs", "aluminium": "Al", "sulfur": "S",
}

func (t *tables) asElement(word string) (query, bool) {
	weights := chem.StandardWeights()
	w, ok := weights[word]
	if !ok {
		symbol := elementNames[strings.ToLower(word)]
		for _, x := range weights {
			if strings.EqualFold(x.Name, word) {
				symbol = x.Symbol
			}
		}
		if w, ok = weights[symbol]; !ok {
			return query{}, false
		}
	}
	return query{
		read: "element " + w.Symbol, row: func(r Row) bool { return r.hasElement(w.Symbol) }, indicator: noIndicator,
		colour: func(c Colour) bool { return c.Species.Count(w.Symbol).Sign() > 0 },
	}, true
}

// kindWords maps what people call the kinds.
var kindWords = map[string][]Kind{
	"redox": {StandardPotential, FormalPotential}, "potential": {StandardPotential, FormalPotential},
	"couple": {StandardPotential, FormalPotential}, "standard": {StandardPotential}, "formal": {FormalPotential},
	"acid": {PKa}, "acidity": {PKa}, "pka": {PKa}, "complex": {LogBeta, LogK, ConditionalLogK},
	"complexes": {LogBeta, LogK, ConditionalLogK}, "stability": {LogBeta, LogK, ConditionalLogK}, "log beta": {LogBeta},
	"log k": {LogK, ConditionalLogK}, "conditional": {ConditionalLogK},
	"water": {PKw}, "pksp": {PKsp}, "ksp": {PKsp}, "solubility": {PKsp}, "solid": {PKsp}, "pkw": {PKw}, "kw": {PKw},
	"standard potential": {StandardPotential}, "formal potential": {FormalPotential}, "all": Kinds,
}

var indicatorWords = map[string][]IndicatorType{
	"indicator":           {RedoxIndicator, AcidBaseIndicator, MetalIndicator},
	"all":                 {RedoxIndicator, AcidBaseIndicator, MetalIndicator},
	"redox indicator":     {RedoxIndicator},
	"acid-base indicator": {AcidBaseIndicator}, "ph indicator": {AcidBaseIndicator},
	"metal indicator": {MetalIndicator},
}

func (t *tables) asKind(word string) (query, bool) {
	w := fold(word)
	kinds, isKind := lookPlural(kindWords, w)
	types, isType := lookPlural(indicatorWords, w)
	colour := w == "colour" || w == "color" || w == "colours" || w == "colors" || w == "all"
	if !isKind && !isType && !colour {
		return query{}, false
	}
	return query{
		read: "kind " + w, row: func(r Row) bool { return slices.Contains(kinds, r.Kind) },
		indicator: func(i Indicator) bool { return slices.Contains(types, i.Type) },
		colour:    func(Colour) bool { return colour },
	}, true
}

func lookPlural[V any](m map[string]V, w string) (V, bool) {
	if v, ok := m[w]; ok {
		return v, true
	}
	v, ok := m[strings.TrimSuffix(w, "s")]
	return v, ok
}

func (t *tables) asName(word string) (query, bool) {
	species, ok := t.index[fold(word)]
	if !ok {
		return query{}, false
	}
	ind, _ := t.asIndicator(word)
	q := t.ofSpecies(species)
	if ind.indicator != nil {
		q.indicator = ind.indicator
	}
	return q, true
}

func (t *tables) ofSpecies(species []string) query {
	return query{
		read: "species " + strings.Join(species, ", "),
		row: func(r Row) bool {
			return slices.ContainsFunc(species, func(s string) bool { return r.has(s) })
		},
		indicator: noIndicator,
		colour:    func(c Colour) bool { return slices.Contains(species, SpeciesKey(c.Species)) },
	}
}

func (t *tables) asIndicator(word string) (query, bool) {
	w := fold(word)
	match := func(i Indicator) bool { return w != "" && strings.Contains(fold(i.Name), w) }
	if len(w) < 3 || !slices.ContainsFunc(t.indicators, match) {
		return query{}, false
	}
	return query{read: "indicator " + word, row: noRow, indicator: match, colour: noColour}, true
}

// asSpecies reads a formula. A salt that no row names stands for its ions.
func (t *tables) asSpecies(word string) (query, bool) {
	s, err := chem.ParseSpecies(word)
	if err != nil || s.Name == "" {
		return query{}, false
	}
	match := func(r Row) bool { return r.has(SpeciesKey(s)) }
	if s.Charge == 0 && s.Phase == chem.Unmarked {
		match = func(r Row) bool { return r.hasFormula(s.Name) }
	}
	colour := func(c Colour) bool { return bare(c.Species) == bareName(s.Name) }
	if slices.ContainsFunc(t.rows, match) || slices.ContainsFunc(t.colours, colour) {
		return query{"species " + s.Name, match, noIndicator, colour}, true
	}
	terms, err := chem.Dissociate(s)
	if err != nil {
		return query{}, false
	}
	var ions []string
	for _, t := range terms {
		ions = append(ions, SpeciesKey(t.Species))
	}
	q := t.ofSpecies(ions)
	return q, slices.ContainsFunc(t.rows, q.row)
}

func (t *tables) asMedium(word string) (query, bool) {
	medium := CleanMedium(word)
	match := func(r Row) bool { return medium != "" && r.Medium == medium }
	if !slices.ContainsFunc(t.rows, match) {
		return query{}, false
	}
	return query{
		"medium " + medium, match,
		func(i Indicator) bool { return i.Medium == medium },
		func(c Colour) bool { return c.Medium == medium },
	}, true
}

// fold makes names comparable: case, hyphens and blanks before a bracket go.
func fold(s string) string {
	s = strings.ToLower(strings.Join(strings.Fields(s), " "))
	return strings.ReplaceAll(strings.ReplaceAll(s, " (", "("), "sulph", "sulf")
}

// near returns words one or two slips away from what was asked.
func (t *tables) near(word string) []string {
	w := fold(word)
	limit := min(len(w)/3, 2)
	seen := map[string]bool{}
	consider := func(c string) {
		if distance(w, fold(c)) <= limit {
			seen[c] = true
		}
	}
	for _, n := range t.names {
		for _, name := range n.Names {
			consider(name)
		}
	}
	for _, i := range t.indicators {
		consider(i.Name)
	}
	for k := range kindWords {
		consider(k)
	}
	for _, e := range chem.StandardWeights() {
		consider(strings.ToLower(e.Name))
	}
	out := slices.Sorted(maps.Keys(seen))
	return out[:min(len(out), 5)]
}

// distance is the number of characters to insert, delete or replace (V. I.
// Levenshtein 1966).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, diagonal+1)
		}
	}
	return row[len(b)]
}
