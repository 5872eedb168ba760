// Package store keeps the records of determinations: setups, runs, readings
// with their whole history, uploaded originals, results and every change with
// who, when and why. It keeps texts and bytes as they were given; it knows no
// chemistry and computes nothing: see setup, curve and assay.
//
// A store is one SQLite file, or a schema on a PostgreSQL server; the code, the
// SQL and the tests are the same for both. What a method has returned without
// an error is on disk.
package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/pressly/goose/v3"
)

//go:embed migrations/*.sql
var migrations embed.FS

// A Store is an open database. Its methods may be called from several
// goroutines, and several Stores may have the same database open.
type Store struct {
	db      *sql.DB
	dialect dialect
	now     func() time.Time
}

// By is who makes a change, and why. Why may be empty where the method does
// not ask for it.
type By struct {
	Author string
	Why    string
}

// Open opens the store at target, a file name or a postgres:// address, and
// makes it if it is not there. A file and the folders above it are made for
// its owner only. The clock is asked for the time of each change.
//
// Open returns a LockedError, DamagedError or FullError where one of these
// is the cause. It fails if the database would not keep what it acknowledges.
func Open(ctx context.Context, target string, now func() time.Time) (*Store, error) {
	return open(ctx, target, now, tuning{})
}

// tuning is what tests change.
type tuning struct {
	pragmas []string      // for SQLite, further ones or in place of the program's own
	busy    time.Duration // how long to wait for a lock; 0 is 5 s
}

func open(ctx context.Context, target string, now func() time.Time, t tuning) (*Store, error) {
	d, dsn, err := chooseDialect(target, t)
	if err != nil {
		return nil, err
	}
	db, err := sql.Open(d.driver, dsn)
	if err != nil {
		return nil, fmt.Errorf("opening %s: %w", d.target, err)
	}
	db.SetMaxOpenConns(8)
	db.SetMaxIdleConns(8)
	s := &Store{db, d, now}
	for _, step := range []func(context.Context) error{s.assertDurable, s.checkSmall, s.migrate} {
		if err := step(ctx); err != nil {
			err = s.failure("opening the store", err)
			if !typed(err) { // those name it themselves
				err = fmt.Errorf("%s: %w", d.target, err)
			}
			return nil, errors.Join(err, db.Close())
		}
	}
	return s, nil
}

// Close closes the store. Nothing is pending: what was acknowledged is on disk.
func (s *Store) Close() error { return s.db.Close() }

// Target says where the store is, without a password.
func (s *Store) Target() string { return s.dialect.target }

// assertDurable fails where a setting of the database makes a commit less
// than a promise.
func (s *Store) assertDurable(ctx context.Context) error {
	for _, p := range s.dialect.promises {
		var got string
		if err := s.db.QueryRowContext(ctx, p.query).Scan(&got); err != nil {
			return err
		}
		ok := false
		for _, v := range p.allowed {
			ok = ok || got == v
		}
		if !ok {
			return fmt.Errorf("%s is %q, but %q is needed: a reading that shows as saved would not survive a power cut", p.name, got, p.allowed[0])
		}
	}
	return nil
}

// migrate brings the tables to this program's state. Two programs may start at
// once, so the loser of the race looks again.
func (s *Store) migrate(ctx context.Context) error {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	const tries = 5
	for i := 1; ; i++ {
		err := s.migrateOnce(ctx, files)
		if err == nil || i == tries || errors.As(err, new(*newerError)) || typed(s.dialect.classify(err)) {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(time.Duration(i) * 50 * time.Millisecond):
		}
	}
}

func (s *Store) migrateOnce(ctx context.Context, files fs.FS) error {
	p, err := goose.NewProvider(s.dialect.goose, s.db, files, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return err
	}
	current, target, err := p.GetVersions(ctx)
	if err != nil {
		return err
	}
	if current > target {
		return &newerError{current, target}
	}
	if current == target {
		return nil
	}
	_, err = p.Up(ctx)
	return err
}

// A newerError is a store whose tables are of a later program.
type newerError struct{ has, knows int64 }

func (e *newerError) Error() string {
	return fmt.Sprintf("its tables are of version %d and this program knows %d: use the newer meniscus that made it", e.has, e.knows)
}

// DefaultFile is the store in the user's data folder, used where no other is
// named: $XDG_DATA_HOME/meniscus/meniscus.db, or what the system has in its place.
func DefaultFile() (string, error) {
	dir := os.Getenv("XDG_DATA_HOME")
	if dir == "" && runtime.GOOS == "windows" {
		dir = os.Getenv("LocalAppData")
	}
	if dir == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", fmt.Errorf("looking for the data folder: %w; name a database instead", err)
		}
		if dir = filepath.Join(home, ".local", "share"); runtime.GOOS == "darwin" {
			dir = filepath.Join(home, "Library", "Application Support")
		}
	}
	return filepath.Join(dir, "meniscus", "meniscus.db"), nil
}

// millis is a time as it is kept.
func millis(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

func fromMillis(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}

// write runs f in a transaction. It returns without an error only after the
// commit.
func (s *Store) write(ctx context.Context, doing string, f func(*sql.Tx) error) error {
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return s.failure(doing, err)
	}
	if err := f(tx); err != nil {
		if rerr := tx.Rollback(); rerr != nil && !errors.Is(rerr, sql.ErrTxDone) {
			err = errors.Join(err, rerr)
		}
		return s.failure(doing, err)
	}
	if err := tx.Commit(); err != nil {
		return s.failure(doing, err)
	}
	return nil
}

// read runs f on one state of the database.
func (s *Store) read(ctx context.Context, doing string, f func(*sql.Tx) error) error {
	tx, err := s.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true, Isolation: s.dialect.snapshot})
	if err != nil {
		return s.failure(doing, err)
	}
	err = f(tx)
	if rerr := tx.Rollback(); err == nil && rerr != nil && !errors.Is(rerr, sql.ErrTxDone) {
		err = rerr
	}
	if err != nil {
		return s.failure(doing, err)
	}
	return nil
}

// collect runs a query and scans each row.
func collect[T any](ctx context.Context, tx *sql.Tx, scan func(row, *T) error, query string, args ...any) (list []T, err error) {
	err = each(ctx, tx, scan, func(x *T) error { list = append(list, *x); return nil }, query, args...)
	if err != nil {
		return nil, err
	}
	return list, nil
}

// each runs a query, scans each row and hands it to f. It ends with the first
// error.
func each[T any](ctx context.Context, tx *sql.Tx, scan func(row, *T) error, f func(*T) error, query string, args ...any) (err error) {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var x T
		if err := scan(rows, &x); err != nil {
			return err
		}
		if err := f(&x); err != nil {
			return err
		}
	}
	return rows.Err()
}

// A row is what one row is scanned from: *sql.Row or *sql.Rows.
type row interface{ Scan(...any) error }
