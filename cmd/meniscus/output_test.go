package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"
)

func write(t *testing.T, name, text string, fail error) error {
	t.Helper()
	o, err := (&app{out: &bytes.Buffer{}}).create(name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := o.Write([]byte(text)); err != nil {
		t.Fatal(err)
	}
	return o.close(fail)
}

func holdsText(t *testing.T, name, want string) {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil || string(data) != want {
		t.Errorf("%s holds %q, %v; want %q", name, data, err, want)
	}
}

// An output that fails on the way leaves what was there, and nothing beside it.
func TestOutputIsWholeOrNotThere(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "report.txt")
	full := errors.New("disk full")
	if err := write(t, name, "half of", full); !errors.Is(err, full) {
		t.Errorf("error %v", err)
	}
	if _, err := os.Stat(name); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a part of a report has the report's name: %v", err)
	}
	if err := write(t, name, "first", nil); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(name, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := write(t, name, "half of the second", full); !errors.Is(err, full) {
		t.Errorf("error %v", err)
	}
	holdsText(t, name, "first")
	if err := write(t, name, "second", nil); err != nil {
		t.Fatal(err)
	}
	holdsText(t, name, "second")
	if info, err := os.Stat(name); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Errorf("%d files, %v", len(left), err)
	}
}

// A link stays a link, and the file it points to gets the report.
func TestOutputThroughLink(t *testing.T) {
	dir := t.TempDir()
	target, link := filepath.Join(dir, "real.txt"), filepath.Join(dir, "link.txt")
	if err := os.WriteFile(target, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(target, link); err != nil {
		t.Fatal(err)
	}
	if err := write(t, link, "new", nil); err != nil {
		t.Fatal(err)
	}
	holdsText(t, target, "new")
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is gone: %v", err)
	}
}
