package constants

import (
	"slices"
	"strconv"
	"strings"
	"sync"

	"meniscus/chem"
)

// A Titrant is a solution for the burette with the habits of the trade.
type Titrant struct {
	Name       string
	Species    string     // what stands under contains
	With       []Addition // beside it
	Kind       string     // redox, acid-base, silver, complexometric
	Salt       string
	Standard   string // "primary standard", or what it is standardised against
	Keeps      int    // days that a titre may be trusted
	Conditions string
	Clashes    []Clash
	Speed      int // 0 reacts at once, 1 slow near the end, 2 slow
	Care       int // 0 to 3
	Cost       int // 1 cheap to 3 dear
	Source     Source
	Note       string
}

// An Addition is a substance that a titrant contains per mole of it.
type Addition struct {
	Species string
	PerMole float64
}

// A Clash is a species in the flask that spoils the work with a titrant.
type Clash struct{ Species, Why string }

// A Condition is what to keep, and why, where flask and burette hold one of
// the species each; an empty list is always met.
type Condition struct {
	Flask, Burette []string
	Keep, Why      string
	Source         Source
}

// A Reduction is what a reductor makes of an element. Electrons is how many a
// titration takes from the product, 0 where nothing is reduced.
type Reduction struct {
	Element, Reductor, Product string
	Electrons                  int
	Note                       string
	Source                     Source
}

// practice is the tables of habits, read once.
var practice = sync.OnceValues(readPractice)

type habits struct {
	titrants   []Titrant
	conditions []Condition
	reductions []Reduction
	changes    []ColourChange
}

// Titrants returns the titrants, in the order of the table.
func Titrants() ([]Titrant, error) {
	h, err := practice()
	return slices.Clone(h.titrants), err
}

// Conditions returns the conditions to keep, in the order of the table.
func Conditions() ([]Condition, error) {
	h, err := practice()
	return slices.Clone(h.conditions), err
}

// Reductions returns what reductors do, in the order of the table.
func Reductions() ([]Reduction, error) {
	h, err := practice()
	return slices.Clone(h.reductions), err
}

func readPractice() (habits, error) {
	var h habits
	t := &tables{table: map[string][]Source{}}
	if err := t.readSources(files); err != nil {
		return h, err
	}
	for _, f := range []struct {
		file, columns string
		row           func(record, Source) error
	}{
		{"titrants.txt", "titrant | contains | kind | salt | standard | keeps (d) | conditions | clashes | speed | care | cost | source | note", h.titrant},
		{"conditions.txt", "flask | burette | keep | why | source", h.condition},
		{"reductors.txt", "element | reductor | product | electrons | note | source", h.reduction},
		{"changes.txt", changeColumns, h.change},
	} {
		records, err := readTable(files, f.file, f.columns)
		if err != nil {
			return h, err
		}
		for _, r := range records {
			s, err := t.source(r)
			if err != nil {
				return h, err
			}
			if err := f.row(r, s); err != nil {
				return h, err
			}
		}
	}
	return h, nil
}

// titrantKinds are the words of the column kind.
var titrantKinds = []string{"redox", "acid-base", "silver", "complexometric"}

func (h *habits) titrant(r record, s Source) error {
	t := Titrant{
		Name: r.get("titrant"), Kind: r.get("kind"), Salt: r.get("salt"), Standard: r.get("standard"),
		Conditions: r.get("conditions"), Source: s, Note: r.get("note"),
	}
	if !slices.Contains(titrantKinds, t.Kind) {
		return r.fail("%q is none of the kinds %s", t.Kind, strings.Join(titrantKinds, ", "))
	}
	for i, part := range strings.Split(r.get("contains"), " + ") {
		n, name := 1.0, part
		if before, after, ok := strings.Cut(part, " "); ok {
			x, err := strconv.ParseFloat(before, 64)
			if err != nil {
				return r.fail("%q is no amount and species", part)
			}
			n, name = x, after
		}
		if _, err := chem.ParseSpecies(name); err != nil {
			return r.fail("%v", err)
		}
		if i == 0 {
			t.Species = name
		} else {
			t.With = append(t.With, Addition{name, n})
		}
	}
	for _, f := range splitFlags(r.get("clashes")) {
		sp, err := chem.ParseSpecies(f.key)
		if err != nil || f.why == "" {
			return r.fail("a clash reads Cl^-: why, found %q", f.key)
		}
		t.Clashes = append(t.Clashes, Clash{sp.Name, f.why})
	}
	for _, c := range []struct {
		column string
		to     *int
	}{{"keeps (d)", &t.Keeps}, {"speed", &t.Speed}, {"care", &t.Care}, {"cost", &t.Cost}} {
		x, err := strconv.Atoi(r.get(c.column))
		if err != nil {
			return r.fail("%s is no whole number", c.column)
		}
		*c.to = x
	}
	h.titrants = append(h.titrants, t)
	return nil
}

func (h *habits) condition(r record, s Source) error {
	c := Condition{Keep: r.get("keep"), Why: r.get("why"), Source: s}
	var err error
	if c.Flask, err = speciesList(r, "flask"); err != nil {
		return err
	}
	if c.Burette, err = speciesList(r, "burette"); err != nil {
		return err
	}
	if c.Keep == "" || c.Why == "" || len(c.Flask)+len(c.Burette) == 0 {
		return r.fail("a condition needs a species, what to keep, and why")
	}
	h.conditions = append(h.conditions, c)
	return nil
}

func speciesList(r record, column string) ([]string, error) {
	var list []string
	for part := range strings.SplitSeq(r.get(column), ";") {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		sp, err := chem.ParseSpecies(part)
		if err != nil {
			return nil, r.fail("%s: %v", column, err)
		}
		list = append(list, sp.Name)
	}
	return list, nil
}

func (h *habits) reduction(r record, s Source) error {
	n, err := strconv.Atoi(r.get("electrons"))
	if err != nil {
		return r.fail("electrons is no whole number")
	}
	if _, err := chem.ParseSpecies(r.get("product")); err != nil {
		return r.fail("%v", err)
	}
	h.reductions = append(h.reductions, Reduction{r.get("element"), r.get("reductor"), r.get("product"), n, r.get("note"), s})
	return nil
}
