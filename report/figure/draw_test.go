package figure

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// marksOf returns the marks of one kind in a layer.
func marksOf[M Mark](f Figure, layer string) []M {
	var out []M
	for _, l := range f.Layers {
		if l.Name != layer {
			continue
		}
		for _, m := range l.Marks {
			if k, ok := m.(M); ok {
				out = append(out, k)
			}
		}
	}
	return out
}

func textsOf(f Figure) []Text {
	var out []Text
	for _, l := range f.Layers {
		out = append(out, marksOf[Text](f, l.Name)...)
	}
	return out
}

func findText(t *testing.T, f Figure, words string) Text {
	t.Helper()
	for _, text := range textsOf(f) {
		if String(text.Runs) == words {
			return text
		}
	}
	t.Fatalf("the figure does not say %q", words)
	return Text{}
}

func mustDraw(t *testing.T, c Curve) Figure {
	t.Helper()
	f, err := Draw(c)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func near(t *testing.T, what string, got, want, slack float64) {
	t.Helper()
	if !(math.Abs(got-want) <= slack) {
		t.Errorf("%s is %.6g, want %.6g within %g", what, got, want, slack)
	}
}

// The numbers printed on the axes and the readings must tell the same story:
// each circle stands where the line through two printed numbers puts it.
func TestReadingsStandAtTheirNumbers(t *testing.T) {
	for size := range sizeCount {
		c := ironCerium()
		c.Size = size
		f := mustDraw(t, c)
		x0, x50 := findText(t, f, "0").At.X, findText(t, f, "50").At.X
		low, high := findText(t, f, "400"), findText(t, f, "1200")
		circles := marksOf[Circle](f, "readings")
		if len(circles) != len(c.Volume) {
			t.Fatalf("size %d: %d circles for %d readings", size, len(circles), len(c.Volume))
		}
		em := low.Size
		for i, v := range c.Volume {
			at := circles[i].Centre
			near(t, fmt.Sprintf("size %d: x of reading %d", size, i), at.X, x0+v/50*(x50-x0), 1e-6)
			offset := low.At.Y - 0.33/0.92*em // the figures are centred on their tick
			want := offset + (c.Value[i]-400)/(1200-400)*(high.At.Y-low.At.Y)
			near(t, fmt.Sprintf("size %d: y of reading %d", size, i), at.Y, want, 1e-6)
		}
	}
}

func TestLeftOutReadingsAreCrossed(t *testing.T) {
	f := mustDraw(t, ironCerium())
	circles, crosses := marksOf[Circle](f, "readings"), marksOf[Path](f, "readings")
	if len(crosses) != 1 {
		t.Fatalf("%d crosses for one reading that was left out", len(crosses))
	}
	b := crosses[0].Bounds()
	near(t, "x of the cross", (b.Left+b.Right)/2, circles[9].Centre.X, 1e-9)
	near(t, "y of the cross", (b.Top+b.Bottom)/2, circles[9].Centre.Y, 1e-9)
	findText(t, f, "left out")
}

// On a scale of 50 mL, 2 mL to each side are 4/50 of the scale; a mark narrower
// than a hair is still drawn.
func TestEquivalenceMarkIsAsWideAsItsUncertainty(t *testing.T) {
	widest := func(u float64) float64 {
		c := ironCerium()
		c.Landmarks = []Landmark{{Label: Plain("equivalence"), Volume: 24.851, U: u, Main: true}}
		f := mustDraw(t, c)
		w := 0.0
		for _, p := range marksOf[Path](f, "landmarks") {
			if p.Fill.Role == Ink {
				w = max(w, p.Bounds().Right-p.Bounds().Left)
			}
		}
		scale := findText(t, f, "50").At.X - findText(t, f, "0").At.X
		return w / scale
	}
	near(t, "mark of ± 2 mL", widest(2), 4.0/50, 1e-9)
	if w := widest(1e-9); w*600 < 1 {
		t.Errorf("a mark of ± 1e-9 mL is %g of the scale wide: not to be seen", w)
	}
}

// A band of 10 mL of 50 is a fifth of the scale.
func TestBandLiesAlongTheScale(t *testing.T) {
	c := ironCerium()
	c.Band = []Swatch{{10, 20, RGB{1, 2, 3}, "green"}}
	f := mustDraw(t, c)
	x0, x50 := findText(t, f, "0").At.X, findText(t, f, "50").At.X
	b := marksOf[Path](f, "band")[0].Bounds()
	near(t, "left of the band", b.Left, x0+(x50-x0)/5, 1e-9)
	near(t, "right of the band", b.Right, x0+(x50-x0)*2/5, 1e-9)
	findText(t, f, "green")
	if !strings.Contains(f.Desc, "from 10 to 20: green") {
		t.Errorf("the description does not give the colour: %s", f.Desc)
	}
}

func TestResidualsStandAboutTheirZeroLine(t *testing.T) {
	c := Curve{Volume: []float64{0, 5, 10}, Value: []float64{1, 2, 3}, Residual: []float64{4, 0, -4}, ResidualLabel: Plain("residual / mV")}
	f := mustDraw(t, c)
	rings := marksOf[Circle](f, "residuals")
	main := marksOf[Circle](f, "readings")
	near(t, "zero residual", rings[1].Centre.Y, (rings[0].Centre.Y+rings[2].Centre.Y)/2, 1e-9)
	if !(rings[0].Centre.Y < rings[2].Centre.Y) {
		t.Error("a positive residual stands below a negative one")
	}
	for i := range rings {
		near(t, "volume axis of the panel", rings[i].Centre.X, main[i].Centre.X, 1e-9)
	}
	if rings[0].Centre.Y <= main[0].Centre.Y {
		t.Error("the panel does not stand under the curve")
	}
}

// cases are figures whose words could collide.
func cases() map[string]Curve {
	out := map[string]Curve{"iron and cerium": ironCerium(), "silver": silver(), "empty": {}}
	crowded := ironCerium()
	crowded.Methods = nil
	for i := range 9 {
		crowded.Methods = append(crowded.Methods, Landmark{Label: Plain("method with a name"), Volume: 24.8 + 0.7*float64(i), U: 0.01})
	}
	out["nine methods"] = crowded
	bare := ironCerium()
	bare.ModelVolume, bare.ModelValue, bare.Residual = nil, nil, nil
	out["no model"] = bare
	slope := ironCerium()
	slope.DerivativeVolume, slope.DerivativeValue = slope.ModelVolume, slope.ModelValue
	slope.Comma = true
	out["derivative"] = slope
	offset := ironCerium()
	for i := range offset.Volume {
		offset.Volume[i] = 1234567 + offset.Volume[i]/100
	}
	offset.ModelVolume, offset.ModelValue, offset.Landmarks = nil, nil, nil
	out["long numbers"] = offset
	between := ironCerium()
	between.Methods = []Landmark{{Label: Plain("blank"), Volume: 46}}
	out["method under the words of a landmark"] = between
	out["stopped early"] = stoppedEarly()
	out["two equal"] = Curve{Volume: []float64{3, 3}, Value: []float64{7, 7}}
	return out
}

// stoppedEarly ends just after equivalence: there is no room beside it.
func stoppedEarly() Curve {
	c := ironCerium()
	n := 0
	for n < len(c.Volume) && c.Volume[n] <= 26 {
		n++
	}
	c.Volume, c.Value, c.LeftOut, c.Residual = c.Volume[:n], c.Value[:n], c.LeftOut[:n], nil
	n = 0
	for n < len(c.ModelVolume) && c.ModelVolume[n] <= 26 {
		n++
	}
	c.ModelVolume, c.ModelValue = c.ModelVolume[:n], c.ModelValue[:n]
	c.Landmarks = c.Landmarks[:2]
	c.Band = nil
	return c
}

// Where a titration stops just after equivalence its words stand before it.
func TestWordsOfATitrationStoppedEarly(t *testing.T) {
	c := stoppedEarly()
	for size := range sizeCount {
		c.Size = size
		f := mustDraw(t, c)
		for _, words := range []string{"equivalence 24.851 ± 0.012", "second derivative 24.830 ± 0.030", "Gran, before 24.790 ± 0.050", "steepest interval 24.875 ± 0.014"} {
			findText(t, f, words)
		}
	}
}

// Words are measured with the metrics of the bundled fonts; none may cover
// another or leave the figure.
func TestNoWordsCoverEachOther(t *testing.T) {
	for name, c := range cases() {
		for size := range sizeCount {
			c.Size = size
			checkWords(t, fmt.Sprintf("%s, size %d", name, size), mustDraw(t, c))
		}
	}
}

func checkWords(t *testing.T, name string, f Figure) {
	t.Helper()
	page := Box{0, 0, f.Width, f.Height}
	texts := textsOf(f)
	for i, a := range texts {
		if !a.Bounds().within(page, 0.01) {
			t.Errorf("%s: %q leaves the page: %v", name, String(a.Runs), a.Bounds())
		}
		for _, b := range texts[:i] {
			if a.Bounds().overlaps(b.Bounds()) {
				t.Errorf("%s: %q covers %q", name, String(a.Runs), String(b.Runs))
			}
		}
	}
}

// The corners of a panel are the ends of its axes.
func TestPanelCorners(t *testing.T) {
	p := Panel{Box: Box{10, 20, 110, 220}, X: Interval{0, 50}, Y: Interval{-1, 1}}
	if got := p.At(0, -1); got != (Point{10, 220}) {
		t.Errorf("the lower left corner is at %v", got)
	}
	if got := p.At(50, 1); got != (Point{110, 20}) {
		t.Errorf("the upper right corner is at %v", got)
	}
	for _, p := range mustDraw(t, ironCerium()).Panels {
		for _, m := range marksOf[Path](mustDraw(t, ironCerium()), "axes") {
			if b := m.Bounds(); b.Left == b.Right && b.Top == p.Box.Top && b.Bottom == p.Box.Bottom && b.Left == p.Box.Left {
				p.Name = ""
			}
		}
		if p.Name != "" {
			t.Errorf("no axis stands at the left of the panel %s", p.Name)
		}
	}
}

// No words lie on the model curve or on a reading: points along the curve are
// looked for in the boxes of the words.
func TestWordsKeepOffTheCurve(t *testing.T) {
	for size := range sizeCount {
		c := ironCerium()
		c.Size = size
		f := mustDraw(t, c)
		var on []Point
		for _, p := range marksOf[Path](f, "model") {
			for _, line := range p.Lines {
				for i := 1; i < len(line); i++ {
					for k := range 100 {
						s := float64(k) / 100
						on = append(on, Point{line[i-1].X + s*(line[i].X-line[i-1].X), line[i-1].Y + s*(line[i].Y-line[i-1].Y)})
					}
				}
			}
		}
		for _, ring := range marksOf[Circle](f, "readings") {
			on = append(on, ring.Centre)
		}
		for _, text := range marksOf[Text](f, "labels") {
			b := text.Bounds()
			for _, p := range on {
				if b.overlaps(Box{p.X, p.Y, p.X, p.Y}.grow(1e-9)) {
					t.Errorf("size %d: %q lies on the curve at %v", size, String(text.Runs), p)
					break
				}
			}
		}
	}
}

// Segments against the unit square, by eye.
func TestCrosses(t *testing.T) {
	square := Box{0, 0, 1, 1}
	for _, row := range []struct {
		a, b Point
		want bool
	}{
		{Point{-1, 0.5}, Point{2, 0.5}, true},      // through, level
		{Point{0.5, -1}, Point{0.5, 2}, true},      // through, upright
		{Point{-0.5, 0.6}, Point{0.6, -0.5}, true}, // cuts a corner: x + y = 0.1
		{Point{-1, 0.5}, Point{0.5, -1}, false},    // passes it: x + y = -0.5
		{Point{0.2, 0.2}, Point{0.8, 0.3}, true},   // inside
		{Point{-1, 2}, Point{2, 2}, false},         // above, level
		{Point{2, -1}, Point{2, 2}, false},         // beside, upright
		{Point{-2, 0.5}, Point{-1, 0.5}, false},    // ends before it
	} {
		if got := crosses(row.a, row.b, square); got != row.want {
			t.Errorf("the segment %v to %v crosses the square: %t, want %t", row.a, row.b, got, row.want)
		}
	}
}

// The poles that carry the words of end points pass no words.
func TestPolesPassNoWords(t *testing.T) {
	for name, c := range cases() {
		for size := range sizeCount {
			c.Size = size
			f := mustDraw(t, c)
			for _, p := range append(marksOf[Path](f, "methods"), marksOf[Path](f, "landmarks")...) {
				for _, text := range marksOf[Text](f, "labels") {
					if b := p.Bounds(); b.Bottom > b.Top && b.grow(1e-6).overlaps(text.Bounds()) {
						t.Errorf("%s, size %d: a pole at %.1f passes %q", name, size, b.Left, String(text.Runs))
					}
				}
			}
		}
	}
}

// Landmarks have to be named at every size of the worked figure.
func TestLandmarksAreNamed(t *testing.T) {
	for size := range sizeCount {
		c := ironCerium()
		c.Size = size
		f := mustDraw(t, c)
		for _, words := range []string{"half 12.43", "equivalence 24.851 ± 0.012", "twice 49.70", "fitted curve", "readings"} {
			if words == "half 12.43" { // 12.425 may round either way in binary
				words = "half 12.4"
				found := false
				for _, text := range textsOf(f) {
					found = found || strings.HasPrefix(String(text.Runs), words)
				}
				if !found {
					t.Errorf("size %d: half is not named", size)
				}
				continue
			}
			findText(t, f, words)
		}
	}
}

// Data of any kind give a figure, never a panic, and never a NaN in it.
func TestBadData(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, row := range map[string]struct {
		c    Curve
		says string
	}{
		"nothing":         {Curve{}, "No readings to draw yet."},
		"only NaN":        {Curve{Volume: []float64{nan}, Value: []float64{1}}, "1 reading without a number is not drawn."},
		"some NaN":        {Curve{Volume: []float64{1, 2, 3}, Value: []float64{nan, -inf, 3}}, "2 readings without a number are not drawn."},
		"one point":       {Curve{Volume: []float64{5}, Value: []float64{412}}, "readings"},
		"all equal":       {Curve{Volume: []float64{5, 5, 5}, Value: []float64{412, 412, 412}}, "readings"},
		"all zero":        {Curve{Volume: []float64{0, 0}, Value: []float64{0, 0}, Residual: []float64{0, 0}}, "readings"},
		"equal, huge":     {Curve{Volume: []float64{1e15, 1e15}, Value: []float64{-1e99, -1e99}}, "readings"},
		"too large":       {Curve{Volume: []float64{1e200}, Value: []float64{1}}, "1 reading without a number is not drawn."},
		"tiny":            {Curve{Volume: []float64{0, 1e-300}, Value: []float64{0, 1e-300}}, "readings"},
		"model with gap":  {Curve{ModelVolume: []float64{0, 1, 2, 3, 4, 5}, ModelValue: []float64{nan, 1, 2, nan, 3, 4}}, "model"},
		"model of NaN":    {Curve{ModelVolume: []float64{0, 1}, ModelValue: []float64{nan, nan}}, "No readings to draw yet."},
		"marks of NaN":    {Curve{Volume: []float64{1, 2}, Value: []float64{1, 2}, Landmarks: []Landmark{{Volume: nan}, {Volume: 1.5, U: nan}, {Volume: 1.5, U: inf}}}, "readings"},
		"mark far off":    {Curve{Volume: []float64{1, 2}, Value: []float64{1, 2}, Landmarks: []Landmark{{Label: Plain("twice"), Volume: 90}}}, "twice 90.00 lies beyond the scale."},
		"outlier of 1e6":  {Curve{Volume: []float64{1, 2, 3}, Value: []float64{1, 2, 1e6}, LeftOut: []bool{false, false, true}}, "1 reading left out lies off the scale, drawn at the edge."},
		"only left out":   {Curve{Volume: []float64{1, 2}, Value: []float64{1, 2}, LeftOut: []bool{true, true}}, "left out"},
		"band of NaN":     {Curve{Volume: []float64{1, 2}, Value: []float64{1, 2}, Band: []Swatch{{nan, 2, RGB{}, "?"}, {3, 1, RGB{}, "?"}}}, "readings"},
		"residual of NaN": {Curve{Volume: []float64{1, 2}, Value: []float64{1, 2}, Residual: []float64{nan, 1}}, "reading − model"},
		"strange letters": {Curve{Title: Plain("\x00\U00010000\xff 滴定 <b>&"), Volume: []float64{1}, Value: []float64{1}}, "readings"},
	} {
		f, err := Draw(row.c)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		findText(t, f, row.says)
		checkWords(t, name, f)
		var svg, png, pdf, term bytes.Buffer
		for _, err := range []error{
			SVG(&svg, f, SVGOptions{}),
			PNG(&png, f, PNGOptions{Scale: 0.5}),
			PDF(&pdf, f, PDFOptions{}),
			Sketch(&term, row.c, 80, 12, true),
		} {
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		for _, bad := range []string{"NaN", "Inf"} {
			if strings.Contains(svg.String(), bad) || strings.Contains(term.String(), bad) {
				t.Errorf("%s: %s was written", name, bad)
			}
		}
	}
}

func TestUnequalSlicesAreErrors(t *testing.T) {
	for want, c := range map[string]Curve{
		"2 volumes and 1 values":          {Volume: []float64{1, 2}, Value: []float64{1}},
		"model have 1 volumes":            {ModelVolume: []float64{1}},
		"derivative have 0 volumes":       {DerivativeValue: []float64{1}},
		"1 readings, but 2 marks":         {Volume: []float64{1}, Value: []float64{1}, LeftOut: []bool{true, true}},
		"1 readings, but 0 residuals":     {Volume: []float64{1}, Value: []float64{1}, Residual: []float64{}},
		"size 200 is none of the presets": {Size: 200},
	} {
		_, err := Draw(c)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("the error is %v, want one with %q", err, want)
		}
		if err := Sketch(&bytes.Buffer{}, c, 80, 10, true); err == nil {
			t.Errorf("the sketch accepts %q", want)
		}
	}
}

// A record of many readings must not make a figure of as many circles.
func TestManyReadingsStayDrawable(t *testing.T) {
	var c Curve
	const n = 200_000
	for i := range n {
		v := 50 * float64(i) / n
		c.Volume = append(c.Volume, v)
		c.Value = append(c.Value, ironPotential(v+0.01))
		c.ModelVolume = c.Volume
		c.ModelValue = c.Value
	}
	var b bytes.Buffer
	if err := SVG(&b, mustDraw(t, c), SVGOptions{}); err != nil {
		t.Fatal(err)
	}
	if b.Len() > 1_000_000 {
		t.Errorf("the drawing of %d readings has %d bytes", n, b.Len())
	}
}

func FuzzDraw(f *testing.F) {
	f.Add(0.0, 50.0, 300.0, 1200.0, 24.8, 0.01, uint8(0))
	f.Add(1e-12, 2e-12, -1.0, 1.0, math.NaN(), 1.0, uint8(3))
	f.Add(7.0, 7.0, 1e99, 1e99, 7.0, 1e99, uint8(2))
	f.Fuzz(func(t *testing.T, v0, v1, e0, e1, eq, u float64, size uint8) {
		c := Curve{
			Volume: []float64{v0, (v0 + v1) / 2, v1}, Value: []float64{e0, e1, e1}, LeftOut: []bool{false, size%2 == 0, false},
			ModelVolume: []float64{v0, v1}, ModelValue: []float64{e0, e1}, Residual: []float64{e0 - e1, 0, u},
			Landmarks: []Landmark{{Plain("equivalence"), eq, u, true}, {Plain("half"), eq / 2, 0, false}},
			Methods:   []Landmark{{Plain("method"), eq + u, u, false}},
			Size:      Size(size) % sizeCount,
		}
		fig, err := Draw(c)
		if err != nil {
			t.Fatal(err)
		}
		checkWords(t, "fuzz", fig)
		var b bytes.Buffer
		if err := SVG(&b, fig, SVGOptions{}); err != nil {
			t.Fatal(err)
		}
		if err := Sketch(&b, c, 80, 10, size%2 == 0); err != nil {
			t.Fatal(err)
		}
	})
}

// The golden files keep the layout only: that nothing moves unseen. What the
// figures must show is tested above.
func TestLayoutGolden(t *testing.T) {
	column := ironCerium()
	column.Size = Column
	for name, c := range map[string]Curve{"iron-cerium-column": column, "silver-screen": silver(), "empty": {YLabel: Plain("potential / mV")}} {
		var b bytes.Buffer
		if err := SVG(&b, mustDraw(t, c), SVGOptions{Prefix: "fig-"}); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join("testdata", name+".svg")
		if *update {
			if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(b.Bytes(), want) {
			t.Errorf("%s has changed; look at it and refresh it with -update", path)
		}
	}
}
