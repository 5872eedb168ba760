package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// A stream remembers the first error of writing, so that a full disk shows in
// the exit status whoever wrote.
type stream struct {
	io.Writer
	err error
}

func (s *stream) Write(p []byte) (int, error) {
	n, err := s.Writer.Write(p)
	if s.err == nil {
		s.err = err
	}
	return n, err
}

// An output is where results go: standard output, or a file. A file is written
// under another name and gets its own at the end, so that what has the name is
// complete, even where the program was stopped.
type output struct {
	io.Writer
	file *os.File // nil for standard output
	name string   // the file gets in the end; "" where it has it already
}

func (a *app) create(name string) (*output, error) {
	if name == "" || name == "-" {
		return &output{Writer: a.out}, nil
	}
	if to, err := filepath.EvalSymlinks(name); err == nil {
		name = to // the link stays
	}
	mode := fs.FileMode(0o644)
	info, err := os.Stat(name)
	switch {
	case err == nil && info.IsDir():
		return nil, fmt.Errorf("writing %s: it is a directory; the name of a file is meant", name)
	case err == nil && !info.Mode().IsRegular():
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return nil, fmt.Errorf("writing %s: %w", name, reason(err))
		}
		return &output{Writer: f, file: f}, nil
	case err == nil:
		mode = info.Mode().Perm()
	case !errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("writing %s: %w", name, reason(err))
	}
	f, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*.part")
	if err != nil {
		return nil, fmt.Errorf("writing %s: %w", name, reason(err))
	}
	o := &output{f, f, name}
	if err := f.Chmod(mode); err != nil {
		return nil, o.close(fmt.Errorf("writing %s: %w", name, err))
	}
	return o, nil
}

// reason is what a file error says, without the name of the file it was about.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// close finishes the file, or removes it where err says that it is not whole.
func (o *output) close(err error) error {
	if o.file == nil {
		return err
	}
	if cerr := o.file.Close(); err == nil && cerr != nil {
		err = fmt.Errorf("writing %s: %w", o.file.Name(), cerr)
	}
	if o.name == "" {
		return err
	}
	if err == nil {
		if err = os.Rename(o.file.Name(), o.name); err == nil {
			return nil
		}
	}
	return errors.Join(err, os.Remove(o.file.Name()))
}
