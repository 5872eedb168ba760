package constants

import (
	"io/fs"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/unit"
)

// A Colour is what a species looks like in a medium, or in water if Medium
// is "".
type Colour struct {
	Species chem.Species
	Medium  string
	Shade   Shade
	At      float64 // mol/L at which it looks like its swatch
	Source  Source
	Note    string
}

// An IonSize is the ion-size parameter of the extended Debye-Hückel equation.
type IonSize struct {
	Ion    chem.Species
	Size   float64 // angstrom
	Source Source
	Note   string
}

// A Name is a species with what chemists call it.
type Name struct {
	Species chem.Species
	Names   []string // the usual one first
	Family  string   // what it belongs to, such as "phosphoric acid"; "" if nothing
}

type debyeRow struct {
	t    unit.Temperature
	a, b float64
}

// Colours returns the colours of a species by medium; of all species if the
// text is "". The error is a *chem.SyntaxError for text that is no species.
func Colours(species string) ([]Colour, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	if species == "" {
		return slices.Clone(t.colours), nil
	}
	s, err := chem.ParseSpecies(species)
	if err != nil {
		return nil, err
	}
	var out []Colour
	for _, c := range t.colours {
		if SpeciesKey(c.Species) == SpeciesKey(s) {
			out = append(out, c)
		}
	}
	return out, nil
}

// Sizes returns the ion-size parameters of all ions the table has.
func Sizes() ([]IonSize, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	return slices.Clone(t.sizes), nil
}

// Size returns the ion-size parameter of a species by its canonical name, in
// angstrom; ok is false if the table has none.
func Size(name string) (angstrom float64, ok bool, err error) {
	t, err := load()
	if err != nil {
		return 0, false, err
	}
	i := slices.IndexFunc(t.sizes, func(s IonSize) bool { return s.Ion.Name == name })
	if i < 0 {
		return 0, false, nil
	}
	return t.sizes[i].Size, true, nil
}

// Names returns the table of names.
func Names() ([]Name, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	return slices.Clone(t.names), nil
}

// swatchConc is the concentration that a swatch stands for where the table names
// no other, mol/L.
const swatchConc = 0.05

func (t *tables) readColours(fsys fs.FS) error {
	records, err := readTable(fsys, "colours.txt", "species | where | colour | swatch | at | source | note")
	if err != nil {
		return err
	}
	for _, r := range records {
		s, err := chem.ParseSpecies(r.get("species"))
		if err != nil {
			return r.fail("%v", err)
		}
		c := Colour{Species: s, Medium: r.get("where"), Shade: Shade{r.get("colour"), r.get("swatch")}, At: swatchConc, Note: r.get("note")}
		if c.Source, err = t.source(r); err != nil {
			return err
		}
		at, err := r.number("at")
		if err != nil {
			return err
		}
		if at.Known {
			c.At = at.Value
		}
		if !(c.At > 0 && c.At <= 10) {
			return r.fail("a colour looks like its swatch at a concentration above 0, in mol/L")
		}
		if c.Shade.Word == "" || !isSwatch(c.Shade.Swatch) {
			return r.fail("a colour is a word and a swatch such as #c62828")
		}
		t.colours = append(t.colours, c)
	}
	return nil
}

func (t *tables) readSizes(fsys fs.FS) error {
	records, err := readTable(fsys, "ions.txt", "ion | size (Å) | source | note")
	if err != nil {
		return err
	}
	for _, r := range records {
		s, err := chem.ParseSpecies(r.get("ion"))
		if err != nil {
			return r.fail("%v", err)
		}
		size, err := r.number("size (Å)")
		if err != nil {
			return err
		}
		src, err := t.source(r)
		if err != nil {
			return err
		}
		if s.Charge == 0 || !size.Known || size.Value < 2 || size.Value > 12 {
			return r.fail("an ion and its size, 2 to 12 Å, are needed")
		}
		t.sizes = append(t.sizes, IonSize{s, size.Value, src, r.get("note")})
	}
	return nil
}

func (t *tables) readDebye(fsys fs.FS) error {
	records, err := readTable(fsys, "activity.txt", "t (°C) | A | B | source")
	if err != nil {
		return err
	}
	for _, r := range records {
		var v [3]Optional
		for i, column := range []string{"t (°C)", "A", "B"} {
			if v[i], err = r.number(column); err != nil {
				return err
			}
			if !v[i].Known {
				return r.fail("no %s", column)
			}
		}
		if _, err := t.source(r); err != nil {
			return err
		}
		t.debye = append(t.debye, debyeRow{unit.Celsius(v[0].Value), v[1].Value, v[2].Value})
	}
	return nil
}

func (t *tables) readNames(fsys fs.FS) error {
	records, err := readTable(fsys, "names.txt", "species | names | family")
	if err != nil {
		return err
	}
	t.index = map[string][]string{}
	for _, r := range records {
		s, err := chem.ParseSpecies(r.get("species"))
		if err != nil {
			return r.fail("%v", err)
		}
		n := Name{Species: s, Family: r.get("family")}
		for name := range strings.SplitSeq(r.get("names"), ";") {
			if name = strings.TrimSpace(name); name != "" {
				n.Names = append(n.Names, name)
			}
		}
		if len(n.Names) == 0 && n.Family == "" {
			return r.fail("no name")
		}
		t.names = append(t.names, n)
		for _, word := range append(slices.Clone(n.Names), n.Family) {
			if w := fold(word); w != "" && !slices.Contains(t.index[w], SpeciesKey(s)) {
				t.index[w] = append(t.index[w], SpeciesKey(s))
			}
		}
	}
	return nil
}
