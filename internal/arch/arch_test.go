package arch

import (
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
)

func TestImports(t *testing.T) {
	found, err := Check(os.DirFS("../.."), Table)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range found {
		t.Error(line)
	}
}

// TestTablePointsDown checks the table itself: a named import is a row, and
// lies below, or is a neighbour at the floor, inside report or bench, or one
// whose working exercises show.
func TestTablePointsDown(t *testing.T) {
	neighbours := map[string]string{
		"num/*": "num/*", "unit": "num/dd",
		"course":        "explain",
		"report/figure": "report/font", "report": "report/figure report/font",
		"bench": "bench/opponent internal/lab internal/worked",
	}
	for _, row := range Table {
		for word := range strings.FieldsSeq(row.May) {
			if word == "below" {
				continue
			}
			if _, to, ok := levels(word); ok {
				if to >= row.Level {
					t.Errorf("%s: levels %s are not below %d", row.Dir, word, row.Level)
				}
				continue
			}
			r, ok := find(Table, word)
			if !ok {
				t.Errorf("%s: %s has no row", row.Dir, word)
			} else if r.Level >= row.Level && !strings.Contains(neighbours[row.Dir], word) {
				t.Errorf("%s (level %d) may import %s (level %d)", row.Dir, row.Level, word, r.Level)
			}
		}
	}
}

// TestCheckFinds runs the rules over a tree that breaks each of them once.
func TestCheckFinds(t *testing.T) {
	file := func(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }
	tree := fstest.MapFS{
		"go.mod":                   file("module meniscus\n"),
		"num/root/root.go":         file("package root\nimport _ \"meniscus/unit\"\n"),
		"num/lsq/lsq.go":           file("package lsq\nimport _ \"meniscus/num/dd\"\n"),
		"chem/a.go":                file("package chem\nimport _ \"meniscus/num/dd\"\nimport _ \"embed\"\n"),
		"curve/a.go":               file("package curve\nimport _ \"os/exec\"\nimport _ \"net/http\"\n"),
		"curve/a_test.go":          file("package curve\nimport _ \"os\"\n"),
		"fit/a.go":                 file("package fit\nimport clock \"time\"\nvar t = clock.Now()\nvar d clock.Duration\n"),
		"assay/a.go":               file("package assay\nimport _ \"meniscus/electrode\"\nimport _ \"meniscus/store\"\n"),
		"instrument/a.go":          file("package instrument\nimport \"os\"\nimport \"time\"\nvar t = time.Now()\nvar f os.File\n"),
		"setup/a.go":               file("package setup\nimport _ \"meniscus/endpoint\"\n"),
		"store/a.go":               file("package store\nimport _ \"meniscus/course\"\nimport _ \"meniscus/report\"\n"),
		"web/a.go":                 file("package web\nimport \"C\"\nfunc init() {}\n"),
		"web/testdata/x/a.go":      file("not Go"),
		"helpers/a.go":             file("package helpers\n"),
		"helpers/b.go":             file("package helpers\n"),
		"tools/go.mod":             file("module meniscus/tools\n"),
		"tools/a.go":               file("package main\nfunc init() {}\n"),
		"cmd/meniscus/main.go":     file("package main\nimport _ \"meniscus/internal/lab\"\nimport _ \"meniscus/web\"\n"),
		"cmd/meniscus/init_ok.go":  file("package main\ntype t struct{}\nfunc (t) init() {}\n"),
		"report/font/font.go":      file("package font\nimport _ \"meniscus/unit\"\n"),
		"report/figure/figure.go":  file("package figure\nimport _ \"meniscus/report/font\"\nimport _ \"meniscus/curve\"\n"),
		"internal/lab/readings.go": file("package lab\nimport _ \"meniscus/equilibrium\"\n"),
	}
	got, err := Check(tree, Table)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"assay/a.go: assay may not import store",
		"chem/a.go: chem may not import num/dd",
		"cmd/meniscus/main.go: cmd/meniscus may not import internal/lab",
		"curve/a.go: the engine may not import os/exec",
		"curve/a.go: the engine may not import net/http",
		"fit/a.go: the engine may not use time.Now",
		"helpers: no row in the table of packages",
		"internal/lab/readings.go: internal/lab may not import equilibrium",
		"num/root/root.go: num/root may not import unit",
		"report/font/font.go: report/font may not import unit",
		"setup/a.go: setup may not import endpoint",
		"store/a.go: store may not import report",
		"web/a.go: imports C",
		"web/a.go: has func init",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("findings (-want +got):\n%s", diff)
	}
}

func TestCheckReportsUnreadableSource(t *testing.T) {
	tree := fstest.MapFS{"unit/unit.go": {Data: []byte("packag unit")}}
	if _, err := Check(tree, Table); err == nil || !strings.Contains(err.Error(), "unit/unit.go") {
		t.Errorf("error %v does not name unit/unit.go", err)
	}
}
