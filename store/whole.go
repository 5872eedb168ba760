package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// whole is everything of one record. Its JSON is record.json of an export.
type whole struct {
	Schema    string     `json:"schema"`
	Record    Record     `json:"record"`
	Runs      []Run      `json:"runs"`
	Readings  []Reading  `json:"readings"` // the whole history
	Originals []Original `json:"originals"`
	Changes   []Change   `json:"changes"`
	Results   []Result   `json:"results"`

	contents [][]byte // of the originals
}

const recordSchema = "meniscus record 1"

func getWhole(ctx context.Context, tx *sql.Tx, id string) (w whole, err error) {
	w.Schema = recordSchema
	if w.Record, err = getRecord(ctx, tx, id); err != nil {
		return w, err
	}
	if w.Runs, err = getRuns(ctx, tx, id); err != nil {
		return w, err
	}
	if w.Readings, err = getHistory(ctx, tx, id); err != nil {
		return w, err
	}
	if w.Originals, err = getOriginals(ctx, tx, id); err != nil {
		return w, err
	}
	if w.Changes, err = getChanges(ctx, tx, id); err != nil {
		return w, err
	}
	if w.Results, err = getResults(ctx, tx, id); err != nil {
		return w, err
	}
	for _, o := range w.Originals {
		content, err := getContent(ctx, tx, id, o.No)
		if err != nil {
			return w, err
		}
		w.contents = append(w.contents, content)
	}
	return w, nil
}

func insertWhole(ctx context.Context, tx *sql.Tx, w whole) error {
	id := w.Record.ID
	if err := insertRecord(ctx, tx, w.Record); err != nil {
		return err
	}
	for i, o := range w.Originals {
		if err := insertOriginal(ctx, tx, id, o, w.contents[i]); err != nil {
			return err
		}
	}
	for _, r := range w.Runs {
		if err := insertRun(ctx, tx, id, r); err != nil {
			return err
		}
	}
	if err := insertReadings(ctx, tx, id, w.Readings); err != nil {
		return err
	}
	for _, c := range w.Changes {
		if err := insertChange(ctx, tx, id, c); err != nil {
			return err
		}
	}
	for _, r := range w.Results {
		if err := insertResult(ctx, tx, id, r); err != nil {
			return err
		}
	}
	return nil
}

func insertReadings(ctx context.Context, tx *sql.Tx, record string, list []Reading) (err error) {
	insert, err := tx.PrepareContext(ctx, insertReading)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, insert.Close()) }()
	for _, r := range list {
		if _, err := insert.ExecContext(ctx, r.values(record)...); err != nil {
			return err
		}
	}
	return nil
}

// verify finds what a store would never have written, so that an import cannot
// bring in what could not be typed.
func (w *whole) verify() error {
	if w.Schema != recordSchema {
		return &InvalidError{"record.json", fmt.Sprintf("schema %q is not known; %q is meant", shorten(w.Schema), recordSchema)}
	}
	r := w.Record
	for _, c := range r.ID {
		if (c < '0' || c > '9') && (c < 'a' || c > 'z') {
			return &InvalidError{"record.json", fmt.Sprintf("%q is no id of a record", shorten(r.ID))}
		}
	}
	if r.ID == "" || len(r.ID) > 40 || r.Version < 1 {
		return &InvalidError{"record.json", "the record has no id or no version"}
	}
	if err := checkRecord(r, By{Author: r.CreatedBy + r.SavedBy}); err != nil {
		return err
	}
	seen := map[int64]string{}
	number := func(kind string, no int64) error {
		if no < 1 || no > r.LastNo || seen[no] != "" {
			return &InvalidError{"record.json", fmt.Sprintf("number %d of a %s is out of range or given twice", no, kind)}
		}
		seen[no] = kind
		return nil
	}
	for _, o := range w.Originals {
		if err := firstError(number("original", o.No), check(field{"original", o.Name, maxLine}, field{"original", o.MediaType, maxLine}, field{"author", o.Author, maxLine})); err != nil {
			return err
		}
	}
	for _, x := range w.Runs {
		if err := firstError(number("run", x.No), checkRun(x, By{Author: x.Author})); err != nil {
			return err
		}
		if x.Original != 0 && seen[x.Original] != "original" {
			return &InvalidError{"record.json", fmt.Sprintf("run %d was read from an original that is not there", x.No)}
		}
	}
	if err := w.verifyReadings(seen, number); err != nil {
		return err
	}
	for _, c := range w.Changes {
		if err := firstError(number("change", c.No), check(field{"change", c.What, maxLine}, field{"change", c.Was, maxText}, field{"change", c.Became, maxText}, field{"author", c.Author, maxLine}, field{"reason", c.Why, maxLine})); err != nil {
			return err
		}
	}
	for _, x := range w.Results {
		if err := firstError(number("result", x.No), check(field{"result", x.JSON, maxText}, field{"result", x.Program, maxLine}, field{"result", x.Inputs, maxLine}, field{"author", x.Author, maxLine})); err != nil {
			return err
		}
	}
	return nil
}

func (w *whole) verifyReadings(seen map[int64]string, number func(string, int64) error) error {
	byNo, replaced := map[int64]Reading{}, map[int64]bool{}
	for _, x := range w.Readings {
		e := Entry{x.Volume, x.Value, x.Time, x.Temperature, x.State, x.Why, x.Replaces, 0}
		_, err := e.reading(x.Run, By{Author: x.Author})
		if err := firstError(number("reading", x.No), err); err != nil {
			return err
		}
		old, there := byNo[x.Replaces]
		switch {
		case seen[x.Run] != "run":
			return &InvalidError{"record.json", fmt.Sprintf("reading %d is of a run that is not there", x.No)}
		case x.Replaces != 0 && (!there || replaced[x.Replaces] || old.Run != x.Run || old.Place != x.Place):
			return &InvalidError{"record.json", fmt.Sprintf("reading %d replaces one that is not there, is another's, or was replaced before", x.No)}
		}
		byNo[x.No], replaced[x.Replaces] = x, true
	}
	return nil
}

func firstError(list ...error) error {
	for _, err := range list {
		if err != nil {
			return err
		}
	}
	return nil
}

// Duplicate makes a new record from one that is there: its setup, notes and
// tags, and its runs. With readings the current ones come along as new rows;
// withdrawn ones and the history stay behind. A change says where it came from.
func (s *Store) Duplicate(ctx context.Context, id string, readings bool, by By) (Record, error) {
	var r Record
	err := s.write(ctx, "duplicating a record", func(tx *sql.Tx) error {
		old, err := getRecord(ctx, tx, id)
		if err != nil {
			return err
		}
		if r, err = s.fresh(old, by); err != nil {
			return err
		}
		w := whole{Record: r}
		next := func() int64 { w.Record.LastNo++; return w.Record.LastNo }
		w.Changes = []Change{{next(), by.Author, r.Created, by.Why, "duplicate of", "", id}}
		runs, err := getRuns(ctx, tx, id)
		if err != nil {
			return err
		}
		for _, run := range runs {
			list, err := currentReadings(ctx, tx, id, run.No)
			if err != nil {
				return err
			}
			run.No, run.Original, run.Author, run.At = next(), 0, by.Author, r.Created
			w.Runs = append(w.Runs, run)
			for _, x := range list {
				if readings {
					x.No, x.Run, x.Replaces, x.Author, x.At = next(), run.No, 0, by.Author, r.Created
					w.Readings = append(w.Readings, x)
				}
			}
		}
		r = w.Record
		return insertWhole(ctx, tx, w)
	})
	return r, err
}
