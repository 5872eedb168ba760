package curve_test

import (
	"errors"
	"strings"
	"testing"
	"testing/iotest"

	"meniscus/curve"
)

func TestReadErrors(t *testing.T) {
	tests := []struct {
		name, text string
		opt        curve.Options
		want       error
		says       string
	}{
		{"empty", "", curve.Options{}, curve.ErrEmpty, ""},
		{"blanks", " \n\n\t\n", curve.Options{}, curve.ErrEmpty, ""},
		{"comments", "# a\n# b\n", curve.Options{}, curve.ErrEmpty, "no text but comments"},
		{"header only", "V (mL),E (mV)\n", curve.Options{}, curve.ErrHeaderOnly, "row 1"},
		{"header and units only", "V;E\nmL;mV\n", curve.Options{}, curve.ErrHeaderOnly, "row 1"},
		{"all bad", "V (mL),E (mV)\nO.5,300\n", curve.Options{}, curve.ErrNoReadings, `row 2, column V (mL): "O.5": not a number: letter O`},
		{"one column", "1\n2\n3\n", curve.Options{}, curve.ErrOneColumn, "column A"},
		{"one column with a header", "V (mL)\n1\n2\n", curve.Options{}, curve.ErrOneColumn, ""},
		{"three columns", "1,2,3\n2,3,4\n", curve.Options{}, curve.ErrColumns, "3 columns of numbers"},
		{"commas twice", "0,50,345,2\n1,50,350,7\n", curve.Options{}, curve.ErrColumns, "4 columns"},
		{"unknown words", "foo,bar\n1,2\n", curve.Options{}, curve.ErrColumns, `no volume among "foo", "bar"`},
		{"no value", "V (mL),Foo\n1,2\n", curve.Options{}, curve.ErrColumns, "no potential, pH or pIon"},
		{"unpaired", "V1/mL,V2/mL,E1/mV,E2/mV,E3/mV\n1,2,3,4,5\n", curve.Options{}, curve.ErrColumns, "2 columns of volume and 3"},
		{"values could be V or pH", "0,0.68\n1,1.44\n", curve.Options{}, curve.ErrColumns, "could be pH, V or mV"},
		{"nul", "V,E\x00\n1,2\n", curve.Options{}, curve.ErrBinary, ""},
		{"control characters", "\x01\x02\x03\x04abcdefgh\x05", curve.Options{}, curve.ErrBinary, ""},
		{"PDF", "%PDF-1.7 ...", curve.Options{}, curve.ErrBinary, "PDF"},
		{"old workbook", "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", curve.Options{}, curve.ErrBinary, ".xlsx"},
		{"broken workbook", "PK\x03\x04 no zip", curve.Options{}, curve.ErrWorkbook, "zip"},
		{"bytes", "V (mL),E (mV)\n1,2\n", curve.Options{MaxBytes: 10}, curve.ErrTooLarge, "10 bytes"},
		{"rows", "V (mL),E (mV)\n1,2\n2,3\n", curve.Options{MaxRows: 2}, curve.ErrTooLarge, "2 rows"},
		{"width", "V (mL),E (mV)\n1,2" + strings.Repeat(",", 2000) + "\n", curve.Options{}, curve.ErrTooLarge, "1000 cells"},
		{"drop", "V (mL),E (mV)\n1,2\n", curve.Options{Drop: []curve.Drop{{Row: 3}}}, curve.ErrDrop, "row 3"},
		{"drop of a run", "V (mL),E (mV)\n1,2\n", curve.Options{Drop: []curve.Drop{{Row: 2, Run: "x"}}}, curve.ErrDrop, `run "x"`},
		{"decimal", "V (mL),E (mV)\n1,2\n", curve.Options{Decimal: ";"}, curve.ErrOption, "decimal mark"},
		{"column", "V (mL),E (mV)\n1,2\n", curve.Options{Value: "pX"}, curve.ErrOption, `no column "pX"`},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			rec, err := readText(test.text, test.opt)
			var in *curve.InputError
			if !errors.As(err, &in) || !errors.Is(err, test.want) || !strings.Contains(err.Error(), test.says) {
				t.Errorf("record %+v, error %v; want %v that says %q", rec, err, test.want, test.says)
			}
		})
	}
}

func TestReadCellErrors(t *testing.T) {
	tests := []struct {
		name, text string
		row        int
		column     string
		accepted   string
	}{
		{"volume in gallons", "V (gal),E (mV)\n1,2\n", 1, "V (gal)", "L, dL, cL, mL, µL, cm3, dm3"},
		{"slash", "V/mL,E / furlong\n1,2\n", 1, "E / furlong", "V, mV, µV"},
		{"wrong quantity", "V/mL,E (mL)\n1,2\n", 1, "E (mL)", "V, mV, µV"},
		{"pH in mV", "V/mL,pH (mV)\n1,2\n", 1, "pH (mV)", "no unit"},
		{"lone commas", "V/mL;E/mV\n1;1,234\n2;1,240\n", 2, "E/mV", `Options.Decimal "," or "."`},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := readText(test.text, curve.Options{})
			var cell *curve.CellError
			if !errors.As(err, &cell) {
				t.Fatalf("error %v is no CellError", err)
			}
			if cell.Cell.Row != test.row || cell.Cell.Column != test.column || cell.Accepted != test.accepted {
				t.Errorf("%+v", cell)
			}
		})
	}
}

func TestReadLoneCommasDecided(t *testing.T) {
	const text = "V/mL;E/mV\n1;1,234\n2;1,240\n"
	rec, err := readText(text, curve.Options{Decimal: ","})
	if err != nil {
		t.Fatal(err)
	}
	checkRuns(t, rec, []run{{"", curve.Potential, "1 1.234; 2 1.240", -3, -3}})
	rec, err = readText(strings.ReplaceAll(text, "1,240", "1,240.5"), curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	checkRuns(t, rec, []run{{"", curve.Potential, "2 1240.5", -3, -3}})
	if b := rec.BadCells[0]; b.Row != 2 || b.Found != "1,234" || !strings.Contains(b.Reason, "thousands mark or decimal comma?") {
		t.Errorf("bad cell %v", b)
	}
}

func TestReadBrokenReader(t *testing.T) {
	want := errors.New("cable out")
	if _, err := curve.Read(iotest.ErrReader(want), "meter", curve.Options{}); !errors.Is(err, want) {
		t.Errorf("error %v does not wrap what the reader returned", err)
	}
}

func TestReadShapes(t *testing.T) {
	tests := []struct {
		name, text string
		opt        curve.Options
		runs       []run
		bad        int
		note       string // part of one of the notes
	}{
		{"one reading", "V (mL),E (mV)\n1,2\n", curve.Options{}, []run{{"", curve.Potential, "1 2", -3, -3}}, 0, ""},
		{"falling without a blank row", "V (mL),pH\n0,3\n5,4\n0,3.1\n5,4.1\n", curve.Options{}, []run{{"", curve.PH, "0 3; 5 4; 0 3.1; 5 4.1", -3, 0}}, 1, ""},
		{"falling back not to the start", "V (mL),pH\n0,3\n5,4\n8,5\n\n6,4.5\n", curve.Options{}, []run{{"", curve.PH, "0 3; 5 4; 8 5; 6 4.5", -3, 0}}, 1, ""},
		{"falling after the reading behind a blank row", "V (mL),pH\n0,3\n5,4\n\n6,5\n0,3\n", curve.Options{}, []run{{"", curve.PH, "0 3; 5 4; 6 5; 0 3", -3, 0}}, 1, ""},
		{"two kinds", "V (mL),pH,E (mV)\n0,3,200\n5,4,150\n", curve.Options{}, []run{{"", curve.PH, "0 3; 5 4", -3, 0}}, 0, "E (mV) (potential) is not read"},
		{"kind chosen", "V (mL),pH,E (mV)\n0,3,200\n5,4,150\n", curve.Options{Value: "potential"}, []run{{"", curve.Potential, "0 200; 5 150", -3, -3}}, 0, ""},
		{"letters chosen", "x,y,z\n0,3,200\n5,4,150\n", curve.Options{Volume: "a", Value: "C"}, []run{{"", curve.Potential, "0 200; 5 150", -3, -3}}, 0, "column z read as potential in mV"},
		{"bare letters", "1;0;200\n2;5;150\n", curve.Options{Volume: "B", Value: "C"}, []run{{"", curve.Potential, "0 200; 5 150", -3, -3}}, 0, "C read as potential"},
		{"shared volume", "V (mL);E1 (mV);E2 (mV)\n0;3;4\nx;5;6\n", curve.Options{}, []run{{"1", curve.Potential, "0 3", -3, -3}, {"2", curve.Potential, "0 4", -3, -3}}, 1, ""},
		{"decimal commas between commas", "V (mL),E (mV)\n0,300\n0,50,345,2\n", curve.Options{}, []run{{"", curve.Potential, "0 300", -3, -3}}, 1, ""},
		{"quoted decimal commas", "\"V (mL)\",\"E (mV)\"\n\"0,50\",\"345,2\"\n", curve.Options{}, []run{{"", curve.Potential, "0.5 345.2", -3, -3}}, 0, ""},
		{"sep line", "sep=;\nV (mL);pH\n0,5;7,0\n", curve.Options{}, []run{{"", curve.PH, "0.5 7", -3, 0}}, 0, ""},
		{"forgotten quote", "V (mL),pH,remark\n0,7,\"a\n1,6,b\n", curve.Options{}, []run{{"", curve.PH, "0 7; 1 6", -3, 0}}, 0, ""},
		{
			"quote closed far below", "V (mL),pH,remark\n0,7,\"a\n1,6,\n2,5,\n3,5,\n4,5,\n5,5,\n6,5,\n7,5,\n8,5,\n9,5,\n10,5,\n11,5,b\"\n",
			curve.Options{},
			[]run{{"", curve.PH, "0 7; 1 6; 2 5; 3 5; 4 5; 5 5; 6 5; 7 5; 8 5; 9 5; 10 5; 11 5", -3, 0}},
			0, "",
		},
		{"microlitres", "V (µL),pH\n500,7\n", curve.Options{}, []run{{"", curve.PH, "500 7", -6, 0}}, 0, ""},
		{"just as many rows", "V (mL),pH\n0,7\n", curve.Options{MaxRows: 2, MaxBytes: 15}, []run{{"", curve.PH, "0 7", -3, 0}}, 0, ""},
		{"prose in a comment", "# Volume in mL and potential in mV\n0 300\n5 310\n", curve.Options{}, []run{{"", curve.Potential, "0 300; 5 310", -3, -3}}, 0, "no header: column A read as volume in mL"},
		{"error of a spreadsheet is no comment", "V (mL),pH\n#REF!,7\n0,6\n", curve.Options{}, []run{{"", curve.PH, "0 6", -3, 0}}, 1, ""},
		{"commas in most cells", "V (mL);pH\n0,5;7,25\n0.7;7,15\n", curve.Options{}, []run{{"", curve.PH, "0.5 7.25", -3, 0}}, 1, ""},
		{"volts in mV", "V (mL),E (V)\n0,345\n1,350\n", curve.Options{}, []run{{"", curve.Potential, "0 345; 1 350", -3, 0}}, 0, "are they mV?"},
		{"litres as mL", "V,pH\n0,3\n0.025,4\n", curve.Options{}, []run{{"", curve.PH, "0 3; 0.025 4", -3, 0}}, 0, "are they litres?"},
		{"pH without a point", "V/mL,pH\n0,3.1\n5,41\n", curve.Options{}, []run{{"", curve.PH, "0 3.1; 5 41", -3, 0}}, 1, ""},
		{"pIon", "V/mL\tpAg\n0\t8.5\n", curve.Options{}, []run{{"", curve.PIon, "0 8.5", -3, 0}}, 0, ""},
		{"mV without a unit", "V/mL\tE\n0\t345\n1\t-4.7\n", curve.Options{}, []run{{"", curve.Potential, "0 345; 1 -4.7", -3, -3}}, 0, "assumed to be in mV"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			rec, err := readText(test.text, test.opt)
			if err != nil {
				t.Fatal(err)
			}
			checkRuns(t, rec, test.runs)
			if len(rec.BadCells) != test.bad {
				t.Errorf("bad cells %v", rec.BadCells)
			}
			if !strings.Contains(strings.Join(rec.Notes, "\n"), test.note) {
				t.Errorf("notes %q do not say %q", rec.Notes, test.note)
			}
		})
	}
}
