package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"
)

// A Result is an archived evaluation.
type Result struct {
	No      int64     `json:"no"` // names it within the record
	JSON    string    `json:"-"`  // as the program wrote it; a file of its own in an export
	Program string    `json:"program"`
	Inputs  string    `json:"inputs"` // Determination.Inputs of what it was computed from
	Author  string    `json:"author"`
	At      time.Time `json:"at"`
}

// Inputs is the SHA-256 of all that an evaluation depends on: the setup as
// written, the runs, and their current readings. A result whose Inputs differ
// was computed from something else than what is there now.
func (d Determination) Inputs() string {
	type reading struct{ Volume, Value, Time, Temperature, State string }
	type run struct {
		Kind, Unit, Aliquot, LeftOut string
		Readings                     []reading
	}
	x := struct {
		Setup string
		Runs  []run
	}{Setup: d.Record.Setup}
	for _, r := range d.Runs {
		list := []reading{}
		for _, y := range r.Readings {
			list = append(list, reading{y.Volume, y.Value, y.Time, y.Temperature, string(y.State)})
		}
		x.Runs = append(x.Runs, run{r.Run.Kind, r.Run.Unit, r.Run.Aliquot, r.Run.LeftOut, list})
	}
	data, err := json.Marshal(x)
	if err != nil {
		panic("store: " + err.Error()) // strings always encode
	}
	return sum(data)
}

// AddResult archives a result: JSON, the program's version, and the Inputs of
// the Determination that it was computed from.
func (s *Store) AddResult(ctx context.Context, record string, r Result, by By) (Result, error) {
	if err := check(append(by.fields(), field{"result", r.JSON, maxText}, field{"program", r.Program, maxLine}, field{"inputs", r.Inputs, maxLine})...); err != nil {
		return Result{}, err
	}
	if !json.Valid([]byte(r.JSON)) {
		return Result{}, &InvalidError{"result", fmt.Sprintf("%q is not JSON", shorten(r.JSON))}
	}
	err := s.write(ctx, "keeping a result", func(tx *sql.Tx) (err error) {
		if r.No, err = s.number(ctx, tx, record, 1); err != nil {
			return err
		}
		r.Author, r.At = by.Author, fromMillis(millis(s.now()))
		return insertResult(ctx, tx, record, r)
	})
	if err != nil {
		return Result{}, err
	}
	return r, nil
}

func insertResult(ctx context.Context, tx *sql.Tx, record string, r Result) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO results (record, no, result, program, inputs, author, at)
		VALUES ($1, $2, $3, $4, $5, $6, $7)`, record, r.No, r.JSON, r.Program, r.Inputs, r.Author, millis(r.At))
	return err
}

// Results returns the archived results, the newest last.
func (s *Store) Results(ctx context.Context, record string) (list []Result, err error) {
	err = s.readRecord(ctx, "reading the results", record, func(tx *sql.Tx) error {
		list, err = getResults(ctx, tx, record)
		return err
	})
	return list, err
}

func getResults(ctx context.Context, tx *sql.Tx, record string) ([]Result, error) {
	return collect(ctx, tx, func(row row, r *Result) error {
		var at int64
		err := row.Scan(&r.No, &r.JSON, &r.Program, &r.Inputs, &r.Author, &at)
		r.At = fromMillis(at)
		return err
	}, `SELECT no, result, program, inputs, author, at FROM results WHERE record = $1 ORDER BY no`, record)
}
