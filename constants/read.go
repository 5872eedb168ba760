package constants

import (
	"io/fs"
	"math"
	"strings"

	"meniscus/chem"
	"meniscus/unit"
)

// A layout says how the rows of one file become Rows.
type layout struct {
	file    string
	columns string
	kind    func(record) (Kind, bool)
	value   string // column names
	medium  string
	ionic   string
	slope   string
	inKelvn bool // the slope is dE/dT in mV/K, not an enthalpy
}

func always(k Kind) func(record) (Kind, bool) {
	return func(record) (Kind, bool) { return k, true }
}

func redoxKind(r record) (Kind, bool) {
	switch r.get("kind") {
	case "standard":
		return StandardPotential, true
	case "formal":
		return FormalPotential, true
	}
	return Kind(r.get("kind")), false
}

func complexKind(r record) (Kind, bool) {
	k := Kind(r.get("quantity"))
	return k, k == LogBeta || k == LogK || k == ConditionalLogK
}

// layouts lists the tables of reactions in the order of All.
var layouts = []layout{
	{
		file: "redox.txt", kind: redoxKind, value: "E (V)", medium: "medium", slope: "dE/dT (mV/K)", inKelvn: true,
		columns: "half-reaction | kind | E (V) | medium | t (°C) | dE/dT (mV/K) | ± (V) | source | flags | note",
	},
	{
		file: "acids.txt", kind: always(PKa), value: "pKa", ionic: "I (mol/L)", slope: "ΔH (kJ/mol)",
		columns: "reaction | pKa | I (mol/L) | t (°C) | ΔH (kJ/mol) | ± | source | flags | note",
	},
	{
		file: "complexes.txt", kind: complexKind, value: "value", medium: "conditions", ionic: "conditions", slope: "ΔH (kJ/mol)",
		columns: "reaction | quantity | value | conditions | t (°C) | ΔH (kJ/mol) | ± | source | flags | note",
	},
	{
		file: "solubility.txt", kind: always(PKsp), value: "pKsp", ionic: "I (mol/L)", slope: "ΔH (kJ/mol)",
		columns: "reaction | pKsp | I (mol/L) | t (°C) | ΔH (kJ/mol) | ± | source | flags | note",
	},
	{
		file: "water.txt", kind: always(PKw), value: "pKw", ionic: "I (mol/L)", slope: "ΔH (kJ/mol)",
		columns: "reaction | pKw | I (mol/L) | t (°C) | ΔH (kJ/mol) | ± | source | flags | note",
	},
}

// read reads all tables of a file system.
func read(fsys fs.FS) (*tables, error) {
	t := &tables{table: map[string][]Source{}}
	if err := t.readSources(fsys); err != nil {
		return nil, err
	}
	for _, l := range layouts {
		records, err := readTable(fsys, l.file, l.columns)
		if err != nil {
			return nil, err
		}
		for _, rec := range records {
			row, err := t.row(l, rec)
			if err != nil {
				return nil, err
			}
			t.rows = append(t.rows, row)
		}
	}
	for _, f := range []func(fs.FS) error{t.readIndicators, t.readColours, t.readSizes, t.readDebye, t.readNames} {
		if err := f(fsys); err != nil {
			return nil, err
		}
	}
	return t, t.checkDuplicates()
}

func (t *tables) readSources(fsys fs.FS) error {
	records, err := readTable(fsys, "sources.txt", "key | kind | citation")
	if err != nil {
		return err
	}
	t.sources = map[string]Source{}
	for _, r := range records {
		key, kind := r.get("key"), r.get("kind")
		if _, twice := t.sources[key]; twice {
			return r.fail("source %s stands twice", key)
		}
		if kind != "read" && kind != "memory" || r.get("citation") == "" {
			return r.fail("source %s needs the kind read or memory, and a citation", key)
		}
		t.sources[key] = Source{key, kind == "read", r.get("citation")}
	}
	return nil
}

// source finds the source of a record and counts it.
func (t *tables) source(r record) (Source, error) {
	s, ok := t.sources[r.get("source")]
	if !ok {
		return Source{}, r.fail("source %q is not in sources.txt", r.get("source"))
	}
	t.table[r.file] = append(t.table[r.file], s)
	return s, nil
}

// row reads one record of a table of reactions.
func (t *tables) row(l layout, rec record) (Row, error) {
	row := Row{Text: rec.cells[0], Digits: rec.get(l.value), Note: rec.get("note"), File: rec.file, Line: rec.line}
	var ok bool
	if row.Kind, ok = l.kind(rec); !ok {
		return Row{}, rec.fail("%q is not a kind of constant for this table", row.Kind)
	}
	var err error
	if row.Source, err = t.source(rec); err != nil {
		return Row{}, err
	}
	if err := row.readNumbers(l, rec); err != nil {
		return Row{}, err
	}
	if err := row.readConditions(l, rec); err != nil {
		return Row{}, err
	}
	if err := row.readFlags(rec); err != nil {
		return Row{}, err
	}
	return row, row.readReaction(rec)
}

func (row *Row) readNumbers(l layout, rec record) error {
	v, err := rec.number(l.value)
	if err != nil {
		return err
	}
	celsius, err := rec.number("t (°C)")
	if err != nil {
		return err
	}
	slope, err := rec.number(l.slope)
	if err != nil {
		return err
	}
	spread, err := rec.number(spreadColumn(l))
	if err != nil {
		return err
	}
	switch {
	case !v.Known:
		return rec.fail("no value")
	case !celsius.Known || celsius.Value < -unit.ZeroCelsius:
		return rec.fail("no temperature")
	case spread.Known && spread.Value <= 0:
		return rec.fail("a spread is above 0")
	}
	row.Value, row.Spread = v.Value, spread
	row.Temperature = unit.Celsius(celsius.Value)
	if l.inKelvn {
		row.DEDT = Optional{slope.Value * 1e-3, slope.Known} // mV/K to V/K
	} else {
		row.Enthalpy = slope
	}
	return nil
}

func spreadColumn(l layout) string {
	if l.inKelvn {
		return "± (V)"
	}
	return "±"
}

// readConditions reads the medium or the ionic strength: a row has one of them.
func (row *Row) readConditions(l layout, rec record) error {
	if l.medium != "" {
		text := rec.get(l.medium)
		if l.medium == l.ionic {
			if medium, ok := strings.CutPrefix(text, "medium:"); ok {
				row.Medium = strings.TrimSpace(medium)
				return nil
			}
		} else {
			row.Medium = text
			if (text == "") != (row.Kind == StandardPotential) {
				return rec.fail("a formal potential has a medium and a standard potential none")
			}
			row.IonicStrength = Optional{0, text == ""}
			return nil
		}
	}
	i, err := rec.number(l.ionic)
	if err != nil {
		return err
	}
	if !i.Known || i.Value < 0 {
		return rec.fail("no ionic strength and no medium")
	}
	row.IonicStrength = i
	return nil
}

func (row *Row) readFlags(rec record) error {
	for _, f := range splitFlags(rec.get("flags")) {
		if f.why == "" && f.key != "label" {
			return rec.fail("flag %q says nothing", f.key)
		}
		switch f.key {
		case "inactive":
			row.Inactive = f.why
		case "needs":
			for _, text := range strings.Split(f.why, ",") {
				sp, err := chem.ParseSpecies(strings.TrimSpace(text))
				if err != nil {
					return rec.fail("flag needs: %v", err)
				}
				row.Needs = append(row.Needs, sp.Name)
			}
		case "also":
			row.Also = f.why
		case "label":
			row.Label = true
		case "at":
			text, ok := strings.CutPrefix(f.why, "pH ")
			d, err := unit.ParseDecimal(text)
			if !ok || err != nil || row.Kind != FormalPotential {
				return rec.fail("flag at: is for formal potentials and reads at: pH 1")
			}
			row.AtPH = Optional{d.Float(), true}
		case "dE/dT", "ΔH":
			if f.why != "memory" || !row.DEDT.Known && !row.Enthalpy.Known {
				return rec.fail("flag %s: memory belongs to a row that has it", f.key)
			}
		default:
			return rec.fail("flag %q is not known", f.key)
		}
	}
	return nil
}

func (row *Row) readReaction(rec record) error {
	r, err := chem.ParseReaction(row.Text)
	if err != nil {
		return rec.fail("%v", err)
	}
	check := r.Check
	if row.Label {
		check = r.CheckCharge
	}
	if err := check(); err != nil {
		return rec.fail("%v", err)
	}
	electrons := r.Coefficient(chem.Electron).Sign()
	if row.Kind.Redox() != (electrons < 0) || electrons > 0 {
		return rec.fail("a potential needs e^- on the left, and another constant has none")
	}
	row.Reaction, row.same = r, reactionKey(r)
	return nil
}

// key says which quantity a row is a value of, up to the direction and the
// size of the reaction.
func (row Row) key() string {
	ionic := math.NaN()
	if row.IonicStrength.Known {
		ionic = row.IonicStrength.Value
	}
	return strings.Join([]string{
		row.same, string(row.Kind), row.Medium, format(ionic), format(row.Temperature.Celsius()),
	}, "|")
}

// checkDuplicates wants a reason in every row but the first of its key.
func (t *tables) checkDuplicates() error {
	first := map[string]Row{}
	for _, r := range t.rows {
		at := record{file: r.File, line: r.Line}
		f, twice := first[r.key()]
		switch {
		case twice && r.Also == "":
			return at.fail("%s is in line %d already; say why with the flag also:", r.Text, f.Line)
		case !twice && r.Also != "":
			return at.fail("flag also: but no row of the same kind and conditions before this one")
		case !twice:
			first[r.key()] = r
		}
	}
	return nil
}
