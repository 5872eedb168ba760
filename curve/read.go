package curve

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Read reads the titrations in r, which is CSV, TSV, text pasted with blanks,
// or an XLSX workbook: its content decides, not its name. The name is only
// used in messages.
//
// Columns are found by header words and units (V/mL, Potential (mV), pH, pAg,
// Zeit [s], T/°C, Run). Without a header, two columns of numbers are read as
// volume in mL and as potential in mV (some value beyond ±20, or a range wider
// than 20) or pH (all from 0 to 14, some above 2); Record.Notes says so, as it
// says every other assumption. Side-by-side pairs of columns, repeated headers,
// a column "run", and a blank row before a volume that starts again each begin
// a new Curve.
//
// Readings are returned in L, V, s and K in the order found. Nothing is
// corrected: Record.BadCells names the cells that were not read, and those that
// were read and are doubtful (see BadCell).
//
// The error is an *InputError or a *CellError, or wraps what r returned.
func Read(r io.Reader, name string, opt Options) (*Record, error) {
	opt = opt.withDefaults()
	if opt.Decimal != "" && opt.Decimal != "." && opt.Decimal != "," {
		return nil, &InputError{Source: name, Problem: ErrOption, Detail: fmt.Sprintf("decimal mark %q; accepted: \".\" and \",\"", opt.Decimal)}
	}
	raw, err := io.ReadAll(io.LimitReader(r, opt.MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("readings %s: %w", name, err)
	}
	if int64(len(raw)) > opt.MaxBytes {
		return nil, &InputError{Source: name, Problem: ErrTooLarge, Detail: fmt.Sprintf("more than %d bytes (Options.MaxBytes)", opt.MaxBytes)}
	}
	if bytes.HasPrefix(raw, []byte("PK\x03\x04")) {
		return readWorkbook(raw, name, opt)
	}
	return readText(raw, name, opt)
}

// readText reads everything that is not a workbook.
func readText(raw []byte, name string, opt Options) (*Record, error) {
	r := newReader(name, opt)
	if advice := foreign(raw); advice != "" {
		return nil, r.errorf(ErrBinary, "%s", advice)
	}
	text, encoding, err := decode(raw)
	if err != nil {
		return nil, fmt.Errorf("readings %s: %w", name, err)
	}
	if binary(text) {
		return nil, r.errorf(ErrBinary, "control characters in it")
	}
	r.rec.Encoding = encoding
	if encoding == "Windows-1252" {
		r.notef("not valid UTF-8: read as Windows-1252")
	}
	src := &textSource{rest: text}
	src.delim, r.rec.Delimiter = sniffDelimiter(text)
	if first, rest := cutLine(text); strings.HasPrefix(strings.ToLower(first), "sep=") && len(trim(first)) == 5 {
		src.rest, src.row = rest, 1
	}
	return r.read(src)
}

// A reader builds one Record.
type reader struct {
	opt     Options
	rec     *Record
	src     *peeker
	lay     *layout
	runs    []*run
	last    map[runKey]*run // of the section being read
	mark    byte            // decimal mark of columns that the head says nothing about
	runName map[int]string  // last cell of the run column, by group
	title   string          // the row above a repeated header
	dropped map[int]bool    // rows of opt.Drop that were met
}

func newReader(name string, opt Options) *reader {
	return &reader{
		opt: opt, rec: &Record{Source: name},
		dropped: map[int]bool{}, last: map[runKey]*run{}, runName: map[int]string{},
	}
}

func (r *reader) errorf(problem error, format string, args ...any) error {
	return &InputError{Source: r.rec.Source, Problem: problem, Detail: fmt.Sprintf(format, args...)}
}

// notef adds a note once.
func (r *reader) notef(format string, args ...any) {
	if n := fmt.Sprintf(format, args...); !slices.Contains(r.rec.Notes, n) {
		r.rec.Notes = append(r.rec.Notes, n)
	}
}

// read reads all rows.
func (r *reader) read(src rowSource) (*Record, error) {
	r.src = &peeker{src: src}
	r.src.look()
	if err := r.start(); err != nil {
		return nil, err
	}
	for {
		l, err := r.src.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil {
			err = r.line(&l)
		}
		if err != nil {
			return nil, r.rowError(err)
		}
	}
	return r.finish()
}

// rowError makes an InputError of what a source reports.
func (r *reader) rowError(err error) error {
	var in *InputError
	var cell *CellError
	switch {
	case errors.As(err, &in), errors.As(err, &cell):
		return err
	case errors.Is(err, errTooWide):
		return r.errorf(ErrTooLarge, "%v", err)
	}
	return r.workbookError("", err)
}

// start reads up to the first row of the body and makes the first layout.
func (r *reader) start() error {
	head := r.src.all
	if r.src.err != nil && !errors.Is(r.src.err, io.EOF) && len(head) == 0 {
		return r.rowError(r.src.err)
	}
	at, commented := r.findHeader(head)
	switch {
	case !slices.ContainsFunc(head, func(l line) bool { return !l.comment && !l.blank() }):
		return r.errorf(ErrEmpty, "%d rows, no text but comments", len(head))
	case at < 0 || commented:
		if err := r.startBare(head, at); err != nil {
			return err
		}
	default:
		if err := r.startHeader(at); err != nil {
			return err
		}
	}
	return r.settleMarks(r.lay, head)
}
