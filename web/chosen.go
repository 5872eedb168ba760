package web

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"path"
	"regexp"
	"strconv"
	"strings"

	"meniscus/curve"
	"meniscus/examples"
	"meniscus/store"
)

// authorCookie remembers who is at this browser, so that a name is typed once.
const authorCookie = "author"

// author is who acts: the name in the form, or the one this browser had before.
func author(w http.ResponseWriter, r *http.Request) string {
	name := strings.TrimSpace(r.PostFormValue("author"))
	if name == "" {
		return knownAuthor(r)
	}
	http.SetCookie(w, &http.Cookie{
		Name: authorCookie, Value: url.QueryEscape(name), Path: "/", MaxAge: 400 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	return name
}

func knownAuthor(r *http.Request) string {
	c, err := r.Cookie(authorCookie)
	if err != nil {
		return ""
	}
	name, err := url.QueryUnescape(c.Value)
	if err != nil || len(name) > 200 {
		return ""
	}
	return name
}

// chosen is the determination that a page is about: that of ?record=, else the
// one touched last. Without any it is false, and begin says what to do first.
func (s *Server) chosen(r *http.Request) (d store.Determination, ok bool, err error) {
	id, err := s.chosenID(r)
	if err != nil || id == "" {
		return d, false, err
	}
	d, err = s.opt.Store.Determination(r.Context(), id)
	return d, err == nil, err
}

// outlined is chosen for what needs no readings: a run may have a million.
func (s *Server) outlined(r *http.Request) (o store.Outline, ok bool, err error) {
	id, err := s.chosenID(r)
	if err != nil || id == "" {
		return o, false, err
	}
	o, err = s.opt.Store.Outline(r.Context(), id)
	return o, err == nil, err
}

// chosenID names the chosen record; "" where there is none.
func (s *Server) chosenID(r *http.Request) (string, error) {
	if s.opt.Store == nil {
		return "", notFound("This bench keeps no records.")
	}
	if id := r.FormValue("record"); id != "" {
		return id, nil
	}
	p, err := s.opt.Store.Find(r.Context(), store.Query{Limit: 1})
	if err != nil || len(p.Records) == 0 {
		return "", err
	}
	return p.Records[0].ID, nil
}

// recordPage is newPage for a page about one record.
func (s *Server) recordPage(rec store.Record, job, script string) page {
	p := s.newPage(job, rec.Title, script)
	p.about(rec.ID)
	return p
}

// A beginPage is what stands where there is no record yet.
type beginPage struct {
	page
	Author string
	What   string // what the page would show
}

func (s *Server) begin(w http.ResponseWriter, r *http.Request, job, what string) error {
	return s.render(w, http.StatusOK, "begin", beginPage{s.newPage(job, job, ""), knownAuthor(r), what})
}

// beginExample keeps the worked example as a record, with its readings and the
// file they came from.
func (s *Server) beginExample(w http.ResponseWriter, r *http.Request) error {
	if s.opt.Store == nil {
		return notFound("This bench keeps no records.")
	}
	by := store.By{Author: author(w, r)}
	if by.Author == "" {
		return badRequest("A record says who made it. Go back and fill in your name.")
	}
	e := examples.Worked()
	rec, err := s.opt.Store.Create(r.Context(), store.Record{Title: e.Title, Setup: string(e.Setup), Tags: []string{"example"}}, by)
	if err != nil {
		return err
	}
	if _, err := s.addFile(r, rec.ID, "readings.csv", "text/csv", examples.Readings(), store.Run{Kind: store.Sample}, by); err != nil {
		return err
	}
	http.Redirect(w, r, "/read?record="+url.QueryEscape(rec.ID), http.StatusSeeOther)
	return nil
}

// addFile keeps a file of readings and a run for each curve in it, with the texts
// as they stand in the file. like says what the runs have in common. Cells that
// cannot be read are returned, and are still in the file that was kept.
func (s *Server) addFile(r *http.Request, record, name, media string, data []byte, like store.Run, by store.By) (*curve.Record, error) {
	read, err := curve.Read(bytes.NewReader(data), name, curve.Options{})
	if err != nil {
		return nil, badRequest("Nothing was kept of %s: %v.", name, err)
	}
	file, err := s.opt.Store.AddOriginal(r.Context(), record, name, media, data, by)
	if err != nil {
		return nil, err
	}
	for i := range read.Curves {
		c := &read.Curves[i]
		run := like
		run.Name, run.Unit, run.Original = c.Name, readingUnit(c.Kind), file.No
		if run.Name == "" {
			run.Name = strings.TrimSuffix(name, path.Ext(name))
		}
		one := func(k int) store.Entry { return entry(c, k) }
		if _, err := s.opt.Store.AddRunOf(r.Context(), record, run, by, len(c.Readings), one); err != nil {
			return nil, err
		}
	}
	return read, nil
}

// readingUnit is how a run keeps the values of a curve.
func readingUnit(k curve.Kind) string {
	switch k {
	case curve.Potential:
		return "mV"
	case curve.PIon:
		return "pIon"
	}
	return "pH"
}

// A measured is a run of a determination as a curve.
type measured struct {
	Run    store.Run
	Curve  *curve.Curve // nil where there is nothing to read yet
	Record *curve.Record
	Err    error // why the readings make no curve
}

// curves reads the current readings of every run with the reader of files, so
// that what was typed here and what was handed in are judged by one rule.
func curves(d store.Determination) []measured {
	list := make([]measured, 0, len(d.Runs))
	for _, r := range d.Runs {
		m := measured{Run: r.Run}
		if len(r.Readings) > 0 {
			m.Curve, m.Record, m.Err = readRun(r)
		}
		list = append(list, m)
	}
	return list
}

// typedComma is a number as typed with a decimal comma.
var typedComma = regexp.MustCompile(`^\s*([-+−]?[0-9]*),([0-9]+)\s*$`)

// onePoint writes the numbers of a run with decimal points. A comma in a cell
// that was typed by itself is a decimal comma, whatever the others have; the
// rows of the store keep what was typed.
func onePoint(r store.RunReadings) store.RunReadings {
	list := make([]store.Reading, len(r.Readings))
	for i, q := range r.Readings {
		for _, t := range []*string{&q.Volume, &q.Value, &q.Time, &q.Temperature} {
			*t = typedComma.ReplaceAllString(*t, "$1.$2")
		}
		list[i] = q
	}
	r.Readings = list
	return r
}

func readRun(r store.RunReadings) (*curve.Curve, *curve.Record, error) {
	r = onePoint(r)
	text, err := r.CSV()
	if err != nil {
		return nil, nil, fmt.Errorf("writing run %s: %w", r.Run.Name, err)
	}
	rec, err := curve.Read(bytes.NewReader(text), r.Run.Name, curve.Options{})
	if err != nil {
		return nil, nil, err
	}
	if len(rec.Curves) == 0 {
		return nil, rec, nil
	}
	c := &rec.Curves[0]
	c.Name = r.Run.Name
	return c, rec, nil
}

// entry is a reading of a file as a row of a run, in mL and the unit of the run.
// The numbers are those of the file, written plainly; the file itself is kept
// beside them.
func entry(c *curve.Curve, i int) store.Entry {
	q := &c.Readings[i]
	e := store.Entry{Volume: q.VolumeText, State: store.Kept}
	if e.Volume == "" {
		e.Volume = plainDecimal(float64(q.Volume) * 1e3)
	}
	value := q.Value
	if c.Kind == curve.Potential {
		value *= 1e3
	}
	e.Value = plainDecimal(value)
	if !math.IsNaN(q.Time) {
		e.Time = plainDecimal(q.Time)
	}
	if q.Temperature != 0 {
		e.Temperature = plainDecimal(q.Temperature.Celsius())
	}
	if q.Excluded != "" {
		e.State, e.Why = store.LeftOut, q.Excluded
	}
	return e
}

// plainDecimal writes a number that was read from a decimal as that decimal:
// the twelfth figure is beyond any instrument.
func plainDecimal(x float64) string {
	return strconv.FormatFloat(math.Round(x*1e9)/1e9, 'f', -1, 64)
}
