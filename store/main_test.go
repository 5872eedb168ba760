//go:build unix

package store

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"meniscus/internal/pgserver"
)

var (
	theServer  *pgserver.Server
	serverOnce sync.Once
	serverErr  error
)

// newDatabase makes an empty database and returns its address.
func newDatabase(t *testing.T) string {
	t.Helper()
	serverOnce.Do(func() { theServer, serverErr = pgserver.Start() })
	if serverErr != nil {
		t.Fatal(serverErr)
	}
	return theServer.Database(t)
}

func TestMain(m *testing.M) {
	if job := os.Getenv("STORE_TEST_CHILD"); job != "" {
		os.Exit(child(job))
	}
	code := m.Run()
	if err := theServer.Stop(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		code = 1
	}
	os.Exit(code)
}

// A tick is a clock that goes on by a second each time it is asked.
type tick struct{ t time.Time }

func (c *tick) now() time.Time {
	c.t = c.t.Add(time.Second)
	return c.t
}

func newClock() func() time.Time {
	return (&tick{time.Date(2026, 3, 2, 9, 0, 0, 123_000_000, time.UTC)}).now
}

// engines are what every test of the suite runs on.
var engines = []struct {
	name   string
	target func(*testing.T) string
}{
	{"SQLite", func(t *testing.T) string { return filepath.Join(t.TempDir(), "bench.db") }},
	{"PostgreSQL", newDatabase},
}

// onBoth runs a test on an empty store of either engine.
func onBoth(t *testing.T, f func(t *testing.T, s *Store, target string)) {
	t.Helper()
	for _, e := range engines {
		t.Run(e.name, func(t *testing.T) {
			target := e.target(t)
			f(t, openStore(t, target), target)
		})
	}
}

func openStore(t *testing.T, target string) *Store {
	t.Helper()
	s, err := Open(t.Context(), target, newClock())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// must stops the test where what it needs cannot be had.
func must[T any](t *testing.T) func(T, error) T {
	return func(x T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
}

var rk = By{Author: "R. Kessler"}
