package report

import (
	"fmt"
	"math"
	"strings"

	"meniscus/plan"
)

// A PlanView is a plan for a page that draws it itself: sentences typeset in
// Unicode, tables cell by cell, indicators with what marks them on a curve.
type PlanView struct {
	Enough     bool            `json:"enough" doc:"every jump is good enough for the accuracy"`
	Accuracy   float64         `json:"accuracy_percent"`
	Verdict    []string        `json:"verdict" doc:"what stands against it, and one sentence an equivalence point"`
	Indicators []PlanIndicator `json:"indicators" doc:"the best eight of each point that change on the curve"`
	Sections   []PlanSection   `json:"sections"`
}

// A PlanIndicator is where an indicator changes and what is seen.
type PlanIndicator struct {
	Name   string    `json:"name"`
	Point  string    `json:"point" doc:"the equivalence point it is judged against; empty where there is one"`
	Volume float64   `json:"volume_mL"`
	Error  string    `json:"error" doc:"in mL and as part of the equivalence volume"`
	Fits   bool      `json:"fits"`
	Words  [2]string `json:"colours" doc:"before and after, in words; empty where unknown"`
	Colour [2]string `json:"css_colours"`
}

// A PlanSection is one part of a plan: paragraphs, tables, a list.
type PlanSection struct {
	Key     string          `json:"key"`
	Heading string          `json:"heading"`
	Say     []string        `json:"say"`
	Tables  []PlanViewTable `json:"tables"`
	Items   []string        `json:"items"`
}

// A PlanViewTable has its header as first row; Align has l or r for each
// column. Swatches, if any, are CSS colours of each row below the header.
type PlanViewTable struct {
	Rows     [][]string  `json:"rows"`
	Align    string      `json:"align"`
	Swatches [][2]string `json:"swatches"`
}

// ViewPlan makes the view of a plan.
func ViewPlan(p *plan.Plan) PlanView {
	v := PlanView{Enough: len(p.Jumps) > 0, Accuracy: 100 * p.Accuracy, Indicators: viewIndicators(p), Sections: []PlanSection{}}
	for _, j := range p.Jumps {
		v.Enough = v.Enough && j.Enough
	}
	brief, rest := briefVerdict(p)
	v.Verdict = viewList(brief)
	for _, s := range planSections {
		b := s.body(p)
		if s.key == "verdict" {
			s.heading, b.Say = "More on the verdict", rest
		}
		if len(b.Say)+len(b.Tables)+len(b.Items) > 0 {
			v.Sections = append(v.Sections, viewSection(s.key, s.heading, b))
		}
	}
	return v
}

// briefVerdict takes what stands against the titration, and the first sentence on
// each point.
func briefVerdict(p *plan.Plan) (brief, rest []string) {
	seen := map[string]bool{}
	brief = append(brief, p.Verdict[:p.Against]...)
	for _, s := range p.Verdict[p.Against:] {
		point := ""
		if len(p.Jumps) > 1 && strings.HasPrefix(s, "Point ") {
			point, _, _ = strings.Cut(s, " (")
		}
		if seen[point] || point == "" && len(p.Jumps) > 1 {
			rest = append(rest, s)
			continue
		}
		seen[point] = true
		brief = append(brief, s)
	}
	if len(brief) == 0 {
		return rest, nil
	}
	return brief, rest
}

func viewIndicators(p *plan.Plan) []PlanIndicator {
	list := []PlanIndicator{}
	count := make([]int, len(p.Jumps))
	for _, f := range p.Indicators {
		if math.IsNaN(f.Error) || count[f.Point] >= 8 && !f.Asked {
			continue
		}
		count[f.Point]++
		j := p.Jumps[f.Point]
		x := PlanIndicator{
			Name: Typeset(f.Name), Volume: (j.Volume + f.Error) * 1e3, Fits: f.Fits,
			Error:  fmt.Sprintf("%s mL, %s", millis(f.Error), percentError(f.Part)),
			Words:  [2]string{f.Colour[0].Word, f.Colour[1].Word},
			Colour: [2]string{f.Colour[0].Swatch, f.Colour[1].Swatch},
		}
		if len(p.Jumps) > 1 {
			x.Point = Typeset(fmt.Sprintf("Point %d, %s", f.Point+1, j.Name))
		}
		list = append(list, x)
	}
	return list
}

func viewSection(key, heading string, b planBody) PlanSection {
	s := PlanSection{key, heading, viewList(b.Say), []PlanViewTable{}, viewList(b.Items)}
	for _, t := range b.Tables {
		x := PlanViewTable{Rows: [][]string{}, Align: t.Align, Swatches: t.Swatches}
		for _, row := range t.Rows {
			x.Rows = append(x.Rows, viewList(row))
		}
		s.Tables = append(s.Tables, x)
	}
	return s
}

// viewList typesets; the marks of a command stand for nothing on a page.
func viewList(list []string) []string {
	out := []string{}
	for _, s := range list {
		out = append(out, strings.ReplaceAll(Typeset(s), "`", ""))
	}
	return out
}
