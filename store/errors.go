package store

import (
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	driver "modernc.org/sqlite"
	code "modernc.org/sqlite/lib"
)

// A NotFoundError says that a record, or a part of one, is not there.
type NotFoundError struct {
	What string // "record", "run", "reading", "original", "result", "setting"
	ID   string
}

func (e *NotFoundError) Error() string { return fmt.Sprintf("there is no %s %q here", e.What, e.ID) }

// A ConflictError says that somebody else was faster. Nothing was written.
type ConflictError struct {
	Current Record   // as it is now: SavedBy made it so, at Saved
	Reading *Reading // the row now at the place, where a reading was the matter
	Version int64    // on which the refused change was based; 0 for a reading
}

func (e *ConflictError) Error() string {
	if r := e.Reading; r != nil {
		return fmt.Sprintf("this reading was changed by %s at %s to %s, %s; nothing was saved: look at it and decide again", name(r.Author), clock(r.At), r.Volume, r.Value)
	}
	return fmt.Sprintf("the record was changed by %s at %s (version %d, yours began from %d); nothing was saved: compare the two and save again", name(e.Current.SavedBy), clock(e.Current.Saved), e.Current.Version, e.Version)
}

// A BehindError says that a run has rows that the one who adds to it does not
// know. Nothing was written.
type BehindError struct {
	Run         int64
	Known, Last int64 // number of the newest row known, and of the newest there is
}

func (e *BehindError) Error() string {
	return fmt.Sprintf("the run was changed meanwhile (row %d is its newest, yours began from %d); nothing was saved: look at the rows and decide again", e.Last, e.Known)
}

func name(author string) string {
	if author == "" {
		return "somebody"
	}
	return author
}

func clock(t time.Time) string { return t.Format("2006-01-02 15:04:05 UTC") }

// An InvalidError says what cannot be kept. Nothing was written.
type InvalidError struct {
	Field   string
	Problem string
}

func (e *InvalidError) Error() string { return e.Field + ": " + e.Problem }

// A LockedError says that another program holds the database.
type LockedError struct {
	Target string
	Err    error
}

func (e *LockedError) Error() string {
	return fmt.Sprintf("%s is held by another program; nothing was saved. Close what else has it open (a second meniscus, a copy or backup that runs) and try again: %v", e.Target, e.Err)
}
func (e *LockedError) Unwrap() error { return e.Err }

// A DamagedError says that the database is not as it was written.
type DamagedError struct {
	Target string
	Err    error
}

func (e *DamagedError) Error() string {
	return fmt.Sprintf("%s is damaged or is no database of meniscus; it was left as it is. Copy it away, then restore the newest backup into a new file (meniscus restore BACKUP --database NEW): %v", e.Target, e.Err)
}
func (e *DamagedError) Unwrap() error { return e.Err }

// A FullError says that there is no room, or that the disk refuses to write.
// What was acknowledged before is kept, and the store works on once there is
// room again.
type FullError struct {
	Target string
	Err    error
}

func (e *FullError) Error() string {
	return fmt.Sprintf("there is no room to write to %s; this change was not saved, everything saved before is there. Make room on the disk and try again: %v", e.Target, e.Err)
}
func (e *FullError) Unwrap() error { return e.Err }

// typed says whether err already tells a person what to do.
func typed(err error) bool {
	return errors.As(err, new(*LockedError)) || errors.As(err, new(*DamagedError)) || errors.As(err, new(*FullError))
}

// own says whether err is about what was asked for, not about the database.
func own(err error) bool {
	return errors.As(err, new(*NotFoundError)) || errors.As(err, new(*ConflictError)) || errors.As(err, new(*BehindError)) || errors.As(err, new(*InvalidError))
}

// failure says what was being done, and gives a fault of the database its type.
func (s *Store) failure(doing string, err error) error {
	if err == nil || own(err) {
		return err
	}
	if !typed(err) {
		err = s.dialect.classify(err)
	}
	switch e := err.(type) {
	case *LockedError:
		e.Target = s.dialect.target
	case *DamagedError:
		e.Target = s.dialect.target
	case *FullError:
		e.Target = s.dialect.target
	}
	return fmt.Errorf("%s: %w", doing, err)
}

// classifySQLite goes by the result codes at sqlite.org/rescode.html.
func classifySQLite(err error) error {
	var e *driver.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() {
	case code.SQLITE_IOERR_READ, code.SQLITE_IOERR_SHORT_READ, code.SQLITE_IOERR_CORRUPTFS, code.SQLITE_IOERR_DATA:
		return &DamagedError{Err: err}
	case code.SQLITE_IOERR_LOCK, code.SQLITE_IOERR_RDLOCK, code.SQLITE_IOERR_SHMLOCK, code.SQLITE_IOERR_BLOCKED:
		return &LockedError{Err: err}
	}
	switch e.Code() & 0xff { // the primary code
	case code.SQLITE_BUSY, code.SQLITE_LOCKED, code.SQLITE_PROTOCOL:
		return &LockedError{Err: err}
	case code.SQLITE_CORRUPT, code.SQLITE_NOTADB:
		return &DamagedError{Err: err}
	case code.SQLITE_FULL, code.SQLITE_IOERR:
		return &FullError{Err: err}
	}
	return err
}

// classifyPostgres goes by the error codes of PostgreSQL 15, appendix A.
func classifyPostgres(err error) error {
	var e *pgconn.PgError
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code {
	case "53100", "53200", "58030": // disk_full, out_of_memory, io_error
		return &FullError{Err: err}
	case "55P03", "57P03", "53300", "40P01", "40001": // lock_not_available, cannot_connect_now, too_many_connections, deadlock, serialization
		return &LockedError{Err: err}
	case "XX001", "XX002": // data_corrupted, index_corrupted
		return &DamagedError{Err: err}
	}
	return err
}
