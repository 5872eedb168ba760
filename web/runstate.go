package web

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"meniscus/curve"
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
	st := runState{
		Schema: "meniscus.bench.run/1", Record: record, Run: r.Run.No, Name: r.Run.Name, Kind: r.Run.Kind, Unit: r.Run.Unit, Aliquot: r.Run.Aliquot,
		LeftOut: r.Run.LeftOut, Last: r.Last, Begun: r.Run.At.Format(time.RFC3339Nano), Now: now.UTC().Format(time.RFC3339Nano), Rows: []runRow{}, Before: []point{},
	}
	for _, q := range r.Readings {
		st.Rows = append(st.Rows, newRow(q, r.Run.Unit))
	}
	s, err := setup.Read([]byte(text), "setup")
	if err != nil {
		s = nil // the Plan page says what is wrong; readings are taken all the same
	}
	st.added(s) // of all rows: a refill counts for those after it
	st.shorten()
	newChecker(s, r.Run.Unit).check(st.Rows)
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

// shorten lists the newest rows only, and keeps the places of some before.
func (st *runState) shorten() {
	n := len(st.Rows) - maxRows
	if n <= 0 {
		return
	}
	for i := 0; i < n; i += max(1, n/maxRows) {
		if r := st.Rows[i]; r.X != nil && r.Y != nil {
			st.Before = append(st.Before, point{*r.X, *r.Y, r.Out()})
		}
	}
	st.Earlier, st.Rows = n, slices.Clone(st.Rows[n:])
}

// added turns readings of the burette into volumes added.
func (st *runState) added(s *setup.Setup) {
	c := &curve.Curve{}
	var at []int
	for i := range st.Rows {
		if !math.IsNaN(st.Rows[i].x) {
			c.Readings = append(c.Readings, curve.Reading{Volume: unit.Volume(st.Rows[i].x * 1e-3)})
			at = append(at, i)
		}
	}
	if s != nil {
		c = s.Burette.Added(c)
	}
	for k, i := range at {
		x := math.Round(c.Readings[k].Volume.Millilitres()*1e9) / 1e9
		st.Rows[i].x, st.Rows[i].X = x, &x
	}
	for i := range st.Rows {
		if y := st.Rows[i].y; !math.IsNaN(y) {
			y = math.Round(y*1e9) / 1e9
			st.Rows[i].Y = &y
		}
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

// typedNumber reads one number with decimal point or comma; NaN if it is none.
func typedNumber(text string) float64 {
	text = strings.TrimSpace(strings.NewReplacer("−", "-", ",", ".").Replace(text))
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
	r, err := s.opt.Store.Run(ctx, rec.ID, no)
	if err != nil {
		return runState{}, err
	}
	return newRunState(rec.ID, r, rec.Setup, s.opt.Now()), nil
}
