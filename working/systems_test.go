package working_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"meniscus/exercise"
	"meniscus/explain"
	"meniscus/setup"
	"meniscus/working"
)

// TestLaTeXOfSystems holds the LaTeX of every example to what pdflatex takes:
// make latex compiles them where it is installed.
func TestLaTeXOfSystems(t *testing.T) {
	files, err := filepath.Glob("../examples/systems/*.yaml")
	if err != nil || len(files) < 45 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		s, err := setup.Read(data, f)
		if err != nil {
			t.Fatal(err)
		}
		places, err := explain.Places(s)
		if err != nil {
			t.Fatal(f, err)
		}
		d, err := explain.Volumes(s, places)
		if err != nil {
			t.Fatal(f, err)
		}
		checkDocument(t, f, d)
	}
}

// TestLaTeXOfSheets does the same with exercises of every kind and their keys.
func TestLaTeXOfSheets(t *testing.T) {
	for seed := range uint64(6) {
		sheet, err := exercise.New(seed, 1, exercise.Options{})
		if err != nil {
			t.Fatal(err)
		}
		d, err := exercise.Sheets([]exercise.Sheet{sheet})
		if err != nil {
			t.Fatal(err)
		}
		checkDocument(t, "sheet", d)
		checkDocument(t, "key", exercise.Keys([]exercise.Sheet{sheet}))
	}
}

func checkDocument(t *testing.T, name string, d *working.Document) {
	t.Helper()
	var b strings.Builder
	if err := working.WriteLaTeX(&b, d); err != nil {
		t.Fatal(name, err)
	}
	if err := working.LaTeXFault(b.String()); err != nil {
		t.Errorf("%s: %v", name, err)
	}
}
