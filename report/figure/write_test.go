package figure

import (
	"bytes"
	"compress/zlib"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"meniscus/report/font"
)

// Contrast as WCAG 2.2 defines it (relative luminance of sRGB; formula from
// memory), with black on white as the check of the formula itself.
func contrast(a, b RGB) float64 {
	luminance := func(c RGB) float64 {
		channel := func(v uint8) float64 {
			s := float64(v) / 255
			if s <= 0.04045 {
				return s / 12.92
			}
			return math.Pow((s+0.055)/1.055, 2.4)
		}
		return 0.2126*channel(c.R) + 0.7152*channel(c.G) + 0.0722*channel(c.B)
	}
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestContrast(t *testing.T) {
	near(t, "black on white", contrast(RGB{}, RGB{255, 255, 255}), 21, 1e-9)
	for _, theme := range []Theme{Light, Dark, Print} {
		for _, r := range []Role{Ink, Muted, Accent, Warn, Error} {
			if c := contrast(theme.Colour(r), theme.Colour(Paper)); c < 4.5 {
				t.Errorf("theme %d: %s has a contrast of %.2f against paper, below 4.5", theme, r, c)
			}
		}
	}
}

// elements parses the drawing and counts its elements; attributes are handed
// to look.
func elements(t *testing.T, data []byte, look func(xml.StartElement)) map[string]int {
	t.Helper()
	out := map[string]int{}
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatalf("the drawing is not well formed: %v", err)
		}
		if e, ok := token.(xml.StartElement); ok {
			out[e.Name.Local]++
			look(e)
		}
	}
}

func TestSVG(t *testing.T) {
	c := ironCerium()
	c.Title = Plain(`<script>alert("1 < 2")</script>`)
	f := mustDraw(t, c)
	var b, again bytes.Buffer
	if err := SVG(&b, f, SVGOptions{ID: `x"><script>`}); err != nil {
		t.Fatal(err)
	}
	n := elements(t, b.Bytes(), func(e xml.StartElement) {
		for _, a := range e.Attr {
			if a.Name.Local == "style" || a.Name.Local == "class" || strings.HasPrefix(a.Name.Local, "on") {
				t.Errorf("<%s> has the attribute %s", e.Name.Local, a.Name.Local)
			}
		}
	})
	if n["script"] != 0 || n["style"] != 0 {
		t.Errorf("the drawing has %d scripts and %d styles", n["script"], n["style"])
	}
	if n["circle"] != 2*len(c.Volume) {
		t.Errorf("%d circles for %d readings and as many residuals", n["circle"], len(c.Volume))
	}
	for _, want := range []string{`role="img"`, `aria-labelledby="xscript-title xscript-desc"`, `<title id="xscript-title">`, `volume of Ce<tspan dy="-4.68" font-size="9.1">4+</tspan>`, "40 readings, volume 0.5 to 50"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the drawing lacks %s", want)
		}
	}
	if err := SVG(&again, mustDraw(t, c), SVGOptions{ID: `x"><script>`}); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("the same curve gives two drawings")
	}
}

// What is raised or lowered comes back to the base line: the steps of a line
// that ends on it add up to nothing.
func TestSVGScriptsComeBack(t *testing.T) {
	runs := []Run{{Text: "Fe"}, {Text: "2+", Shift: Sup}, {Text: " and SO"}, {Text: "4", Shift: Sub}, {Text: "2−", Shift: Sup}, {Text: " end"}}
	f := Figure{Width: 9, Height: 9, Layers: []Layer{{Marks: []Mark{Text{Runs: runs, Size: 100, Paint: Paint{Role: Ink}}}}}}
	var b bytes.Buffer
	if err := SVG(&b, f, SVGOptions{}); err != nil {
		t.Fatal(err)
	}
	sum, steps := 0.0, 0
	elements(t, b.Bytes(), func(e xml.StartElement) {
		for _, a := range e.Attr {
			if a.Name.Local == "dy" {
				v, err := strconv.ParseFloat(a.Value, 64)
				if err != nil {
					t.Fatal(err)
				}
				sum += v
				steps++
			}
		}
	})
	if sum != 0 || steps != 5 {
		t.Errorf("%d steps add up to %g, want 5 and 0", steps, sum)
	}
}

// Every class name of a drawing that means a colour has a rule in the style
// sheet, and the rule names a colour that is defined.
func TestStylesheetCoversTheClasses(t *testing.T) {
	var b bytes.Buffer
	if err := SVG(&b, mustDraw(t, ironCerium()), SVGOptions{Prefix: "fig-"}); err != nil {
		t.Fatal(err)
	}
	sheet := Stylesheet("fig-")
	seen := 0
	for _, m := range regexp.MustCompile(`fig-[sf]-[a-z]+`).FindAllString(b.String(), -1) {
		seen++
		if !strings.Contains(sheet, "."+m+"{") {
			t.Fatalf("no rule for %s", m)
		}
	}
	if seen < 50 {
		t.Errorf("only %d class names in a whole figure", seen)
	}
	for _, m := range regexp.MustCompile(`var\((--[a-z-]+)\)`).FindAllStringSubmatch(sheet, -1) {
		if strings.Count(sheet, m[1]+":#") != 4 { // light, dark twice, print
			t.Errorf("%s is not defined for every theme", m[1])
		}
	}
	if strings.Count(sheet, "{") != strings.Count(sheet, "}") {
		t.Error("the braces of the style sheet do not pair")
	}
}

func TestSVGEmbedsWhatItUses(t *testing.T) {
	var b bytes.Buffer
	if err := SVG(&b, mustDraw(t, ironCerium()), SVGOptions{Embed: true}); err != nil {
		t.Fatal(err)
	}
	for name, used := range map[string]bool{
		base64.StdEncoding.EncodeToString(font.Sans):        true,
		base64.StdEncoding.EncodeToString(font.SerifBold):   true,
		base64.StdEncoding.EncodeToString(font.SerifItalic): false,
	} {
		if strings.Contains(b.String(), name) != used {
			t.Errorf("a font of %d characters: embedded %t, want %t", len(name), !used, used)
		}
	}
}

// painted adds up how much of each pixel differs from paper, in pixels, for a
// drawing in black on white.
func painted(t *testing.T, m ...Mark) (area float64, box Box) {
	t.Helper()
	f := Figure{Width: 100, Height: 100, Layers: []Layer{{Marks: m}}}
	img, err := Raster(f, PNGOptions{Theme: Print, Scale: 4})
	if err != nil {
		t.Fatal(err)
	}
	box = Box{1e9, 1e9, -1e9, -1e9}
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			v := float64(255-img.RGBAAt(x, y).R) / 255
			if v > 0 {
				box = Box{min(box.Left, float64(x)/4), min(box.Top, float64(y)/4), max(box.Right, float64(x+1)/4), max(box.Bottom, float64(y+1)/4)}
			}
			area += v / 16
		}
	}
	return area, box
}

// Areas by the formulas of the plane, in square points.
func TestRasterAreas(t *testing.T) {
	black := Paint{IsOwn: true}
	line := func(dash ...float64) Stroke { return Stroke{black, 2, dash} }
	for _, row := range []struct {
		what string
		mark Mark
		want float64
	}{
		{"rectangle", bar(Box{10, 20, 40, 30}, black), 300},
		{"disc", Circle{Centre: Point{50, 50}, Radius: 20, Fill: black}, math.Pi * 400},
		{"ring", Circle{Centre: Point{50, 50}, Radius: 20, Stroke: line()}, math.Pi * (21*21 - 19*19)},
		{"slanting line", segment(10, 10, 40, 50, line()), 50 * 2}, // 3, 4, 5
		{"dashed line", segment(10, 10, 90, 10, line(5, 5)), 40 * 2},
		{"corner", Path{Lines: [][]Point{{{10, 10}, {50, 10}, {50, 50}}}, Stroke: line()}, 160 - 1 + math.Pi/4},
		{"frame", Path{Lines: [][]Point{{{10, 10}, {50, 10}, {50, 50}, {10, 50}}}, Closed: true, Stroke: line()}, 4*80 - 4 + math.Pi},
		{"nothing", bar(Box{10, 20, 40, 30}, Paint{}), 0},
		{"outside", bar(Box{-50, -20, -40, -10}, black), 0},
	} {
		got, _ := painted(t, row.mark)
		near(t, row.what, got, row.want, 0.003*row.want+0.01)
	}
}

// Text is painted inside the box that the layout reckons with, and the box of
// turned text is turned.
func TestRasterText(t *testing.T) {
	for _, turned := range []bool{false, true} {
		for _, anchor := range []Anchor{Start, Middle, End} {
			text := Text{At: Point{50, 50}, Runs: []Run{{Text: "Hg"}, {Text: "2+", Shift: Sup}}, Size: 20, Anchor: anchor, Turned: turned, Paint: Paint{IsOwn: true}}
			area, box := painted(t, text)
			if area < 50 {
				t.Fatalf("only %g square points of ink", area)
			}
			b := text.Bounds()
			if !box.within(b, 1) {
				t.Errorf("turned %t, anchor %d: ink in %v, reckoned %v", turned, anchor, box, b)
			}
			if wide := box.Right-box.Left > box.Bottom-box.Top; wide == turned {
				t.Errorf("turned %t, but the ink is in %v", turned, box)
			}
			if w := max(box.Right-box.Left, box.Bottom-box.Top); w < 0.9*Width(text.Runs, Sans, 20) {
				t.Errorf("the ink is %g long, the font says %g", w, Width(text.Runs, Sans, 20))
			}
		}
	}
}

func TestPNG(t *testing.T) {
	f := mustDraw(t, ironCerium())
	for _, theme := range []Theme{Light, Dark} {
		var b bytes.Buffer
		if err := PNG(&b, f, PNGOptions{Theme: theme}); err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		if got := img.Bounds().Dx(); got != 1440 {
			t.Errorf("%d pixels wide, want twice 720", got)
		}
		colours := map[RGB]int{}
		for y := range img.Bounds().Dy() {
			for x := range img.Bounds().Dx() {
				r, g, b, _ := img.At(x, y).RGBA()
				colours[RGB{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8)}]++
			}
		}
		for _, r := range []Role{Paper, Ink, Accent, Faint} {
			if colours[theme.Colour(r)] < 50 {
				t.Errorf("theme %d: %d pixels of %s", theme, colours[theme.Colour(r)], r)
			}
		}
	}
	for _, scale := range []float64{-1, 1e6, math.NaN(), math.Inf(1)} {
		if err := PNG(io.Discard, f, PNGOptions{Scale: scale}); err == nil {
			t.Errorf("a scale of %g is accepted", scale)
		}
	}
}

// streams returns the contents of a PDF, unpacked.
func streams(t *testing.T, data []byte) string {
	t.Helper()
	var out strings.Builder
	for _, part := range bytes.Split(data, []byte("stream\n"))[1:] {
		r, err := zlib.NewReader(bytes.NewReader(part))
		if err != nil {
			continue // not packed
		}
		text, err := io.ReadAll(r)
		if err != nil {
			continue // a part that is not a stream, such as what follows one
		}
		out.Write(text)
	}
	return out.String()
}

func utf16BE(s string) string {
	var b strings.Builder
	for _, r := range s {
		b.WriteByte(byte(r >> 8))
		b.WriteByte(byte(r))
	}
	return b.String()
}

func TestPDF(t *testing.T) {
	c := ironCerium()
	f := mustDraw(t, c)
	var a, b bytes.Buffer
	opt := PDFOptions{Date: time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC)}
	for _, w := range []*bytes.Buffer{&a, &b} {
		if err := PDF(w, f, opt); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same figure gives two files")
	}
	for want, times := range map[string]int{"(D:20260102030405": 2, "/MediaBox [0 0 720.00": 1} {
		if n := bytes.Count(a.Bytes(), []byte(want)); n != times {
			t.Errorf("the file has %s %d times, want %d", want, n, times)
		}
	}
	content := streams(t, a.Bytes())
	for _, word := range []string{"readings", "fitted curve", "1200", "−0.5", "yellow"} {
		if !strings.Contains(content, utf16BE(word)) {
			t.Errorf("the page lacks the text %q", word)
		}
	}
	want := 0
	for _, l := range f.Layers {
		for _, p := range marksOf[Path](f, l.Name) {
			for _, line := range p.Lines {
				want += len(line) - 1
			}
		}
	}
	if n := strings.Count(content, " l\n"); n != want {
		t.Errorf("%d straight lines on the page, %d in the figure", n, want)
	}
	var undated bytes.Buffer
	if err := PDF(&undated, f, PDFOptions{Theme: Dark}); err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(undated.Bytes(), []byte("D:19700101")) {
		t.Error("without a date the file has one of its own")
	}
	if err := PDF(io.Discard, Figure{}, opt); err == nil {
		t.Error("a figure without size is accepted")
	}
}

// One inch is 25.4 mm and 72 points; y runs up in a PDF, from the foot of an
// A4 page of 841.89 points. At scale 2, (10, 20) of the figure lies 20 right of
// and 40 below the place.
func TestPlace(t *testing.T) {
	doc := fpdf.New("P", "mm", "A4", "")
	doc.SetCompression(false)
	doc.AddPage()
	doc.SetLineWidth(1)
	doc.SetTextColor(1, 2, 3)
	f := Figure{Layers: []Layer{{Marks: []Mark{
		segment(10, 20, 30, 20, Stroke{Paint{Role: Ink}, 1, []float64{3}}),
		Text{At: Point{10, 20}, Runs: Plain("x"), Size: 10, Turned: true, Paint: Paint{Role: Ink}},
	}}}}
	if err := Place(doc, f, 25.4, 25.4, 2, Print); err != nil {
		t.Fatal(err)
	}
	near(t, "line width after", doc.GetLineWidth(), 1, 1e-12)
	if r, g, b := doc.GetTextColor(); r != 1 || g != 2 || b != 3 {
		t.Errorf("the colour of text is %d %d %d afterwards", r, g, b)
	}
	var out bytes.Buffer
	if err := doc.Output(&out); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"92.00 729.89 m", "132.00 729.89 l", "2.00 w", "[6.00] 0.00 d"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
}
