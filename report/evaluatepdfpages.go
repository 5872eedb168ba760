package report

import (
	"fmt"
	"math"
	"strconv"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/report/figure"
)

// appendix sets what bears a run out.
func (s *setter) appendix(e *assay.Evaluation) {
	s.diagnosis(e)
	for i, r := range e.Concentrations {
		s.steps("Working of "+symbol(r), concentrationSteps(e, i))
	}
	for i, r := range e.Contents {
		s.steps("Working of "+symbol(r), contentSteps(e, i))
	}
	for _, r := range mainFirst(e) {
		s.budget(r)
	}
	s.biases(e)
	if len(e.FormalPotentials) > 0 {
		s.heading("Formal potentials against the standard hydrogen electrode")
		rows := [][]string{{"couple", "E°′/V", "u/V", "from"}}
		for _, r := range pagePotentials(e) {
			from := r.From
			if r.Note != "" {
				from += "; " + r.Note
			}
			rows = append(rows, []string{r.Couple, r.Value, r.StdUnc, from})
		}
		s.table(rows, "lrrl", textHand)
		for _, text := range mediaWords(e) {
			s.flow(text, textHand)
		}
	}
	s.fit(e)
	if list := used(e.Setup); len(list) > 0 {
		s.heading("What was used")
		for _, u := range list {
			s.flow(u[0]+": "+typeset(u[1]), textHand)
		}
	}
	if e.Curve != nil {
		s.readings(e)
	}
}

func (s *setter) diagnosis(e *assay.Evaluation) {
	if !e.Diagnosed {
		return
	}
	s.heading("Diagnosis")
	if len(e.Diagnosis) == 0 {
		s.flow(nothingFound, textHand)
		return
	}
	for _, f := range pageFindings(e) {
		s.flow(f.Confidence+": "+f.Title, boldHand)
		for _, text := range []string{f.Evidence, f.Alike, f.Advice} {
			s.flow(text, textHand)
		}
	}
}

func (s *setter) steps(heading string, list []step) {
	s.heading(heading)
	const indent = 14
	for i, st := range list {
		w := s.width() - indent
		say := labelHand
		say.size, say.lead = 8, 10
		p := stack(0, paragraph(st.Say, w, say), paragraph(st.Show, w, textHand))
		s.put(beside([]float64{0, indent}, paragraph(strconv.Itoa(i+1), indent, say), p), 3)
	}
}

// budget sets the table of a result's parts.
func (s *setter) budget(r assay.Result) {
	list := shares(r)
	if len(list) == 0 {
		return
	}
	s.heading("What the uncertainty of " + symbol(r) + " is made of")
	rows := [][]string{{"part", "share", over("u", unitText(r)), "basis"}}
	for _, q := range list {
		rows = append(rows, []string{typeset(q.Name), percent(q.share), twoFigures(q.StdUnc), typeset(q.Note)})
	}
	rows = append(rows, []string{"together", "", twoFigures(r.StdUnc), interval(r)})
	s.table(rows, "lrrl", textHand)
}

func (s *setter) biases(e *assay.Evaluation) {
	list := biasWords(e)
	if len(list) == 0 {
		return
	}
	s.heading("Bias of derivative methods")
	for _, text := range list {
		s.flow(text, textHand)
	}
}

func (s *setter) fit(e *assay.Evaluation) {
	f := newPageFit(e)
	if f == nil {
		return
	}
	s.heading("Whole-curve regression")
	s.table(append([][]string{{"parameter", "value", "u", "unit"}}, f.Parameters...), "lrrl", textHand)
	for _, text := range f.Fixed {
		s.flow("kept fixed: "+text, textHand)
	}
	s.flow(f.Residuals, textHand)
	for _, text := range f.Warnings {
		s.flow(text, textHand)
	}
}

// Of the readings three stand in a line.
const readingColumns = 3

// readings sets all readings in columns, those left out struck through, with
// the reasons below.
func (s *setter) readings(e *assay.Evaluation) {
	rows := readingRows(e)
	s.heading("Readings as found")
	text := "In the order they were taken, down each column."
	if e.Fit != nil {
		text += " r is what the fitted curve leaves of a reading, over the standard deviation that this should have."
	}
	s.flow(text, textHand)
	s.y += 4
	const gap = 24
	w := (s.width() - (readingColumns-1)*gap) / readingColumns
	columns := evenColumns(len(rows[0]), w)
	head := headRow(rows[0], columns)
	out := excluded(e)
	for k := 1; k < len(rows); {
		lines := int((s.paper.Height - footMargin - s.y - head.height) / smallHand.lead)
		if lines < 4 && s.y > topMargin {
			s.newPage()
			continue
		}
		lines = min(lines, (len(rows)-k+readingColumns-1)/readingColumns)
		var at []float64
		var blocks []piece
		for c := range readingColumns {
			list := []piece{head}
			for range lines {
				if k < len(rows) {
					list = append(list, struck(tableRow(rows[k], columns, smallHand), w, out[k-1] != ""))
					k++
				}
			}
			if len(list) > 1 {
				at, blocks = append(at, float64(c)*(w+gap)), append(blocks, stack(0, list...))
			}
		}
		s.put(beside(at, blocks...), 0)
	}
	s.leftOut(e, out)
}

func (s *setter) leftOut(e *assay.Evaluation, out []string) {
	first := true
	for i, why := range out {
		if why == "" {
			continue
		}
		if first {
			s.heading("Readings left out")
			first = false
		}
		r := e.Curve.Readings[i]
		s.flow(fmt.Sprintf("row %d, %s mL: %s", r.Row, plain(inMillilitres(r.Volume), 10), clean(why)), textHand)
	}
}

func excluded(e *assay.Evaluation) []string {
	var list []string
	for _, r := range e.Curve.Readings {
		list = append(list, r.Excluded)
	}
	return list
}

// struck crosses a row out.
func struck(p piece, width float64, cross bool) piece {
	if !cross {
		return p
	}
	return piece{p.height, func(s *sheet, x, y float64) {
		p.draw(s, x, y)
		s.marks = append(s.marks, rule(x, y+0.53*p.height, width, figure.Ink))
	}}
}

func evenColumns(n int, width float64) []column {
	var list []column
	w := (width - columnGap*float64(n-1)) / float64(n)
	for i := range n {
		list = append(list, column{float64(i) * (w + columnGap), w, true})
	}
	return list
}

// readingRows is the table of readings, header first.
func readingRows(e *assay.Evaluation) [][]string {
	scale, unit := shown(e.Curve.Kind)
	head := e.Curve.Kind.String()
	if unit != "" {
		head = "E/" + unit
	}
	rows := [][]string{{"row", "V/mL", head}}
	if e.Fit != nil {
		rows[0] = append(rows[0], "r")
	}
	for i, q := range byReading(e) {
		x := &e.Curve.Readings[i]
		number := strconv.Itoa(i + 1)
		if x.Row > 0 {
			number = strconv.Itoa(x.Row)
		}
		row := []string{number, plain(inMillilitres(x.Volume), 7), plain(x.Value*scale, 7)}
		if e.Fit != nil {
			r := math.NaN()
			if q != nil {
				r = q.Reduced
			}
			row = append(row, fixed(r, curve.Potential))
		}
		rows = append(rows, row)
	}
	return rows
}

// summary sets what several runs say together.
func (s *setter) summary(d Document, title string) {
	s.newPage()
	about := fmt.Sprintf("%d runs", len(d.Evaluations))
	if d.Source != "" {
		about = "readings from " + clean(d.Source) + ", " + about
	}
	s.put(s.front(d, title, about), 0)
	if len(d.Evaluations) == 0 {
		s.put(paragraph("Nothing was evaluated.", s.width(), resultHand), 14)
	}
	if q := d.Determination; q != nil {
		list := lastFirst(q.Means)
		if len(list) == 0 {
			s.put(paragraph("No mean: fewer than two runs give a result.", s.width(), resultHand), 14)
		}
		for i, m := range list {
			h, gap := resultHand, 12.0
			if i > 0 {
				h, gap = textHand, 3
			}
			s.put(paragraph("Mean of the runs: "+resultSentence(m.Result), s.width(), h), gap)
		}
		if q.Blank != nil {
			s.heading("Blank, measured")
			s.flow(blankWords(q.Blank), textHand)
		}
		for i, m := range list {
			if i == 1 {
				s.runs(d) // what the summary is about comes before the rest
			}
			s.mean(m)
		}
		if len(list) > 1 {
			return
		}
	}
	s.runs(d)
}

func (s *setter) runs(d Document) {
	if len(d.Evaluations) > 0 {
		s.heading("Runs")
		s.table(runRows(d), "lrrll", textHand)
	}
}

// lastFirst turns the means round: a content before what it comes from.
func lastFirst(list []assay.Mean) []assay.Mean {
	var out []assay.Mean
	for i := range list {
		out = append(out, list[len(list)-1-i])
	}
	return out
}

// mean sets the replicates of one quantity beside what its uncertainty is
// made of.
func (s *setter) mean(m assay.Mean) {
	set := setOf(m)
	s.heading("Replicates of " + symbol(m.Result))
	const gap = 22
	left := 0.58*s.width() - gap/2
	rows := set.rows()
	if len(rows) > 13 {
		s.table(rows, "lrrl", smallHand)
		s.put(budgetBars(m.Result, s.width()-left-gap), 8)
	} else {
		columns := fitColumns(rows, "lrrl", left, smallHand)
		list := []piece{headRow(rows[0], columns)}
		for _, row := range rows[1:] {
			list = append(list, tableRow(row, columns, smallHand))
		}
		s.put(beside([]float64{0, left + gap}, stack(0, list...), budgetBars(m.Result, s.width()-left-gap)), 2)
	}
	for i, text := range append(set.words(), m.Notes...) {
		if i == 0 {
			s.y += 4
		}
		s.flow(typeset(text), smallHand)
	}
}

// runRows is a line for each run.
func runRows(d Document) [][]string {
	rows := [][]string{{"run", "V_e/mL", "u/mL", "result, ± one standard uncertainty", "doubts"}}
	for i := range d.Evaluations {
		b := d.brief(i)
		row := []string{clean(d.runName(i)), "–", "", "", strconv.Itoa(len(b.Doubts))}
		if b.Volume != nil {
			u := math.NaN()
			if b.StdUnc != nil {
				u = *b.StdUnc
			}
			row[1], row[2] = rounded(*b.Volume, u)
		}
		switch {
		case b.Refused != nil:
			row[3] = "no result: " + typeset(*b.Refused)
		case b.Value != nil && b.ValueUnc != nil:
			q := assay.Result{Unit: b.Unit}
			row[3] = plusMinus(*b.Value, *b.ValueUnc) + " " + unitText(q)
		}
		rows = append(rows, row)
	}
	return rows
}

// file sets what the reader of the file had to say.
func (s *setter) file(d Document) {
	if d.Record == nil {
		return
	}
	var list []string
	for _, b := range d.Record.BadCells {
		list = append(list, clean(badCellWords(b)))
	}
	if d.Record.MoreBad > 0 {
		list = append(list, fmt.Sprintf("and %d more", d.Record.MoreBad))
	}
	for _, part := range []struct {
		title string
		list  []string
	}{{"Doubtful cells of the readings", list}, {"Notes on the file", typesetAll(d.Record.Notes)}} {
		if len(part.list) == 0 {
			continue
		}
		s.heading(part.title)
		for _, text := range part.list {
			s.flow("– "+text, textHand)
		}
	}
	s.heading("About this report")
	s.flow(aboutReport, textHand)
}

const aboutReport = "Written by meniscus. ± is an expanded uncertainty where k is given, else one standard uncertainty. The program advises; it does not claim conformance to any standard."
