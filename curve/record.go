package curve

import (
	"errors"
	"fmt"
	"strings"
)

// A Record is everything that was found in one source of readings.
type Record struct {
	Source    string    // the name handed to Read
	Sheet     string    // of a workbook; "" for text
	Encoding  string    // "UTF-8", "UTF-16LE", "Windows-1252", "XLSX" ...
	Delimiter string    // "comma", "semicolon", "tab", "space"; "" for a workbook
	Decimal   string    // "point", "comma", or "point and comma" where columns differ
	Columns   []Column  // in order, those not read included; of the first header
	Curves    []Curve   // one for each run
	BadCells  []BadCell // in order of rows
	MoreBad   int       // bad cells that were counted but not listed, see Options.MaxBad
	Meta      []Meta    // comment lines and lines above the header
	Notes     []string  // what was assumed, and what to look at
}

// A Column says how one column was understood.
type Column struct {
	Letter   string // as in a spreadsheet: A, B ... Z, AA
	Header   string // as found; "" without a header
	Quantity string // volume, potential, pH, pIon, time, temperature, run, excluded; "" if not read
	Unit     string // as understood; "" for none
	Assumed  bool   // the unit, or the quantity, was not written: see Notes
	Decimals int    // most digits after the decimal mark in this column: its step is 10^-Decimals units
}

// A BadCell is a cell that cannot be right, or is worth a look.
//
// Where Kept is false the cell could not be read: a volume or value that is
// not a number leaves no reading behind, so the row is found only here; a time
// or temperature that is not a number leaves the reading without it. Where
// Kept is true both numbers were read, and the reading takes part as found
// until Options.Drop names its row.
type BadCell struct {
	Row    int    // in the file or sheet, from 1; comments and headers count
	Column string // header, or the letter where there is none or it is repeated
	Found  string // the cell as it stands
	Reason string
	Kept   bool
	Text   string // the whole row as found, up to 200 characters; only where Kept is false
}

// A Meta is a comment line or a line above the header.
type Meta struct {
	Row   int
	Key   string // before the colon; "" if there is none
	Value string
}

// A Drop is a row that a person decided to leave out. Its readings stay in
// the Curve with Excluded set.
type Drop struct {
	Row    int    // as in Reading.Row
	Run    string // name of the Curve; "" for every run that has this row
	Reason string // "" is recorded as "left out by the user"
}

// Options for Read. The zero value finds everything from the content.
type Options struct {
	Sheet   string // of a workbook, by name or number from 1; "" is the first that has readings
	Volume  string // column of the volume, by header or letter; "" is found by its header
	Value   string // column of the value, by header, letter, or "potential", "pH", "pIon"
	Decimal string // "." or ","; "" is found from the cells
	Drop    []Drop // rows to leave out

	MaxBytes    int64 // of the source; 0 is 200 MB
	MaxRows     int   // of the source, blank and comment rows included; 0 is 2,000,000
	MaxUnzipped int64 // bytes of a workbook when unpacked; 0 is 256 MB
	MaxBad      int   // bad cells listed, more are counted; 0 is 10,000
}

// withDefaults fills in the limits that are zero.
func (o Options) withDefaults() Options {
	if o.MaxBytes <= 0 {
		o.MaxBytes = 200 << 20
	}
	if o.MaxRows <= 0 {
		o.MaxRows = 2_000_000
	}
	if o.MaxUnzipped <= 0 {
		o.MaxUnzipped = 256 << 20
	}
	if o.MaxBad <= 0 {
		o.MaxBad = 10_000
	}
	return o
}

// What an InputError is about; compare with errors.Is.
var (
	ErrEmpty      = errors.New("nothing in it")
	ErrHeaderOnly = errors.New("a header and no readings")
	ErrNoReadings = errors.New("no readings")
	ErrOneColumn  = errors.New("only one column")
	ErrColumns    = errors.New("columns not understood")
	ErrBinary     = errors.New("not text and not a workbook")
	ErrTooLarge   = errors.New("too large")
	ErrWorkbook   = errors.New("workbook cannot be read")
	ErrDrop       = errors.New("row to leave out has no reading")
	ErrOption     = errors.New("option not understood")
)

// An InputError reports a source without usable readings.
type InputError struct {
	Source   string
	Problem  error     // one of the values above
	Detail   string    // what was found, and what would be understood
	BadCells []BadCell // with ErrNoReadings: why
	Cause    error     // of ErrWorkbook, where there is one
}

func (e *InputError) Error() string {
	s := fmt.Sprintf("readings %s: %v", e.Source, e.Problem)
	if e.Detail != "" {
		s += ": " + e.Detail
	}
	if e.Cause != nil {
		s += ": " + e.Cause.Error()
	}
	if len(e.BadCells) > 0 {
		s += "; first: " + e.BadCells[0].String()
	}
	return s
}

// Unwrap gives the problem and its cause to errors.Is and errors.As.
func (e *InputError) Unwrap() []error {
	if e.Cause == nil {
		return []error{e.Problem}
	}
	return []error{e.Problem, e.Cause}
}

// A CellError reports a cell on which the reading of a whole column hangs: a
// unit that is not known, or a mark that could be a decimal comma or a
// thousands mark.
type CellError struct {
	Source   string
	Cell     BadCell
	Accepted string // what would be understood
}

func (e *CellError) Error() string {
	return fmt.Sprintf("readings %s, %v; accepted: %s", e.Source, e.Cell, e.Accepted)
}

// String returns "row 7, column E (mV): "34O": reason".
func (b BadCell) String() string {
	return fmt.Sprintf("row %d, column %s: %q: %s", b.Row, b.Column, b.Found, b.Reason)
}

// letter returns the spreadsheet name of column i, counted from 0.
func letter(i int) string {
	var s string
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('A'+(i-1)%26)) + s
	}
	return s
}

// rowText is a row for a person to read, cut to a length that cannot bloat a
// record of many bad rows.
func rowText(cells []string) string {
	const most = 200
	s := strings.Join(cells, " | ")
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return strings.Clone(s)
}
