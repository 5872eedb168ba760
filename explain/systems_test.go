package explain

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"meniscus/setup"
	"meniscus/working"
)

func read(t *testing.T, name string) *setup.Setup {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.Read(data, name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// systems are the files of the examples, one for each kind of titration.
func systems(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("../examples/systems/*.yaml")
	if err != nil || len(files) < 45 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	return files
}

// fewest is how many of the special points of the examples have a textbook
// value; the others are iodine, cyanide and mixtures where none holds, and the
// start of redox titrations, which is undefined.
const fewest = 145

// TestSystems walks the documents of every example at every special point:
// numbers have units, symbols are explained, steps have the value of their
// formula, and what the table of causes says adds up to the difference.
func TestSystems(t *testing.T) {
	files := systems(t)
	total := 0
	for _, f := range files {
		s := read(t, f)
		places, err := Places(s)
		if err != nil || len(places) < 4 {
			t.Errorf("%s: %d places, %v", f, len(places), err)
			continue
		}
		d, err := Volumes(s, places)
		if err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		for _, e := range d.Check() {
			t.Errorf("%s: %v", f, e)
		}
		compared := 0
		for _, sec := range d.Sections {
			if sec.Kind == "" {
				t.Errorf("%s: section %q has no kind", f, sec.Title)
			}
			diff, sum, ok := differences(sec)
			if !ok {
				continue
			}
			compared++
			if math.Abs(diff-sum) > 0.01 { // rows and difference are rounded to 0.001, and small rows left out
				t.Errorf("%s, %s: the difference is %g, its causes %g", f, sec.Title, diff, sum)
			}
		}
		total += compared
	}
	if total < fewest {
		t.Errorf("a textbook value stands at %d places, want at least %d", total, fewest)
	}
}

// differences reads the difference of a section and the sum of its causes.
func differences(sec working.Section) (diff, sum float64, ok bool) {
	for _, b := range sec.Blocks {
		switch b := b.(type) {
		case working.Step:
			if b.Quantity.Letter == "Δ" && b.Quantity.Sub == "" {
				diff, ok = b.Quantity.Value.Value, true
			}
		case working.Table:
			if len(b.Head) == 5 {
				for _, row := range b.Rows {
					for _, in := range row[3] {
						if m, is := in.(working.Math); is {
							sum += m.Expr.(working.Number).Value
						}
					}
				}
			}
		}
	}
	return diff, sum, ok
}
