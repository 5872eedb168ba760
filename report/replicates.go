package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"meniscus/assay"
	"meniscus/uncertainty"
)

// A ReplicateSet is repeated results of one quantity, on their own.
type ReplicateSet struct {
	Title, Unit string
	Names       []string // of the values; nil numbers them
	Values      *uncertainty.Replicates
}

func (s ReplicateSet) name(i int) string {
	if i < len(s.Names) {
		return clean(s.Names[i])
	}
	return strconv.Itoa(i + 1)
}

// unitAfter is the unit with its blank; "" for none.
func (s ReplicateSet) unitAfter() string {
	if s.Unit == "" {
		return ""
	}
	return " " + s.Unit
}

// ReplicateFormats lists the formats of WriteReplicates.
var ReplicateFormats = []string{"text", "json", "csv"}

// WriteReplicates writes repeated results in one of ReplicateFormats.
func WriteReplicates(w io.Writer, format string, s ReplicateSet) error {
	var err error
	switch format {
	case "json":
		enc := json.NewEncoder(w)
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		err = enc.Encode(struct {
			Schema string `json:"schema"`
			Title  string `json:"title"`
			Unit   string `json:"unit"`
			jsonReplicates
		}{"meniscus.replicates/1", s.Title, s.Unit, toReplicates(s)})
	case "csv":
		out := csv.NewWriter(w)
		err = out.WriteAll(s.csvRows())
	default:
		t := &typist{}
		if s.Title != "" {
			t.paragraph(0, 0, clean(s.Title))
		}
		t.replicates(s)
		_, err = io.WriteString(w, t.String())
	}
	if err != nil {
		return fmt.Errorf("writing the replicates: %w", err)
	}
	return nil
}

// rows is the table of values, header first.
func (s ReplicateSet) rows() [][]string {
	r := s.Values
	rows := [][]string{{"run", s.valueHead(), "from the mean", "remark"}}
	for i, x := range r.Values {
		value, _ := rounded(x, r.SD)
		deviation, _ := rounded(x-r.Mean, r.SD)
		if !(r.SD > 0) {
			deviation = "0"
		}
		rows = append(rows, []string{s.name(i), value, deviation, s.remark(i)})
	}
	return rows
}

func (s ReplicateSet) valueHead() string {
	if s.Unit == "" {
		return "value"
	}
	return over("value", s.Unit)
}

// remark says what is doubtful about a value.
func (s ReplicateSet) remark(i int) string {
	r := s.Values
	var list []string
	if i == r.Doubtful() {
		list = append(list, "doubtful, kept in the mean")
	}
	if c := r.Concordance; c != nil && !c.Holds() {
		in := false
		for _, k := range c.Members {
			in = in || k == i
		}
		if !in {
			list = append(list, "not concordant")
		}
	}
	return strings.Join(list, "; ")
}

// words sums up repeated values, a sentence an item.
func (s ReplicateSet) words() []string {
	r, u := s.Values, s.unitAfter()
	mean, _ := rounded(r.Mean, r.StdUnc)
	list := []string{
		fmt.Sprintf("mean %s%s of %d, median %s%s", mean, u, len(r.Values), first(rounded(r.Median, r.StdUnc)), u),
		fmt.Sprintf("standard deviation s = %s%s; relative %s", twoFigures(r.SD), u, relative(r.RelativeSD)),
		fmt.Sprintf("95 %% interval of the mean by Student's t: ± %s%s (t = %s, %s)", twoFigures(r.Expanded()), u, plain(r.Coverage, 4), degrees(r.Freedom)),
	}
	if r.SD == 0 {
		list = list[:1]
		list = append(list, "all values are equal: they scatter by less than they are written to, so they give neither s nor an interval; the mean is no better known than their last digit")
		return append(list, r.Notes...)
	}
	if len(r.Values) > 2 {
		list = append(list, s.testWords(&r.Grubbs), s.testWords(&r.Dixon))
	}
	if w := r.Without; w != nil {
		list = append(list, fmt.Sprintf("without %s, the most distant: mean %s%s, s = %s%s; with it %s%s, s = %s%s. It is left out only for a cause that is known",
			s.name(r.Suspect), first(rounded(w.Mean, r.StdUnc)), u, twoFigures(w.SD), u, mean, u, twoFigures(r.SD), u))
	}
	if c := r.Concordance; c != nil {
		list = append(list, s.concordanceWords(c))
	}
	if q := r.Robust; q != nil {
		list = append(list, fmt.Sprintf("robust mean by Algorithm A (ISO 13528): %s%s, robust s = %s%s", plusMinus(q.Mean, q.StdUnc), u, twoFigures(q.SD), u))
	}
	return append(list, r.Notes...)
}

func first(a, _ string) string { return a }

func relative(x float64) string {
	if math.IsNaN(x) {
		return "– (the mean is 0)"
	}
	if x > 0 && x < 0.001 {
		return twoFigures(x*100) + " %"
	}
	return plain(100*x, 3) + " %"
}

// testWords is what a test says, with the rule and its critical values.
func (s ReplicateSet) testWords(t *uncertainty.OutlierTest) string {
	if t.Skipped != "" {
		return t.Rule + ": not made (" + t.Skipped + ")"
	}
	verdict := map[string]string{
		uncertainty.Fits:      "nothing doubtful",
		uncertainty.Straggler: "a straggler, above the critical value at 5 %",
		uncertainty.Outlier:   "an outlier, above the critical value at 1 %",
	}[t.Verdict()]
	return fmt.Sprintf("%s: %s for %s, critical %s (5 %%) and %s (1 %%), both ends tested: %s", t.Rule, fixedPlaces(t.Statistic), s.name(t.Index), fixedPlaces(t.At5), fixedPlaces(t.At1), verdict)
}

func fixedPlaces(x float64) string { return strconv.FormatFloat(x, 'f', 3, 64) }

func (s ReplicateSet) concordanceWords(c *uncertainty.Concordance) string {
	u := s.unitAfter()
	text := fmt.Sprintf("concordance within %s%s: the range is %s%s, so ", plain(c.Limit, 6), u, plain(c.Range, 4), u)
	if c.Holds() {
		return text + "all agree"
	}
	if len(c.Members) < 2 {
		return text + "no two agree"
	}
	var names []string
	for _, i := range c.Members {
		names = append(names, s.name(i))
	}
	return text + fmt.Sprintf("not all agree; %s do, their mean is %s%s. Choosing by agreement makes s too small", strings.Join(names, ", "), first(rounded(c.Mean, s.Values.StdUnc)), u)
}

func (t *typist) replicates(s ReplicateSet) {
	rows := s.rows()
	if more := len(rows) - 1 - briefTextRuns; more > 0 {
		t.table(rows[:briefTextRuns+1], "lrrl")
		t.paragraph(2, 4, fmt.Sprintf("and %d more; --format csv or json has all of them", more))
	} else {
		t.table(rows, "lrrl")
	}
	for _, w := range s.words() {
		t.paragraph(2, 4, w)
	}
}

func (s ReplicateSet) csvRows() [][]string {
	rows := [][]string{{"run", "value", "unit", "from_mean", "doubtful", "grubbs", "grubbs_critical_5", "dixon", "dixon_critical_5"}}
	r := s.Values
	for i, x := range r.Values {
		row := []string{s.name(i), number(x), s.Unit, number(x - r.Mean), "", "", "", "", ""}
		if i == r.Doubtful() {
			row[4] = "yes"
		}
		if r.Grubbs.Skipped == "" && i == r.Grubbs.Index {
			row[5], row[6] = number(r.Grubbs.Statistic), number(r.Grubbs.At5)
		}
		if r.Dixon.Skipped == "" && i == r.Dixon.Index {
			row[7], row[8] = number(r.Dixon.Statistic), number(r.Dixon.At5)
		}
		rows = append(rows, row)
	}
	return append(rows,
		[]string{"mean", number(r.Mean), s.Unit, "", "", "", "", "", ""},
		[]string{"standard deviation", number(r.SD), s.Unit, "", "", "", "", "", ""},
		[]string{"half 95 % interval of the mean", number(r.Expanded()), s.Unit, "", "", "", "", "", ""})
}

// jsonReplicates has the statistics of repeated values.
type jsonReplicates struct {
	Values      []jsonReplicate  `json:"values"`
	N           int              `json:"n"`
	Mean        *float64         `json:"mean"`
	SD          *float64         `json:"standard_deviation"`
	RelativeSD  *float64         `json:"relative_standard_deviation"`
	StdUnc      *float64         `json:"standard_uncertainty_of_mean"`
	Freedom     *float64         `json:"degrees_of_freedom"`
	Coverage    *float64         `json:"t"`
	Expanded    *float64         `json:"half_interval_95"`
	Median      *float64         `json:"median"`
	Grubbs      *jsonOutlier     `json:"grubbs"`
	Dixon       *jsonOutlier     `json:"dixon"`
	Doubtful    *string          `json:"doubtful"` // name of the run; null for none
	Without     *jsonWithout     `json:"without"`
	Robust      *jsonRobust      `json:"robust"`
	Concordance *jsonConcordance `json:"concordance"`
	Notes       []string         `json:"notes"`
}

type jsonReplicate struct {
	Run   string   `json:"run"`
	Value *float64 `json:"value"`
}

type jsonOutlier struct {
	Rule      string   `json:"rule"`
	Run       string   `json:"run"`
	Statistic *float64 `json:"statistic"`
	At5       *float64 `json:"critical_5"`
	At1       *float64 `json:"critical_1"`
	Verdict   string   `json:"verdict"`
	Skipped   string   `json:"skipped,omitempty"`
}

type jsonWithout struct {
	Run  string   `json:"run"`
	Mean *float64 `json:"mean"`
	SD   *float64 `json:"standard_deviation"`
}

type jsonRobust struct {
	Rule string   `json:"rule"`
	Mean *float64 `json:"mean"`
	SD   *float64 `json:"standard_deviation"`
}

type jsonConcordance struct {
	Limit *float64 `json:"limit"`
	Range *float64 `json:"range"`
	Holds bool     `json:"holds"`
	Runs  []string `json:"runs"`
	Mean  *float64 `json:"mean"`
}

func toReplicates(s ReplicateSet) jsonReplicates {
	r := s.Values
	out := jsonReplicates{
		N: len(r.Values), Mean: optional(r.Mean), SD: optional(r.SD), RelativeSD: optional(r.RelativeSD), StdUnc: optional(r.StdUnc),
		Freedom: optional(r.Freedom), Coverage: optional(r.Coverage), Expanded: optional(r.Expanded()), Median: optional(r.Median),
		Grubbs: s.outlier(&r.Grubbs), Dixon: s.outlier(&r.Dixon), Notes: both(r.Notes),
	}
	for i, x := range r.Values {
		out.Values = append(out.Values, jsonReplicate{s.name(i), optional(x)})
	}
	if i := r.Doubtful(); i >= 0 {
		name := s.name(i)
		out.Doubtful = &name
	}
	if w := r.Without; w != nil {
		out.Without = &jsonWithout{s.name(r.Suspect), optional(w.Mean), optional(w.SD)}
	}
	if q := r.Robust; q != nil {
		out.Robust = &jsonRobust{"Algorithm A, ISO 13528", optional(q.Mean), optional(q.SD)}
	}
	if c := r.Concordance; c != nil {
		q := &jsonConcordance{optional(c.Limit), optional(c.Range), c.Holds(), []string{}, optional(c.Mean)}
		for _, i := range c.Members {
			q.Runs = append(q.Runs, s.name(i))
		}
		out.Concordance = q
	}
	return out
}

func (s ReplicateSet) outlier(t *uncertainty.OutlierTest) *jsonOutlier {
	o := &jsonOutlier{Rule: t.Rule, Verdict: t.Verdict(), Skipped: t.Skipped}
	if t.Skipped == "" {
		o.Run, o.Statistic, o.At5, o.At1 = s.name(t.Index), optional(t.Statistic), optional(t.At5), optional(t.At1)
	}
	return o
}

// setOf is the table of a mean over runs.
func setOf(m assay.Mean) ReplicateSet {
	return ReplicateSet{Unit: unitText(m.Result), Names: m.Runs, Values: m.Replicates}
}

// meanTitle is "c(Fe²⁺) = 0.04998 ± 0.00012 mol/L (k = 2.1, 95 %)".
func meanTitle(m assay.Mean) string {
	return fmt.Sprintf("%s = %s (%s)", symbol(m.Result), expanded(m.Result), interval(m.Result))
}

// means writes what several runs say together.
func (t *typist) means(d *assay.Determination) {
	if b := d.Blank; b != nil {
		t.heading("Blank, measured")
		t.paragraph(2, 4, blankWords(b))
	}
	for _, m := range d.Means {
		t.heading("Mean of the runs: " + symbol(m.Result))
		t.paragraph(2, 4, meanTitle(m))
		t.replicates(setOf(m))
		for _, n := range m.Notes {
			t.paragraph(2, 4, n)
		}
		t.budget(m.Result)
	}
}

// blankWords is "0.052 ± 0.011 mL, from the scatter of 3 blanks".
func blankWords(b *assay.BlankResult) string {
	text := plusMinus(b.Value*1e3, b.StdUnc*1e3) + " mL (± one standard uncertainty), " + b.How
	if !(b.StdUnc > 0) {
		text = plusMinus(b.Value*1e3, 0) + " mL, taken as exact: no uncertainty is stated"
	}
	if len(b.Volumes) > 1 {
		var list []string
		for _, v := range b.Volumes {
			list = append(list, first(rounded(v*1e3, b.StdUnc*1e3)))
		}
		text += ": " + strings.Join(list, ", ") + " mL"
	}
	return text
}

// degrees is "1 degree of freedom".
func degrees(nu float64) string {
	if nu = math.Floor(nu); nu == 1 {
		return "1 degree of freedom"
	}
	return fmt.Sprintf("%.0f degrees of freedom", nu)
}

// A pageMean is a mean over runs on the page.
type pageMean struct {
	pageResult
	Head  []string
	Rows  [][]string
	More  int
	Words []string
}

func (p *page) addMeans(d Document) {
	q := d.Determination
	if q == nil {
		return
	}
	if q.Blank != nil {
		p.Blank = blankWords(q.Blank)
	}
	for _, m := range q.Means {
		set := setOf(m)
		rows := set.rows()
		r := pageMean{pageResult: newPageResult(m.Result, nil), Head: rows[0], Rows: rows[1:], Words: append(set.words(), m.Notes...)}
		if len(r.Rows) > briefTextRuns {
			r.More = len(r.Rows) - briefTextRuns
			r.Rows = r.Rows[:briefTextRuns]
		}
		p.Means = append(p.Means, r)
	}
}
