package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"meniscus/assay"
	"meniscus/report/figure"
)

// writePDF writes a page to hand in for each run, one for all of them where
// there are several, and what bears them out on the pages behind.
func writePDF(w io.Writer, d Document) error {
	s, err := setEvaluation(d)
	if err != nil {
		return err
	}
	return s.write(w, pdfInfo{s.foot, clean(d.By), d.Date})
}

// setEvaluation sets all pages.
func setEvaluation(d Document) (*setter, error) {
	title := clean(d.Title)
	if title == "" {
		title = "Evaluation of a titration"
	}
	paper := d.Paper
	if paper.Width == 0 {
		paper = Papers[0]
	}
	s := newSetter(paper, title)
	if d.Determination != nil || d.Brief || len(d.Evaluations) == 0 {
		s.summary(d, title)
	}
	for i, e := range d.full() {
		if err := s.run(d, i, e, title); err != nil {
			return nil, fmt.Errorf("drawing run %s: %w", d.runName(i), err)
		}
	}
	s.file(d)
	return s, nil
}

// mostTitle is how many characters of a title stand on the front; the rest
// stands overleaf.
const mostTitle = 600

// front is the head of a page: title, source, and who did it when.
func (s *setter) front(d Document, title, about string) piece {
	h := titleHand
	if utf8.RuneCountInString(title) > 110 {
		h = longHand
	}
	if r := []rune(title); len(r) > mostTitle {
		title = string(r[:mostTitle]) + " …"
	}
	return stack(4, paragraph(title, s.width(), h), paragraph(about, s.width(), labelHand), space(3), s.fields(d))
}

// fields are those that a person fills in, or that were given.
func (s *setter) fields(d Document) piece {
	date := ""
	if !d.Date.IsZero() {
		date = d.Date.Format("2006-01-02")
	}
	const gap = 14
	w := (s.width() - 2*gap) / 3
	var at []float64
	var cells []piece
	for i, f := range [][2]string{{"carried out by", clean(d.By)}, {"date", date}, {"checked by", ""}} {
		value := paragraph(f[1], w, textHand)
		at, cells = append(at, float64(i)*(w+gap)), append(cells, piece{max(value.height, textHand.lead) + 13, func(sh *sheet, x, y float64) {
			value.draw(sh, x, y)
			y += max(value.height, textHand.lead) + 2
			sh.marks = append(sh.marks, rule(x, y, w, figure.Muted), labelHand.text(f[0], x, y+8.5, figure.Start))
		}})
	}
	return beside(at, cells...)
}

// run sets the page of a run and what bears it out.
func (s *setter) run(d Document, i int, e *assay.Evaluation, title string) error {
	about := "readings from " + clean(d.Source)
	if d.Source == "" {
		about = ""
	}
	if len(d.Evaluations) > 1 {
		about = title
		title = "Run " + clean(d.runName(i))
	}
	if e.Curve != nil {
		about = strings.TrimPrefix(about+", "+readingsWords(e), ", ")
	}
	p, err := newFrontPage(s, e)
	if err != nil {
		return err
	}
	s.newPage()
	s.put(p.compose(s, s.front(d, title, about)), 0)
	s.newPage()
	if utf8.RuneCountInString(title) > mostTitle {
		s.heading("Title in full")
		s.flow(title, textHand)
	}
	p.overleaf(s)
	s.appendix(e)
	return nil
}

func readingsWords(e *assay.Evaluation) string {
	out := 0
	for _, r := range e.Curve.Readings {
		if r.Excluded != "" {
			out++
		}
	}
	text := fmt.Sprintf("%d readings", len(e.Curve.Readings))
	if out > 0 {
		text += fmt.Sprintf(", %d left out", out)
	}
	return text
}

// A remarkList is a list on the front, as much of it as has room.
type remarkList struct {
	title string
	hand  hand
	list  []string
	kept  int
}

// A frontPage is the front of a run.
type frontPage struct {
	e       *assay.Evaluation
	fig     figure.Figure
	remarks []*remarkList // the least important last
}

func newFrontPage(s *setter, e *assay.Evaluation) (*frontPage, error) {
	p := &frontPage{e: e}
	if e.Curve != nil {
		c := Figure(e)
		c.Title, c.Methods, c.Size = nil, nil, figure.Column // the page has them
		var err error
		if p.fig, err = figure.Draw(c); err != nil {
			return nil, err
		}
	}
	doubtful := typesetAll(doubts(e))
	for _, f := range pageFindings(e) {
		doubtful = append(doubtful, f.Confidence+": "+f.Title)
	}
	var refused, about []string
	for _, g := range refusals(e) {
		refused = append(refused, g.titles+": "+typeset(g.text))
	}
	for _, g := range methodWarnings(e) {
		about = append(about, g.titles+": "+typeset(g.text))
	}
	for _, l := range []remarkList{
		{"Doubts", doubtHand, doubtful, 0},
		{"Methods that refuse", sectionHand, refused, 0},
		{"Assumed", sectionHand, typesetAll(once(e.Assumed)), 0},
		{"Doubts about methods", sectionHand, about, 0},
	} {
		if len(l.list) > 0 {
			l.kept = len(l.list)
			p.remarks = append(p.remarks, &l)
		}
	}
	return p, nil
}

// Scales of the figure: as large as there is room for, and how small it gets
// before remarks go overleaf.
const (
	largestFigure  = 1.085
	smallestFigure = 0.8
)

// compose sets the front in the height of a page: the figure grows or shrinks,
// then remarks go overleaf, the least important first.
func (p *frontPage) compose(s *setter, front piece) piece {
	const gap = 9
	for {
		result, lower := p.result(s.width()), p.lower(s.width())
		if p.fig.Height == 0 {
			if page := stack(gap, front, result, lower); page.height <= s.height() || !p.drop() {
				return page
			}
			continue
		}
		room := s.height() - front.height - result.height - lower.height - 3*gap
		scale := min(largestFigure, room/p.fig.Height)
		if scale >= smallestFigure || !p.drop() {
			return stack(gap, front, result, placedFigure(p.fig, s.width(), max(scale, 0.4)), lower)
		}
	}
}

// drop sends the last remark that is left overleaf.
func (p *frontPage) drop() bool {
	for i := len(p.remarks) - 1; i >= 0; i-- {
		if p.remarks[i].kept > 0 {
			p.remarks[i].kept--
			return true
		}
	}
	return false
}

// result is what was found, with U and k, and how.
func (p *frontPage) result(width float64) piece {
	e := p.e
	if e.Recommended < 0 {
		warn := resultHand
		warn.role = figure.Warn
		return stack(2, paragraph(noResult(e), width, warn), paragraph("The reasons are below or overleaf.", width, textHand))
	}
	var list []piece
	for i, r := range mainFirst(e) {
		h := resultHand
		if i > 0 {
			h = textHand
		}
		list = append(list, paragraph(resultSentence(r), width, h))
	}
	for _, q := range e.EquivalencePoints {
		list = append(list, paragraph(pointWords(e, q), width, textHand))
	}
	m := e.Methods[e.Recommended]
	return stack(2, append(list, paragraph("By "+inSentence(m.Title)+": "+typeset(e.Reason)+".", width, textHand))...)
}

// noResult says who refuses: all methods, or the one that was asked for.
func noResult(e *assay.Evaluation) string {
	for _, m := range e.Methods {
		if len(m.Points) > 0 {
			return "No result: the method that was asked for refuses."
		}
	}
	return "No result: every method refuses."
}

// mainFirst lists the results, contents before the concentrations they come
// from.
func mainFirst(e *assay.Evaluation) []assay.Result {
	return append(append([]assay.Result{}, e.Contents...), e.Concentrations...)
}

// resultSentence is "w(Fe) = 1.1962 ± 0.0033 % (expanded uncertainty U with
// k = 2, 95 %)".
func resultSentence(r assay.Result) string {
	text := symbol(r) + " = " + expanded(r)
	if !(r.Expanded() > 0) {
		return text + " (no uncertainty known)"
	}
	return text + " (expanded uncertainty U with " + interval(r) + ")"
}

// lower is what stands under the figure.
func (p *frontPage) lower(width float64) piece {
	const gap = 22
	left := 0.58*width - gap/2
	right := width - left - gap
	var budgets []piece
	if list := mainFirst(p.e); p.e.Recommended >= 0 && len(list) > 0 {
		budgets = append(budgets, budgetBars(list[0], right))
	}
	tables := beside([]float64{0, left + gap}, methodTable(p.e, left), stack(6, budgets...))
	if len(budgets) == 0 {
		tables = methodTable(p.e, width)
	}
	half := (width - gap) / 2
	var columns [2][]piece
	var heights [2]float64
	for _, l := range p.remarks {
		q := l.piece(half)
		i := 0
		if heights[1] < heights[0] {
			i = 1
		}
		columns[i] = append(columns[i], q)
		heights[i] += q.height
	}
	notes := beside([]float64{0, half + gap}, stack(7, columns[0]...), stack(7, columns[1]...))
	return stack(9, tables, notes)
}

// piece is the list as far as it is kept.
func (l *remarkList) piece(width float64) piece {
	list := []piece{paragraph(l.title, width, l.hand)}
	list = append(list, items(l.list[:l.kept], width, smallHand)...)
	if more := len(l.list) - l.kept; more > 0 {
		word := "more "
		if l.kept == 0 {
			word = ""
		}
		list = append(list, paragraph(fmt.Sprintf("%d %soverleaf", more, word), width, labelHand))
	}
	return stack(0, list...)
}

// methodTable has the end points by every method that gives one.
func methodTable(e *assay.Evaluation, width float64) piece {
	rows := [][]string{{"method", "V_e/mL", "u/mL", "readings"}}
	var chosen []bool
	for i, m := range e.Methods {
		for k, p := range m.Points {
			name := m.Title
			if k > 0 {
				name = ""
			} else if i == e.Recommended {
				name += " (used)"
			}
			v, u := rounded(inMillilitres(p.Volume), inMillilitres(p.StdUnc))
			rows, chosen = append(rows, []string{name, v, u, strconv.Itoa(p.Points)}), append(chosen, i == e.Recommended)
		}
	}
	head := paragraph("Methods side by side", width, sectionHand)
	if len(rows) == 1 {
		return stack(2, head, paragraph("None gives a number.", width, smallHand))
	}
	columns := fitColumns(rows, "lrrr", width, smallBold)
	list := []piece{head, headRow(rows[0], columns)}
	for i, row := range rows[1:] {
		h := smallHand
		if chosen[i] {
			h = smallBold
		}
		list = append(list, tableRow(row, columns, h))
	}
	return stack(1, list...)
}

// mostBars is how many parts of an uncertainty have a bar on the front.
const mostBars = 7

// budgetBars shows what an uncertainty is made of, by shares of the variance.
func budgetBars(r assay.Result, width float64) piece {
	list := shares(r)
	if len(list) == 0 {
		return piece{}
	}
	const barWidth, shareWidth = 48, 26
	name := width - barWidth - shareWidth - 6
	pieces := []piece{
		paragraph("What u of "+symbol(r)+" is made of", width, sectionHand),
		paragraph("share of u²; u = "+twoFigures(r.StdUnc)+" "+unitText(r), width, labelHand),
	}
	rest := 0.0
	for i, q := range list {
		if i >= mostBars {
			rest += q.share
			continue
		}
		pieces = append(pieces, barRow(typeset(q.Name), q.share, name, barWidth, width))
	}
	if n := len(list) - mostBars; n > 0 {
		pieces = append(pieces, barRow(fmt.Sprintf("%d more", n), rest, name, barWidth, width))
	}
	return stack(1.5, pieces...)
}

func barRow(text string, share, name, bar, width float64) piece {
	label := paragraph(text, name, smallHand)
	value := stack(0, anchored(percent(share), width, smallHand, figure.End)...)
	return piece{label.height, func(s *sheet, x, y float64) {
		label.draw(s, x, y)
		value.draw(s, x, y)
		mid := y + 0.5*smallHand.lead
		s.marks = append(s.marks, rule(x+name+3, mid+2.5, bar, figure.Faint))
		if share > 0 {
			s.marks = append(s.marks, block(x+name+3, mid-2.5, bar*min(share, 1), 5, figure.Ink))
		}
	}}
}

// block is a filled rectangle.
func block(x, y, width, height float64, role figure.Role) figure.Mark {
	return figure.Path{
		Lines:  [][]figure.Point{{{X: x, Y: y}, {X: x + width, Y: y}, {X: x + width, Y: y + height}, {X: x, Y: y + height}}},
		Closed: true, Fill: figure.Paint{Role: role},
	}
}

// overleaf sets the remarks that the front had no room for.
func (p *frontPage) overleaf(s *setter) {
	for _, l := range p.remarks {
		if l.kept == len(l.list) {
			continue
		}
		s.heading(l.title)
		for _, text := range l.list {
			s.flow("– "+text, textHand)
		}
	}
}
