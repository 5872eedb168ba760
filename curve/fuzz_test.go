package curve_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"meniscus/curve"
)

// checkRecord holds for whatever was read: finite numbers, rows that exist and
// ascend within a run, an error of a known kind.
func checkRecord(t *testing.T, rec *curve.Record, err error) {
	t.Helper()
	if err != nil {
		var in *curve.InputError
		var cell *curve.CellError
		if !errors.As(err, &in) && !errors.As(err, &cell) {
			t.Fatalf("error of no known kind: %v", err)
		}
		return
	}
	n := 0
	for _, c := range rec.Curves {
		row := 0
		for _, r := range c.Readings {
			n++
			if r.Row <= row {
				t.Fatalf("row %d after row %d", r.Row, row)
			}
			row = r.Row
			if x := float64(r.Volume) + r.Value; math.IsNaN(x) && r.Volume != 0 || math.IsInf(r.Value, 0) || math.IsInf(float64(r.Volume), 0) {
				t.Fatalf("reading %+v is not finite", r)
			}
		}
	}
	if n == 0 {
		t.Fatal("a record without readings and without an error")
	}
}

func FuzzRead(f *testing.F) {
	files, err := filepath.Glob("testdata/*.[ct]s[v]")
	if err != nil || len(files) < 10 {
		f.Fatalf("%d files, %v", len(files), err)
	}
	for _, name := range files {
		raw, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw, "")
	}
	f.Add([]byte("0 1\n2 3"), ",")
	f.Fuzz(func(t *testing.T, raw []byte, decimal string) {
		opt := curve.Options{Decimal: decimal, MaxUnzipped: 1 << 20}
		rec, err := curve.Read(bytes.NewReader(raw), "fuzz", opt)
		checkRecord(t, rec, err)
		if err != nil {
			return
		}
		for _, c := range rec.Curves { // whatever was read can be written and read again
			var buf bytes.Buffer
			if err := curve.WriteCSV(&buf, c); err != nil {
				t.Fatal(err)
			}
			again, err := curve.Read(&buf, "again", curve.Options{})
			if err != nil {
				t.Fatal(err)
			}
			v, y := c.Used()
			v2, y2 := again.Curves[0].Used()
			if len(v) != len(v2) || len(v) > 0 && (v[0] != v2[0] || y[len(y)-1] != y2[len(y)-1]) {
				t.Fatalf("read %v %v, then %v %v", v, y, v2, y2)
			}
		}
	})
}

// FuzzReadXLSX changes the parts of a workbook, inside a sound archive, and the
// archive itself.
func FuzzReadXLSX(f *testing.F) {
	book := workbook(f, map[string][][]any{
		"A": {{"V (mL)", "E (mV)", "t"}, {0, 345, "0:00:01"}, {1.5, "40O", 2}},
	}, "A")
	parts := unpack(f, book)
	const sheet, texts = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"
	f.Add(parts[sheet], parts[texts], []byte(nil))
	f.Add([]byte(`<worksheet><sheetData><row r="7"><c r="B7" t="s"><v>9</v></c></row></sheetData></worksheet>`), parts[texts], []byte(nil))
	f.Add([]byte(nil), []byte(nil), book)
	f.Fuzz(func(t *testing.T, sheetXML, textsXML, whole []byte) {
		raw := whole
		if len(sheetXML) > 0 {
			raw = pack(t, parts, map[string][]byte{sheet: sheetXML, texts: textsXML})
		}
		if !bytes.HasPrefix(raw, []byte("PK\x03\x04")) {
			return
		}
		rec, err := curve.Read(bytes.NewReader(raw), "fuzz", curve.Options{MaxUnzipped: 1 << 20})
		checkRecord(t, rec, err)
	})
}

// unpack returns the parts of a workbook.
func unpack(f *testing.F, book []byte) map[string][]byte {
	f.Helper()
	z, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		f.Fatal(err)
	}
	parts := map[string][]byte{}
	for _, file := range z.File {
		r, err := file.Open()
		if err != nil {
			f.Fatal(err)
		}
		if parts[file.Name], err = io.ReadAll(r); err != nil {
			f.Fatal(err)
		}
		if err := r.Close(); err != nil {
			f.Fatal(err)
		}
	}
	return parts
}

// pack makes a workbook of parts, some of them changed.
func pack(t *testing.T, parts, changed map[string][]byte) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	for name, text := range parts {
		if c, ok := changed[name]; ok {
			text = c
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: name})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(text); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}
