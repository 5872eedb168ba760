package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the driver "sqlite"
)

// A dialect is all in which the two engines differ.
type dialect struct {
	driver   string
	target   string // for people: no password in it
	file     string // "" on a server
	goose    goose.Dialect
	snapshot sql.IsolationLevel // of a transaction that reads one state
	promises []promise
	classify func(error) error
}

// A promise is a setting that a commit depends on.
type promise struct {
	name, query string
	allowed     []string
}

// chooseDialect also returns what the driver is to open.
func chooseDialect(target string, t tuning) (dialect, string, error) {
	switch {
	case strings.HasPrefix(target, "postgres://"), strings.HasPrefix(target, "postgresql://"):
		return postgres(target)
	case target == "":
		return dialect{}, "", errors.New("opening the store: no file and no postgres:// address was named")
	case strings.Contains(target, "://"):
		scheme, _, _ := strings.Cut(target, "://")
		return dialect{}, "", fmt.Errorf("opening the store: addresses of the kind %s:// are not known; a file name or postgres:// is meant", scheme)
	}
	return sqlite(target, t)
}

func sqlite(file string, t tuning) (dialect, string, error) {
	if err := makeFile(file); err != nil {
		return dialect{}, "", err
	}
	if t.busy == 0 {
		t.busy = 5 * time.Second
	}
	full, err := filepath.Abs(file)
	if err != nil {
		return dialect{}, "", fmt.Errorf("opening the store %s: %w", file, err)
	}
	path := filepath.ToSlash(full)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // C:/x
	}
	// Immediate, because a transaction that reads first and then waits for the
	// right to write is refused at once, whatever the timeout.
	pragmas := append([]string{fmt.Sprintf("busy_timeout(%d)", t.busy.Milliseconds())}, t.pragmas...)
	for _, p := range []string{"journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)"} {
		name, _, _ := strings.Cut(p, "(")
		if !slices.ContainsFunc(t.pragmas, func(q string) bool { return strings.HasPrefix(q, name) }) {
			pragmas = append(pragmas, p)
		}
	}
	q := url.Values{"_txlock": {"immediate"}, "_pragma": pragmas}
	dsn := "file://" + (&url.URL{Path: path}).EscapedPath() + "?" + q.Encode()
	return dialect{
		driver: "sqlite", target: file, file: file, goose: goose.DialectSQLite3,
		promises: []promise{
			{"journal_mode", "PRAGMA journal_mode", []string{"wal"}},
			{"synchronous", "PRAGMA synchronous", []string{"2", "3"}},
			{"foreign_keys", "PRAGMA foreign_keys", []string{"1"}},
		},
		classify: classifySQLite,
	}, dsn, nil
}

// makeFile makes an empty file for its owner only: it will hold the hash of
// a password. An empty file is an empty database.
func makeFile(file string) error {
	info, err := os.Stat(file)
	switch {
	case err == nil && info.IsDir():
		return fmt.Errorf("opening the store %s: it is a folder; the name of a file in it is meant", file)
	case err == nil:
		return nil
	case !errors.Is(err, os.ErrNotExist):
		return fmt.Errorf("opening the store: %w", err)
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return fmt.Errorf("making the folder of the store: %w", err)
	}
	f, err := os.OpenFile(file, os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("making the store: %w", err)
	}
	return f.Close()
}

func postgres(target string) (dialect, string, error) {
	config, err := pgx.ParseConfig(target)
	if err != nil {
		return dialect{}, "", fmt.Errorf("opening the store: %w", err) // pgx leaves the password out
	}
	config.RuntimeParams["application_name"] = "meniscus"
	config.RuntimeParams["synchronous_commit"] = "on"
	config.RuntimeParams["lock_timeout"] = "5s"
	return dialect{
		driver: "pgx", goose: goose.DialectPostgres,
		target:   fmt.Sprintf("postgres://%s:%d/%s", config.Host, config.Port, config.Database),
		snapshot: sql.LevelRepeatableRead,
		promises: []promise{
			{"fsync", "SHOW fsync", []string{"on"}},
			{"full_page_writes", "SHOW full_page_writes", []string{"on"}},
			{"synchronous_commit", "SHOW synchronous_commit", []string{"on", "remote_apply"}},
			{"server_encoding", "SHOW server_encoding", []string{"UTF8"}},
		},
		classify: classifyPostgres,
	}, stdlib.RegisterConnConfig(config), nil
}

// smallFile is what is checked at every start; a larger file would make the
// start slow, and its damage shows when the pages are read.
const smallFile = 64 << 20 // bytes, a few tenths of a second

func (s *Store) checkSmall(ctx context.Context) error {
	if s.dialect.file == "" {
		return nil
	}
	info, err := os.Stat(s.dialect.file)
	if err != nil || info.Size() > smallFile {
		return err
	}
	return s.check(ctx)
}

// Check reads the whole database and returns a DamagedError if any of it is
// not as it was written. A PostgreSQL server keeps that watch itself.
func (s *Store) Check(ctx context.Context) error {
	if s.dialect.file == "" {
		return nil
	}
	return s.failure("checking "+s.dialect.target, s.check(ctx))
}

func (s *Store) check(ctx context.Context) error {
	var found string
	if err := s.db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&found); err != nil {
		return err
	}
	if found != "ok" {
		return &DamagedError{Target: s.dialect.target, Err: errors.New(found)}
	}
	return nil
}
