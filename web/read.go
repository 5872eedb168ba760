package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path"
	"strconv"
	"strings"

	"meniscus/curve"
	"meniscus/store"
)

// A readPage takes readings of one run of a record.
type readPage struct {
	page
	Author  string
	Runs    []runTab
	State   runState
	Axis    string // what is read, with its unit
	Typed   store.Entry
	Problem string // why what was typed is not kept; it still stands in the form
	Pasted  string // text that could not be read as a table; it still stands in the form
	Refused string // why
	Bad     []curve.BadCell
	MoreBad int
	Data    readData
}

type runTab struct {
	No    int64
	Word  string
	Count int // current readings
	Here  bool
}

// readData is what the script of the page starts from.
type readData struct {
	State     runState   `json:"state"`
	Curve     *curveData `json:"curve"`
	Confirmed string     `json:"confirmed"`
}

func (s *Server) showRead(w http.ResponseWriter, r *http.Request) error {
	return s.read(w, r, http.StatusOK, readPage{})
}

func (s *Server) read(w http.ResponseWriter, r *http.Request, status int, p readPage) error {
	d, ok, err := s.outlined(r)
	if err != nil {
		return err
	}
	if !ok {
		return s.begin(w, r, "Read", "This page takes the readings of a titration as you make them: type them, paste them or hand in a file, and see the curve form.")
	}
	no, err := runNumber(r)
	if err != nil {
		return err
	}
	if p.State, err = s.runOf(r.Context(), d.Record, no); err != nil {
		return err
	}
	p.page = s.recordPage(d.Record, "Read", "read")
	p.Author = knownAuthor(r)
	if typed := r.PostFormValue("author"); typed != "" {
		p.Author = typed
	}
	for _, q := range d.Runs {
		p.Runs = append(p.Runs, runTab{q.Run.No, runWord(q.Run), q.Readings, q.Run.No == p.State.Run})
	}
	switch p.Axis = p.State.Unit; p.Axis {
	case "mV", "V":
		p.Axis = "potential / " + p.Axis
	}
	p.Data = readData{State: p.State, Confirmed: confirmed}
	shown, err := predict(predictRequest{Setup: d.Record.Setup, Points: 300})
	if err != nil {
		return err
	}
	p.Data.Curve = shown.Curve
	return s.render(w, status, "read", p)
}

func runNumber(r *http.Request) (int64, error) {
	text := r.FormValue("run")
	if text == "" {
		return 0, nil
	}
	no, err := strconv.ParseInt(text, 10, 64)
	if err != nil || no < 0 {
		return 0, badRequest("%q is no run.", text)
	}
	return no, nil
}

// runWord is a run on its tab.
func runWord(r store.Run) string {
	word := r.Name
	if word == "" {
		word = "run " + strconv.FormatInt(r.No, 10)
	}
	if r.Kind == store.Blank && !strings.Contains(strings.ToLower(word), "blank") {
		word += " (blank)"
	}
	return word
}

// reading is the start of every action on readings: its form, and the record it
// names.
func (s *Server) reading(r *http.Request) (store.Outline, error) {
	if err := r.ParseForm(); err != nil {
		return store.Outline{}, badForm(err)
	}
	d, ok, err := s.outlined(r)
	if err == nil && !ok {
		err = notFound("There is no record yet.")
	}
	return d, err
}

// readReading keeps a reading from the form, for a browser without scripts.
func (s *Server) readReading(w http.ResponseWriter, r *http.Request) error {
	d, err := s.reading(r)
	if err != nil {
		return err
	}
	no, err := runNumber(r)
	if err != nil {
		return err
	}
	f := func(name string) string { return strings.TrimSpace(r.PostFormValue(name)) }
	e := store.Entry{Volume: f("volume"), Value: f("value"), Time: f("time"), Temperature: f("temperature")}
	last, _ := strconv.ParseInt(f("last"), 10, 64) // a wrong one is behind, and says so
	by := store.By{Author: author(w, r)}
	if by.Author == "" {
		return s.read(w, r, http.StatusBadRequest, readPage{Typed: e, Problem: "Not kept: a reading says who took it. Fill in your name."})
	}
	if no == 0 {
		run, err := s.firstRun(r.Context(), d.Record, by)
		if err != nil {
			return err
		}
		no = run
	}
	if _, err := s.opt.Store.AppendAfter(r.Context(), d.Record.ID, no, last, by, e); err != nil {
		if of := ofStore(err); of != nil && of.status != http.StatusNotFound {
			return s.read(w, r, of.status, readPage{Typed: e, Problem: of.message})
		}
		return err
	}
	http.Redirect(w, r, readPath(d.Record.ID, no), http.StatusSeeOther)
	return nil
}

// firstRun is the run of a record that has none yet: it is made by the first
// reading.
func (s *Server) firstRun(ctx context.Context, rec store.Record, by store.By) (int64, error) {
	runs, err := s.opt.Store.Runs(ctx, rec.ID)
	if err != nil {
		return 0, err
	}
	if len(runs) > 0 {
		return runs[0].No, nil
	}
	run, err := s.opt.Store.AddRun(ctx, rec.ID, store.Run{Name: "run 1", Kind: store.Sample, Unit: settingUnit(rec.Setup)}, by)
	return run.No, err
}

func readPath(record string, run int64) string {
	return "/read?record=" + url.QueryEscape(record) + "&run=" + strconv.FormatInt(run, 10)
}

// readRunForm begins another run.
func (s *Server) readRunForm(w http.ResponseWriter, r *http.Request) error {
	d, err := s.reading(r)
	if err != nil {
		return err
	}
	by := store.By{Author: author(w, r)}
	if by.Author == "" {
		return badRequest("No run was added: a record says who made it. Go back and fill in your name.")
	}
	f := func(name string) string { return strings.TrimSpace(r.PostFormValue(name)) }
	run := completeRun(store.Run{Name: f("name"), Kind: f("kind"), Unit: f("unit"), Aliquot: f("aliquot")}, d)
	if _, err := aliquot(run); err != nil {
		return badRequest("No run was added: %v. Go back; what you typed is still there.", err)
	}
	if run, err = s.opt.Store.AddRun(r.Context(), d.Record.ID, run, by); err != nil {
		return err
	}
	http.Redirect(w, r, readPath(d.Record.ID, run.No), http.StatusSeeOther)
	return nil
}

// completeRun fills in what was not said of a new run.
func completeRun(run store.Run, d store.Outline) store.Run {
	if run.Kind == "" {
		run.Kind = store.Sample
	}
	if run.Unit == "" {
		run.Unit = settingUnit(d.Record.Setup)
	}
	if run.Name == "" {
		run.Name = fmt.Sprintf("run %d", len(d.Runs)+1)
		if run.Kind == store.Blank {
			run.Name = fmt.Sprintf("blank %d", len(d.Runs)+1)
		}
	}
	return run
}

// readFile takes a file of readings, or text that was pasted.
func (s *Server) readFile(w http.ResponseWriter, r *http.Request) error {
	name, media, data, err := sentReadings(r)
	if err != nil {
		return err
	}
	d, ok, err := s.outlined(r)
	if err != nil {
		return err
	}
	if !ok {
		return notFound("There is no record yet.")
	}
	by := store.By{Author: author(w, r)}
	if by.Author == "" {
		return badRequest("Nothing was kept of %s: a record says who handed it in. Go back and fill in your name.", name)
	}
	kind := r.FormValue("kind")
	if kind == "" {
		kind = store.Sample
	}
	rec, err := s.addFile(r, d.Record.ID, name, media, data, store.Run{Kind: kind}, by)
	if se := new(statusError); errors.As(err, &se) && se.status == http.StatusBadRequest {
		return s.read(w, r, se.status, readPage{Refused: se.message, Pasted: r.FormValue("pasted")})
	}
	if err != nil {
		return err
	}
	runs, err := s.opt.Store.Runs(r.Context(), d.Record.ID)
	if err != nil {
		return err
	}
	no := int64(0)
	for _, run := range runs {
		if run.Original != 0 && run.Original > no {
			no = run.Original
		}
	}
	for _, run := range runs {
		if run.Original == no {
			no = run.No
			break
		}
	}
	if len(rec.BadCells) == 0 {
		http.Redirect(w, r, readPath(d.Record.ID, no), http.StatusSeeOther)
		return nil
	}
	r.Form.Set("run", strconv.FormatInt(no, 10))
	return s.read(w, r, http.StatusOK, readPage{Bad: rec.BadCells, MoreBad: rec.MoreBad})
}

// sentReadings is the file of a form, or the text that was pasted in its place.
func sentReadings(r *http.Request) (name, media string, data []byte, err error) {
	if err := r.ParseMultipartForm(8 << 20); err != nil {
		return "", "", nil, badForm(err)
	}
	defer r.MultipartForm.RemoveAll()
	f, head, err := r.FormFile("file")
	if err != nil || head.Filename == "" || head.Size == 0 {
		text := r.FormValue("pasted")
		if strings.TrimSpace(text) == "" {
			return "", "", nil, badRequest("Nothing was sent: choose a file, or paste text.")
		}
		return "pasted.txt", "text/plain; charset=utf-8", []byte(text), nil
	}
	defer f.Close()
	data = make([]byte, head.Size) // growing would hold it twice
	if _, err = io.ReadFull(f, data); err != nil {
		return "", "", nil, fmt.Errorf("reading the file sent: %w", err)
	}
	return plainName(head.Filename), "application/octet-stream", data, nil
}

// plainName is the name of a file without any folder, whatever system it is
// from, and without signs that are no letters to see.
func plainName(name string) string {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	name = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '"' || r == '\u202e' {
			return -1
		}
		return r
	}, name)
	if name == "." || name == "/" || name == ".." || name == "" {
		return "readings"
	}
	if len(name) > 200 {
		name = strings.ToValidUTF8(name[len(name)-200:], "")
	}
	return name
}
