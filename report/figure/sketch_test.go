package figure

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"unicode/utf8"
)

func sketchLines(t *testing.T, c Curve, width, height int, unicode bool) []string {
	t.Helper()
	var b bytes.Buffer
	if err := Sketch(&b, c, width, height, unicode); err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
}

func TestSketchKeepsToItsWidth(t *testing.T) {
	all := cases()
	wordy := silver()
	wordy.YLabel = Plain(strings.Repeat("pAg, which is a long story ", 9))
	wordy.Landmarks[0].Label = wordy.YLabel
	all["wordy"] = wordy
	for name, c := range all {
		for _, width := range []int{-1, 30, 80, 132} {
			for _, fancy := range []bool{false, true} {
				for _, line := range sketchLines(t, c, width, 16, fancy) {
					if n := utf8.RuneCountInString(line); n > max(width, 30) {
						t.Errorf("%s: %d columns in %q, want %d", name, n, line, width)
					}
					for _, r := range line {
						if !fancy && (r > 0x7e || r < 0x20) {
							t.Fatalf("%s: %q in a sketch that must be ASCII", name, r)
						}
					}
				}
			}
		}
	}
}

// A terminal obeys escape sequences; words from a file must not reach it so.
func TestSketchHoldsNoControlCharacters(t *testing.T) {
	c := Curve{YLabel: Plain("E\x1b[31m / mV\r\n"), Volume: []float64{1}, Value: []float64{1}}
	for _, line := range sketchLines(t, c, 80, 10, true) {
		if strings.ContainsAny(line, "\x1b\r") {
			t.Errorf("%q", line)
		}
	}
}

// A straight line from corner to corner: of the 2 by 4 dots of a cell, the
// steps of a line of slope one row in ten columns are known by hand.
func TestSketchOfAStraightLine(t *testing.T) {
	c := Curve{ModelVolume: []float64{0, 10}, ModelValue: []float64{0, 10}}
	lines := sketchLines(t, c, 80, 10, true)
	last := -1
	for _, line := range lines[1:11] {
		_, cells, ok := strings.Cut(line, "│")
		if !ok {
			_, cells, ok = strings.Cut(line, "┤")
		}
		if !ok {
			t.Fatalf("no axis in %q", line)
		}
		at := strings.IndexFunc(cells, func(r rune) bool { return r > 0x2800 && r <= 0x28ff })
		column := utf8.RuneCountInString(cells[:max(at, 0)])
		if at < 0 || last >= 0 && column >= last {
			t.Errorf("the line does not fall to the left in %q", line)
		}
		last = column
	}
	if last != 0 {
		t.Errorf("the line ends %d columns from the axis", last)
	}
}

// Volumes 0, 5 and 10 on a scale of 0 to 10 stand at its ends and its middle,
// and so do the landmarks under them.
func TestSketchPlaces(t *testing.T) {
	c := Curve{
		Volume: []float64{0, 5, 10}, Value: []float64{1, 2, 3}, LeftOut: []bool{false, true, false},
		Landmarks: []Landmark{{Label: Plain("start"), Volume: 0}, {Label: Plain("middle"), Volume: 5, U: 0.1}, {Label: Plain("off"), Volume: 99}},
	}
	lines := sketchLines(t, c, 60, 9, false)
	text := strings.Join(lines, "\n")
	if n := strings.Count(strings.Join(lines[1:10], ""), "o"); n != 2 {
		t.Errorf("%d readings shown, want 2\n%s", n, text)
	}
	var axis int
	for _, line := range lines[1:10] {
		axis = max(strings.IndexByte(line, '|'), strings.IndexByte(line, '+'))
		if at := strings.IndexByte(line, 'x'); at >= 0 {
			near(t, "column of the middle", float64(at), float64(axis+1)+0.5*float64(60-axis-1), 1)
		}
	}
	marks := lines[12]
	if strings.IndexByte(marks, '1') != axis+1 {
		t.Errorf("landmark 1 in %q, want column %d", marks, axis+1)
	}
	near(t, "column of landmark 2", float64(strings.IndexByte(marks, '2')), float64(axis+1)+0.5*float64(60-axis-1), 1)
	for _, want := range []string{"1 start 0.00", "2 middle 5.00 +/- 0.10", "3 off 99.00 (beyond the scale)"} {
		if !strings.Contains(text, want) {
			t.Errorf("the sketch lacks %q\n%s", want, text)
		}
	}
}

func ExampleSketch() {
	c := Curve{
		YLabel:      Plain("potential / mV"),
		XLabel:      []Run{{Text: "volume of Ce"}, {Text: "4+", Shift: Sup}, {Text: " added / mL"}},
		Volume:      []float64{2, 4, 6, 8, 10, 12, 14, 16, 18, 20},
		Value:       []float64{380, 400, 410, 430, 700, 1040, 1060, 1070, 1080, 1085},
		Landmarks:   []Landmark{{Label: Plain("equivalence"), Volume: 10.02, U: 0.04}},
		ModelVolume: []float64{2, 8, 9.9, 10.1, 12, 20},
		ModelValue:  []float64{380, 430, 480, 1000, 1040, 1085},
	}
	if err := Sketch(os.Stdout, c, 50, 8, false); err != nil {
		panic(err)
	}
	// Output:
	// potential / mV
	//      |                        ..o...o....o...o...o
	// 1000 +                      ..
	//      |                      .
	//      |                      .
	//      |                     .o
	//      |                     .
	//  500 +                   ...
	//      |    o...o....o...o.
	//      ++----------+----------+----------+---------+
	//       0          5         10         15        20
	//                             1
	// 1 equivalence 10.020 +/- 0.040
	// volume of Ce^4+ added / mL
}
