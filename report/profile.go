package report

import (
	"fmt"
	"math"
	"strings"

	"meniscus/assay"
)

// jsonProfile is an interval by the sum of squares. An end is null where the
// readings leave it open.
type jsonProfile struct {
	Name     string   `json:"name"`
	Unit     string   `json:"unit"`
	Value    *float64 `json:"value"`
	Low      *float64 `json:"low"`
	High     *float64 `json:"high"`
	Expanded *float64 `json:"expanded_uncertainty"` // k u, for comparison
	Differs  bool     `json:"differs"`
	Refused  *string  `json:"refused"`
}

func jsonProfiles(list []assay.Profile) []jsonProfile {
	out := []jsonProfile{}
	for _, p := range list {
		x := jsonProfile{Name: p.Name, Unit: p.Unit, Value: optional(p.Value), Expanded: optional(p.Half), Differs: p.Differs}
		if p.Refused != "" {
			x.Refused = &p.Refused
		} else {
			x.Low, x.High = optional(p.Low), optional(p.High)
		}
		out = append(out, x)
	}
	return out
}

// profileRows are the intervals that differ from ± k u, or could not be had;
// the head is the first row.
func profileRows(e *assay.Evaluation) [][]string {
	var rows [][]string
	for _, p := range e.Profiles {
		if !p.Differs && p.Refused == "" {
			continue
		}
		value, half := rounded(p.Value, p.Half)
		row := []string{typeset(p.Name), value, "", "", half, p.Unit}
		switch {
		case p.Refused != "":
			row[2], row[3] = "none", ""
		default:
			row[2], row[3] = openEnd(p.Low, p.Half), openEnd(p.High, p.Half)
		}
		rows = append(rows, row)
	}
	if rows == nil {
		return nil
	}
	return append([][]string{{"quantity", "value", "from", "to", "± k u", "unit"}}, rows...)
}

func openEnd(x, half float64) string {
	if math.IsInf(x, 0) {
		return "open"
	}
	text, _ := rounded(x, half)
	return text
}

// profileWords says what the table does not: which agree, and why some have
// none.
func profileWords(e *assay.Evaluation) []string {
	var alike, list []string
	for _, p := range e.Profiles {
		switch {
		case p.Refused != "":
			list = append(list, fmt.Sprintf("%s has none: %s", typeset(p.Name), typeset(p.Refused)))
		case !p.Differs:
			alike = append(alike, typeset(p.Name))
		}
	}
	if len(alike) > 0 {
		list = append([]string{"within a tenth of ± k u, which may be used for them: " + strings.Join(alike, ", ")}, list...)
	}
	return once(list)
}

func (t *typist) profiles(e *assay.Evaluation) {
	if len(e.Profiles) == 0 {
		return
	}
	t.heading("Intervals of 95 % by the sum of squares")
	if rows := profileRows(e); rows != nil {
		t.table(rows, "lrrrrl")
	}
	for _, line := range profileWords(e) {
		t.paragraph(2, 4, line)
	}
}

// A pageProfile is a row of profileRows on a page.
type pageProfiles struct {
	Head  []string
	Rows  [][]string
	Words []string
}

func newPageProfiles(e *assay.Evaluation) *pageProfiles {
	if len(e.Profiles) == 0 {
		return nil
	}
	p := &pageProfiles{Words: profileWords(e)}
	if rows := profileRows(e); rows != nil {
		p.Head, p.Rows = rows[0], rows[1:]
	}
	return p
}
