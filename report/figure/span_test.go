package figure

import (
	"fmt"
	"math"
	"os"
	"slices"
	"testing"
)

// A line that is thinned stays within the slack: every point of the fine line is
// measured against the coarse one.
func TestThin(t *testing.T) {
	var line []Point
	for i := range 2000 {
		x := float64(i) / 4
		line = append(line, Point{x, 100 * math.Tanh((x-250)/10)})
	}
	const slack = 0.05
	got := thin(line, slack)
	if len(got) > 200 {
		t.Errorf("%d points of %d are kept", len(got), len(line))
	}
	if got[0] != line[0] || got[len(got)-1] != line[len(line)-1] {
		t.Error("an end was moved")
	}
	for _, p := range line {
		best := math.Inf(1)
		for i := 1; i < len(got); i++ {
			best = min(best, distance(p, got[i-1], got[i]))
		}
		if best > 2*slack {
			t.Fatalf("%v lies %g off the thinned line", p, best)
		}
	}
	spike := []Point{{0, 0}, {10, 0}, {5, 0}, {20, 0}}
	if !slices.Contains(thin([]Point{{0, 0}, {0, 10}, {0, 5}}, 0.01), Point{0, 10}) {
		t.Error("the tip of a line that turns back is lost")
	}
	if got := thin(spike[:2], 1); len(got) != 2 {
		t.Errorf("two points become %d", len(got))
	}
}

func distance(p, a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	s := max(0, min(1, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/(dx*dx+dy*dy)))
	return math.Hypot(p.X-a.X-s*dx, p.Y-a.Y-s*dy)
}

// The line y = x cut to 2..3, and a line that leaves and comes back.
func TestClip(t *testing.T) {
	got := clip([]Point{{0, 0}, {10, 10}}, 2, 3)
	if len(got) != 1 || !slices.Equal(got[0], []Point{{2, 2}, {3, 3}}) {
		t.Errorf("y = x between 2 and 3 is %v", got)
	}
	got = clip([]Point{{0, 0}, {1, 10}, {2, 0}}, -1, 5)
	if len(got) != 2 || got[0][1] != (Point{0.5, 5}) || got[1][0] != (Point{1.5, 5}) {
		t.Errorf("a peak that is cut off gives %v", got)
	}
	if got = clip([]Point{{0, 9}, {1, 10}}, 0, 5); len(got) != 0 {
		t.Errorf("a line outside gives %v", got)
	}
}

func TestWrap(t *testing.T) {
	runs := []Run{{Text: "iron(II) with Ce"}, {Text: "4+", Shift: Sup}, {Text: " and a very long tail of words averyveryverylongwordindeed"}}
	const width = 60.0
	lines := wrap(runs, Sans, 10, width)
	all := ""
	for _, l := range lines {
		if w := Width(l, Sans, 10); w > width {
			t.Errorf("%q is %g wide, want %g", String(l), w, width)
		}
		all += String(l)
	}
	strip := func(s string) string {
		return string(slices.DeleteFunc([]rune(s), func(r rune) bool { return r == ' ' }))
	}
	if strip(all) != strip(String(runs)) {
		t.Errorf("wrapped text reads %q", all)
	}
}

func TestString(t *testing.T) {
	for want, runs := range map[string][]Run{
		"Ce⁴⁺":     {{Text: "Ce"}, {Text: "4+", Shift: Sup}},
		"H₂O":      {{Text: "H"}, {Text: "2", Shift: Sub}, {Text: "O"}},
		"V_eq":     {{Text: "V"}, {Text: "eq", Shift: Sub}},
		"x^(a+b)":  {{Text: "x"}, {Text: "(a+b)", Shift: Sup}},
		"10⁻⁹ − 1": {{Text: "10"}, {Text: "−9", Shift: Sup}, {Text: " − 1"}},
	} {
		if got := String(runs); got != want {
			t.Errorf("String = %q, want %q", got, want)
		}
	}
}

func ExampleDraw() {
	f, err := Draw(Curve{
		YLabel: Plain("pH"), XLabel: Plain("volume of NaOH added / mL"),
		Volume: []float64{0, 5, 10, 15}, Value: []float64{2.9, 4.6, 8.7, 12.2},
		Landmarks: []Landmark{{Label: Plain("equivalence"), Volume: 10.02, U: 0.03, Main: true}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.Desc)
	// Output: pH against volume of NaOH added / mL. 4 readings, volume 0 to 15, value 2.9 to 12.2. equivalence 10.020 ± 0.030.
}

func ExampleSVG() {
	f, err := Draw(Curve{Volume: []float64{1, 2}, Value: []float64{400, 410}})
	if err == nil {
		err = SVG(os.Stdout, Figure{Width: f.Width, Height: 10, Title: f.Title, Desc: "Two readings."}, SVGOptions{Transparent: true})
	}
	if err != nil {
		fmt.Println(err)
	}
	// Output:
	// <svg xmlns="http://www.w3.org/2000/svg" width="720" height="10" viewBox="0 0 720 10" role="img" aria-labelledby="figure-title figure-desc" font-family="'Meniscus Sans', system-ui, sans-serif" stroke-linejoin="round">
	// <title id="figure-title">Titration curve</title>
	// <desc id="figure-desc">Two readings.</desc>
	// </svg>
}
