package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"meniscus/exercise"
	"meniscus/report"
	"meniscus/working"
)

// Most that is drawn at a time: the sheets of a class, the questions on one, and
// the questions of all that stand on one page or in one file.
const (
	mostSheets    = 200
	mostQuestions = 50
	mostOnPage    = 400
	mostInFile    = 3600
)

// An exerciseOrder is what sheets are asked for, as it was typed.
type exerciseOrder struct {
	Kinds    []string
	System   string
	Count    string
	Students string
	Sheet    string // the number of the one that is shown; "all"
	Seed     string
}

// readOrder takes an order from an address. One that names nothing gets three
// questions to see what a sheet is.
func readOrder(q url.Values) exerciseOrder {
	o := exerciseOrder{
		Kinds: q["kind"], System: q.Get("system"), Count: strings.TrimSpace(q.Get("count")),
		Students: orElse(q.Get("students"), "1"), Sheet: orElse(q.Get("sheet"), "1"), Seed: orElse(q.Get("seed"), "1"),
	}
	if len(q) == 0 {
		o.Kinds = []string{"curve", "standardise", "calcium"}
	}
	return o
}

// Path is the address of a page or file about this order.
func (o exerciseOrder) Path(page string) string {
	q := url.Values{"seed": {o.Seed}, "students": {o.Students}, "sheet": {o.Sheet}, "kind": o.Kinds}
	if o.System != "" {
		q.Set("system", o.System)
	}
	if o.Count != "" {
		q.Set("count", o.Count)
	}
	return page + "?" + q.Encode()
}

// Ticked says whether a kind is wanted; none said is all.
func (o exerciseOrder) Ticked(k exercise.Kind) bool {
	return (len(o.Kinds) == 0 || slices.Contains(o.Kinds, k.Name)) && (o.System == "" || o.System == k.System)
}

// Chosen is the titles of the kinds that are wanted; "" where all are.
func (o exerciseOrder) Chosen() string {
	var list []string
	for _, k := range exercise.Kinds {
		if o.Ticked(k) {
			list = append(list, k.Title)
		}
	}
	if len(list) == len(exercise.Kinds) {
		return ""
	}
	return strings.Join(list, " · ")
}

// A draw is an order that can be carried out.
type draw struct {
	seed        uint64
	first, last int
	students    int
	options     exercise.Options
}

// read takes the numbers of an order; most is how many questions in all.
func (o exerciseOrder) read(most int) (d draw, err error) {
	if d.seed, err = strconv.ParseUint(strings.TrimSpace(o.Seed), 10, 64); err != nil {
		return d, badRequest("The seed is a whole number from 0 to 18446744073709551615; “%s” is none.", o.Seed)
	}
	if d.students, err = countOf("students", o.Students, mostSheets); err != nil {
		return d, err
	}
	d.options = exercise.Options{Kinds: o.Kinds, System: o.System}
	if o.Count != "" {
		if d.options.Count, err = countOf("questions on a sheet", o.Count, mostQuestions); err != nil {
			return d, err
		}
	}
	questions, err := d.options.Questions()
	if err != nil {
		return d, badRequest("%s.", report.Typeset(capital(err.Error())))
	}
	if d.first, d.last = 1, d.students; o.Sheet != "all" {
		if d.first, err = countOf("sheet", o.Sheet, d.students); err != nil {
			return d, err
		}
		d.last = d.first
	}
	if n := questions * (d.last - d.first + 1); n > most {
		return d, badRequest("%d sheets of %d questions are %d; %d are drawn at a time. Take fewer kinds or students, or the file instead of the page.", d.last-d.first+1, questions, n, most)
	}
	return d, nil
}

func countOf(what, text string, most int) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 || n > most {
		return 0, badRequest("%s: a number from 1 to %d is meant; “%s” is none.", capital(what), most, text)
	}
	return n, nil
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// sheets draws them. A reader that has gone ends the work.
func (d draw) sheets(ctx context.Context) ([]exercise.Sheet, error) {
	var list []exercise.Sheet
	for n := d.first; n <= d.last; n++ {
		if err := ctx.Err(); err != nil {
			return nil, givenUp
		}
		sheet, err := exercise.New(d.seed, n, d.options)
		if err != nil {
			return nil, err
		}
		list = append(list, sheet)
	}
	return list, nil
}

// givenUp is for the log of a reader who has gone.
var givenUp = &statusError{http.StatusServiceUnavailable, "The sheets were given up before they were drawn."}

// bound is the sheets, or the keys to them, as one document.
func bound(list []exercise.Sheet, key bool) (*working.Document, error) {
	if key {
		return exercise.Keys(list), nil
	}
	return exercise.Sheets(list)
}

// An exercisesPage is a choice of questions and the sheets drawn from it, or the
// keys to them.
type exercisesPage struct {
	page
	Order    exerciseOrder
	Key      bool
	Groups   []kindGroup
	Problem  string
	Students int
	Number   int // of the sheet shown; 0 where all are
	Sheets   []shownSheet
	Formats  []fileFormat
}

type kindGroup struct {
	System string
	Kinds  []exercise.Kind
}

type shownSheet struct {
	Title      string
	Lead, Body template.HTML
}

// A fileFormat is how sheets can be taken away.
type fileFormat struct{ Word, Name, Extension, Media string }

var exerciseFormats = []fileFormat{
	{"HTML", "html", "html", "text/html; charset=utf-8"},
	{"LaTeX", "latex", "tex", "application/x-latex; charset=utf-8"},
	{"text", "text", "txt", "text/plain; charset=utf-8"},
}

func (s *Server) showExercises(w http.ResponseWriter, r *http.Request) error {
	return s.exercises(w, r, false)
}

// showExerciseKey is apart from the sheets, so that a sheet can be shown, sent and
// printed without it.
func (s *Server) showExerciseKey(w http.ResponseWriter, r *http.Request) error {
	return s.exercises(w, r, true)
}

func (s *Server) exercises(w http.ResponseWriter, r *http.Request, key bool) error {
	p := exercisesPage{Order: readOrder(r.URL.Query()), Key: key, Groups: kindGroups(), Formats: exerciseFormats}
	status := http.StatusOK
	if err := p.draw(r.Context()); err != nil {
		var se *statusError
		if !errors.As(err, &se) {
			return err
		}
		p.Problem, status = se.message, se.status
	}
	title := "Exercises"
	if key {
		title = "Key to the exercises"
	}
	p.page = s.newPage("Explain", title, "")
	p.Style = "working.css"
	return s.render(w, status, "exercises", p)
}

// draw fills in the sheets.
func (p *exercisesPage) draw(ctx context.Context) error {
	d, err := p.Order.read(mostOnPage)
	if err != nil {
		return err
	}
	list, err := d.sheets(ctx)
	if err != nil {
		return err
	}
	p.Students = d.students
	if p.Order.Sheet != "all" {
		p.Number = d.first
	}
	for _, sheet := range list {
		doc, err := bound([]exercise.Sheet{sheet}, p.Key)
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := working.WriteHTML(&b, doc, working.HTMLOptions{Heading: 3}); err != nil {
			return fmt.Errorf("setting a sheet: %w", err)
		}
		p.Sheets = append(p.Sheets, shownSheet{doc.Title, template.HTML(working.InlineHTML(doc.Lead)), template.HTML(b.String())})
	}
	return nil
}

// Shown is the address of one sheet, of all, or of the sheets beside the key.
func (p exercisesPage) Shown(sheet string, key bool) string {
	o := p.Order
	o.Sheet = sheet
	if key {
		return o.Path("/exercises/key")
	}
	return o.Path("/exercises")
}

// Near is the address of the sheet some numbers on; "" where there is none.
func (p exercisesPage) Near(by int) string {
	n := p.Number + by
	if p.Number == 0 || n < 1 || n > p.Students {
		return ""
	}
	return p.Shown(strconv.Itoa(n), p.Key)
}

// Fresh is the address of the same questions in other numbers.
func (p exercisesPage) Fresh() string {
	o := p.Order
	n, err := strconv.ParseUint(o.Seed, 10, 64)
	if err != nil {
		n = 0
	}
	o.Seed = strconv.FormatUint(n+1, 10)
	return o.Path("/exercises")
}

// File is the address of a file of what is shown.
func (p exercisesPage) File(f fileFormat) string { return p.Order.Path(p.filePath(f)) }

// ClassFile is the address of a file of all sheets.
func (p exercisesPage) ClassFile(f fileFormat) string {
	o := p.Order
	o.Sheet = "all"
	return o.Path(p.filePath(f))
}

func (p exercisesPage) filePath(f fileFormat) string {
	if p.Key {
		return "/exercises/file/key." + f.Extension
	}
	return "/exercises/file/sheets." + f.Extension
}

func kindGroups() []kindGroup {
	var list []kindGroup
	for _, system := range exercise.Systems {
		g := kindGroup{System: system}
		for _, k := range exercise.Kinds {
			if k.System == system {
				g.Kinds = append(g.Kinds, k)
			}
		}
		list = append(list, g)
	}
	return list
}

// sendExercises sends sheets or keys as a file: the words of the command line.
func (s *Server) sendExercises(w http.ResponseWriter, r *http.Request) error {
	what, extension, _ := strings.Cut(r.PathValue("name"), ".")
	i := slices.IndexFunc(exerciseFormats, func(f fileFormat) bool { return f.Extension == extension })
	if i < 0 || (what != "sheets" && what != "key") {
		return notFound("There is no file %q. There are sheets and key, as .html, .tex and .txt.", r.PathValue("name"))
	}
	f := exerciseFormats[i]
	o := readOrder(r.URL.Query())
	text, err := s.written(r.Context(), o, what == "key", f.Name)
	if err != nil {
		return err
	}
	name := what + "-seed-" + o.Seed
	if o.Sheet != "all" && o.Students != "1" {
		name += "-sheet-" + o.Sheet
	}
	w.Header().Set("Content-Type", f.Media)
	w.Header().Set("Content-Disposition", `attachment; filename="`+fileName(name)+"."+extension+`"`)
	w.Write(text) // a browser that has gone needs no file
	return nil
}

// written is an order in one of the formats of worked text. A class of sheets
// takes some seconds of a processor, so it waits its turn with the plans.
func (s *Server) written(ctx context.Context, o exerciseOrder, key bool, format string) ([]byte, error) {
	d, err := o.read(mostInFile)
	if err != nil {
		return nil, err
	}
	f, ok := report.WorkingFormat(format)
	if !ok {
		return nil, badRequest("There is no format %q; there are %s.", format, strings.Join(report.WorkingFormatNames(), ", "))
	}
	select {
	case s.planners <- struct{}{}:
		defer func() { <-s.planners }()
	case <-ctx.Done():
		return nil, givenUp
	}
	list, err := d.sheets(ctx)
	if err != nil {
		return nil, err
	}
	doc, err := bound(list, key)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := f.Write(&b, doc); err != nil {
		return nil, fmt.Errorf("writing the sheets: %w", err)
	}
	return b.Bytes(), nil
}
