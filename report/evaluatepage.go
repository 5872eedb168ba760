package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/report/figure"
)

// PotentialNotes are the formal potentials with something to say about them.
func (r *pageRun) PotentialNotes() []pagePotential {
	return slices.DeleteFunc(slices.Clone(r.Potentials), func(p pagePotential) bool { return p.Note == "" })
}

// A page is what the template shows; everything in it is text for people,
// except where template.HTML says otherwise.
type page struct {
	Title, Source string
	Who           string
	Style, Fonts  template.CSS
	Runs          []*pageRun
	Mean          string
	Blank         string
	Means         []pageMean
	Brief         [][]string // a line for each run instead of Runs
	BriefWords    []string
	BadCells      []string
	MoreBad       int
	Notes         []string
}

type pageRun struct {
	Name, ID     string // Name is "" for a single run
	Readings     string
	Results      []pageResult
	Points       []string
	Method       string
	Reason       string
	None         bool // no method gives a number
	Doubts       []string
	Diagnosis    []pageFinding
	Wide, Narrow template.HTML
	Room         template.HTML // for a projector; "" but in a Fragment
	Caption      string
	Methods      []pageMethod
	Refusals     []group
	MethodNotes  []group
	Potentials   []pagePotential
	Media        []string
	Fit          *pageFit
	Profiles     *pageProfiles
	Windows      []string
	Used         [][2]string
	Assumed      []string
	Unit         string // of the readings
	Table        []pageReading
	LeftOut      []string
}

// Title of groups for the template.
func (g group) Titles() string { return g.titles }

// Text is what they say.
func (g group) Text() string { return typeset(g.text) }

type pageResult struct {
	Symbol, Value, Interval, Note string
	Steps                         []step
	Parts                         []pagePart
	Unit, StdUnc, Over            string
	Main                          bool // its budget stands open
}

type pagePart struct {
	Name, StdUnc, Share, Note string
	Percent                   float64
}

type pageMethod struct {
	Title, Volume, StdUnc string
	Points                int
	Recommended           bool
	Spot                  spot
}

// A spot is an end point on a scale 0 to 100 that all methods share.
type spot struct {
	Low, At, High float64
	Line          float64 // the recommended method's
	Shown, Marked bool
}

type pagePotential struct {
	Couple, Value, StdUnc, Expanded, From, Note string
	Steps                                       []step
}

type pageFit struct {
	Parameters  [][]string
	Names       []string
	Correlation [][]string
	Fixed       []string
	Warnings    []string
	Residuals   string
}

type pageReading struct {
	Row                             string
	Volume, Value, Fitted, Residual string
	Reduced                         string
	Excluded                        string
}

func newPage(d Document) (*page, error) {
	p := &page{Title: clean(d.Title), Source: clean(d.Source), Who: d.who()}
	if p.Who != "" {
		p.Who = strings.ToUpper(p.Who[:1]) + p.Who[1:]
	}
	if p.Title == "" {
		p.Title = "Evaluation of a titration"
	}
	var err error
	if p.Style, err = stylesheet(); err != nil {
		return nil, err
	}
	p.addMeans(d)
	if d.Brief {
		p.Brief, p.BriefWords = d.briefTable()
	}
	for i, e := range d.full() {
		r, err := newPageRun(e, fmt.Sprintf("run%d", i+1))
		if err != nil {
			return nil, fmt.Errorf("drawing run %s: %w", d.runName(i), err)
		}
		if len(d.Evaluations) > 1 {
			r.Name = "Run " + clean(d.runName(i))
		}
		p.Runs = append(p.Runs, r)
	}
	if m, ok := d.mean(); ok && d.Determination == nil {
		p.Mean = m.words()
	}
	if d.Record != nil {
		for _, b := range d.Record.BadCells {
			p.BadCells = append(p.BadCells, clean(badCellWords(b)))
		}
		p.MoreBad = d.Record.MoreBad
		p.Notes = typesetAll(d.Record.Notes)
	}
	return p, nil
}

func typesetAll(list []string) []string {
	var out []string
	for _, s := range list {
		out = append(out, typeset(s))
	}
	return out
}

func newPageRun(e *assay.Evaluation, id string) (*pageRun, error) {
	r := &pageRun{
		ID: id, None: e.Recommended < 0, Reason: typeset(e.Reason), Doubts: typesetAll(doubts(e)), Diagnosis: pageFindings(e), Assumed: typesetAll(once(e.Assumed)),
		Methods: pageMethods(e), Refusals: refusals(e), MethodNotes: methodWarnings(e), Potentials: pagePotentials(e), Media: mediaWords(e), Fit: newPageFit(e), Profiles: newPageProfiles(e), Windows: append(windowWords(e), biasWords(e)...),
	}
	for _, u := range used(e.Setup) {
		r.Used = append(r.Used, [2]string{u[0], typeset(u[1])})
	}
	for i, c := range e.Concentrations {
		r.Results = append(r.Results, newPageResult(c, concentrationSteps(e, i)))
	}
	for i, c := range e.Contents {
		r.Results = append(r.Results, newPageResult(c, contentSteps(e, i)))
	}
	if n := len(r.Results); n > 0 {
		r.Results[n-1].Main = true
	}
	if e.Recommended >= 0 {
		r.Method = inSentence(e.Methods[e.Recommended].Title)
		for _, q := range e.EquivalencePoints {
			r.Points = append(r.Points, pointWords(e, q))
		}
	}
	if e.Curve == nil {
		return r, nil
	}
	r.readings(e)
	return r, r.draw(e)
}

// draw makes the figure twice: as wide as the column, and for a phone.
func (r *pageRun) draw(e *assay.Evaluation) (err error) {
	c := Figure(e)
	r.Caption = "Readings (circles)"
	if e.Fit != nil {
		r.Caption += ", the fitted curve (line) and, below, what it leaves of each reading, over the standard deviation that this should have"
	}
	r.Caption += "."
	if !r.None {
		r.Caption += " Ticks on the scale are end points; the foot of the mark at the equivalence is as wide as its standard uncertainty."
	}
	if r.Wide, err = drawn(c, r.ID+"-wide"); err != nil {
		return err
	}
	c.Size, c.Methods = figure.Phone, nil // the table has them
	r.Narrow, err = drawn(c, r.ID+"-narrow")
	return err
}

func (r *pageRun) readings(e *assay.Evaluation) {
	scale, unit := shown(e.Curve.Kind)
	r.Unit = e.Curve.Kind.String()
	if unit != "" {
		r.Unit = "E/" + unit
	}
	out := 0
	for i, q := range byReading(e) {
		x := &e.Curve.Readings[i]
		row := pageReading{Volume: plain(inMillilitres(x.Volume), 10), Value: plain(x.Value*scale, 10), Excluded: clean(x.Excluded)}
		if x.Row > 0 {
			row.Row = strconv.Itoa(x.Row)
		}
		if q != nil {
			row.Fitted, row.Residual = fixed(q.Fitted*scale, e.Curve.Kind), fixed(q.Residual*scale, e.Curve.Kind)
			row.Reduced = fixed(q.Reduced, curve.Potential)
		}
		if x.Excluded != "" {
			out++
			r.LeftOut = append(r.LeftOut, fmt.Sprintf("row %d, %s mL: %s", x.Row, row.Volume, row.Excluded))
		}
		r.Table = append(r.Table, row)
	}
	r.Readings = fmt.Sprintf("%d readings", len(r.Table))
	if out > 0 {
		r.Readings += fmt.Sprintf(", %d left out", out)
	}
}

// fixed writes a fitted value with the decimals of a good meter: 0.01 mV,
// 0.0001 of pH.
func fixed(x float64, k curve.Kind) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "–"
	}
	decimals := 4
	if k == curve.Potential {
		decimals = 2
	}
	return minus(strconv.FormatFloat(x, 'f', decimals, 64))
}

func newPageResult(r assay.Result, steps []step) pageResult {
	p := pageResult{
		Symbol: symbol(r), Value: expanded(r), Interval: interval(r), Note: typeset(r.Note),
		Steps: steps, Unit: unitText(r), Over: over("u", unitText(r)), StdUnc: twoFigures(r.StdUnc),
	}
	for _, s := range shares(r) {
		q := pagePart{Name: typeset(s.Name), StdUnc: twoFigures(s.StdUnc), Share: percent(s.share), Note: typeset(s.Note)}
		if !math.IsNaN(s.share) {
			q.Percent = math.Round(1000*s.share) / 10
		}
		p.Parts = append(p.Parts, q)
	}
	return p
}

func pageMethods(e *assay.Evaluation) []pageMethod {
	var list []pageMethod
	for i, m := range e.Methods {
		for _, p := range m.Points {
			v, u := rounded(inMillilitres(p.Volume), inMillilitres(p.StdUnc))
			list = append(list, pageMethod{m.Title, v, u, p.Points, i == e.Recommended, newSpot(e, p)})
		}
	}
	return list
}

// newSpot places an end point on the scale of its order, which spans what the
// methods give.
func newSpot(e *assay.Evaluation, p assay.Point) spot {
	low, high := math.Inf(1), math.Inf(-1)
	s := spot{Shown: p.StdUnc > 0}
	line := math.NaN()
	for i, m := range e.Methods {
		for _, q := range m.Points {
			if q.Order != p.Order {
				continue
			}
			low, high = min(low, float64(q.Volume-q.StdUnc)), max(high, float64(q.Volume+q.StdUnc))
			if i == e.Recommended {
				line = float64(q.Volume)
			}
		}
	}
	if !(high > low) || math.IsInf(high-low, 0) {
		return spot{}
	}
	at := func(v float64) float64 { return math.Round((4+92*(v-low)/(high-low))*100) / 100 }
	s.Low, s.At, s.High = at(float64(p.Volume-p.StdUnc)), at(float64(p.Volume)), at(float64(p.Volume+p.StdUnc))
	if !math.IsNaN(line) {
		s.Line, s.Marked = at(line), true
	}
	return s
}

// Width is that of the bar of the uncertainty.
func (s spot) Width() float64 { return math.Round((s.High-s.Low)*100) / 100 }

func pagePotentials(e *assay.Evaluation) []pagePotential {
	var list []pagePotential
	for _, r := range e.FormalPotentials {
		v, u := rounded(r.Value, r.StdUnc)
		list = append(list, pagePotential{typeset(r.Name), v, u, twoFigures(r.Expanded()), r.From, typeset(r.Note), potentialSteps(e, r)})
	}
	return list
}

func newPageFit(e *assay.Evaluation) *pageFit {
	f := e.Fit
	if f == nil {
		return nil
	}
	p := &pageFit{Fixed: typesetAll(f.Fixed), Residuals: residualWords(f)}
	if e.Recommended != 0 {
		p.Warnings = typesetAll(f.Warnings)
	}
	for i, q := range f.Estimates {
		name, value, u, unit := parameterText(q)
		p.Parameters = append(p.Parameters, []string{name, value, u, unit})
		p.Names = append(p.Names, name)
		row := []string{}
		for j := range f.Estimates {
			row = append(row, minus(strconv.FormatFloat(correlation(f, i, j), 'f', 3, 64)))
		}
		p.Correlation = append(p.Correlation, row)
	}
	return p
}
