package curve_test

import (
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"meniscus/curve"
)

// points parses "0 345.2; 12.5 412" into pairs. The shifts are the powers of
// ten from the numbers as typed to litres and to volts.
func points(t *testing.T, text string, vShift, yShift int) (v, y []float64) {
	t.Helper()
	for pair := range strings.SplitSeq(text, ";") {
		f := strings.Fields(pair)
		for i, s := range f {
			x, err := strconv.ParseFloat(s+"e"+strconv.Itoa([]int{vShift, yShift}[i]), 64)
			if err != nil {
				t.Fatal(err)
			}
			if i == 0 {
				v = append(v, x)
			} else {
				y = append(y, x)
			}
		}
	}
	return v, y
}

func readFile(t *testing.T, name string, opt curve.Options) *curve.Record {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rec, err := curve.Read(f, name, opt)
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

func readText(text string, opt curve.Options) (*curve.Record, error) {
	return curve.Read(strings.NewReader(text), "text", opt)
}

// A run is what one Curve must be.
type run struct {
	name   string
	kind   curve.Kind
	points string // as typed, in the units of the file
	vShift int
	yShift int
}

func checkRuns(t *testing.T, rec *curve.Record, want []run) {
	t.Helper()
	if len(rec.Curves) != len(want) {
		t.Fatalf("%d curves, want %d: %+v", len(rec.Curves), len(want), rec.Curves)
	}
	for i, w := range want {
		c := &rec.Curves[i]
		v, y := c.Used()
		wantV, wantY := points(t, w.points, w.vShift, w.yShift)
		if c.Name != w.name || c.Kind != w.kind {
			t.Errorf("curve %d is %q of %v, want %q of %v", i, c.Name, c.Kind, w.name, w.kind)
		}
		if d := cmp.Diff(wantV, v); d != "" {
			t.Errorf("curve %d, volumes (-want +got):\n%s", i, d)
		}
		if d := cmp.Diff(wantY, y); d != "" {
			t.Errorf("curve %d, values (-want +got):\n%s", i, d)
		}
	}
}

func TestReadFiles(t *testing.T) {
	const potential, ph = curve.Potential, curve.PH
	tests := []struct {
		file                         string
		runs                         []run
		encoding, delimiter, decimal string
		notes                        []string // each is part of a note; all notes are listed
		bad                          int
	}{
		{
			file: "decimal-comma.csv", encoding: "Windows-1252", delimiter: "semicolon", decimal: "comma",
			runs:  []run{{"", potential, "0 345.2; 12.50 412.75; 24.95 1036.5", -3, -3}},
			notes: []string{"read as Windows-1252", "Spannung / mV has thousands marks, the first in row 6"},
		},
		{
			file: "utf16le.tsv", encoding: "UTF-16LE", delimiter: "tab", decimal: "point",
			runs: []run{{"", potential, "0 0.3452; 12.5 0.41275", -3, 0}},
		},
		{
			file: "utf16be-nobom.tsv", encoding: "UTF-16BE", delimiter: "tab", decimal: "point",
			runs: []run{{"", potential, "0 0.3452; 12.5 0.41275", -3, 0}},
		},
		{
			file: "bom-cr.csv", encoding: "UTF-8 with byte order mark", delimiter: "comma", decimal: "point",
			runs: []run{{"", ph, "0 7.01; 0.5 3.5", -3, 0}},
		},
		{
			file: "side-by-side.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs: []run{{"Run A", potential, "0 300; 5 310; 10 320", -3, -3}, {"Run B", potential, "0 301; 5.5 312", -3, -3}},
		},
		{
			file: "numbered.csv", encoding: "UTF-8", delimiter: "semicolon", decimal: "comma",
			runs: []run{{"1", potential, "0 300; 5 310", -3, -3}, {"2", potential, "0 301; 5.5 312", -3, -3}},
		},
		{
			file: "stacked.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs: []run{{"Run 1", potential, "0 300; 5 310", -3, -3}, {"Run 2", potential, "0 0.301; 5 0.311", -3, 0}},
		},
		{
			file: "gap.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs: []run{{"run 1", ph, "0 3.0; 5 4.0; 10 5.0", -3, 0}, {"run 2", ph, "0 3.1; 5 4.1; 6 4.5", -3, 0}},
		},
		{
			file: "run-column.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs: []run{{"A", ph, "0 3.0; 5 4.0; 6 4.2", -3, 0}, {"B", ph, "0 3.1; 5 4.1", -3, 0}},
		},
		{
			file: "reversed.csv", encoding: "UTF-8", delimiter: "semicolon", decimal: "point",
			runs: []run{{"", potential, "0 300; 5 310", -3, -3}},
		},
		{
			file: "unit-row.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs: []run{{"", potential, "0 300; 0.5 310", -3, -3}},
		},
		{
			file: "pasted.txt", encoding: "UTF-8", delimiter: "space", decimal: "point",
			runs: []run{{"", potential, "0 -12.5; 12.5 412", -3, -3}},
		},
		{
			file: "comment-header.txt", encoding: "UTF-8", delimiter: "space", decimal: "point",
			runs:  []run{{"", potential, "0 300; 5 310", -3, -3}},
			notes: []string{"taken from the comment in row 2"},
		},
		{
			file: "derivative.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs: []run{{"", potential, "0 300; 5 310", -3, -3}},
		},
		{
			file: "units.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point", bad: 1,
			runs:  []run{{"", potential, "0.0123 0.5; 0.02 0.6", 0, 0}},
			notes: []string{"column t has no unit"},
		},
		{
			file: "bare.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs:  []run{{"", potential, "0 345; 12.5 412", -3, -3}},
			notes: []string{"B read as potential in mV", "A read as volume in mL"},
		},
		{
			file: "bare-ph.csv", encoding: "UTF-8", delimiter: "semicolon", decimal: "comma",
			runs:  []run{{"", ph, "0.5 7.01; 1.5 3.5", -3, 0}},
			notes: []string{"B read as pH", "A read as volume in mL"},
		},
		{
			file: "no-unit.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs:  []run{{"", potential, "0 0.345; 5 0.412", -3, 0}},
			notes: []string{"Vol has no unit: volume assumed to be in mL", "E has no unit: potential assumed to be in V"},
		},
		{
			file: "remarks.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs: []run{{"", potential, "0 300; 5 310", -3, -3}},
		},
		{
			file: "lake-water-gran.csv", encoding: "UTF-8", delimiter: "comma", decimal: "point",
			runs: []run{{"", ph, "0 7.010206; 0.1 6.773151; 0.2 5.556522; 0.275 3.549042; 0.35 3.209478; 0.425 3.018898", -3, 0}},
		},
	}
	for _, test := range tests {
		t.Run(test.file, func(t *testing.T) {
			rec := readFile(t, test.file, curve.Options{})
			checkRuns(t, rec, test.runs)
			if rec.Encoding != test.encoding || rec.Delimiter != test.delimiter || rec.Decimal != test.decimal {
				t.Errorf("read as %s, %s, decimal %s", rec.Encoding, rec.Delimiter, rec.Decimal)
			}
			if len(rec.BadCells) != test.bad {
				t.Errorf("bad cells: %v", rec.BadCells)
			}
			checkNotes(t, rec.Notes, test.notes)
		})
	}
}

func checkNotes(t *testing.T, got, want []string) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%d notes, want %d: %q", len(got), len(want), got)
		return
	}
	for i := range want {
		if !strings.Contains(got[i], want[i]) {
			t.Errorf("note %q does not say %q", got[i], want[i])
		}
	}
}

func TestReadBadCells(t *testing.T) {
	rec := readFile(t, "letter-o.csv", curve.Options{})
	want := []curve.BadCell{
		{Row: 3, Column: "V/mL", Found: "1O.00", Reason: "not a number: letter O for zero?", Text: "1O.00 | 390"},
		{Row: 4, Column: "E/mV", Found: "4l2", Reason: "not a number: letter l or I for one?", Text: "20.00 | 4l2"},
		{Row: 5, Column: "V/mL", Found: "", Reason: "blank", Text: " | 500"},
		{Row: 6, Column: "E/mV", Found: "NaN", Reason: "not a number (NaN)", Text: "24.00 | NaN"},
		{Row: 8, Column: "V/mL", Found: "24.50", Reason: "repeated row: volume and value as in row 7", Kept: true},
		{Row: 9, Column: "V/mL", Found: "24.50", Reason: "repeated volume: as in row 8, with another value", Kept: true},
		{Row: 10, Column: "V/mL", Found: "24.00", Reason: "volume falls from 24.5 to 24 mL: second run, reading error or refilled burette?", Kept: true},
		{Row: 11, Column: "V/mL", Found: "-1", Reason: "negative volume", Kept: true},
		{Row: 11, Column: "V/mL", Found: "-1", Reason: "volume falls from 24 to -1 mL: second run, reading error or refilled burette?", Kept: true},
		{Row: 12, Column: "E/mV", Found: "#DIV/0!", Reason: "not a number: an error of the spreadsheet", Text: "25.00 | #DIV/0!"},
		{Row: 13, Column: "V/mL", Found: "sum", Reason: "not a number", Text: "sum | x"},
		{Row: 13, Column: "E/mV", Found: "x", Reason: "not a number", Text: "sum | x"},
	}
	if d := cmp.Diff(want, rec.BadCells); d != "" {
		t.Errorf("bad cells (-want +got):\n%s", d)
	}
	checkRuns(t, rec, []run{{"", curve.Potential, "0 345; 24.5 480; 24.5 480; 24.5 483; 24 490; -1 300", -3, -3}})
	limited := readFile(t, "letter-o.csv", curve.Options{MaxBad: 2})
	if len(limited.BadCells) != 2 || limited.MoreBad != 10 {
		t.Errorf("limited to 2: %d listed, %d more", len(limited.BadCells), limited.MoreBad)
	}
}

func TestReadDrop(t *testing.T) {
	rec := readFile(t, "letter-o.csv", curve.Options{Drop: []curve.Drop{
		{Row: 8}, {Row: 9, Reason: "typed twice"}, {Row: 10, Reason: "misread"}, {Row: 11, Reason: "misread"}, {Row: 3},
	}})
	checkRuns(t, rec, []run{{"", curve.Potential, "0 345; 24.5 480", -3, -3}})
	var reasons []string
	for _, r := range rec.Curves[0].Readings {
		reasons = append(reasons, r.Excluded)
	}
	if d := cmp.Diff([]string{"", "", "left out by the user", "typed twice", "misread", "misread"}, reasons); d != "" {
		t.Errorf("reasons (-want +got):\n%s", d)
	}
	for _, b := range rec.BadCells {
		if b.Kept {
			t.Errorf("a doubt is left about a row that was left out: %v", b)
		}
	}
}

func TestReadDropOneRun(t *testing.T) {
	rec := readFile(t, "side-by-side.csv", curve.Options{Drop: []curve.Drop{{Row: 4, Run: "Run B"}}})
	checkRuns(t, rec, []run{{"Run A", curve.Potential, "0 300; 5 310; 10 320", -3, -3}, {"Run B", curve.Potential, "0 301", -3, -3}})
}

func TestReadTimeAndTemperature(t *testing.T) {
	rec := readFile(t, "units.csv", curve.Options{})
	r := rec.Curves[0].Readings
	if r[0].Time != 62.5 || r[1].Time != 120 {
		t.Errorf("times %g, %g s; want 62.5, 120", r[0].Time, r[1].Time)
	}
	if r[0].Temperature != 298.15 || r[1].Temperature != 0 {
		t.Errorf("temperatures %g, %g K; want 298.15 and none", r[0].Temperature, r[1].Temperature)
	}
	rec = readFile(t, "decimal-comma.csv", curve.Options{})
	r = rec.Curves[0].Readings
	if got := float64(r[0].Temperature); math.Abs(got-298.05) > 1e-10 { // 24.9 + 273.15
		t.Errorf("temperature %g K, want 298.05", got)
	}
	if !math.IsNaN(r[0].Time) || r[2].Temperature != 0 {
		t.Errorf("time %g, third temperature %g: neither was recorded", r[0].Time, r[2].Temperature)
	}
	rec = readFile(t, "unit-row.csv", curve.Options{})
	if got := rec.Curves[0].Readings[1].Time; got != 90 {
		t.Errorf("1.5 min is %g s", got)
	}
}

func TestReadColumns(t *testing.T) {
	rec := readFile(t, "remarks.csv", curve.Options{})
	want := []curve.Column{
		{Letter: "A", Header: "Volume\n(mL)", Quantity: "volume", Unit: "mL"},
		{Letter: "B", Header: `E "raw" (mV)`, Quantity: "potential", Unit: "mV"},
		{Letter: "C", Header: "Remark"},
	}
	if d := cmp.Diff(want, rec.Columns); d != "" {
		t.Errorf("columns (-want +got):\n%s", d)
	}
	if got := rec.Curves[0].Readings[0].Row; got != 3 {
		t.Errorf("first reading is row %d; the quoted header fills two lines", got)
	}
	rec = readFile(t, "lake-water-gran.csv", curve.Options{})
	if got := rec.Columns[0].Decimals; got != 6 {
		t.Errorf("%d decimals of the volume, want 6", got)
	}
	if m := rec.Meta[4]; m.Key != "licence" || !strings.HasPrefix(m.Value, "MIT") || m.Row != 5 {
		t.Errorf("fifth comment is %+v", m)
	}
	rec = readFile(t, "bare.csv", curve.Options{})
	if c := rec.Columns[1]; c.Quantity != "potential" || c.Unit != "mV" || !c.Assumed {
		t.Errorf("assumed column is %+v", c)
	}
}
