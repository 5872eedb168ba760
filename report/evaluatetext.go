package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"meniscus/assay"
)

// writeText writes a document for a terminal: lines of at most 78 characters,
// values rounded to two figures of their uncertainty.
func writeText(w io.Writer, d Document) error {
	t := &typist{}
	if title := clean(d.Title); title != "" {
		t.paragraph(0, 0, title)
		t.line(strings.Repeat("=", min(utf8.RuneCountInString(title), textWidth)))
	}
	if d.Source != "" {
		t.paragraph(0, 0, "readings from "+clean(d.Source))
	}
	if who := d.who(); who != "" {
		t.paragraph(0, 0, who)
	}
	if d.Determination != nil {
		t.means(d.Determination)
	}
	if d.Brief {
		t.brief(d)
	}
	for i, e := range d.full() {
		if len(d.Evaluations) > 1 {
			t.heading("RUN " + clean(d.runName(i)))
		}
		t.run(e)
	}
	if m, ok := d.mean(); ok && d.Determination == nil {
		t.heading("MEAN OF RUNS")
		t.paragraph(2, 4, m.words())
	}
	t.found(d)
	if t.Len() == 0 {
		t.line("nothing was evaluated")
	}
	if _, err := io.WriteString(w, t.String()); err != nil {
		return fmt.Errorf("writing the evaluation as text: %w", err)
	}
	return nil
}

// run writes the sections of one evaluation, in the order they are wanted.
func (t *typist) run(e *assay.Evaluation) {
	t.result(e)
	t.list("Doubts", doubts(e))
	t.diagnosis(e)
	if e.Curve == nil {
		t.working(e)
	} else {
		t.methods(e)
	}
	t.potentials(e)
	t.fit(e)
	t.profiles(e)
	for _, r := range append(append([]assay.Result{}, e.Concentrations...), e.Contents...) {
		t.budget(r)
	}
	t.list("Assumed", once(e.Assumed))
	t.setup(e)
	t.leftOut(e)
}

// working writes the steps from stated end points to the results.
func (t *typist) working(e *assay.Evaluation) {
	for i, r := range e.Concentrations {
		t.steps("Working of "+symbol(r), concentrationSteps(e, i))
	}
	for i, r := range e.Contents {
		t.steps("Working of "+symbol(r), contentSteps(e, i))
	}
}

func (t *typist) steps(heading string, list []step) {
	t.heading(heading)
	for i, s := range list {
		t.paragraph(2, 5, fmt.Sprintf("%d. %s:", i+1, s.Say))
		t.paragraph(5, 5, s.Show)
	}
}

func (t *typist) list(heading string, list []string) {
	if len(list) > 0 {
		t.heading(heading)
		t.items(list)
	}
}

func (t *typist) result(e *assay.Evaluation) {
	t.heading("Result")
	if e.Recommended < 0 {
		t.paragraph(2, 2, "No result: every method refuses. The reasons are below.")
		return
	}
	for _, r := range append(append([]assay.Result{}, e.Concentrations...), e.Contents...) {
		text := fmt.Sprintf("%s = %s (%s)", symbol(r), expanded(r), interval(r))
		if r.Note != "" {
			text += "; " + typeset(r.Note)
		}
		t.paragraph(2, 4, text)
	}
	for _, p := range e.EquivalencePoints {
		t.paragraph(2, 4, pointWords(e, p))
	}
	m := e.Methods[e.Recommended]
	t.paragraph(2, 4, fmt.Sprintf("by %s: %s", inSentence(m.Title), typeset(e.Reason)))
}

// pointWords is "V_e = 25.0012 ± 0.0068 mL (k = 2, 95 %)".
func pointWords(e *assay.Evaluation, p assay.Point) string {
	name := "V_e"
	if len(e.EquivalencePoints) > 1 {
		name = fmt.Sprintf("V_e,%d", p.Order)
		if p.Species != "" {
			name += " (" + formula(p.Species) + " used up)"
		}
	}
	r := assay.Result{Value: inMillilitres(p.Volume), StdUnc: inMillilitres(p.StdUnc), Unit: "mL", Coverage: p.Coverage(), Freedom: math.Inf(1)}
	if p.Freedom > 0 {
		r.Freedom = p.Freedom
	}
	return fmt.Sprintf("%s = %s (%s)", name, expanded(r), interval(r))
}

func (t *typist) methods(e *assay.Evaluation) {
	rows := [][]string{{"", "method", "V_e/mL", "u/mL", "points"}}
	for i, m := range e.Methods {
		mark := ""
		if i == e.Recommended {
			mark = "*"
		}
		for k, p := range m.Points {
			name := m.Title
			if k > 0 {
				name, mark = "", ""
			}
			v, u := rounded(inMillilitres(p.Volume), inMillilitres(p.StdUnc))
			rows = append(rows, []string{mark, name, v, u, strconv.Itoa(p.Points)})
		}
	}
	if len(rows) > 1 {
		t.heading("Methods (* recommended)")
		t.table(rows, "llrrr")
		for _, line := range append(windowWords(e), biasWords(e)...) {
			t.paragraph(2, 4, line)
		}
		for _, g := range methodWarnings(e) {
			t.paragraph(2, 4, g.titles+": "+typeset(g.text))
		}
	}
	list := refusals(e)
	if len(list) == 0 {
		return
	}
	t.heading("Methods that refuse")
	for _, g := range list {
		t.paragraph(2, 4, g.titles+": "+typeset(g.text))
	}
}

func (t *typist) potentials(e *assay.Evaluation) {
	if len(e.FormalPotentials) == 0 {
		return
	}
	t.heading("Formal potentials against SHE")
	rows := [][]string{{"couple", "E°′/V", "u/V", "95 %: ±/V", "from"}}
	for _, r := range e.FormalPotentials {
		v, u := rounded(r.Value, r.StdUnc)
		from := r.From
		if r.Note != "" {
			from += "; " + typeset(r.Note)
		}
		rows = append(rows, []string{typeset(r.Name), v, u, twoFigures(r.Expanded()), from})
	}
	t.table(rows, "lrrrl")
	for _, text := range mediaWords(e) {
		t.paragraph(2, 4, text)
	}
}

func (t *typist) fit(e *assay.Evaluation) {
	if e.Fit == nil {
		return
	}
	t.heading("Whole-curve regression")
	rows := [][]string{{"parameter", "value", "u", "unit"}}
	for _, q := range e.Fit.Estimates {
		name, value, u, unit := parameterText(q)
		rows = append(rows, []string{name, value, u, unit})
	}
	t.table(rows, "lrrl")
	if len(e.Fit.Fixed) > 0 {
		t.paragraph(2, 4, "kept fixed: "+typeset(strings.Join(e.Fit.Fixed, "; ")))
	}
	t.paragraph(2, 4, residualWords(e.Fit))
}

func (t *typist) budget(r assay.Result) {
	list := shares(r)
	if len(list) == 0 {
		return
	}
	t.heading("What the uncertainty of " + symbol(r) + " is made of")
	rows := [][]string{{"share", "part", over("u", unitText(r)), "basis"}}
	for _, s := range list {
		rows = append(rows, []string{percent(s.share), typeset(s.Name), twoFigures(s.StdUnc), typeset(s.Note)})
	}
	rows = append(rows, []string{"", "together", twoFigures(r.StdUnc), ""})
	t.table(rows, "rlrl")
}

// percent is a share in whole percent, or what it is below.
func percent(x float64) string {
	switch {
	case math.IsNaN(x):
		return "–"
	case x > 0 && x < 0.005:
		return "<1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*x)
}

func (t *typist) setup(e *assay.Evaluation) {
	list := used(e.Setup)
	if len(list) == 0 {
		return
	}
	t.heading("Used")
	for _, p := range list {
		t.paragraph(2, 4, p[0]+": "+typeset(p[1]))
	}
}

// leftOut lists the readings that did not take part.
func (t *typist) leftOut(e *assay.Evaluation) {
	var list []string
	if e.Curve != nil {
		for _, r := range e.Curve.Readings {
			if r.Excluded != "" {
				list = append(list, fmt.Sprintf("row %d, %s mL: %s", r.Row, plain(inMillilitres(r.Volume), 10), r.Excluded))
			}
		}
	}
	t.list("Readings left out", list)
}

// found lists what the reader of the file had to say.
func (t *typist) found(d Document) {
	if d.Record == nil {
		return
	}
	var list []string
	for _, b := range d.Record.BadCells {
		list = append(list, badCellWords(b))
	}
	if d.Record.MoreBad > 0 {
		list = append(list, fmt.Sprintf("and %d more", d.Record.MoreBad))
	}
	t.list("Doubtful cells of the readings", list)
	t.list("Notes on the file", d.Record.Notes)
}

// words is "mean of 2 runs: c(Fe²⁺) = ...".
func (m mean) words() string {
	r := assay.Result{Name: m.species, Unit: m.unit}
	value, sd := rounded(m.value, m.sd)
	text := fmt.Sprintf("%s = %s %s, the mean of %d", symbol(r), value, unitText(r), m.n)
	if sd != "" {
		text += fmt.Sprintf("; their standard deviation is %s %s", sd, unitText(r))
	}
	return text
}
