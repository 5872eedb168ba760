package web

import (
	"bytes"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"meniscus/assay"
	"meniscus/report"
	"meniscus/store"
)

// recordsOnAPage is how many records a page of the list shows.
const recordsOnAPage = 50

// A recordsPage is the list of records.
type recordsPage struct {
	page
	Words, Tag string
	Removed    bool
	Tags       []store.TagCount
	List       []listed
	Total      int
	Newer      string // addresses of the pages before and after; "" for none
	Older      string
	Author     string
	Empty      bool // nothing was ever kept here
	Where      string
}

// A listed record is a line of the list.
type listed struct {
	ID, Title, When, By string
	Tags                []string
}

func when(t time.Time) string { return t.Local().Format("2 January 2006, 15:04") }

func (s *Server) needStore() error {
	if s.opt.Store == nil {
		return notFound("This bench keeps no records.")
	}
	return nil
}

func (s *Server) showRecords(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	p := recordsPage{page: s.newPage("Records", "Records", "records"), Words: r.FormValue("words"), Tag: r.FormValue("tag"), Removed: r.FormValue("removed") != "", Author: knownAuthor(r), Where: s.opt.Store.Target()}
	offset, _ := strconv.Atoi(r.FormValue("from")) // 0 where there is no number
	offset = max(0, offset)
	found, err := s.opt.Store.Find(r.Context(), store.Query{Words: p.Words, Tag: p.Tag, Removed: p.Removed, Limit: recordsOnAPage, Offset: offset})
	if err != nil {
		return err
	}
	if p.Tags, err = s.opt.Store.Tags(r.Context()); err != nil {
		return err
	}
	p.Total = found.Total
	p.Empty = found.Total == 0 && p.Words == "" && p.Tag == "" && !p.Removed
	for _, x := range found.Records {
		p.List = append(p.List, listed{x.ID, x.Title, when(x.Touched), x.SavedBy, x.Tags})
	}
	at := func(from int) string {
		q := r.URL.Query()
		q.Set("from", strconv.Itoa(from))
		return "/records?" + q.Encode()
	}
	if offset > 0 {
		p.Newer = at(max(0, offset-recordsOnAPage))
	}
	if offset+recordsOnAPage < found.Total {
		p.Older = at(offset + recordsOnAPage)
	}
	return s.render(w, http.StatusOK, "records", p)
}

// A recordPageData is one record with all that was ever done to it.
type recordPageData struct {
	page
	Rec      store.Record
	Tags     string
	Saved    string
	Runs     []recordRun
	Files    []store.Original
	Results  []archived
	Lines    []report.Line // what it gives now
	Doubts   []string      // about these
	Figure   *report.Pictures
	Problem  string // why it gives nothing
	Open     bool   // the form is unfolded
	Changes  []changeLine
	Author   string
	Conflict *conflictData
}

type recordRun struct {
	Name, Kind, LeftOut string
	Readings            int
}

type changeLine struct{ When, By, Why, What, Was, Became string }

// conflictData is what somebody else saved meanwhile, beside what was typed.
type conflictData struct{ Title, Tags, Notes, By, When string }

func (s *Server) showRecord(w http.ResponseWriter, r *http.Request) error {
	p, err := s.recordData(r, r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "record", p)
}

func (s *Server) recordData(r *http.Request, id string) (*recordPageData, error) {
	if err := s.needStore(); err != nil {
		return nil, err
	}
	d, err := s.opt.Store.Determination(r.Context(), id)
	if err != nil {
		return nil, err
	}
	p := &recordPageData{page: s.recordPage(d.Record, "Records", ""), Rec: d.Record, Tags: strings.Join(d.Record.Tags, ", "), Saved: when(d.Record.Saved), Author: knownAuthor(r)}
	p.Style = "report.css"
	for _, x := range d.Runs {
		p.Runs = append(p.Runs, recordRun{x.Run.Name, x.Run.Kind, x.Run.LeftOut, len(x.Readings)})
	}
	if p.Files, err = s.opt.Store.Originals(r.Context(), id); err != nil {
		return nil, err
	}
	if p.Results, err = s.archived(r, d); err != nil {
		return nil, err
	}
	if err := p.evaluate(d, r); err != nil {
		return nil, err
	}
	p.Changes, err = s.changes(r, d)
	return p, err
}

// evaluate says what the record gives now.
func (p *recordPageData) evaluate(d store.Determination, r *http.Request) error {
	doc, err := document(d, r)
	if err != nil {
		p.Problem = report.Typeset(err.Error())
		return nil
	}
	if doc == nil {
		return nil
	}
	p.Lines, p.Doubts = report.Lines(*doc), report.Doubts(*doc)
	i := slices.IndexFunc(doc.Evaluations, func(e *assay.Evaluation) bool { return e.Curve != nil })
	if i < 0 {
		return nil
	}
	f, err := report.Glance(doc.Evaluations[i])
	p.Figure = &f
	return err
}

// changes are those of the record and of its readings, the newest first.
func (s *Server) changes(r *http.Request, d store.Determination) ([]changeLine, error) {
	list, err := s.opt.Store.Changes(r.Context(), d.Record.ID)
	if err != nil {
		return nil, err
	}
	history, err := s.opt.Store.History(r.Context(), d.Record.ID)
	if err != nil {
		return nil, err
	}
	type dated struct {
		at time.Time
		changeLine
	}
	var all []dated
	for _, c := range list {
		all = append(all, dated{c.At, changeLine{when(c.At), c.Author, c.Why, c.What, shortened(c.Was), shortened(c.Became)}})
	}
	old := map[int64]store.Reading{}
	for _, x := range history {
		old[x.No] = x
		if x.Replaces == 0 {
			continue
		}
		all = append(all, dated{x.At, changeLine{when(x.At), x.Author, x.Why, "reading at " + old[x.Replaces].Volume + " mL", readingWords(old[x.Replaces]), readingWords(x)}})
	}
	slices.SortStableFunc(all, func(a, b dated) int { return b.at.Compare(a.at) })
	var out []changeLine
	for _, x := range all {
		out = append(out, x.changeLine)
	}
	return out, nil
}

func readingWords(r store.Reading) string {
	text := r.Volume + " mL, " + r.Value
	if r.State != store.Kept {
		text += ", " + string(r.State)
	}
	return text
}

// shortened keeps a long text from filling the page; the export has all of it.
func shortened(s string) string {
	const most = 160
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + " …"
	}
	return s
}

// changeOf reads which version a form was made from, and who changes it and why.
func changeOf(w http.ResponseWriter, r *http.Request) (int64, store.By, error) {
	version, err := strconv.ParseInt(r.PostFormValue("version"), 10, 64)
	if err != nil {
		return 0, store.By{}, badRequest("Nothing was changed: the form has lost the version it was made from. Load the page again.")
	}
	by := store.By{Author: author(w, r), Why: strings.TrimSpace(r.PostFormValue("why"))}
	if by.Author == "" {
		return 0, by, badRequest("Nothing was changed: a change says who made it. Go back and fill in your name.")
	}
	return version, by, nil
}

// saveRecord changes title, tags and notes. If somebody else was faster nothing
// is written, and both versions stand on the page that follows.
func (s *Server) saveRecord(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	id := r.PathValue("id")
	rec, err := s.opt.Store.Record(r.Context(), id)
	if err != nil {
		return err
	}
	version, by, err := changeOf(w, r)
	if err != nil {
		return err
	}
	rec.Version = version
	rec.Title, rec.Notes = strings.TrimSpace(r.PostFormValue("title")), unix(r.PostFormValue("notes"))
	rec.Tags = splitTags(r.PostFormValue("tags"))
	_, err = s.opt.Store.Save(r.Context(), rec, by)
	var conflict *store.ConflictError
	if errors.As(err, &conflict) {
		return s.showConflict(w, r, rec, conflict)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/records/"+url.PathEscape(id), http.StatusSeeOther)
	return nil
}

func (s *Server) showConflict(w http.ResponseWriter, r *http.Request, typed store.Record, c *store.ConflictError) error {
	p, err := s.recordData(r, typed.ID)
	if err != nil {
		return err
	}
	now := c.Current
	p.Conflict = &conflictData{now.Title, strings.Join(now.Tags, ", "), now.Notes, now.SavedBy, when(now.Saved)}
	p.Rec.Title, p.Rec.Notes, p.Tags = typed.Title, typed.Notes, strings.Join(typed.Tags, ", ")
	p.Rec.Version, p.Open = now.Version, true
	return s.render(w, http.StatusConflict, "record", p)
}

func splitTags(text string) []string {
	var list []string
	for _, t := range strings.Split(text, ",") {
		if t = strings.TrimSpace(t); t != "" && !slices.Contains(list, t) {
			list = append(list, t)
		}
	}
	return list
}

// removeRecord takes a record out of the list, or brings it back.
func (s *Server) removeRecord(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	id := r.PathValue("id")
	version, by, err := changeOf(w, r)
	if err != nil {
		return err
	}
	change := s.opt.Store.Remove
	if r.PostFormValue("do") == "back" {
		change = s.opt.Store.BringBack
	}
	if _, err := change(r.Context(), id, version, by); err != nil {
		return err
	}
	http.Redirect(w, r, "/records/"+url.PathEscape(id), http.StatusSeeOther)
	return nil
}

func (s *Server) duplicateRecord(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	by := store.By{Author: author(w, r)}
	if by.Author == "" {
		return badRequest("Nothing was made: a record says who made it. Go back and fill in your name.")
	}
	rec, err := s.opt.Store.Duplicate(r.Context(), r.PathValue("id"), r.PostFormValue("readings") != "", by)
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/records/"+url.PathEscape(rec.ID), http.StatusSeeOther)
	return nil
}

// sendFile gives a file back as it was handed in, never shown by the browser.
func (s *Server) sendFile(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	no, err := strconv.ParseInt(r.PathValue("no"), 10, 64)
	if err != nil {
		return notFound("There is no file %q in this record.", r.PathValue("no"))
	}
	list, err := s.opt.Store.Originals(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	i := slices.IndexFunc(list, func(o store.Original) bool { return o.No == no })
	if i < 0 {
		return notFound("There is no file %d in this record.", no)
	}
	data, err := s.opt.Store.Content(r.Context(), r.PathValue("id"), no)
	if err != nil {
		return err
	}
	attach(w, "application/octet-stream", list[i].Name, data)
	return nil
}

// attach sends data as a file to keep.
func attach(w http.ResponseWriter, kind, name string, data []byte) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", disposition(name))
	w.Write(data) // a browser that has gone needs no file
}

// disposition names a file for every browser: plain letters, and the whole name
// beside them (RFC 6266).
func disposition(name string) string {
	plain := strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' || strings.ContainsRune(`"\/:;%`, r) {
			return '_'
		}
		return r
	}, name)
	return `attachment; filename="` + plain + `"; filename*=UTF-8''` + url.PathEscape(name)
}

func (s *Server) exportRecord(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	rec, err := s.opt.Store.Record(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := s.opt.Store.Export(r.Context(), rec.ID, &b); err != nil {
		return err
	}
	attach(w, "application/zip", fileName(rec.Title)+"-"+rec.ID+".zip", b.Bytes())
	return nil
}

// A comparePage has the results of several records side by side.
type comparePage struct {
	page
	Columns []compared
	Figures []report.Pictures
	Problem string // why there is no figure
	Share   bool
	IDs     []string
}

type compared struct {
	ID, Title, Problem string
	Dash               string // pattern of its line in a viewBox 36 wide
	Drawn              bool
	Lines              []report.Line
	Differences        []report.Difference
}

// mostCompared is how many records stand beside each other.
const mostCompared = 6

// compareRecords sets the curves and results of some records side by side.
func (s *Server) compareRecords(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	ids := r.URL.Query()["id"]
	if len(ids) < 2 || len(ids) > mostCompared {
		return badRequest("Choose two to six records to compare; %d were chosen.", len(ids))
	}
	p := comparePage{page: s.newPage("Records", "Side by side", ""), Share: r.FormValue("by") == "share", IDs: ids}
	p.Style = "report.css"
	var list []report.Compared
	for i, id := range ids {
		d, err := s.opt.Store.Determination(r.Context(), id)
		if err != nil {
			return err
		}
		c := compared{ID: id, Title: d.Record.Title, Dash: dashWords(report.LinePattern(i))}
		doc, err := document(d, r)
		switch {
		case err != nil:
			c.Problem = report.Typeset(err.Error())
		case doc == nil:
			c.Problem = "no readings yet"
		default:
			c.Lines, c.Drawn = report.Lines(*doc), true
		}
		p.Columns = append(p.Columns, c)
		list = append(list, report.Compared{Title: c.Title, Document: doc})
	}
	for i, d := range report.Differences(list) {
		p.Columns[i].Differences = d
	}
	var err error
	if p.Figures, err = report.Overlay(list, p.Share); err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "compare", p)
}

// dashWords writes lengths in em for a picture in which an em is 9 wide.
func dashWords(pattern []float64) string {
	var list []string
	for _, x := range pattern {
		list = append(list, strconv.FormatFloat(9*x, 'f', 2, 64))
	}
	return strings.Join(list, " ")
}
