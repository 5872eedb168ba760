package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"meniscus/assay"
)

// A briefRow is one run in a line.
type briefRow struct {
	Run      string   `json:"run"`
	Blank    bool     `json:"blank"`
	Method   string   `json:"method"`
	Volume   *float64 `json:"volume_mL"`
	StdUnc   *float64 `json:"standard_uncertainty_mL"`
	Species  string   `json:"species"`
	Value    *float64 `json:"value"`
	ValueUnc *float64 `json:"value_standard_uncertainty"`
	Unit     string   `json:"unit"`
	Points   int      `json:"points"`
	Refused  *string  `json:"refused"`
	Doubts   []string `json:"warnings"`
}

// brief is run i in a line: its content, or else its concentration.
func (d Document) brief(i int) briefRow {
	e := d.Evaluations[i]
	r := briefRow{Run: d.runName(i), Doubts: doubts(e)}
	if q := d.Determination; q != nil && i < len(q.Runs) {
		r.Blank, r.Run = q.Runs[i].Blank, q.Runs[i].Name
	}
	if r.Doubts == nil {
		r.Doubts = []string{}
	}
	if e.Recommended < 0 || len(e.EquivalencePoints) == 0 {
		why := "every method refuses"
		if len(e.Methods) > 0 {
			why += "; " + e.Methods[0].Title + ": " + e.Methods[0].Refused
		}
		r.Refused = &why
		return r
	}
	p := mainPoint(e)
	r.Method, r.Volume, r.StdUnc, r.Points = e.Methods[e.Recommended].Name, volume(p.Volume), volume(p.StdUnc), p.Points
	for _, list := range [][]assay.Result{e.Contents, e.Concentrations} {
		if len(list) > 0 {
			q := list[0]
			r.Species, r.Value, r.ValueUnc, r.Unit = q.Name, optional(q.Value), optional(q.StdUnc), q.Unit
			break
		}
	}
	return r
}

func writeBriefCSV(w io.Writer, d Document) error {
	out := csv.NewWriter(w)
	rows := [][]string{{"run", "blank", "method", "volume_mL", "standard_uncertainty_mL", "species", "value", "value_standard_uncertainty", "unit", "points", "doubtful", "refused", "warnings"}}
	text := func(x *float64) string {
		if x == nil {
			return ""
		}
		return number(*x)
	}
	doubtful := d.doubtfulRuns()
	for i := range d.Evaluations {
		r := d.brief(i)
		row := []string{r.Run, "", r.Method, text(r.Volume), text(r.StdUnc), r.Species, text(r.Value), text(r.ValueUnc), r.Unit, strconv.Itoa(r.Points), doubtful[r.Run], "", strings.Join(r.Doubts, "; ")}
		if r.Blank {
			row[1] = "yes"
		}
		if r.Refused != nil {
			row[11] = *r.Refused
		}
		rows = append(rows, row)
	}
	if err := out.WriteAll(rows); err != nil {
		return fmt.Errorf("writing the runs as CSV: %w", err)
	}
	return nil
}

// doubtfulRuns says which run a test calls doubtful, and what it calls it.
func (d Document) doubtfulRuns() map[string]string {
	list := map[string]string{}
	if d.Determination == nil {
		return list
	}
	for _, m := range d.Determination.Means {
		if i := m.Replicates.Doubtful(); i >= 0 {
			list[m.Runs[i]] = "doubtful by " + m.Replicates.Grubbs.Rule
		}
	}
	return list
}

// briefTextRuns is how many runs a table in a terminal has; all are in CSV and
// JSON.
const briefTextRuns = 100

// briefTable is the first runs as rows of text, header first, and what to say
// under it.
func (d Document) briefTable() (rows [][]string, words []string) {
	rows = [][]string{{"run", over("V_e", "mL"), over("u", "mL"), "result", "doubts"}}
	refused := 0
	for i := range d.Evaluations {
		r := d.brief(i)
		if r.Refused != nil {
			refused++
		}
		if i >= briefTextRuns {
			continue
		}
		row := []string{clean(d.runName(i)), "–", "", "", strconv.Itoa(len(r.Doubts))}
		if r.Volume != nil {
			row[1], row[2] = rounded(*r.Volume, *r.StdUnc)
		}
		if r.Value != nil {
			row[3] = plusMinus(*r.Value, *r.ValueUnc) + " " + strings.Replace(r.Unit, "% w/w", "%", 1)
		}
		rows = append(rows, row)
	}
	if n := len(d.Evaluations); n > briefTextRuns {
		words = append(words, fmt.Sprintf("and %d more runs; --format csv or json has all of them", n-briefTextRuns))
	}
	return rows, append(words, fmt.Sprintf("%d runs; %d of them give no result", len(d.Evaluations), refused))
}

func (t *typist) brief(d Document) {
	t.heading("Runs")
	rows, words := d.briefTable()
	t.table(rows, "lrrlr")
	for _, w := range words {
		t.paragraph(2, 4, w)
	}
}
