package constants

import (
	"errors"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"
)

// broken returns the tables with one piece of text replaced.
func broken(t *testing.T, file, old, text string) fs.FS {
	t.Helper()
	out := fstest.MapFS{}
	names, err := fs.Glob(files, "*.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		data, err := files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if name == file {
			if !strings.Contains(string(data), old) {
				t.Fatalf("%s: no %q", file, old)
			}
			data = []byte(strings.Replace(string(data), old, text, 1))
		}
		out[name] = &fstest.MapFile{Data: data}
	}
	return out
}

// TestBadRows breaks one line at a time and wants it named.
func TestBadRows(t *testing.T) {
	const iron = "Fe^3+ + e^- = Fe^2+ | formal | 0.68 | 1 mol/L H2SO4 | 25 | | | skoog-appendix"
	const agcl = "AgCl(s) = Ag^+ + Cl^- | 9.74 | 0 | 25"
	for _, c := range []struct{ file, old, text, want string }{
		{"redox.txt", iron, "Fe^3+ + e^- = Fe^2+ | formel | 0.68 | 1 mol/L H2SO4 | 25 | | | skoog-appendix", "not a kind"},
		{"redox.txt", iron, "Fe^3+ + e^- = Fe^2+ | formal | O.68 | 1 mol/L H2SO4 | 25 | | | skoog-appendix", "E (V)"},
		{"redox.txt", iron, "Fe^3+ + e^- = Fe^2+ | formal | | 1 mol/L H2SO4 | 25 | | | skoog-appendix", "no value"},
		{"redox.txt", iron, "Fe^3+ + e^- = Fe^2+ | formal | 0.68 | | 25 | | | skoog-appendix", "has a medium"},
		{"redox.txt", iron, "Fe^3+ + e^- = Fe^2+ | formal | 0.68 | 1 mol/L H2SO4 | | | | skoog-appendix", "no temperature"},
		{"redox.txt", iron, "Fe^3+ + e^- = Fe^2+ | formal | 0.68 | 1 mol/L H2SO4 | 25 | x | | skoog-appendix", "dE/dT"},
		{"redox.txt", iron, "Fe^3+ + e^- = Fe^2+ | formal | 0.68 | 1 mol/L H2SO4 | 25 | | -1 | skoog-appendix", "above 0"},
		{"redox.txt", iron, "Fe^3+ + e^- = Fe^2+ | formal | 0.68 | 1 mol/L H2SO4 | 25 | | | hearsay", `"hearsay" is not in sources.txt`},
		{"redox.txt", iron, iron + " | inactive", "says nothing"},
		{"redox.txt", "needs: H2C2O4", "needs: H2C2O4^^", "flag needs"},
		{"redox.txt", iron, iron + " | at: pH high", "at: pH 1"},
		{"redox.txt", iron, iron + " | dE/dT: memory", "belongs to a row"},
		{"redox.txt", iron, iron + " | slow: yes", "not known"},
		{"redox.txt", iron, iron + " | also: why not", "no row of the same kind"},
		{"redox.txt", iron, iron + "\n" + iron, "say why"},
		{"redox.txt", iron, "2 Fe^2+ = 2 e^- + 2 Fe^3+ | formal | 0.7 | 1 mol/L H2SO4 | 25 | | | memory", "e^- on the left"},
		{"redox.txt", iron, "Fe^3+ + 2 e^- = Fe^2+ | formal | 0.68 | 1 mol/L H2SO4 | 25 | | | memory", "not balanced"},
		{"redox.txt", iron, "Fe^3+ + e^- Fe^2+ | formal | 0.68 | 1 mol/L H2SO4 | 25 | | | memory", "no ="},
		{"redox.txt", iron, iron + " | | | one too many", "11 cells"},
		{"redox.txt", "half-reaction | kind", "reaction | kind", "the header is"},
		{"redox.txt", iron, "\xff", "UTF-8"},
		{"acids.txt", "HCN = CN^- + H^+ | 9.21 | 0", "HCN = CN^- + H^+ | 9.21 | ", "no ionic strength"},
		{"acids.txt", "HCN = CN^- + H^+ | 9.21 | 0", "HCN + e^- = CN^- + H | 9.21 | 0", "another constant has none"},
		{"acids.txt", "HCN = CN^- + H^+ | 9.21 | 0", "Fe^2+ = Fe^3+ + e^- | 9.21 | 0", "another constant has none"},
		{"acids.txt", "HCN = CN^- + H^+ | 9.21 | 0 | 25 | 43.6", "HCN = CN^- + H^+ | 9.21 | 0 | 25 | 4o", "ΔH"},
		{"complexes.txt", "| log K | 10.65 | 0.1", "| log k | 10.65 | 0.1", "not a kind"},
		{"complexes.txt", "| log K | 10.65 | 0.1", "| log K | 10.65 | 1 M KCl", "conditions"},
		{"solubility.txt", agcl, "AgCl(s) = Ag^+ + Br^- | 9.74 | 0 | 25", "not balanced"},
		{"sources.txt", "whitten | read", "whitten | seen", "kind read or memory"},
		{"sources.txt", "whitten | read", "vogel-5 | read", "twice"},
		{"indicators.txt", "ferroin | redox | 1.06 |", "ferroin | redux | 1.06 |", "not redox, acid-base or metal"},
		{"indicators.txt", "also: as in Harris, from memory", "", "every value of an indicator"},
		{"indicators.txt", "methyl red | acid-base | 5.00", "methyl red | acid-base | 6.90", "within its range"},
		{"indicators.txt", "calmagite | metal |  | 8 | 11", "calmagite | metal |  | 11 | 8", "pH range"},
		{"indicators.txt", "#c62828", "#C62828", "swatch"},
		{"colours.txt", "#7b1f6a", "purple", "swatch"},
		{"colours.txt", "#7b1f6a | 4e-4", "#7b1f6a | -4e-4", "above 0"},
		{"colours.txt", "#7b1f6a | 4e-4", "#7b1f6a | strong", "strong"},
		{"ions.txt", "Rb^+ | 2.5", "Rb | 2.5", "an ion"},
		{"activity.txt", "25 | 0.5085 |", "25 | |", "no A"},
		{"names.txt", "Fe^2+ | iron(II)", "Fe2+ | iron(II)", "Fe2+"},
	} {
		_, err := read(broken(t, c.file, c.old, c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s with %q: error %v, want %q", c.file, c.text, err, c.want)
			continue
		}
		if e := (*TableError)(nil); !errors.As(err, &e) || e.File != c.file || e.Line < 2 {
			t.Errorf("%s with %q: error %v does not say where", c.file, c.text, err)
		}
	}
}

// TestLabel: a label has no elements, so its row must say that only the charge
// is checked.
func TestLabel(t *testing.T) {
	const calcium = "Ca^2+ + Y^4- = CaY^2- | log K | 10.65 | 0.1 | 25 | -27 |  | memory"
	for text, ok := range map[string]bool{
		"Ca^2+ + Lig^4- = CaLig^2- | log K | 9 | 0.1 | 25 | | | memory | label": true,
		"Ca^2+ + Lig^4- = CaLig^2- | log K | 9 | 0.1 | 25 | | | memory":         false,
		"Ca^2+ + Lig^4- = CaLig^- | log K | 9 | 0.1 | 25 | | | memory | label":  false,
	} {
		_, err := read(broken(t, "complexes.txt", calcium, calcium+"\n"+text))
		if (err == nil) != ok {
			t.Errorf("%s: error %v", text, err)
		}
	}
}

func TestMissingTable(t *testing.T) {
	_, err := read(fstest.MapFS{})
	if !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("error %v, want one of a missing file", err)
	}
}

func TestNoHeader(t *testing.T) {
	_, err := splitTable("x.txt", "# only a comment\n", []string{"a"})
	if e := (*TableError)(nil); !errors.As(err, &e) || e.Reason != "no header" {
		t.Errorf("error %v", err)
	}
}

// FuzzRow reads any line of any table of reactions. What it accepts must be
// balanced in charge, and must say the same when written out again.
func FuzzRow(f *testing.F) {
	for i, l := range layouts {
		text, err := files.ReadFile(l.file)
		if err != nil {
			f.Fatal(err)
		}
		n := 0
		for line := range strings.Lines(string(text)) {
			if n++; n%17 == 0 {
				f.Add(i, line)
			}
		}
	}
	f.Add(1, "CH3COOH = CH3COO^- + H^+ | 4.756 | 0 | 25 | -0.41 | | memory | also: so | x | y")
	f.Fuzz(func(t *testing.T, which int, line string) {
		l := layouts[((which%len(layouts))+len(layouts))%len(layouts)]
		records, err := splitTable(l.file, l.columns+"\n"+line, splitCells(l.columns))
		if err != nil {
			if e := (*TableError)(nil); !errors.As(err, &e) {
				t.Fatalf("error %v is no TableError", err)
			}
			return
		}
		tab := &tables{sources: map[string]Source{"memory": {Key: "memory", Citation: "none"}}, table: map[string][]Source{}}
		for _, rec := range records {
			row, err := tab.row(l, rec)
			if err != nil {
				if e := (*TableError)(nil); !errors.As(err, &e) {
					t.Fatalf("error %v is no TableError", err)
				}
				continue
			}
			if err := row.Reaction.CheckCharge(); err != nil {
				t.Errorf("%q was accepted: %v", line, err)
			}
			again := rec
			again.cells = append([]string{row.Reaction.String()}, rec.cells[1:]...)
			back, err := tab.row(l, again)
			if err != nil || back.key() != row.key() || back.Value != row.Value {
				t.Errorf("%q reads back as %v, %v", line, back, err)
			}
		}
	})
}
