package report

import (
	"fmt"
	"strings"

	"meniscus/assay"
)

// jsonFinding is a cause that the readings speak for.
type jsonFinding struct {
	Cause      string   `json:"cause"`
	Title      string   `json:"title"`
	Confidence string   `json:"confidence"` // likely, possible
	Evidence   string   `json:"evidence"`
	Alike      []string `json:"cannot_be_told_from"`
	Advice     string   `json:"advice"`
	Size       *float64 `json:"size"` // null where it has none
	StdUnc     *float64 `json:"standard_uncertainty"`
	Unit       string   `json:"unit"`
	P          *float64 `json:"probability_by_chance"`
}

func jsonFindings(list []assay.Finding) []jsonFinding {
	out := []jsonFinding{}
	for _, f := range list {
		out = append(out, jsonFinding{
			f.Cause, f.Title, string(f.Confidence), f.Evidence, both(f.Alike), f.Advice,
			optional(f.Size), optional(f.StdUnc), f.Unit, optional(f.P),
		})
	}
	return out
}

// diagnosis lists the findings; that nothing was found is said, too.
func (t *typist) diagnosis(e *assay.Evaluation) {
	if !e.Diagnosed {
		return
	}
	t.heading("Diagnosis")
	if len(e.Diagnosis) == 0 {
		t.paragraph(2, 2, nothingFound)
		return
	}
	for _, f := range pageFindings(e) {
		t.paragraph(2, 4, f.Confidence+": "+f.Title)
		t.paragraph(6, 6, f.Evidence)
		if f.Alike != "" {
			t.paragraph(6, 6, f.Alike)
		}
		t.paragraph(6, 6, f.Advice)
	}
}

const nothingFound = "Nothing found: the readings show none of the causes that are looked for. That is no proof that there is none."

// A pageFinding is a finding in words.
type pageFinding struct{ Confidence, Title, Evidence, Alike, Advice string }

func pageFindings(e *assay.Evaluation) []pageFinding {
	var list []pageFinding
	for _, f := range e.Diagnosis {
		p := pageFinding{string(f.Confidence), typeset(f.Title), "Seen: " + typeset(f.Evidence) + ".", "", "To do: " + typeset(f.Advice) + "."}
		if len(f.Alike) > 0 {
			p.Alike = fmt.Sprintf("Cannot be told from: %s.", typeset(strings.Join(f.Alike, "; ")))
		}
		list = append(list, p)
	}
	return list
}
