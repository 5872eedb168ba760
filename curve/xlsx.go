package curve

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// maxShared is the largest table of shared strings taken, unpacked, in bytes:
// it is held in memory as a whole, many times its size.
const maxShared = 32 << 20

// openWorkbook opens a workbook after a look at how large it would become.
func (r *reader) openWorkbook(raw []byte) (*excelize.File, error) {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return nil, r.workbookError("not a whole zip archive", err)
	}
	var total uint64
	book := false
	for _, f := range z.File {
		if f.Name == "mimetype" || f.Name == "content.xml" {
			return nil, r.workbookError("an OpenDocument file: save it as .xlsx or CSV", nil)
		}
		book = book || strings.EqualFold(f.Name, "xl/workbook.xml")
		total += min(f.UncompressedSize64, 1<<50)
		if strings.EqualFold(f.Name, "xl/sharedStrings.xml") && f.UncompressedSize64 > maxShared {
			return nil, r.errorf(ErrTooLarge, "its texts unpack to %d bytes; at most %d", f.UncompressedSize64, maxShared)
		}
		if total > uint64(r.opt.MaxUnzipped) || len(z.File) > 10_000 {
			return nil, r.errorf(ErrTooLarge, "the workbook unpacks to more than %d bytes (Options.MaxUnzipped), from %d", r.opt.MaxUnzipped, len(raw))
		}
	}
	if !book {
		return nil, r.workbookError("a zip archive without xl/workbook.xml", nil)
	}
	f, err := excelize.OpenReader(bytes.NewReader(raw), excelize.Options{
		RawCellValue:      true,
		UnzipSizeLimit:    r.opt.MaxUnzipped,
		UnzipXMLSizeLimit: r.opt.MaxUnzipped, // in memory: no temporary files
	})
	if err != nil {
		return nil, r.workbookError("", err)
	}
	return f, nil
}

func (r *reader) workbookError(detail string, cause error) error {
	return &InputError{Source: r.rec.Source, Problem: ErrWorkbook, Detail: detail, Cause: cause}
}

// readWorkbook reads the sheet that was asked for, or the first with readings.
func readWorkbook(raw []byte, name string, opt Options) (rec *Record, err error) {
	r := newReader(name, opt)
	// The package that reads workbooks trusts their inner references; a broken
	// one must not end the program.
	defer func() {
		if p := recover(); p != nil {
			rec, err = nil, r.workbookError(fmt.Sprint(p), nil)
		}
	}()
	f, err := r.openWorkbook(raw)
	if err != nil {
		return nil, err
	}
	sheets, err := chooseSheets(f.GetSheetList(), opt.Sheet)
	if err != nil {
		return nil, errors.Join(r.errorf(ErrOption, "%v", err), f.Close())
	}
	rec, err = readSheets(f, sheets, name, opt)
	return rec, errors.Join(err, f.Close())
}

// chooseSheets finds the sheet by name, else by number; all without a choice.
func chooseSheets(have []string, want string) ([]string, error) {
	if want == "" {
		return have, nil
	}
	for _, s := range have {
		if strings.EqualFold(s, want) {
			return []string{s}, nil
		}
	}
	if n, err := strconv.Atoi(want); err == nil && n >= 1 && n <= len(have) {
		return have[n-1 : n], nil
	}
	return nil, fmt.Errorf("no sheet %q; the workbook has %q", want, have)
}

// readSheets returns the first sheet with readings, or the first error that is
// not about an empty sheet, or the first error.
func readSheets(f *excelize.File, sheets []string, name string, opt Options) (*Record, error) {
	var first error
	for i, sheet := range sheets {
		rec, err := readSheet(f, sheet, name, opt)
		if err == nil {
			if len(sheets) > 1 {
				rec.Notes = append(rec.Notes, fmt.Sprintf("sheet %q is read; %d other sheets are not: Options.Sheet chooses", sheet, len(sheets)-1))
			}
			return rec, nil
		}
		if first == nil || errors.Is(first, ErrEmpty) && !errors.Is(err, ErrEmpty) {
			first = fmt.Errorf("sheet %q (%d of %d): %w", sheet, i+1, len(sheets), err)
		}
	}
	if first == nil {
		first = &InputError{Source: name, Problem: ErrEmpty, Detail: "a workbook without sheets"}
	}
	return nil, first
}

func readSheet(f *excelize.File, sheet, name string, opt Options) (*Record, error) {
	r := newReader(name, opt)
	r.rec.Sheet, r.rec.Encoding = sheet, "XLSX"
	src, err := newSheet(f, sheet)
	if err != nil {
		return nil, r.workbookError("", err)
	}
	rec, err := r.read(src)
	return rec, errors.Join(err, src.rows.Close())
}

// A sheetSource streams the rows of a sheet.
type sheetSource struct {
	rows   *excelize.Rows
	row    int
	clocks map[int]bool
}

func newSheet(f *excelize.File, sheet string) (*sheetSource, error) {
	clocks, err := clockColumns(f, sheet)
	if err != nil {
		return nil, err
	}
	rows, err := f.Rows(sheet)
	if err != nil {
		return nil, fmt.Errorf("opening sheet %q: %w", sheet, err)
	}
	return &sheetSource{rows: rows, clocks: clocks}, nil
}

func (s *sheetSource) clock(column int) bool { return s.clocks[column] }

func (s *sheetSource) next() (line, error) {
	if !s.rows.Next() {
		if err := s.rows.Error(); err != nil {
			return line{}, fmt.Errorf("reading row %d: %w", s.row+1, err)
		}
		return line{}, io.EOF
	}
	s.row++
	cells, err := s.rows.Columns()
	switch {
	case err != nil:
		return line{}, fmt.Errorf("reading row %d: %w", s.row, err)
	case len(cells) > maxCells:
		return line{}, errTooWide
	}
	l := line{row: s.row, cells: cells}
	if len(cells) > 0 {
		if first := trim(cells[0]); strings.HasPrefix(first, "#") && !sheetError(first) {
			l.comment = true
			l.cells = []string{trim(strings.TrimRight(strings.Join(cells, "\t"), "\t")[1:])}
		}
	}
	return l, nil
}

// clockColumns finds the columns whose numbers the sheet shows as clock times:
// a workbook keeps them as fractions of a day.
func clockColumns(f *excelize.File, sheet string) (clocks map[int]bool, err error) {
	shown, err := f.Rows(sheet)
	if err != nil {
		return nil, fmt.Errorf("opening sheet %q: %w", sheet, err)
	}
	kept, err := f.Rows(sheet)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("opening sheet %q: %w", sheet, err), shown.Close())
	}
	clocks = map[int]bool{}
	for n := 0; n < 50 && shown.Next() && kept.Next(); n++ {
		a, errA := shown.Columns(excelize.Options{RawCellValue: false})
		b, errB := kept.Columns()
		if errA != nil || errB != nil {
			break // the reader meets the same row and reports it
		}
		for i := range min(len(a), len(b), maxCells) {
			if strings.Contains(a[i], ":") && looksNumeric(b[i]) {
				clocks[i] = true
			}
		}
	}
	return clocks, errors.Join(shown.Close(), kept.Close())
}
