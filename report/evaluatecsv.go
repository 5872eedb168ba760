package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// writeCSV writes one line for each end point of each method; a method that
// refuses has one line with empty numbers and its reason.
func writeCSV(w io.Writer, d Document) error {
	if d.Brief {
		return writeBriefCSV(w, d)
	}
	out := csv.NewWriter(w)
	rows := [][]string{{"run", "method", "recommended", "equivalence_point", "species", "volume_mL", "standard_uncertainty_mL", "points", "refused", "warnings"}}
	for i, e := range d.Evaluations {
		for k, m := range e.Methods {
			yes := ""
			if k == e.Recommended {
				yes = "yes"
			}
			if len(m.Points) == 0 {
				rows = append(rows, []string{d.runName(i), m.Name, yes, "", "", "", "", "", m.Refused, strings.Join(m.Warnings, "; ")})
			}
			for _, p := range m.Points {
				rows = append(rows, []string{
					d.runName(i), m.Name, yes, strconv.Itoa(p.Order), p.Species, number(inMillilitres(p.Volume)), number(inMillilitres(p.StdUnc)),
					strconv.Itoa(p.Points), m.Refused, strings.Join(both(m.Warnings, p.Warnings), "; "),
				})
			}
		}
	}
	if err := out.WriteAll(rows); err != nil {
		return fmt.Errorf("writing the methods as CSV: %w", err)
	}
	return nil
}
