package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"meniscus/chain"
	"meniscus/uncertainty"
)

// A ChainDocument is what a report on a shelf is about. Moves and Corrected
// stand where a strength was stated anew.
type ChainDocument struct {
	Chain     *chain.Chain
	Corrected string // the solution and its new strength, in words
	Moves     []chain.Move
}

// ChainFormats lists the formats of a chain.
var ChainFormats = []struct {
	Name  string
	Write func(io.Writer, ChainDocument) error
}{
	{"text", writeChainText}, {"json", writeChainJSON},
}

func writeChainText(w io.Writer, d ChainDocument) error {
	var t typist
	if title := d.Chain.Shelf.Title; title != "" {
		t.heading(title)
	}
	if d.Corrected != "" {
		chainMoves(&t, d)
	}
	chainSolutions(&t, d.Chain)
	for i := range d.Chain.Results {
		if r := &d.Chain.Results[i]; r.Sample {
			chainResult(&t, r)
		}
	}
	chainCorrelation(&t, d.Chain)
	if len(d.Chain.Shelf.Notes) > 0 {
		t.heading("Taken for granted")
		t.items(d.Chain.Shelf.Notes)
	}
	if len(d.Chain.Warnings) > 0 {
		t.heading("To doubt")
		t.items(d.Chain.Warnings)
	}
	_, err := io.WriteString(w, t.String())
	return err
}

func chainSolutions(t *typist, c *chain.Chain) {
	rows := [][]string{{"solution", "mol/L, 95 %", "k", "rests on", "expires"}}
	for _, r := range c.Results {
		if r.Sample {
			continue
		}
		expires := ""
		for _, s := range c.Shelf.Solutions {
			if s.Name == r.Name {
				expires = string(s.Expires)
			}
		}
		if r.Expired {
			expires += " !"
		}
		rests := "as stated"
		if len(r.Path) > 0 {
			rests = strings.Join(r.Path, " ← ")
		}
		rows = append(rows, []string{r.Name, plusMinus(r.Budget.X, r.Budget.Expanded), fmt.Sprintf("%.2f", r.Budget.K), rests, expires})
	}
	t.heading("Solutions")
	t.table(rows, "lrrll")
}

func chainResult(t *typist, r *chain.Result) {
	b := r.Budget
	t.heading(r.Name)
	t.paragraph(2, 4, fmt.Sprintf("%s %s, k = %.2f, 95 %%; u = %s", plusMinus(b.X, b.Expanded), r.Model.Unit, b.K, twoFigures(b.U)))
	t.paragraph(2, 4, "rests on "+strings.Join(r.Path, " ← "))
	if s := r.Runs; s != nil && len(s.Values) > 1 {
		text := fmt.Sprintf("%d runs, s = %s %s (%.2g %%)", len(s.Values), twoFigures(s.SD), r.Unit, 100*s.SD/math.Abs(s.Mean))
		if s.Used {
			text += "; their scatter stands for weighing, delivering and finding the end point"
		} else {
			text += fmt.Sprintf("; too few to show the repeatability, which is taken as stated (from %d runs on it is their scatter)", chain.EnoughRuns)
		}
		t.paragraph(2, 4, text)
	}
	if s := r.Runs; s != nil {
		for _, l := range s.Left {
			t.paragraph(2, 4, "left out, "+l)
		}
	}
	if shared := sharingWords(r); shared != "" {
		t.paragraph(2, 4, shared)
	}
	rows := [][]string{{"what u is made of", "share"}}
	for i, q := range b.Shares {
		if i < 6 && q.Share >= 0.01 {
			rows = append(rows, []string{q.Note, fmt.Sprintf("%.0f %%", 100*q.Share)})
		}
	}
	t.table(rows, "lr")
}

// sharingWords compares u with what it would be if no step shared a ware or a
// titre with another.
func sharingWords(r *chain.Result) string {
	ratio := r.Budget.U / r.Alone
	switch {
	case math.Abs(ratio-1) < 0.02 || math.IsNaN(ratio):
		return ""
	case ratio < 1:
		return fmt.Sprintf("steps share ware: errors cancel in part, and u is %.0f %% of what it would be with each step on its own (%s)", 100*ratio, twoFigures(r.Alone))
	}
	return fmt.Sprintf("steps share ware: errors add up, and u is %.0f %% of what it would be with each step on its own (%s)", 100*ratio, twoFigures(r.Alone))
}

// chainCorrelation shows what the determinations share.
func chainCorrelation(t *typist, c *chain.Chain) {
	var at []int
	for i, r := range c.Results {
		if r.Sample {
			at = append(at, i)
		}
	}
	if len(at) < 2 {
		return
	}
	t.heading("Correlation of the results, from what they share")
	head, right := []string{""}, "l"
	for _, i := range at {
		head = append(head, c.Results[i].Name)
		right += "r"
	}
	rows := [][]string{head}
	for _, i := range at {
		row := []string{c.Results[i].Name}
		for _, j := range at {
			row = append(row, fmt.Sprintf("%.2f", c.Correlation[i][j]))
		}
		rows = append(rows, row)
	}
	t.table(rows, right)
}

func chainMoves(t *typist, d ChainDocument) {
	t.heading("What moves with " + d.Corrected)
	if len(d.Moves) == 0 {
		t.paragraph(2, 2, "nothing on this shelf rests on it")
		return
	}
	rows := [][]string{{"result", "before", "after", "moves by", "of U before"}}
	for _, m := range d.Moves {
		width, _ := m.Before.Expanded(uncertainty.Level)
		of := ""
		if width > 0 {
			of = fmt.Sprintf("%.2g", (m.After.X-m.Before.X)/width)
		}
		rows = append(rows, []string{
			m.Name, plusMinus(m.Before.X, m.Before.U) + " " + m.Unit, plusMinus(m.After.X, m.After.U) + " " + m.Unit,
			minus(fmt.Sprintf("%+.3f %%", 100*m.Shift())), minus(of),
		})
	}
	t.table(rows, "lrrrr")
	t.paragraph(2, 2, "± is one standard uncertainty here.")
}

// chainJSON is the contract of the JSON; a key may be added, none renamed.
type chainJSON struct {
	Schema      string            `json:"schema"`
	Title       string            `json:"title"`
	Date        string            `json:"date"`
	Results     []chainResultJSON `json:"results"`
	Correlation [][]float64       `json:"correlation"`
	Corrected   string            `json:"corrected,omitempty"`
	Moves       []chainMoveJSON   `json:"moves,omitempty"`
	Notes       []string          `json:"notes"`
	Warnings    []string          `json:"warnings"`
}

type chainResultJSON struct {
	Name     string           `json:"name"`
	Kind     string           `json:"kind"` // "solution" or "determination"
	Value    float64          `json:"value"`
	Unit     string           `json:"unit"`
	StdUnc   float64          `json:"standard_uncertainty"`
	Expanded float64          `json:"expanded_uncertainty"`
	K        float64          `json:"coverage_factor"`
	DoF      *float64         `json:"degrees_of_freedom"` // null: unlimited
	Alone    float64          `json:"standard_uncertainty_unshared"`
	RestsOn  []string         `json:"rests_on"`
	Runs     []float64        `json:"runs"`
	SD       *float64         `json:"standard_deviation"`
	LeftOut  []string         `json:"left_out"`
	Expired  bool             `json:"expired"`
	Budget   []chainShareJSON `json:"budget"`
	Equation string           `json:"equation"`
	Doubts   []string         `json:"doubts"`
}

type chainShareJSON struct {
	Input       string  `json:"input"`
	Note        string  `json:"note"`
	Value       float64 `json:"value"`
	Unit        string  `json:"unit"`
	StdUnc      float64 `json:"standard_uncertainty"`
	Sensitivity float64 `json:"sensitivity"`
	Share       float64 `json:"share"`
}

type chainMoveJSON struct {
	Name         string  `json:"name"`
	Unit         string  `json:"unit"`
	Before       float64 `json:"before"`
	StdUncBefore float64 `json:"standard_uncertainty_before"`
	After        float64 `json:"after"`
	StdUncAfter  float64 `json:"standard_uncertainty_after"`
}

func writeChainJSON(w io.Writer, d ChainDocument) error {
	c := d.Chain
	j := chainJSON{
		Schema: "meniscus.chain/1", Title: c.Shelf.Title, Date: string(c.Shelf.Date), Results: []chainResultJSON{}, Correlation: c.Correlation,
		Corrected: d.Corrected, Notes: append([]string{}, c.Shelf.Notes...), Warnings: append([]string{}, c.Warnings...),
	}
	for i := range c.Results {
		j.Results = append(j.Results, chainResultToJSON(&c.Results[i]))
	}
	for _, m := range d.Moves {
		j.Moves = append(j.Moves, chainMoveJSON{m.Name, m.Unit, m.Before.X, m.Before.U, m.After.X, m.After.U})
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(j)
}

func chainResultToJSON(r *chain.Result) chainResultJSON {
	b := r.Budget
	j := chainResultJSON{
		Name: r.Name, Kind: "solution", Value: b.X, Unit: r.Unit, StdUnc: b.U, Expanded: b.Expanded, K: b.K, Alone: r.Alone,
		RestsOn: append([]string{}, r.Path...), Runs: []float64{}, LeftOut: []string{}, Expired: r.Expired,
		Budget: []chainShareJSON{}, Equation: r.Model.Equations, Doubts: append([]string{}, r.Doubts...),
	}
	if r.Sample {
		j.Kind = "determination"
	}
	if !math.IsInf(b.DoF, 1) {
		j.DoF = &b.DoF
	}
	if s := r.Runs; s != nil {
		j.Runs, j.LeftOut = append(j.Runs, s.Values...), append(j.LeftOut, s.Left...)
		if !math.IsNaN(s.SD) {
			j.SD = &s.SD
		}
	}
	for _, q := range b.Shares {
		if q.U > 0 {
			j.Budget = append(j.Budget, chainShareJSON{q.Name, q.Note, q.X, q.Unit, q.U, q.Sensitivity, q.Share})
		}
	}
	return j
}
