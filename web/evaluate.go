package web

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/store"
	"meniscus/unit"
)

// An evaluatePage is what the readings of a record say.
type evaluatePage struct {
	page
	Setup    string // what is wrong with the setup; "" where it can be read
	Runs     []evaluatedRun
	Sentence string // what it comes to
	Report   template.HTML
	Methods  []choice
	Robust   bool
	Formats  []report.Format
	Author   string
	Archived []archived
	Changed  bool // the newest archived result was computed from something else
}

// A choice is an option of a list.
type choice struct {
	Value, Word string
	Chosen      bool
}

// An evaluatedRun is a run with its readings, to leave some out or take them in.
type evaluatedRun struct {
	No      int64
	Name    string
	Blank   bool
	LeftOut string
	Problem string // why it gives no curve
	Unit    string
	Drawn   int // which figure of the report has them; -1 for none
	Rows    []takenRow
	More    int // rows that are not listed
}

// A takenRow is a reading with the volume added (mL), as the figure has it; ""
// where there is none.
type takenRow struct {
	store.Reading
	Added string
}

// takenRows turns readings of the burette into volumes added.
func takenRows(r store.RunReadings, s *setup.Setup) []takenRow {
	burette := fillings(s)
	list := make([]takenRow, len(r.Readings))
	for i, q := range r.Readings {
		list[i].Reading = q
		row := newRow(q, r.Run.Unit)
		if row.added(burette); row.X != nil && row.Y != nil {
			list[i].Added = strconv.FormatFloat(*row.X, 'f', -1, 64)
		}
	}
	return list
}

// mostRows is how many readings of a run the page lists.
const mostRows = 2000

// An archived result is one that was kept.
type archived struct {
	No            int64
	When, By, How string
	Same          bool // computed from what is there now
}

func (s *Server) showEvaluate(w http.ResponseWriter, r *http.Request) error {
	d, ok, err := s.chosen(r)
	if err != nil {
		return err
	}
	if !ok {
		return s.begin(w, r, "Evaluate", "This page says what readings mean: end points by every method, the content with its uncertainty, and what to doubt.")
	}
	p := evaluatePage{page: s.recordPage(d.Record, "Evaluate", "evaluate"), Author: knownAuthor(r), Robust: r.FormValue("robust") != ""}
	p.Style = "report.css"
	p.Runs = evaluatedRuns(d)
	p.Methods = methodChoices(r.FormValue("method"))
	p.Formats = report.Formats
	doc, err := document(d, r)
	switch {
	case err != nil:
		p.Setup = report.Typeset(err.Error())
	case doc != nil:
		p.Sentence = report.Sentence(*doc)
		if p.Report, err = report.Fragment(*doc); err != nil {
			return err
		}
	}
	if p.Archived, err = s.archived(r, d); err != nil {
		return err
	}
	p.Changed = len(p.Archived) > 0 && !p.Archived[len(p.Archived)-1].Same
	return s.render(w, http.StatusOK, "evaluate", p)
}

func methodChoices(chosen string) []choice {
	list := []choice{{"", "the recommended one", chosen == ""}}
	for _, m := range assay.MethodNames() {
		list = append(list, choice{m, strings.ReplaceAll(m, "-", " "), m == chosen})
	}
	return list
}

func evaluatedRuns(d store.Determination) []evaluatedRun {
	var list []evaluatedRun
	st, err := setup.Read([]byte(d.Record.Setup), "setup")
	if err != nil {
		st = nil // said above the lists
	}
	drawn := 0
	for i, m := range curves(d) {
		e := evaluatedRun{Drawn: -1, No: m.Run.No, Name: m.Run.Name, Blank: m.Run.Kind == store.Blank, LeftOut: m.Run.LeftOut, Unit: m.Run.Unit, Rows: takenRows(d.Runs[i], st)}
		if m.Err != nil {
			e.Problem = m.Err.Error()
		}
		if m.Curve != nil && m.Run.LeftOut == "" {
			e.Drawn = drawn
			drawn++
		}
		if e.More = len(e.Rows) - mostRows; e.More > 0 {
			e.Rows = e.Rows[:mostRows]
		}
		list = append(list, e)
	}
	return list
}

// document evaluates a determination as the request asks; nil where there is
// nothing to evaluate yet.
func document(d store.Determination, r *http.Request) (*report.Document, error) {
	st, err := setup.Read([]byte(d.Record.Setup), "setup")
	if err != nil {
		return nil, err
	}
	var inputs []assay.Input
	all := &curve.Record{}
	for _, m := range curves(d) {
		if m.Record != nil {
			all.BadCells = append(all.BadCells, m.Record.BadCells...)
			all.MoreBad += m.Record.MoreBad
		}
		if m.Curve == nil || m.Run.LeftOut != "" {
			continue
		}
		in := assay.Input{Name: m.Run.Name, Curve: m.Curve, Blank: m.Run.Kind == store.Blank}
		if in.Aliquot, err = aliquot(m.Run); err != nil {
			return nil, err
		}
		inputs = append(inputs, in)
	}
	if len(inputs) == 0 {
		return nil, nil
	}
	opt := assay.Options{Method: r.FormValue("method"), Robust: r.FormValue("robust") != "", Diagnose: true, Bias: true}
	det, err := assay.Determine(inputs, st, opt, 0)
	if err != nil {
		return nil, err
	}
	doc := &report.Document{Title: d.Record.Title, Record: all}
	for _, run := range det.Runs {
		doc.Evaluations = append(doc.Evaluations, run.Evaluation)
	}
	if len(det.Runs) > 1 {
		doc.Determination = det
	}
	return doc, nil
}

func aliquot(run store.Run) (setup.Value, error) {
	if run.Aliquot == "" {
		return setup.Value{}, nil
	}
	q, err := unit.ParseQuantity(run.Aliquot)
	if err != nil {
		return setup.Value{}, fmt.Errorf("aliquot of run %s: %w", run.Name, err)
	}
	x, u, err := q.In(unit.DimVolume, "25.00 mL")
	if err != nil {
		return setup.Value{}, fmt.Errorf("aliquot of run %s: %w", run.Name, err)
	}
	return setup.Value{X: x, U: u, Stated: q.Stated, Text: q.Text}, nil
}

// leaveOut leaves readings out of the evaluation, or takes them in again, each
// with the reason that was given. The readings stay where they are.
func (s *Server) leaveOut(w http.ResponseWriter, r *http.Request) error {
	d, back, err := s.changing(w, r, "evaluate")
	if err != nil {
		return err
	}
	by := store.By{Author: author(w, r), Why: strings.TrimSpace(r.PostFormValue("why"))}
	if by.Author == "" || by.Why == "" {
		return badRequest("Nothing was changed: a reading is left out or taken in with a reason and a name. Go back; what was chosen is still there.")
	}
	run, err := strconv.ParseInt(r.PostFormValue("run"), 10, 64)
	if err != nil {
		return badRequest("%q is no run.", r.PostFormValue("run"))
	}
	state := store.LeftOut
	if r.PostFormValue("do") == "in" {
		state = store.Kept
	}
	var list []store.Entry
	for _, text := range r.PostForm["reading"] {
		no, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return badRequest("%q is no reading.", text)
		}
		list = append(list, store.Entry{Replaces: no, State: state})
	}
	if len(list) == 0 {
		return badRequest("Nothing was changed: no reading was chosen.")
	}
	if _, err := s.opt.Store.Append(r.Context(), d.Record.ID, run, by, list...); err != nil {
		return err
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
	return nil
}

// changing is the start of every action on a record: its form, the record it
// names, and the page to go back to.
func (s *Server) changing(_ http.ResponseWriter, r *http.Request, page string) (store.Determination, string, error) {
	if err := r.ParseForm(); err != nil {
		return store.Determination{}, "", badForm(err)
	}
	d, ok, err := s.chosen(r)
	if err == nil && !ok {
		err = notFound("There is no record yet.")
	}
	return d, "/" + page + "?record=" + url.QueryEscape(d.Record.ID), err
}

// sendReport writes the evaluation as a file.
func (s *Server) sendReport(w http.ResponseWriter, r *http.Request) error {
	f, ok := report.FindFormat(r.PathValue("format"))
	if !ok {
		return notFound("There is no report of the kind %q; there are %s.", r.PathValue("format"), strings.Join(report.FormatNames(), ", "))
	}
	d, ok, err := s.chosen(r)
	if err != nil {
		return err
	}
	if !ok {
		return notFound("There is no record yet.")
	}
	doc, err := document(d, r)
	if err != nil {
		return badRequest("There is no report yet: %v.", err)
	}
	if doc == nil {
		return badRequest("There is no report yet: the record has no readings.")
	}
	var b bytes.Buffer
	if err := f.Write(&b, *doc); err != nil {
		return err
	}
	w.Header().Set("Content-Type", f.MediaType)
	w.Header().Set("Content-Disposition", `attachment; filename="`+fileName(d.Record.Title)+f.Extension+`"`)
	w.Write(b.Bytes()) // a browser that has gone needs no file
	return nil
}

// fileName makes a title a name that every system takes.
func fileName(title string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(title) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= 60 {
			break
		}
	}
	if name := strings.Trim(b.String(), "-"); name != "" {
		return name
	}
	return "titration"
}

// archive keeps the evaluation as it is now with the record.
func (s *Server) archive(w http.ResponseWriter, r *http.Request) error {
	d, back, err := s.changing(w, r, "evaluate")
	if err != nil {
		return err
	}
	by := store.By{Author: author(w, r)}
	if by.Author == "" {
		return badRequest("Nothing was kept: a result says who kept it. Go back and fill in your name.")
	}
	doc, err := document(d, r)
	if err != nil {
		return badRequest("Nothing was kept: %v.", err)
	}
	if doc == nil {
		return badRequest("Nothing was kept: the record has no readings.")
	}
	json, _ := report.FindFormat("json")
	var b bytes.Buffer
	if err := json.Write(&b, *doc); err != nil {
		return err
	}
	res := store.Result{JSON: b.String(), Program: programName(), Inputs: d.Inputs()}
	if _, err := s.opt.Store.AddResult(r.Context(), d.Record.ID, res, by); err != nil {
		return err
	}
	http.Redirect(w, r, back+"#archive", http.StatusSeeOther)
	return nil
}

func (s *Server) archived(r *http.Request, d store.Determination) ([]archived, error) {
	list, err := s.opt.Store.Results(r.Context(), d.Record.ID)
	if err != nil {
		return nil, err
	}
	now := d.Inputs()
	var out []archived
	for _, x := range list {
		out = append(out, archived{x.No, x.At.Local().Format("2 January 2006, 15:04"), x.Author, x.Program, x.Inputs == now})
	}
	return out, nil
}
