package report

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/setup"
)

// workbookOf writes d and opens what was written.
func workbookOf(t *testing.T, d Document) *excelize.File {
	t.Helper()
	var b bytes.Buffer
	if err := writeXLSX(&b, d); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// calculated is what a spreadsheet makes of the last row of a sheet that begins
// with the label.
func calculated(t *testing.T, f *excelize.File, sheet, label, column string) float64 {
	t.Helper()
	rows, err := f.GetRows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	for i := len(rows) - 1; i >= 0; i-- {
		if len(rows[i]) == 0 || rows[i][0] != label {
			continue
		}
		at := column + strconv.Itoa(i+1)
		if formula, err := f.GetCellFormula(sheet, at); err != nil || formula == "" {
			t.Errorf("%s %s, %s, is no formula (%v)", sheet, at, label, err)
		}
		text, err := f.CalcCellValue(sheet, at, excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatalf("%s %s: %v", sheet, at, err)
		}
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatalf("%s %s, %s: %v", sheet, at, label, err)
		}
		return x
	}
	t.Fatalf("%s has no row %q", sheet, label)
	return 0
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s is %.15g, want %.15g", what, got, want)
	}
}

// A spreadsheet that calculates the formulas comes to the program's numbers,
// and follows a changed one.
func TestWorkbookCalculates(t *testing.T) {
	d := document(t, strings.Replace(ironSetup, "blank: 0.00", "blank: 0.05", 1), readings(1))
	e := d.Evaluations[0]
	f := workbookOf(t, d)
	c, w := e.Concentrations[0], e.Contents[0]
	near(t, "c", calculated(t, f, "Working", "c(Fe²⁺)", "B"), c.Value, 1e-12)
	near(t, "w", calculated(t, f, "Working", "w(Fe)", "B"), w.Value, 1e-12)
	near(t, "U of c", calculated(t, f, "Working", "U of c(Fe²⁺)", "B"), c.Expanded(), 1e-12)
	near(t, "U of w", calculated(t, f, "Working", "U of w(Fe)", "B"), w.Expanded(), 1e-12)

	rows, err := f.GetRows("Working")
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		if len(row) > 0 && row[0] == "aliquot" {
			if err := f.SetCellValue("Working", "B"+strconv.Itoa(i+1), 25); err != nil {
				t.Fatal(err)
			}
		}
	}
	// Half the aliquot, 25 instead of 50 mL of the same solution: twice the content.
	near(t, "w with half the aliquot", calculated(t, f, "Working", "w(Fe)", "B"), 2*w.Value, 1e-12)
}

// What a spreadsheet makes of the runs is what the program makes of them.
// Student's t for 95 % and 2 degrees of freedom is 4.30 (GUM, table G.2, from
// memory); its closed form, 0.95·√(2/(1 − 0.95²)), gives the further digits.
func TestWorkbookMeans(t *testing.T) {
	s, err := setup.Read([]byte(ironSetup), "setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var inputs []assay.Input
	for i := range 3 {
		c := readings(uint64(i + 1))
		inputs = append(inputs, assay.Input{Name: "=r" + strconv.Itoa(i+1), Curve: &c})
	}
	q, err := assay.Determine(inputs, s, assay.Options{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	d := Document{Title: s.Title, Determination: q}
	for i := range q.Runs {
		e := q.Runs[i].Evaluation
		d.Evaluations = append(d.Evaluations, e)
	}
	f := workbookOf(t, d)
	m := q.Means[len(q.Means)-1] // the content, the last on the sheet
	near(t, "mean", calculated(t, f, "Working", "mean", "B"), m.Value, 1e-12)
	near(t, "s", calculated(t, f, "Working", "s", "B"), m.Replicates.SD, 1e-6)
	near(t, "interval", calculated(t, f, "Working", "half 95 % interval by the scatter alone", "B"), m.Replicates.Expanded(), 1e-6)
	near(t, "t", calculated(t, f, "Working", "t", "B"), 0.95*math.Sqrt(2/(1-0.95*0.95)), 1e-6)
	near(t, "U of the mean", calculated(t, f, "Working", "U of w(Fe)", "B"), m.Expanded(), 1e-9)
}

// Words from outside stay words: no cell but the program's own formulas is
// calculated, and nothing points out of the workbook.
func TestWorkbookHoldsNoForeignFormula(t *testing.T) {
	c := readings(1)
	c.Readings[3].Excluded = "=1+2"
	d := document(t, ironSetup, c)
	d.Title, d.Source, d.By = "=HYPERLINK(\"http://x\")", "@SUM(A1)", "+cmd|' /C calc'!A0"
	d.Record.BadCells = append(d.Record.BadCells, curve.BadCell{Row: 2, Column: "B", Found: "=A1", Reason: "-2+3"})
	f := workbookOf(t, d)
	for at, want := range map[string]string{"A1": d.Title, "B2": d.Source, "B3": d.By} {
		got, err := f.GetCellValue("Result", at)
		if err != nil || got != want {
			t.Errorf("Result %s holds %q, %v; want %q", at, got, err, want)
		}
	}
	allowed := map[string]string{"Working": "B", "Budget": "DF"}
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		for i := range rows {
			for k := range 12 {
				at, _ := excelize.CoordinatesToCellName(k+1, i+1)
				formula, err := f.GetCellFormula(sheet, at)
				if err != nil {
					t.Fatal(err)
				}
				if formula != "" && !strings.Contains(allowed[sheet], at[:1]) {
					t.Errorf("%s %s calculates %q", sheet, at, formula)
				}
				if strings.Contains(formula, "HYPERLINK") || strings.Contains(formula, "cmd") || strings.Contains(formula, "[") {
					t.Errorf("%s %s holds %q", sheet, at, formula)
				}
			}
		}
	}
	if rows, _ := f.GetRows("Readings"); rows[4][5] != "=1+2" || rows[4][4] != "left out" {
		t.Errorf("the reading left out is %q", rows[4])
	}
}

// Readings are numbers as they were read, under a head with their unit.
func TestWorkbookReadings(t *testing.T) {
	c := readings(1)
	c.Readings[0].Volume, c.Readings[0].Value = 0.0233, -0.1234
	f := workbookOf(t, document(t, ironSetup, c))
	for at, want := range map[string]string{"C1": "volume (mL)", "D1": "potential (mV)", "C2": "23.3", "D2": "-123.4"} {
		got, err := f.GetCellValue("Readings", at, excelize.Options{RawCellValue: true})
		if err != nil || got != want {
			t.Errorf("%s is %q, %v; want %q", at, got, err, want)
		}
	}
	if kind, err := f.GetCellType("Readings", "C2"); err != nil || kind == excelize.CellTypeSharedString {
		t.Errorf("a volume is of type %v, %v", kind, err)
	}
}

func TestWorkbookOfNothing(t *testing.T) {
	empty := curve.Curve{}
	nan := readings(1)
	for i := range nan.Readings {
		nan.Readings[i].Value = math.NaN()
	}
	for name, d := range unhoped(t, empty, nan) {
		var a, b bytes.Buffer
		if err := writeXLSX(&a, d); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := writeXLSX(&b, d); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: not the same bytes twice (%v)", name, err)
		}
	}
}

// unhoped are documents that nobody hopes for.
func unhoped(t *testing.T, empty, nan curve.Curve) map[string]Document {
	t.Helper()
	thousand := readings(2)
	for i := 0; len(thousand.Readings) < 1000; i++ {
		r := thousand.Readings[i]
		r.Excluded = "again"
		thousand.Readings = append(thousand.Readings, r)
	}
	long := document(t, ironSetup, readings(1))
	long.Title = strings.Repeat("Eisen 铁 ✓ 𝔘", 25) + strings.Repeat("x", 300)
	endless := document(t, ironSetup, readings(1))
	endless.Title = strings.Repeat("many words ", 400)
	return map[string]Document{
		"nothing":      {},
		"no readings":  document(t, ironSetup, empty),
		"NaN":          document(t, ironSetup, nan),
		"no chemistry": document(t, ratioSetup, readings(1)),
		"thousand":     document(t, ironSetup, thousand),
		"long title":   long,
		"endless":      endless,
		"dated":        {By: "R. K.", Date: time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)},
	}
}
