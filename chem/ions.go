package chem

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"
)

//go:embed ions.txt
var ionsText string

// An ionTable is ions.txt as read.
type ionTable struct {
	cations, anions []writtenIon
	names           map[string]bool    // of all ions
	molecules       map[string]Species // by every way to write them
	splits          map[string][]Term  // by the salt's name
}

// A writtenIon is an ion as it stands in the formula of a salt.
type writtenIon struct {
	text string // without charge
	ion  Species
}

// ions reads the table once.
var ions = sync.OnceValues(func() (*ionTable, error) { return parseIons(ionsText) })

// plainSpecies reads species as the table writes them, without the table.
func plainSpecies(text string) (Species, error) { return parseSpecies(text, nil) }

func parseIons(text string) (*ionTable, error) {
	t := &ionTable{names: map[string]bool{}, molecules: map[string]Species{}, splits: map[string][]Term{}}
	for i, line := range strings.Split(text, "\n") {
		kind, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		if kind == "" || kind == "#" {
			continue
		}
		var err error
		if kind == "split" {
			err = t.addSplit(rest)
		} else {
			err = t.addSpecies(kind, strings.Fields(rest))
		}
		if err != nil {
			return nil, fmt.Errorf("ions.txt, line %d: %w", i+1, err)
		}
	}
	return t, nil
}

func (t *ionTable) addSpecies(kind string, names []string) error {
	s, err := plainSpecies(names[0])
	if err != nil {
		return err
	}
	for _, name := range names {
		as, err := plainSpecies(name)
		if err != nil {
			return err
		}
		text := strings.TrimSuffix(as.Name, chargeText(s.Charge))
		switch kind {
		case "cation":
			t.cations = append(t.cations, writtenIon{text, s})
		case "anion":
			t.anions = append(t.anions, writtenIon{text, s})
		case "molecule":
			t.molecules[text] = s
			continue
		default:
			return fmt.Errorf("unknown kind of row %q", kind)
		}
		t.names[s.Name] = true
	}
	return nil
}

func (t *ionTable) addSplit(rest string) error {
	r, err := parseReaction(rest, plainSpecies)
	if err != nil {
		return err
	}
	t.splits[r.Terms[0].Species.Name] = r.Terms[1:]
	return nil
}

// knownIon says whether a Name is an ion of the table. If the table cannot be
// read, which a test excludes, no ion is known.
func knownIon(name string) bool {
	t, err := ions()
	return err == nil && t.names[name]
}
