package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"meniscus/assay"
	"meniscus/curve"
)

// mostSheetRows is how many rows a sheet of a workbook can hold.
const mostSheetRows = 1 << 20

// A TooManyError says that readings do not fit on a sheet.
type TooManyError struct{ Rows int }

func (e *TooManyError) Error() string {
	return fmt.Sprintf("a sheet of a workbook holds %d rows, and there are %d readings; --format csv has no such limit, --brief leaves them out", mostSheetRows-1, e.Rows)
}

// writeXLSX writes a workbook in which the arithmetic can be followed and
// changed.
func writeXLSX(w io.Writer, d Document) error {
	n := 0
	for _, e := range d.full() {
		if e.Curve != nil {
			n += len(e.Curve.Readings)
		}
	}
	if n >= mostSheetRows {
		return fmt.Errorf("writing the workbook: %w", &TooManyError{n})
	}
	b := newWorkbook("Result")
	b.about(clean(d.Title), clean(d.By), d.Date)
	b.result(d)
	b.readings(d)
	b.methods(d)
	budget := b.budget(d)
	b.working(d, budget)
	if b.err != nil {
		return fmt.Errorf("writing the workbook: %w", b.err)
	}
	if err := b.f.Write(w); err != nil {
		return fmt.Errorf("writing the workbook: %w", err)
	}
	return b.f.Close()
}

// runLabel is the name of run i; "" for a single one.
func (d Document) runLabel(i int) string {
	if len(d.Evaluations) == 1 {
		return ""
	}
	return d.runName(i)
}

// result has what was found, first of all.
func (b *workbook) result(d Document) {
	s := b.sheet("Result", 26, 26, 16, 16, 10, 16, 12, 14, 30, 40)
	title := d.Title
	if title == "" {
		title = "Evaluation of a titration"
	}
	s.styled(b.bold, title)
	if d.Source != "" {
		s.put("readings from", d.Source)
	}
	s.put("carried out by", d.By)
	date := ""
	if !d.Date.IsZero() {
		date = d.Date.Format("2006-01-02")
	}
	s.put("date", date)
	s.put("checked by")
	s.put()
	s.head("run", "quantity", "value", "standard uncertainty", "k (95 %)", "expanded uncertainty", "unit", "degrees of freedom", "method", "note")
	if d.Determination != nil {
		for _, m := range lastFirst(d.Determination.Means) {
			s.result("mean", m.Result, "mean of the runs")
		}
	}
	for i, e := range d.Evaluations {
		s.resultsOfRun(d, i, e)
	}
	s.remarks(d)
}

func (s *sheetRows) resultsOfRun(d Document, i int, e *assay.Evaluation) {
	if e.Recommended < 0 {
		s.put(d.runLabel(i), noResult(e)+" The reasons are on the sheet Methods.")
		return
	}
	for _, r := range mainFirst(e) {
		s.result(d.runLabel(i), r, methodTitle(e, r.From))
	}
	for _, p := range e.EquivalencePoints {
		name := "V_e"
		if len(e.EquivalencePoints) > 1 {
			name = fmt.Sprintf("V_e,%d", p.Order)
		}
		if p.Species != "" {
			name += ", " + formula(p.Species) + " used up"
		}
		v, u := fifteen(inMillilitres(p.Volume)), fifteen(inMillilitres(p.StdUnc))
		s.put(d.runLabel(i), name, roundedCell{v, u}, roundedCell{u, u}, nil, nil, "mL", nil, e.Methods[e.Recommended].Title)
	}
	for _, r := range e.FormalPotentials {
		s.put(d.runLabel(i), "E°′("+typeset(r.Name)+") against SHE", roundedCell{r.Value, r.StdUnc}, roundedCell{r.StdUnc, r.StdUnc}, nil, nil, r.Unit, nil, r.From, typeset(r.Note))
	}
}

func (s *sheetRows) result(run string, r assay.Result, method string) {
	freedom := any("not limited")
	if !math.IsInf(r.Freedom, 0) {
		freedom = math.Floor(r.Freedom)
	}
	u := r.Expanded()
	s.put(run, symbol(r), roundedCell{r.Value, u}, roundedCell{r.StdUnc, r.StdUnc}, r.Coverage, roundedCell{u, u}, unitText(r), freedom, method, typeset(r.Note))
}

// remarks has what to doubt and what was assumed.
func (s *sheetRows) remarks(d Document) {
	for i, e := range d.Evaluations {
		for _, part := range []struct {
			kind string
			list []string
		}{{"doubt", typesetAll(doubts(e))}, {"assumed", typesetAll(once(e.Assumed))}} {
			for _, text := range part.list {
				s.remark(d.runLabel(i), part.kind, text)
			}
		}
		for _, f := range pageFindings(e) {
			s.remark(d.runLabel(i), "diagnosis", f.Confidence+": "+f.Title+". "+f.Evidence+" "+f.Alike+" "+f.Advice)
		}
	}
	if d.Record == nil {
		return
	}
	for _, c := range d.Record.BadCells {
		s.remark("", "doubtful cell", badCellWords(c))
	}
	for _, n := range d.Record.Notes {
		s.remark("", "note on the file", typeset(n))
	}
}

func (s *sheetRows) remark(run, kind, text string) { s.put(run, kind, text) }

// fifteen rounds to the digits that a decimal keeps in binary.
func fifteen(x float64) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 15, 64), 64)
	if err != nil {
		return x
	}
	return y
}

// readings has all readings as numbers, those left out struck with the reason.
func (b *workbook) readings(d Document) {
	s := b.sheet("Readings", 20, 8, 14, 16, 10, 34, 16, 16, 18)
	unit := ""
	for _, e := range d.full() {
		if e.Curve == nil {
			continue
		}
		head := valueHead(e.Curve.Kind)
		if head != unit {
			unit = head
			s.head("run", "row", "volume (mL)", head, "left out", "reason", "fitted "+head, "residual", "residual over its standard deviation")
			if s.row == 1 {
				s.freeze()
			}
		}
	}
	for i, e := range d.full() {
		if e.Curve != nil {
			s.readingsOf(d.runLabel(i), e)
		}
	}
	if d.Brief {
		s.put("The runs are many, so their readings are left in their files.")
	}
}

func valueHead(k curve.Kind) string {
	if k == curve.Potential {
		return "potential (mV)"
	}
	return k.String()
}

func (s *sheetRows) readingsOf(run string, e *assay.Evaluation) {
	scale, _ := shown(e.Curve.Kind)
	for i, q := range byReading(e) {
		r := &e.Curve.Readings[i]
		style, out := 0, ""
		if r.Excluded != "" {
			style, out = s.b.struck, "left out"
		}
		cells := []any{run, r.Row, fifteen(inMillilitres(r.Volume)), fifteen(r.Value * scale), out, r.Excluded}
		if q != nil {
			cells = append(cells, q.Fitted*scale, q.Residual*scale, q.Reduced)
		}
		s.styled(style, cells...)
	}
}

// methods has what every method says of every run.
func (b *workbook) methods(d Document) {
	s := b.sheet("Methods", 20, 36, 10, 14, 16, 10, 12, 60, 60)
	s.head("run", "method", "end point", "V_e (mL)", "standard uncertainty (mL)", "readings", "used", "refused because", "doubts")
	s.freeze()
	for i, e := range d.Evaluations {
		for k, m := range e.Methods {
			mark := ""
			if k == e.Recommended {
				mark = "used"
			}
			if len(m.Points) == 0 {
				s.put(d.runLabel(i), m.Title, nil, nil, nil, nil, mark, typeset(m.Refused), words(m.Warnings))
			}
			for _, p := range m.Points {
				v, u := fifteen(inMillilitres(p.Volume)), fifteen(inMillilitres(p.StdUnc))
				s.put(d.runLabel(i), m.Title, p.Order, roundedCell{v, u}, roundedCell{u, u}, p.Points, mark, "", words(both(m.Warnings, p.Warnings)))
			}
		}
	}
}

func words(list []string) string { return strings.Join(typesetAll(once(list)), "; ") }

// A budgetRef finds the standard uncertainty of a result on the sheet Budget.
type budgetRef struct {
	run    int // -1 for a mean
	result string
}

func refOf(run int, r assay.Result) budgetRef { return budgetRef{run, r.Name + "\x00" + r.Unit} }

// budget has the parts of every uncertainty, the shares as formulas.
func (b *workbook) budget(d Document) map[budgetRef]string {
	s := b.sheet("Budget", 20, 26, 34, 18, 12, 10, 60)
	s.head("run", "result", "part", "standard uncertainty", "unit", "share of u²", "basis")
	s.freeze()
	at := map[budgetRef]string{}
	if q := d.Determination; q != nil {
		for _, m := range q.Means {
			s.budgetOf("mean", m.Result, refOf(-1, m.Result), at)
		}
	}
	for i, e := range d.full() {
		for _, r := range mainFirst(e) {
			s.budgetOf(d.runLabel(i), r, refOf(i, r), at)
		}
	}
	return at
}

func (s *sheetRows) budgetOf(run string, r assay.Result, ref budgetRef, at map[budgetRef]string) {
	list := shares(r)
	if len(list) == 0 {
		return
	}
	first := s.row + 1
	parts := fmt.Sprintf("$D$%d:$D$%d", first, first+len(list)-1)
	for _, q := range list {
		row := s.row + 1
		s.put(run, symbol(r), typeset(q.Name), q.StdUnc, unitText(r), formulaCell(fmt.Sprintf("D%d^2/SUMSQ(%s)", row, parts)), typeset(q.Note))
	}
	row := s.put(run, symbol(r), "together", formulaCell("SQRT(SUMSQ("+parts+"))"), unitText(r), nil, "root of the sum of squares")
	for k := first; k < row; k++ {
		s.b.keep(s.b.f.SetCellStyle(s.name, fmt.Sprintf("F%d", k), fmt.Sprintf("F%d", k), s.b.percent()))
	}
	at[ref] = fmt.Sprintf("Budget!$D$%d", row)
	s.put()
}
