// Package report writes results for people and for programs: predicted curves
// and evaluations of readings, as text, JSON, CSV and pages. It computes
// nothing that is not already in what it is given, but means and rounding: see
// assay for results and figure for drawing.
package report

import (
	"io"
	"slices"
	"strings"
	"time"

	"meniscus/assay"
	"meniscus/curve"
)

// A Document is what a report is about: the readings as found and one
// evaluation for each run in them.
type Document struct {
	Title       string
	Source      string        // name of the file of readings
	Record      *curve.Record // nil where the readings came from nowhere
	Evaluations []*assay.Evaluation

	// Determination is what several runs say together; nil for one run.
	Determination *assay.Determination
	Brief         bool // a line for each run instead of all about it

	By    string    // who carried it out; "" leaves room for a name
	Date  time.Time // of the report, from the caller; zero leaves room for it
	Paper Paper     // of a PDF; zero for the first of Papers
}

// who is "carried out by R. K., 2026-03-14"; "" where neither is given.
func (d Document) who() string {
	var list []string
	if by := clean(d.By); by != "" {
		list = append(list, "carried out by "+by)
	}
	if !d.Date.IsZero() {
		list = append(list, d.Date.Format(time.DateOnly))
	}
	return strings.Join(list, ", ")
}

// full lists the evaluations that are written in full.
func (d Document) full() []*assay.Evaluation {
	if d.Brief {
		return nil
	}
	return d.Evaluations
}

// A Format writes a document in one form.
type Format struct {
	Name      string
	MediaType string
	Extension string // with the dot
	Write     func(w io.Writer, d Document) error
}

// Formats lists the formats of an evaluation in the order users are offered
// them.
var Formats = []Format{
	{"text", "text/plain; charset=utf-8", ".txt", writeText},
	{"json", "application/json", ".json", writeJSON},
	{"html", "text/html; charset=utf-8", ".html", writeHTML},
	{"csv", "text/csv; charset=utf-8", ".csv", writeCSV},
	{"pdf", "application/pdf", ".pdf", writePDF},
	{"xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", ".xlsx", writeXLSX},
}

// FormatNames lists the names of Formats.
func FormatNames() []string {
	var list []string
	for _, f := range Formats {
		list = append(list, f.Name)
	}
	return list
}

// FindFormat returns the format of that name.
func FindFormat(name string) (Format, bool) {
	i := slices.IndexFunc(Formats, func(f Format) bool { return f.Name == name })
	if i < 0 {
		return Format{}, false
	}
	return Formats[i], true
}
