package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// A Record is one determination as the chemist sees it in a list. The names in
// the tags are those of record.json in an export.
type Record struct {
	ID        string    `json:"id"` // sorts by time of creation
	Title     string    `json:"title"`
	Setup     string    `json:"-"` // YAML as written; setup.yaml in an export
	Notes     string    `json:"notes"`
	Tags      []string  `json:"tags"` // sorted, each once
	Version   int64     `json:"version"`
	LastNo    int64     `json:"last_no"` // the highest number given to a part of it
	Created   time.Time `json:"created"`
	CreatedBy string    `json:"created_by"`
	Saved     time.Time `json:"saved"` // when this version was made
	SavedBy   string    `json:"saved_by"`
	Touched   time.Time `json:"touched"` // when anything of it last changed, readings included
	Removed   time.Time `json:"removed"` // zero where it is not removed
}

// A Change is one field of a record, or of one of its runs, before and after.
type Change struct {
	No     int64     `json:"no"`
	Author string    `json:"author"`
	At     time.Time `json:"at"`
	Why    string    `json:"why"`
	What   string    `json:"what"` // "title", "setup", "notes", "tags", "removed", "run 3: aliquot", "duplicate of"
	Was    string    `json:"was"`
	Became string    `json:"became"`
}

// Limits of what is kept; a text longer than these is a mistake or an attack.
const (
	maxLine  = 2000    // bytes of a title, name, tag, reason or typed reading
	maxText  = 4 << 20 // bytes of a setup, notes or a result
	maxTags  = 100
	maxBytes = 64 << 20 // of an original
)

// Create keeps a new record of r's title, setup, notes and tags.
func (s *Store) Create(ctx context.Context, r Record, by By) (Record, error) {
	r, err := s.fresh(r, by)
	if err != nil {
		return Record{}, err
	}
	err = s.write(ctx, "keeping a new record", func(tx *sql.Tx) error { return insertRecord(ctx, tx, r) })
	if err != nil {
		return Record{}, err
	}
	return r, nil
}

// fresh is r as a record that begins now.
func (s *Store) fresh(r Record, by By) (Record, error) {
	now := fromMillis(millis(s.now()))
	r = Record{
		ID: newID(now), Title: r.Title, Setup: r.Setup, Notes: r.Notes, Tags: tidyTags(r.Tags), Version: 1,
		Created: now, CreatedBy: by.Author, Saved: now, SavedBy: by.Author, Touched: now,
	}
	return r, checkRecord(r, by)
}

// newID is a name that sorts by time and that two stores do not both give. Its
// letters sort alike in every collation.
func newID(now time.Time) string {
	const digits = "0123456789abcdefghjkmnpqrstvwxyz" // no i, l, o, u: they are misread
	var b [20]byte
	ms := now.UnixMilli()
	for i := 9; i >= 0; i-- {
		b[i] = digits[ms&31]
		ms >>= 5
	}
	rand.Read(b[10:]) // never fails
	for i := 10; i < len(b); i++ {
		b[i] = digits[b[i]&31]
	}
	return string(b[:])
}

func insertRecord(ctx context.Context, tx *sql.Tx, r Record) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO records
		(id, title, setup, notes, version, last_no, created, created_by, saved, saved_by, touched, removed, words)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`,
		r.ID, r.Title, r.Setup, r.Notes, r.Version, r.LastNo, millis(r.Created), r.CreatedBy,
		millis(r.Saved), r.SavedBy, millis(r.Touched), millis(r.Removed), words(r))
	if err != nil {
		return err
	}
	return insertTags(ctx, tx, r)
}

func insertTags(ctx context.Context, tx *sql.Tx, r Record) error {
	for _, tag := range r.Tags {
		if _, err := tx.ExecContext(ctx, `INSERT INTO tags (record, tag) VALUES ($1, $2)`, r.ID, tag); err != nil {
			return err
		}
	}
	return nil
}

// Record returns a record by its id, removed or not.
func (s *Store) Record(ctx context.Context, id string) (Record, error) {
	var r Record
	err := s.read(ctx, "reading a record", func(tx *sql.Tx) (err error) {
		r, err = getRecord(ctx, tx, id)
		return err
	})
	return r, err
}

const recordColumns = `id, title, setup, notes, version, last_no, created, created_by, saved, saved_by, touched, removed`

func scanRecord(row row, r *Record) error {
	var created, saved, touched, removed int64
	err := row.Scan(&r.ID, &r.Title, &r.Setup, &r.Notes, &r.Version, &r.LastNo, &created, &r.CreatedBy, &saved, &r.SavedBy, &touched, &removed)
	r.Created, r.Saved, r.Touched, r.Removed = fromMillis(created), fromMillis(saved), fromMillis(touched), fromMillis(removed)
	r.Tags = []string{}
	return err
}

func getRecord(ctx context.Context, tx *sql.Tx, id string) (Record, error) {
	var r Record
	err := scanRecord(tx.QueryRowContext(ctx, `SELECT `+recordColumns+` FROM records WHERE id = $1`, id), &r)
	if errors.Is(err, sql.ErrNoRows) {
		return r, &NotFoundError{"record", id}
	}
	if err != nil {
		return r, err
	}
	list := []Record{r}
	err = addTags(ctx, tx, list)
	return list[0], err
}

// addTags fills in the tags of records.
func addTags(ctx context.Context, tx *sql.Tx, list []Record) error {
	if len(list) == 0 {
		return nil
	}
	marks, args := make([]string, len(list)), make([]any, len(list))
	at := map[string]int{}
	for i, r := range list {
		marks[i], args[i], at[r.ID] = fmt.Sprintf("$%d", i+1), r.ID, i
	}
	found, err := collect(ctx, tx, func(row row, p *[2]string) error { return row.Scan(&p[0], &p[1]) },
		`SELECT record, tag FROM tags WHERE record IN (`+strings.Join(marks, ", ")+`)`, args...)
	for _, p := range found {
		r := &list[at[p[0]]]
		r.Tags = append(r.Tags, p[1])
	}
	for i := range list {
		slices.Sort(list[i].Tags)
	}
	return err
}

// Save keeps r's title, setup, notes and tags as the next version, with a
// change for each that differs. r.Version is the version that was edited; if it
// is no longer the current one, a ConflictError carries the record as it is now.
// Where nothing differs there is no new version.
func (s *Store) Save(ctx context.Context, r Record, by By) (Record, error) {
	r.Tags = tidyTags(r.Tags)
	if err := checkRecord(r, by); err != nil {
		return Record{}, err
	}
	return s.revise(ctx, "saving a record", r.ID, r.Version, by, func(_ *sql.Tx, now *Record) ([]Change, error) {
		list := diff([]Change{
			{What: "title", Was: now.Title, Became: r.Title},
			{What: "setup", Was: now.Setup, Became: r.Setup},
			{What: "notes", Was: now.Notes, Became: r.Notes},
			{What: "tags", Was: strings.Join(now.Tags, ", "), Became: strings.Join(r.Tags, ", ")},
		})
		now.Title, now.Setup, now.Notes, now.Tags = r.Title, r.Setup, r.Notes, r.Tags
		return list, nil
	})
}

// Remove takes a record out of Find; nothing of it is deleted.
func (s *Store) Remove(ctx context.Context, id string, version int64, by By) (Record, error) {
	return s.setRemoved(ctx, "removing a record", id, version, by, s.now())
}

// BringBack undoes Remove.
func (s *Store) BringBack(ctx context.Context, id string, version int64, by By) (Record, error) {
	return s.setRemoved(ctx, "bringing a record back", id, version, by, time.Time{})
}

func (s *Store) setRemoved(ctx context.Context, doing, id string, version int64, by By, at time.Time) (Record, error) {
	yes := map[bool]string{true: "yes", false: "no"}
	return s.revise(ctx, doing, id, version, by, func(_ *sql.Tx, now *Record) ([]Change, error) {
		list := diff([]Change{{What: "removed", Was: yes[!now.Removed.IsZero()], Became: yes[!at.IsZero()]}})
		if len(list) > 0 {
			now.Removed = fromMillis(millis(at))
		}
		return list, nil
	})
}

func diff(list []Change) []Change {
	return slices.DeleteFunc(list, func(c Change) bool { return c.Was == c.Became })
}

// revise makes the next version of a record. edit changes the record and says
// what it changed; without a change nothing is written.
func (s *Store) revise(ctx context.Context, doing, id string, version int64, by By, edit func(*sql.Tx, *Record) ([]Change, error)) (Record, error) {
	var r Record
	err := s.write(ctx, doing, func(tx *sql.Tx) error {
		if _, err := s.number(ctx, tx, id, 0); err != nil { // holds the row until the commit
			return err
		}
		var err error
		if r, err = getRecord(ctx, tx, id); err != nil {
			return err
		}
		if r.Version != version {
			return &ConflictError{Current: r, Version: version}
		}
		list, err := edit(tx, &r)
		if err != nil || len(list) == 0 {
			return err
		}
		at := fromMillis(millis(s.now()))
		if err := s.addChanges(ctx, tx, id, list, by, at); err != nil {
			return err
		}
		r.Version, r.LastNo = r.Version+1, r.LastNo+int64(len(list))
		r.Saved, r.SavedBy, r.Touched = at, by.Author, at
		return updateRecord(ctx, tx, r)
	})
	return r, err
}

func updateRecord(ctx context.Context, tx *sql.Tx, r Record) error {
	_, err := tx.ExecContext(ctx, `UPDATE records SET title = $2, setup = $3, notes = $4, version = $5,
		saved = $6, saved_by = $7, touched = $8, removed = $9, words = $10 WHERE id = $1`,
		r.ID, r.Title, r.Setup, r.Notes, r.Version, millis(r.Saved), r.SavedBy, millis(r.Touched), millis(r.Removed), words(r))
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `DELETE FROM tags WHERE record = $1`, r.ID); err != nil {
		return err
	}
	return insertTags(ctx, tx, r)
}

// number gives out the next n numbers of a record and returns the first. It
// holds the record until the commit, so that numbers are in the order of commits.
func (s *Store) number(ctx context.Context, tx *sql.Tx, record string, n int) (int64, error) {
	query := `UPDATE records SET last_no = last_no + $2, touched = $3 WHERE id = $1 RETURNING last_no`
	args := []any{record, n, millis(s.now())}
	if n == 0 {
		query, args = `UPDATE records SET last_no = last_no WHERE id = $1 RETURNING last_no`, args[:1]
	}
	var last int64
	err := tx.QueryRowContext(ctx, query, args...).Scan(&last)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, &NotFoundError{"record", record}
	}
	return last - int64(n) + 1, err
}

func (s *Store) addChanges(ctx context.Context, tx *sql.Tx, record string, list []Change, by By, at time.Time) error {
	first, err := s.number(ctx, tx, record, len(list))
	if err != nil {
		return err
	}
	for i, c := range list {
		c.No, c.Author, c.At, c.Why = first+int64(i), by.Author, at, by.Why
		if err := insertChange(ctx, tx, record, c); err != nil {
			return err
		}
	}
	return nil
}

func insertChange(ctx context.Context, tx *sql.Tx, record string, c Change) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO changes (record, no, author, at, why, what, was, became)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`, record, c.No, c.Author, millis(c.At), c.Why, c.What, c.Was, c.Became)
	return err
}

// Changes returns every change to a record, the first one first.
func (s *Store) Changes(ctx context.Context, record string) (list []Change, err error) {
	err = s.readRecord(ctx, "reading the changes", record, func(tx *sql.Tx) error {
		list, err = getChanges(ctx, tx, record)
		return err
	})
	return list, err
}

func getChanges(ctx context.Context, tx *sql.Tx, record string) ([]Change, error) {
	return collect(ctx, tx, func(row row, c *Change) error {
		var at int64
		err := row.Scan(&c.No, &c.Author, &at, &c.Why, &c.What, &c.Was, &c.Became)
		c.At = fromMillis(at)
		return err
	}, `SELECT no, author, at, why, what, was, became FROM changes WHERE record = $1 ORDER BY no`, record)
}

// readRecord runs f on one state of a record that is there.
func (s *Store) readRecord(ctx context.Context, doing, record string, f func(*sql.Tx) error) error {
	return s.read(ctx, doing, func(tx *sql.Tx) error {
		if _, err := getRecord(ctx, tx, record); err != nil {
			return err
		}
		return f(tx)
	})
}

func checkRecord(r Record, by By) error {
	if len(r.Tags) > maxTags {
		return &InvalidError{"tags", fmt.Sprintf("%d of them; at most %d are kept", len(r.Tags), maxTags)}
	}
	list := []field{{"title", r.Title, maxLine}, {"setup", r.Setup, maxText}, {"notes", r.Notes, maxText}}
	for _, tag := range r.Tags {
		list = append(list, field{"tag", tag, maxLine})
	}
	return check(append(list, by.fields()...)...)
}

func (b By) fields() []field {
	return []field{{"author", b.Author, maxLine}, {"reason", b.Why, maxLine}}
}

// A field is a text before it is kept.
type field struct {
	name, text string
	max        int
}

func check(list ...field) error {
	for _, f := range list {
		switch {
		case len(f.text) > f.max:
			return &InvalidError{f.name, fmt.Sprintf("%d bytes long; at most %d are kept", len(f.text), f.max)}
		case !utf8.ValidString(f.text):
			return &InvalidError{f.name, fmt.Sprintf("%q is not UTF-8 text", shorten(f.text))}
		case strings.ContainsRune(f.text, 0):
			return &InvalidError{f.name, fmt.Sprintf("%q holds a zero byte, which is no text", shorten(f.text))}
		}
	}
	return nil
}

func shorten(text string) string {
	if len(text) > 40 {
		return text[:40] + "..."
	}
	return text
}

// tidyTags is the tags without empty and repeated ones, sorted.
func tidyTags(tags []string) []string {
	list := []string{}
	for _, tag := range tags {
		if tag = strings.Join(strings.Fields(tag), " "); tag != "" {
			list = append(list, tag)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}
