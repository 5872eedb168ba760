package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"
)

// A State says whether a reading takes part.
type State string

// The states of a reading.
const (
	Kept      State = "kept"
	LeftOut   State = "left out"  // of the evaluation, with a reason
	Withdrawn State = "withdrawn" // it was never a reading: a slip that was undone
)

// A Reading is one row of the history of a run. Rows are never changed: an edit
// is a new row that replaces an older one, at the same place.
type Reading struct {
	No          int64     `json:"no"` // names it within the record
	Run         int64     `json:"run"`
	Place       int64     `json:"place"`              // order in the run; rows at one place are versions of one reading
	Replaces    int64     `json:"replaces,omitempty"` // number of the row that it supersedes; 0 for none
	Volume      string    `json:"volume"`             // mL, as typed
	Value       string    `json:"value"`              // in the unit of the run, as typed
	Time        string    `json:"time"`               // as typed; "" where not taken
	Temperature string    `json:"temperature"`        // as typed; "" where not taken
	State       State     `json:"state"`
	Author      string    `json:"author"`
	At          time.Time `json:"at"` // UTC, to the millisecond
	Why         string    `json:"why"`
}

// An Entry is a reading to append. What is typed is kept as it stands, whether
// or not it can be read as a number.
type Entry struct {
	Volume, Value, Time, Temperature string

	State    State  // "" is Kept
	Why      string // "" is the reason in By; needed to replace or leave out
	Replaces int64  // number of the row that this one supersedes; 0 for a new reading
	Before   int64  // number of the reading in front of which a new one goes; 0 is at the end
}

// gap is left between the places of readings that follow each other, so that
// 40 can be put in front of the same one.
const gap = 1 << 40

// Append adds readings to a run, all or none. When it has returned without an
// error they are on disk. An entry that replaces a row and has no text takes
// over the texts of that row, so that leaving out needs only the reason.
//
// If a row to replace is not the current one at its place, a ConflictError
// carries the one that is.
func (s *Store) Append(ctx context.Context, record string, run int64, by By, entries ...Entry) ([]Reading, error) {
	return s.append(ctx, record, run, nil, by, entries)
}

// AppendAfter is Append for one who knows the run up to the row of number last,
// 0 for none. If there are later rows it keeps nothing and returns a
// BehindError. So what is sent twice, because the answer to the first time was
// lost, is kept once.
func (s *Store) AppendAfter(ctx context.Context, record string, run, last int64, by By, entries ...Entry) ([]Reading, error) {
	return s.append(ctx, record, run, &last, by, entries)
}

func (s *Store) append(ctx context.Context, record string, run int64, after *int64, by By, entries []Entry) ([]Reading, error) {
	list := make([]Reading, len(entries))
	for i, e := range entries {
		var err error
		if list[i], err = e.reading(run, by); err != nil {
			return nil, err
		}
	}
	err := s.write(ctx, "keeping readings", func(tx *sql.Tx) error {
		first, err := s.number(ctx, tx, record, len(list))
		if err != nil {
			return err
		}
		if _, err := getRun(ctx, tx, record, run); err != nil {
			return err
		}
		if after != nil {
			now, err := lastRow(ctx, tx, record, run)
			if err != nil {
				return err
			}
			if now != *after {
				return &BehindError{Run: run, Known: *after, Last: now}
			}
		}
		at, end := fromMillis(millis(s.now())), int64(0)
		err = tx.QueryRowContext(ctx, `SELECT COALESCE(MAX(place), 0) FROM readings WHERE record = $1 AND run = $2`, record, run).Scan(&end)
		if err != nil {
			return err
		}
		insert, err := tx.PrepareContext(ctx, insertReading)
		if err != nil {
			return err
		}
		for i := range list {
			r := &list[i]
			r.No, r.At = first+int64(i), at
			if err := placeReading(ctx, tx, record, r, entries[i].Before, &end); err != nil {
				return errors.Join(err, insert.Close())
			}
			if _, err := insert.ExecContext(ctx, r.values(record)...); err != nil {
				return errors.Join(err, insert.Close())
			}
		}
		return insert.Close()
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

func (e Entry) reading(run int64, by By) (Reading, error) {
	r := Reading{
		Run: run, Replaces: e.Replaces, Volume: e.Volume, Value: e.Value, Time: e.Time, Temperature: e.Temperature,
		State: e.State, Author: by.Author, Why: e.Why,
	}
	if r.State == "" {
		r.State = Kept
	}
	if r.Why == "" {
		r.Why = by.Why
	}
	switch {
	case r.State != Kept && r.State != LeftOut && r.State != Withdrawn:
		return r, &InvalidError{"state of a reading", fmt.Sprintf("%q is not known; %q, %q or %q is meant", shorten(string(r.State)), Kept, LeftOut, Withdrawn)}
	case r.Why == "" && r.Replaces != 0:
		return r, &InvalidError{"reason", "missing: a reading that was kept is changed only with a reason"}
	case r.Why == "" && r.State == LeftOut:
		return r, &InvalidError{"reason", "missing: a reading is left out only with a reason"}
	case r.Replaces != 0 && e.Before != 0:
		return r, &InvalidError{"place", "a reading that replaces another stays at its place"}
	case r.Replaces == 0 && r.State == Withdrawn:
		return r, &InvalidError{"state of a reading", "only a reading that was kept can be withdrawn"}
	case r.Replaces == 0 && r.Volume == "" && r.Value == "":
		return r, &InvalidError{"reading", "neither a volume nor a value"}
	}
	return r, check(append(by.fields(), field{"volume", r.Volume, maxLine}, field{"value", r.Value, maxLine},
		field{"time", r.Time, maxLine}, field{"temperature", r.Temperature, maxLine}, field{"reason", r.Why, maxLine})...)
}

// placeReading finds where a new row goes. end is the last place of the run.
func placeReading(ctx context.Context, tx *sql.Tx, record string, r *Reading, before int64, end *int64) error {
	if r.Replaces != 0 {
		return replaceReading(ctx, tx, record, r)
	}
	if before == 0 {
		*end += gap
		r.Place = *end
		return nil
	}
	next, err := getReading(ctx, tx, record, r.Run, before)
	if err != nil {
		return err
	}
	var low int64
	err = tx.QueryRowContext(ctx, `SELECT COALESCE(MAX(place), 0) FROM readings WHERE record = $1 AND run = $2 AND place < $3`,
		record, r.Run, next.Place).Scan(&low)
	if err != nil {
		return err
	}
	if r.Place = low + (next.Place-low)/2; r.Place == low {
		return &InvalidError{"place", "too many readings were put in front of this one; add the run anew"}
	}
	return nil
}

func replaceReading(ctx context.Context, tx *sql.Tx, record string, r *Reading) error {
	old, err := getReading(ctx, tx, record, r.Run, r.Replaces)
	if err != nil {
		return err
	}
	list, err := collect(ctx, tx, scanReading, `SELECT `+readingColumns+` FROM readings
		WHERE record = $1 AND run = $2 AND place = $3 ORDER BY no DESC LIMIT 1`, record, r.Run, old.Place)
	if err != nil {
		return err
	}
	if now := list[0]; now.No != old.No {
		whole, err := getRecord(ctx, tx, record)
		if err != nil {
			return err
		}
		return &ConflictError{Current: whole, Reading: &now}
	}
	r.Place = old.Place
	if r.Volume == "" && r.Value == "" && r.Time == "" && r.Temperature == "" {
		r.Volume, r.Value, r.Time, r.Temperature = old.Volume, old.Value, old.Time, old.Temperature
	}
	return nil
}

const readingColumns = `no, run, place, COALESCE(replaces, 0), volume, value, time, temperature, state, author, at, why`

const insertReading = `INSERT INTO readings (record, no, run, place, replaces, volume, value, time, temperature, state, author, at, why)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`

func (r *Reading) values(record string) []any {
	return []any{
		record, r.No, r.Run, r.Place, orNull(r.Replaces), r.Volume, r.Value, r.Time, r.Temperature,
		string(r.State), r.Author, millis(r.At), r.Why,
	}
}

func scanReading(row row, r *Reading) error {
	var at int64
	err := row.Scan(&r.No, &r.Run, &r.Place, &r.Replaces, &r.Volume, &r.Value, &r.Time, &r.Temperature, &r.State, &r.Author, &at, &r.Why)
	r.At = fromMillis(at)
	return err
}

func getReading(ctx context.Context, tx *sql.Tx, record string, run, no int64) (Reading, error) {
	list, err := collect(ctx, tx, scanReading, `SELECT `+readingColumns+` FROM readings
		WHERE record = $1 AND run = $2 AND no = $3`, record, run, no)
	if err == nil && len(list) == 0 {
		err = &NotFoundError{"reading", strconv.FormatInt(no, 10)}
	}
	if err != nil {
		return Reading{}, err
	}
	return list[0], nil
}

// Readings returns the current readings of a run in their order: those that
// nothing replaces, left-out ones included, withdrawn ones not.
func (s *Store) Readings(ctx context.Context, record string, run int64) (list []Reading, err error) {
	err = s.readRecord(ctx, "reading the readings", record, func(tx *sql.Tx) error {
		if _, err := getRun(ctx, tx, record, run); err != nil {
			return err
		}
		list, err = currentReadings(ctx, tx, record, run)
		return err
	})
	return list, err
}

func currentReadings(ctx context.Context, tx *sql.Tx, record string, run int64) ([]Reading, error) {
	return collect(ctx, tx, scanReading, selectCurrent, record, run)
}

const currentOfRun = ` FROM readings r
	WHERE record = $1 AND run = $2 AND state <> 'withdrawn' AND NOT EXISTS
		(SELECT 1 FROM readings n WHERE n.record = r.record AND n.replaces = r.no)`

const selectCurrent = `SELECT ` + readingColumns + currentOfRun + ` ORDER BY place, no`

// EachReading hands a run and its current readings to f, one at a time in their
// order, and ends with the first error of f. So a run of a million readings
// need not be held. The run is returned without readings, and with what f
// returned too.
func (s *Store) EachReading(ctx context.Context, record string, run int64, f func(Run, *Reading) error) (r RunReadings, err error) {
	err = s.readRecord(ctx, "reading a run", record, func(tx *sql.Tx) error {
		if r.Run, err = getRun(ctx, tx, record, run); err != nil {
			return err
		}
		if r.Last, err = lastRow(ctx, tx, record, run); err != nil {
			return err
		}
		one := func(q *Reading) error { return f(r.Run, q) }
		return each(ctx, tx, scanReading, one, selectCurrent, record, run)
	})
	return r, err
}

// lastRow is the number of the newest row of a run, whatever became of it.
func lastRow(ctx context.Context, tx *sql.Tx, record string, run int64) (no int64, err error) {
	err = tx.QueryRowContext(ctx, `SELECT COALESCE(MAX(no), 0) FROM readings WHERE record = $1 AND run = $2`, record, run).Scan(&no)
	return no, err
}

// Run returns one run with its current readings.
func (s *Store) Run(ctx context.Context, record string, run int64) (r RunReadings, err error) {
	err = s.readRecord(ctx, "reading a run", record, func(tx *sql.Tx) error {
		found, err := getRun(ctx, tx, record, run)
		if err != nil {
			return err
		}
		r, err = runReadings(ctx, tx, record, found)
		return err
	})
	return r, err
}

func runReadings(ctx context.Context, tx *sql.Tx, record string, run Run) (RunReadings, error) {
	list, err := currentReadings(ctx, tx, record, run.No)
	if err != nil {
		return RunReadings{}, err
	}
	last, err := lastRow(ctx, tx, record, run.No)
	return RunReadings{run, list, last}, err
}

// History returns every row ever added to a record's runs, in the order of
// their adding.
func (s *Store) History(ctx context.Context, record string) (list []Reading, err error) {
	err = s.readRecord(ctx, "reading the history", record, func(tx *sql.Tx) error {
		list, err = getHistory(ctx, tx, record)
		return err
	})
	return list, err
}

func getHistory(ctx context.Context, tx *sql.Tx, record string) ([]Reading, error) {
	return collect(ctx, tx, scanReading, `SELECT `+readingColumns+` FROM readings WHERE record = $1 ORDER BY no`, record)
}

// A Determination is a record with its runs and their current readings, all of
// one moment.
type Determination struct {
	Record Record
	Runs   []RunReadings
}

// RunReadings is a run and its current readings.
type RunReadings struct {
	Run      Run
	Readings []Reading
	Last     int64 // number of the newest row, a withdrawn one too; 0 for none
}

// An Outline is a record with its runs and how many current readings each has,
// all of one moment: what a list needs of a run, however long it is.
type Outline struct {
	Record Record
	Runs   []RunCount
}

// RunCount is a run and the number of its current readings.
type RunCount struct {
	Run      Run
	Readings int
}

// Outline returns a record and its runs without their readings.
func (s *Store) Outline(ctx context.Context, id string) (o Outline, err error) {
	err = s.read(ctx, "reading a record", func(tx *sql.Tx) error {
		if o.Record, err = getRecord(ctx, tx, id); err != nil {
			return err
		}
		runs, err := getRuns(ctx, tx, id)
		if err != nil {
			return err
		}
		for _, r := range runs {
			c := RunCount{Run: r}
			if err := tx.QueryRowContext(ctx, `SELECT COUNT(*)`+currentOfRun, id, r.No).Scan(&c.Readings); err != nil {
				return err
			}
			o.Runs = append(o.Runs, c)
		}
		return nil
	})
	return o, err
}

// Determination returns what an evaluation starts from.
func (s *Store) Determination(ctx context.Context, id string) (d Determination, err error) {
	err = s.read(ctx, "reading a determination", func(tx *sql.Tx) error {
		if d.Record, err = getRecord(ctx, tx, id); err != nil {
			return err
		}
		runs, err := getRuns(ctx, tx, id)
		if err != nil {
			return err
		}
		for _, r := range runs {
			whole, err := runReadings(ctx, tx, id, r)
			if err != nil {
				return err
			}
			d.Runs = append(d.Runs, whole)
		}
		return nil
	})
	return d, err
}

// sortReadings puts readings into the order of their places.
func sortReadings(list []Reading) {
	slices.SortFunc(list, func(a, b Reading) int {
		return cmp.Or(cmp.Compare(a.Place, b.Place), cmp.Compare(a.No, b.No))
	})
}
