package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"meniscus/assay"
)

// writeCSV writes one line for each end point of each method; a method that
// refuses has one line with empty numbers and its reason.
func writeCSV(w io.Writer, d Document) error {
	if d.Brief {
		return writeBriefCSV(w, d)
	}
	out := csv.NewWriter(w)
	rows := [][]string{{"run", "method", "recommended", "equivalence_point", "species", "volume_mL", "standard_uncertainty_mL", "points", "refused", "warnings", "value", "value_standard_uncertainty", "unit", "doubtful"}}
	doubtful := d.doubtfulRuns()
	for i, e := range d.Evaluations {
		for k, m := range e.Methods {
			rows = append(rows, d.methodRows(i, k, m, doubtful)...)
		}
	}
	if err := out.WriteAll(append(rows, d.meanRows()...)); err != nil {
		return fmt.Errorf("writing the methods as CSV: %w", err)
	}
	return nil
}

// methodRows is what method k says about run i. The content, or else the
// concentration, stands with the end point it was computed from.
func (d Document) methodRows(i, k int, m assay.Method, doubtful map[string]string) [][]string {
	var rows [][]string
	b := d.brief(i)
	result := []string{"", "", "", ""}
	if k == d.Evaluations[i].Recommended && b.Value != nil {
		result = []string{number(*b.Value), number(*b.ValueUnc), b.Unit, doubtful[b.Run]}
	}
	yes := ""
	if k == d.Evaluations[i].Recommended {
		yes = "yes"
	}
	if len(m.Points) == 0 {
		rows = append(rows, append([]string{d.runName(i), m.Name, yes, "", "", "", "", "", m.Refused, strings.Join(m.Warnings, "; ")}, "", "", "", ""))
	}
	for _, p := range m.Points {
		row := []string{
			d.runName(i), m.Name, yes, strconv.Itoa(p.Order), p.Species, number(inMillilitres(p.Volume)), number(inMillilitres(p.StdUnc)),
			strconv.Itoa(p.Points), m.Refused, strings.Join(both(m.Warnings, p.Warnings), "; "),
		}
		if yes != "" && p.Volume == mainPoint(d.Evaluations[i]).Volume {
			row = append(row, result...)
		} else {
			row = append(row, "", "", "", "")
		}
		rows = append(rows, row)
	}
	return rows
}

// meanRows has the means over runs, one a line, in the columns of methodRows.
func (d Document) meanRows() [][]string {
	var rows [][]string
	if d.Determination == nil {
		return nil
	}
	for _, m := range d.Determination.Means {
		row := []string{"mean", "mean of " + strconv.Itoa(len(m.Runs)) + " runs", "", "", m.Name, "", "", "", "", strings.Join(m.Notes, "; "), "", "", "", ""}
		if m.Name == assay.EndPoint {
			row[4], row[5], row[6] = "", number(m.Value), number(m.StdUnc)
		} else {
			row[10], row[11], row[12] = number(m.Value), number(m.StdUnc), m.Unit
		}
		if i := m.Replicates.Doubtful(); i >= 0 {
			row[13] = m.Runs[i] + " is doubtful by " + m.Replicates.Grubbs.Rule
		}
		rows = append(rows, row)
	}
	return rows
}
