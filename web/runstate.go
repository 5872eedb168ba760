package web

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"meniscus/report"
	"meniscus/setup"
	"meniscus/store"
	"meniscus/unit"
)

// maxRows is how many readings of a run a page lists; a file may hold a million.
const maxRows = 400

// A runState is a run as a page knows it.
type runState struct {
	Schema  string   `json:"schema"`
	Record  string   `json:"record"`
	Run     int64    `json:"run" doc:"number of the run within the record; 0 where there is none yet"`
	Name    string   `json:"name"`
	Kind    string   `json:"kind" enum:"sample,blank"`
	Unit    string   `json:"unit" doc:"of the values: mV, V, pH or pIon"`
	Aliquot string   `json:"aliquot"`
	LeftOut string   `json:"left_out" doc:"why the whole run is left out; empty where it takes part"`
	Last    int64    `json:"last" doc:"number of the newest row, a withdrawn one too; send it with what is added"`
	Begun   string   `json:"begun" doc:"when the run was begun, RFC 3339: times are seconds from then"`
	Now     string   `json:"now" doc:"the clock of the bench"`
	Rows    []runRow `json:"rows" doc:"the current readings, in order"`
	Earlier int      `json:"earlier" doc:"readings before these, not listed"`
	Before  []point  `json:"before" doc:"some of the earlier readings, evenly chosen, for a picture of them"`
	Drift   string   `json:"drift,omitempty" doc:"of the last reading, where it was taken twice with times"`
}

// A point is a reading of which only the place on the curve is told.
type point struct {
	X   float64 `json:"added_mL"`
	Y   float64 `json:"reading"`
	Out bool    `json:"left_out"`
}

// A runRow is a current reading, with what is asked about it.
type runRow struct {
	No          int64       `json:"no"`
	Volume      string      `json:"volume" doc:"mL, as typed"`
	Value       string      `json:"value" doc:"as typed"`
	Time        string      `json:"time" doc:"s, as typed"`
	Temperature string      `json:"temperature" doc:"°C, as typed"`
	State       store.State `json:"state" enum:"kept,left out"`
	Why         string      `json:"why"`
	Author      string      `json:"author"`
	At          string      `json:"at" doc:"when it was kept, RFC 3339"`
	Changed     bool        `json:"changed" doc:"it replaces an earlier row"`
	X           *float64    `json:"added_mL" doc:"volume added; null where none can be read"`
	Y           *float64    `json:"reading" doc:"mV, pH or pIon; null where none can be read"`
	Asks        []string    `json:"asks" doc:"what looks doubtful; nothing was changed"`

	x, y, t float64 // NaN where there is no number
}

// Out says whether the reading is left out.
func (r runRow) Out() bool { return r.State == store.LeftOut }

// Newest is the readings from the newest to the oldest.
func (st runState) Newest() []runRow {
	list := slices.Clone(st.Rows)
	slices.Reverse(list)
	return list
}

// newRunState shows a run; text is the setup of its record.
func newRunState(record string, r store.RunReadings, text string, now time.Time) runState {
	list := newRowList(readableSetup(text))
	for i := range r.Readings {
		list.add(r.Run, &r.Readings[i])
	}
	return list.state(record, r, now)
}

// readableSetup is nil for a setup that cannot be read: the Plan page says what
// is wrong, and readings are taken all the same.
func readableSetup(text string) *setup.Setup {
	s, err := setup.Read([]byte(text), "setup")
	if err != nil {
		return nil
	}
	return s
}

// A rowList takes the readings of a run one at a time. It holds the newest as
// rows, and of those before only as many places as a picture shows, so that a
// run of a million readings takes no more than one of a thousand.
type rowList struct {
	setup   *setup.Setup
	burette *setup.Fillings // of all rows: a refill counts for those after it
	rows    []runRow
	earlier int
	before  []point
	every   int // how many of the earlier readings come for one in before
}

func newRowList(s *setup.Setup) *rowList {
	return &rowList{setup: s, burette: fillings(s), rows: []runRow{}, before: []point{}, every: 1}
}

// add takes the next reading. It never fails.
func (l *rowList) add(run store.Run, q *store.Reading) error {
	if len(l.rows) == 2*maxRows {
		l.shorten()
	}
	row := newRow(*q, run.Unit)
	row.added(l.burette)
	l.rows = append(l.rows, row)
	return nil
}

// shorten leaves the newest rows, and keeps the places of some before.
func (l *rowList) shorten() {
	n := len(l.rows) - maxRows
	if n <= 0 {
		return
	}
	for i := range l.rows[:n] {
		l.pass(&l.rows[i])
	}
	l.rows = append(l.rows[:0], l.rows[n:]...)
}

// pass counts a row as earlier. Of rows evenly spaced it keeps the place, of
// half as many when there are too many.
func (l *rowList) pass(r *runRow) {
	if l.earlier%l.every == 0 {
		p := point{math.NaN(), math.NaN(), r.Out()}
		if r.X != nil && r.Y != nil {
			p.X, p.Y = *r.X, *r.Y
		}
		if len(l.before) == 2*maxRows {
			for i := range maxRows {
				l.before[i] = l.before[2*i]
			}
			l.before = l.before[:maxRows]
			l.every *= 2
		}
		l.before = append(l.before, p)
	}
	l.earlier++
}

// state is the run with the rows taken so far; of r it needs no readings.
func (l *rowList) state(record string, r store.RunReadings, now time.Time) runState {
	l.shorten()
	st := runState{
		Schema: "meniscus.bench.run/1", Record: record, Run: r.Run.No, Name: r.Run.Name, Kind: r.Run.Kind, Unit: r.Run.Unit, Aliquot: r.Run.Aliquot,
		LeftOut: r.Run.LeftOut, Last: r.Last, Begun: r.Run.At.Format(time.RFC3339Nano), Now: now.UTC().Format(time.RFC3339Nano),
		Rows: l.rows, Earlier: l.earlier,
		Before: slices.DeleteFunc(l.before, func(p point) bool { return math.IsNaN(p.X) }),
	}
	newChecker(l.setup, r.Run.Unit).check(st.Rows)
	st.Drift = drift(st.Rows, r.Run.Unit)
	return st
}

func newRow(q store.Reading, u string) runRow {
	return runRow{
		No: q.No, Volume: q.Volume, Value: q.Value, Time: q.Time, Temperature: q.Temperature, State: q.State, Why: q.Why,
		Author: q.Author, At: q.At.Format(time.RFC3339), Changed: q.Replaces != 0, Asks: []string{},
		x: typedNumber(q.Volume), y: typedNumber(q.Value) * perUnit(u), t: typedNumber(q.Time),
	}
}

// fillings follows the burette of a setup; without one, a burette that shows
// what was added.
func fillings(s *setup.Setup) *setup.Fillings {
	if s == nil {
		s = &setup.Setup{}
	}
	return s.Burette.Follow()
}

// added turns what the burette shows into the volume added. Rows are taken in
// their order.
func (r *runRow) added(burette *setup.Fillings) {
	if !math.IsNaN(r.x) {
		x := math.Round(burette.Added(unit.Volume(r.x*1e-3)).Millilitres()*1e9) / 1e9
		r.x, r.X = x, &x
	}
	if !math.IsNaN(r.y) {
		y := math.Round(r.y*1e9) / 1e9
		r.Y = &y
	}
}

// perUnit turns values as typed into those of a curve.
func perUnit(u string) float64 {
	if u == "V" {
		return 1e3
	}
	return 1
}

// mostNumber is far beyond anything a burette or a meter shows; what is larger
// is a slip, and its products with a unit would not be numbers.
const mostNumber = 1e12

// plainSigns makes of a typed number one that strconv reads.
var plainSigns = strings.NewReplacer("−", "-", ",", ".")

// typedNumber reads one number with decimal point or comma; NaN if it is none.
func typedNumber(text string) float64 {
	text = strings.TrimSpace(plainSigns.Replace(text))
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || !(math.Abs(x) <= mostNumber) || strings.ContainsAny(text, "xXpP_nN") {
		return math.NaN()
	}
	return x
}

// drift says how fast the last reading goes on changing, where it was taken
// twice at one volume.
func drift(rows []runRow, u string) string {
	n := len(rows)
	if n < 2 {
		return ""
	}
	a, b := rows[n-2], rows[n-1]
	s := b.t - a.t
	if a.x != b.x || !(s > 0) || math.IsNaN(b.y-a.y) {
		return ""
	}
	return report.Typeset("drift at " + b.Volume + " mL: " + signed((b.y-a.y)*60/s) + " " + shownUnit(u) + " in a minute, seen over " + strconv.FormatFloat(s, 'f', 0, 64) + " s")
}

func signed(x float64) string {
	t := strconv.FormatFloat(math.Abs(x), 'f', 2, 64)
	switch {
	case x < 0:
		return "−" + t
	case x > 0:
		return "+" + t
	}
	return t
}

// shownUnit is the unit in which values of a run are drawn.
func shownUnit(u string) string {
	if u == "V" {
		return "mV"
	}
	return u
}

// settingUnit is the unit that readings of a setup come in.
func settingUnit(text string) string {
	s, err := setup.Read([]byte(text), "setup")
	if err != nil || s.Titration == nil || s.Titration.Cell.Known {
		return "mV"
	}
	if s.Electrode.Indicator == "glass" {
		return "pH"
	}
	return "pIon"
}

// runOf returns the state of a run; number 0 is the first, or one to be.
func (s *Server) runOf(ctx context.Context, rec store.Record, no int64) (runState, error) {
	if no == 0 {
		runs, err := s.opt.Store.Runs(ctx, rec.ID)
		if err != nil {
			return runState{}, err
		}
		if len(runs) == 0 {
			return newRunState(rec.ID, store.RunReadings{Run: store.Run{Kind: store.Sample, Unit: settingUnit(rec.Setup), At: s.opt.Now()}}, rec.Setup, s.opt.Now()), nil
		}
		no = runs[0].No
	}
	list := newRowList(readableSetup(rec.Setup))
	r, err := s.opt.Store.EachReading(ctx, rec.ID, no, list.add)
	if err != nil {
		return runState{}, err
	}
	return list.state(rec.ID, r, s.opt.Now()), nil
}
