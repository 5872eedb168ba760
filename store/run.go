package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"time"
)

// Kinds of run.
const (
	Sample = "sample"
	Blank  = "blank"
)

// A Run is one titration of a determination: a sample or a blank.
type Run struct {
	No       int64     `json:"no"` // names it within the record
	Name     string    `json:"name"`
	Kind     string    `json:"kind"`               // Sample or Blank
	Unit     string    `json:"unit"`               // of the values as typed: "mV", "V" or "pH"
	Aliquot  string    `json:"aliquot"`            // as written, such as "25.00 mL"; "" where the setup says it
	LeftOut  string    `json:"left_out"`           // the reason; "" takes part
	Place    int64     `json:"place"`              // order of the runs
	Original int64     `json:"original,omitempty"` // number of the file that it was read from; 0 for none
	Author   string    `json:"author"`
	At       time.Time `json:"at"`
}

// AddRunOf adds a run with n readings, all or none, which are made one at a time:
// a long file needs no second copy of itself.
func (s *Store) AddRunOf(ctx context.Context, record string, r Run, by By, n int, reading func(i int) Entry) (Run, error) {
	if err := checkRun(r, by); err != nil {
		return Run{}, err
	}
	err := s.write(ctx, "adding a run", func(tx *sql.Tx) error {
		if err := s.insertNewRun(ctx, tx, record, &r, by, n); err != nil {
			return err
		}
		insert, err := tx.PrepareContext(ctx, insertReading)
		if err != nil {
			return err
		}
		for i := range n {
			x, err := reading(i).reading(r.No, by)
			if err == nil && x.Replaces != 0 {
				err = &InvalidError{"reading", "a new run has no rows to replace"}
			}
			if err == nil {
				x.No, x.At, x.Place = r.No+int64(i)+1, r.At, int64(i+1)*gap
				_, err = insert.ExecContext(ctx, x.values(record)...)
			}
			if err != nil {
				return errors.Join(err, insert.Close())
			}
		}
		return insert.Close()
	})
	if err != nil {
		return Run{}, err
	}
	return r, nil
}

// AddRun adds a run. Place 0 puts it after the others. It makes no new version
// of the record, so it never conflicts.
func (s *Store) AddRun(ctx context.Context, record string, r Run, by By) (Run, error) {
	return s.AddRunOf(ctx, record, r, by, 0, nil)
}

// insertNewRun gives a run its number, with n further ones behind it, and its
// place.
func (s *Store) insertNewRun(ctx context.Context, tx *sql.Tx, record string, r *Run, by By, n int) (err error) {
	if r.No, err = s.number(ctx, tx, record, 1+n); err != nil {
		return err
	}
	if r.Place == 0 {
		err = tx.QueryRowContext(ctx, `SELECT COALESCE(MAX(place), 0) + 1 FROM runs WHERE record = $1`, record).Scan(&r.Place)
		if err != nil {
			return err
		}
	}
	if r.Original != 0 {
		if err := checkOriginal(ctx, tx, record, r.Original); err != nil {
			return err
		}
	}
	r.Author, r.At = by.Author, fromMillis(millis(s.now()))
	return insertRun(ctx, tx, record, *r)
}

func insertRun(ctx context.Context, tx *sql.Tx, record string, r Run) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO runs (record, no, name, kind, unit, aliquot, left_out, place, original_no, author, at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
		record, r.No, r.Name, r.Kind, r.Unit, r.Aliquot, r.LeftOut, r.Place, orNull(r.Original), r.Author, millis(r.At))
	return err
}

// orNull is a number of another row, or NULL for none.
func orNull(no int64) sql.NullInt64 { return sql.NullInt64{Int64: no, Valid: no != 0} }

// SaveRun changes a run's name, kind, unit, aliquot, place and whether it is
// left out, as the next version of the record, with a change for each that
// differs. version is the version of the record that was edited; see Save.
func (s *Store) SaveRun(ctx context.Context, record string, version int64, r Run, by By) (Record, error) {
	if err := checkRun(r, by); err != nil {
		return Record{}, err
	}
	return s.revise(ctx, "saving a run", record, version, by, func(tx *sql.Tx, _ *Record) ([]Change, error) {
		now, err := getRun(ctx, tx, record, r.No)
		if err != nil {
			return nil, err
		}
		list := diff([]Change{
			{What: "name", Was: now.Name, Became: r.Name},
			{What: "kind", Was: now.Kind, Became: r.Kind},
			{What: "unit", Was: now.Unit, Became: r.Unit},
			{What: "aliquot", Was: now.Aliquot, Became: r.Aliquot},
			{What: "left out", Was: now.LeftOut, Became: r.LeftOut},
			{What: "place", Was: fmt.Sprint(now.Place), Became: fmt.Sprint(r.Place)},
		})
		for i := range list {
			list[i].What = fmt.Sprintf("run %d: %s", r.No, list[i].What)
		}
		_, err = tx.ExecContext(ctx, `UPDATE runs SET name = $3, kind = $4, unit = $5, aliquot = $6, left_out = $7, place = $8
			WHERE record = $1 AND no = $2`, record, r.No, r.Name, r.Kind, r.Unit, r.Aliquot, r.LeftOut, r.Place)
		return list, err
	})
}

func checkRun(r Run, by By) error {
	if r.Kind != Sample && r.Kind != Blank {
		return &InvalidError{"kind of run", fmt.Sprintf("%q is not known; %s or %s is meant", shorten(r.Kind), Sample, Blank)}
	}
	return check(append(by.fields(), field{"name of the run", r.Name, maxLine}, field{"unit", r.Unit, maxLine},
		field{"aliquot", r.Aliquot, maxLine}, field{"reason", r.LeftOut, maxLine})...)
}

// Runs returns the runs of a record in their order.
func (s *Store) Runs(ctx context.Context, record string) (list []Run, err error) {
	err = s.readRecord(ctx, "reading the runs", record, func(tx *sql.Tx) error {
		list, err = getRuns(ctx, tx, record)
		return err
	})
	return list, err
}

const runColumns = `no, name, kind, unit, aliquot, left_out, place, COALESCE(original_no, 0), author, at`

func scanRun(row row, r *Run) error {
	var at int64
	err := row.Scan(&r.No, &r.Name, &r.Kind, &r.Unit, &r.Aliquot, &r.LeftOut, &r.Place, &r.Original, &r.Author, &at)
	r.At = fromMillis(at)
	return err
}

func getRuns(ctx context.Context, tx *sql.Tx, record string) ([]Run, error) {
	return collect(ctx, tx, scanRun, `SELECT `+runColumns+` FROM runs WHERE record = $1 ORDER BY place, no`, record)
}

func getRun(ctx context.Context, tx *sql.Tx, record string, no int64) (Run, error) {
	list, err := collect(ctx, tx, scanRun, `SELECT `+runColumns+` FROM runs WHERE record = $1 AND no = $2`, record, no)
	if err == nil && len(list) == 0 {
		err = &NotFoundError{"run", strconv.FormatInt(no, 10)}
	}
	if err != nil {
		return Run{}, err
	}
	return list[0], nil
}
