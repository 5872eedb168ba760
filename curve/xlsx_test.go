package curve_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"errors"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"meniscus/curve"
)

// workbook makes an XLSX file from the rows of its sheets.
func workbook(t testing.TB, sheets map[string][][]any, order ...string) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for i, name := range order {
		var err error
		if i == 0 {
			err = f.SetSheetName("Sheet1", name)
		} else {
			_, err = f.NewSheet(name)
		}
		if err != nil {
			t.Fatal(err)
		}
		for k, row := range sheets[name] {
			cell, err := excelize.CoordinatesToCellName(1, k+1)
			if err != nil {
				t.Fatal(err)
			}
			if err := f.SetSheetRow(name, cell, &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	out, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestReadWorkbook(t *testing.T) {
	book := workbook(t, map[string][][]any{
		"Notes": {{"Iron in granules"}},
		"Runs": {
			{"# operator: A. Ngo"},
			{"Run 1", nil, "Run 2"},
			{"V (mL)", "E (mV)", "V (mL)", "E (mV)"},
			{0, 345.25, 0.0, 344.5},
			{nil},
			{12.5, 412, 12.25, "41O"},
			{"24,95", 480, nil, nil},
			{"#DIV/0!", 490},
		},
		"pH": {{"V (mL)", "pH"}, {1, 7}},
	}, "Notes", "Runs", "pH")
	rec, err := curve.Read(bytes.NewReader(book), "book", curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	checkRuns(t, rec, []run{{"Run 1", curve.Potential, "0 345.25; 12.5 412", -3, -3}, {"Run 2", curve.Potential, "0 344.5", -3, -3}})
	if rec.Sheet != "Runs" || rec.Encoding != "XLSX" || rec.Meta[0] != (curve.Meta{Row: 1, Key: "operator", Value: "A. Ngo"}) {
		t.Errorf("sheet %q, %s, %+v", rec.Sheet, rec.Encoding, rec.Meta)
	}
	if got := rec.Curves[0].Readings[1].Row; got != 6 {
		t.Errorf("second reading is row %d of the sheet, want 6", got)
	}
	if b := rec.BadCells; len(b) != 3 || b[0].Row != 6 || b[0].Column != "D" || b[1].Row != 7 || b[1].Found != "24,95" || b[2].Found != "#DIV/0!" {
		t.Errorf("bad cells %v", b)
	}
	checkNotes(t, rec.Notes, []string{`sheet "Runs" is read; 2 other sheets are not`})
	for _, sheet := range []string{"ph", "3"} {
		rec, err = curve.Read(bytes.NewReader(book), "book", curve.Options{Sheet: sheet})
		if err != nil {
			t.Fatal(err)
		}
		checkRuns(t, rec, []run{{"", curve.PH, "1 7", -3, 0}})
	}
	if _, err = curve.Read(bytes.NewReader(book), "book", curve.Options{Sheet: "4"}); !errors.Is(err, curve.ErrOption) {
		t.Errorf("sheet 4 of 3: error %v", err)
	}
}

// A workbook keeps a clock time as a fraction of a day: 90 s are 0.0010416...
func TestReadWorkbookClock(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	style, err := f.NewStyle(&excelize.Style{NumFmt: 21}) // h:mm:ss
	if err != nil {
		t.Fatal(err)
	}
	for cell, x := range map[string]any{
		"A1": "V (mL)", "B1": "pH", "C1": "time",
		"A2": 0, "B2": 7, "C2": 0.5, "A3": 1, "B3": 6, "C3": 0.5 + 90.0/86400,
	} {
		if err := f.SetCellValue("Sheet1", cell, x); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SetCellStyle("Sheet1", "C2", "C3", style); err != nil {
		t.Fatal(err)
	}
	book, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	rec, err := curve.Read(book, "book", curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := rec.Curves[0].Readings
	if d := r[1].Time - r[0].Time; d < 89.9999 || d > 90.0001 { // a sheet keeps 15 digits of a day
		t.Errorf("the readings are %g s apart, want 90", d)
	}
	checkNotes(t, rec.Notes, []string{"clock times of the workbook"})
}

func TestReadWorkbookErrors(t *testing.T) {
	empty := workbook(t, map[string][][]any{"A": nil}, "A")
	words := workbook(t, map[string][][]any{"A": nil, "B": {{"V (gal)", "E (mV)"}, {1, 2}}}, "A", "B")
	small := workbook(t, map[string][][]any{"A": {{"V (mL)", "pH"}, {1, 7}}}, "A")
	var cell *curve.CellError
	for _, test := range []struct {
		name string
		raw  []byte
		opt  curve.Options
		want error
	}{
		{"empty", empty, curve.Options{}, curve.ErrEmpty},
		{"bomb", bomb(t, 300<<20), curve.Options{}, curve.ErrTooLarge},
		{"small bomb", bomb(t, 4<<20), curve.Options{MaxUnzipped: 1 << 20}, curve.ErrTooLarge},
		{"bomb that lies", bomb(t, 100), curve.Options{MaxUnzipped: 1 << 20}, curve.ErrWorkbook},
		{"limit", small, curve.Options{MaxUnzipped: 1000}, curve.ErrTooLarge},
		{"cut off", small[:len(small)/2], curve.Options{}, curve.ErrWorkbook},
		{"no workbook", archive(t, "readme.txt", "V,E"), curve.Options{}, curve.ErrWorkbook},
		{"OpenDocument", archive(t, "mimetype", "application/vnd.oasis.opendocument.spreadsheet"), curve.Options{}, curve.ErrWorkbook},
		{"empty parts", archive(t, "xl/workbook.xml", ""), curve.Options{}, curve.ErrWorkbook},
	} {
		if rec, err := curve.Read(bytes.NewReader(test.raw), test.name, test.opt); !errors.Is(err, test.want) {
			t.Errorf("%s: record %+v, error %v; want %v", test.name, rec, err, test.want)
		}
	}
	_, err := curve.Read(bytes.NewReader(words), "words", curve.Options{})
	if !errors.As(err, &cell) || !strings.Contains(err.Error(), `sheet "B"`) {
		t.Errorf("error %v is not about the unit in sheet B", err)
	}
}

// archive makes a zip file of one entry.
func archive(t testing.TB, name, text string) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	w, err := z.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write([]byte(text)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// bomb is a workbook of a few bytes that says it unpacks to size, and really
// unpacks to 4 MB.
func bomb(t testing.TB, size uint64) []byte {
	t.Helper()
	var packed, buf bytes.Buffer
	d, err := flate.NewWriter(&packed, flate.BestSpeed)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.Write(bytes.Repeat([]byte(" "), 4<<20)); err != nil {
		t.Fatal(err)
	}
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	z := zip.NewWriter(&buf)
	w, err := z.CreateRaw(&zip.FileHeader{
		Name: "xl/workbook.xml", Method: zip.Deflate,
		CompressedSize64: uint64(packed.Len()), UncompressedSize64: size,
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(packed.Bytes()); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}
