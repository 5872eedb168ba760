// Package constants holds the chemistry that does not depend on a titration:
// redox potentials, acidity, stability and solubility constants, indicators,
// ion sizes and colours, as plain text tables with a row a value, each with its
// conditions and its source. Adding a constant is adding a line.
//
// It looks up and compares; it calculates nothing but the change of a constant
// with temperature. Reference electrodes are in package electrode. Which rows
// a titration needs is for package setup to say.
//
// A source is either read or "memory". A value from memory may be a good one,
// but nobody compared it with print: see Shares. Where two sources disagree
// both rows are kept, the first being the one to use: see Conflicts.
package constants

import (
	"embed"
	"fmt"
	"slices"
	"sync"

	"meniscus/chem"
	"meniscus/unit"
)

//go:embed *.txt
var files embed.FS

// A Kind says what the value of a Row is.
type Kind string

// The kinds, by what Value holds.
const (
	StandardPotential Kind = "standard potential" // V against SHE, unit activities
	FormalPotential   Kind = "formal potential"   // V against SHE, equal total concentrations in Medium
	PKa               Kind = "pKa"                // -log10 of the reaction as written
	LogBeta           Kind = "log beta"           // log10, from metal and free ligands
	LogK              Kind = "log K"              // log10 of the reaction as written
	ConditionalLogK   Kind = "log K'"             // log10 for one medium; never used in a calculation
	PKsp              Kind = "pKsp"               // -log10 of the reaction as written, the solid on the left
	PKw               Kind = "pKw"                // -log10 of the reaction as written
)

// Kinds lists all kinds in the order of the tables.
var Kinds = []Kind{StandardPotential, FormalPotential, PKa, LogBeta, LogK, ConditionalLogK, PKsp, PKw}

// Redox says whether the value is a potential.
func (k Kind) Redox() bool { return k == StandardPotential || k == FormalPotential }

// Unit returns the unit of a value, "V" or "1".
func (k Kind) Unit() string {
	if k.Redox() {
		return "V"
	}
	return "1"
}

// An Optional is a number that a table may leave empty.
type Optional struct {
	Value float64
	Known bool
}

// A Row is one value of a table.
type Row struct {
	Reaction chem.Reaction // reductions for potentials, with e^- on the left
	Text     string        // the reaction as the table has it
	Kind     Kind
	Value    float64 // V for potentials, otherwise a decadic logarithm
	Digits   string  // the value as printed

	Medium        string           // "" unless the value belongs to a medium
	Temperature   unit.Temperature // K
	IonicStrength Optional         // mol/L; not known for values of a medium
	AtPH          Optional         // of formal potentials found at another acidity than pH 0

	DEDT     Optional // V/K, isothermal, of potentials
	Enthalpy Optional // kJ/mol of the reaction as written, of other constants
	Spread   Optional // between sources, or the doubt of the row; in the unit of Value

	Source   Source
	Label    bool     // a species is a label, so that only charge is checked
	Inactive string   // why the reaction takes no part unless it is asked for; "" if it does
	Needs    []string // takes part only where one of these species is put in; nil if always
	Also     string   // why there is a further value of the same kind; "" for the one to use
	Note     string

	File string // table and line, for messages
	Line int

	same string // reactionKey of Reaction
}

// A Source says where a value was found.
type Source struct {
	Key      string
	Read     bool // false: from memory
	Citation string
}

// tables is everything the files hold.
type tables struct {
	sources    map[string]Source
	rows       []Row
	indicators []Indicator
	colours    []Colour
	sizes      []IonSize
	debye      []debyeRow
	names      []Name
	index      map[string][]string // lower-case name to species names
	table      map[string][]Source // file to the source of each row
}

var load = sync.OnceValues(func() (*tables, error) { return read(files) })

// All returns every row, in the order of the tables: redox, acids, complexes,
// solubility, water. The error names file and line of a row that cannot be read.
func All() ([]Row, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	return slices.Clone(t.rows), nil
}

// Select returns the rows of the kinds given.
func Select(kinds ...Kind) ([]Row, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	var out []Row
	for _, r := range t.rows {
		if slices.Contains(kinds, r.Kind) {
			out = append(out, r)
		}
	}
	return out, nil
}

// Redox returns standard and formal potentials.
func Redox() ([]Row, error) { return Select(StandardPotential, FormalPotential) }

// Acids returns acidity constants.
func Acids() ([]Row, error) { return Select(PKa) }

// Complexes returns stability constants, conditional ones not among them.
func Complexes() ([]Row, error) { return Select(LogBeta, LogK) }

// Solids returns solubility products.
func Solids() ([]Row, error) { return Select(PKsp) }

// Sources returns the sources by key.
func Sources() (map[string]Source, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	out := make(map[string]Source, len(t.sources))
	for k, s := range t.sources {
		out[k] = s
	}
	return out, nil
}

// Where returns where the row stands, as "redox.txt:12".
func (r Row) Where() string { return fmt.Sprintf("%s:%d", r.File, r.Line) }
