package bench

import (
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// figureFile is where the cost by size is drawn after the benchmarks that
// measure it: make bench sets it.
var figureFile = flag.String("figure", "", "draw the cost by size into this SVG file")

// A cost is what one point of one system took.
type cost struct {
	series  string
	species int
	ns      float64
}

// costs are what timePoints measured last of each system.
var costs []cost

func record(c cost) {
	for i := range costs {
		if costs[i].series == c.series && costs[i].species == c.species {
			costs[i] = c
			return
		}
	}
	costs = append(costs, c)
}

func TestMain(m *testing.M) {
	flag.Parse()
	status := m.Run()
	if *figureFile != "" && status == 0 && len(costs) > 0 {
		if err := os.WriteFile(*figureFile, []byte(drawCosts(costs)), 0o644); err != nil {
			fmt.Fprintln(os.Stderr, "drawing the cost by size:", err)
			status = 1
		}
	}
	os.Exit(status)
}

// drawCosts draws time against species, both axes logarithmic, a line for
// each series with its name at the end.
func drawCosts(costs []cost) string {
	const left, right, top, bottom = 60.0, 500.0, 20.0, 300.0
	x := func(species float64) float64 { return left + (right-left)*math.Log(species/2)/math.Log(64/2) }
	y := func(ns float64) float64 { return bottom - (bottom-top)*math.Log(ns/100)/math.Log(1e5/100) }
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 660 350" font-family="sans-serif" font-size="12">
<title>Time of a point against the number of species</title>
<rect width="660" height="350" fill="#fff"/>
`)
	for _, n := range []float64{2, 4, 8, 16, 32, 64} {
		fmt.Fprintf(&b, `<path d="M%.1f %gV%g" stroke="#ddd"/><text x="%.1f" y="%g" text-anchor="middle">%g</text>`+"\n", x(n), top, bottom, x(n), bottom+16, n)
	}
	for _, ns := range []float64{100, 1e3, 1e4, 1e5} {
		fmt.Fprintf(&b, `<path d="M%g %.1fH%g" stroke="#ddd"/><text x="%g" y="%.1f" text-anchor="end">%g µs</text>`+"\n", left, y(ns), right, left-6, y(ns)+4, ns/1e3)
	}
	fmt.Fprintf(&b, `<text x="%g" y="%g" text-anchor="middle">species</text>`+"\n", (left+right)/2, bottom+36)
	done := map[string]bool{}
	for _, first := range costs {
		if done[first.series] {
			continue
		}
		dash := []string{"", "6 3", "2 3", "9 3 2 3"}[len(done)%4]
		done[first.series] = true
		path, last := "", first
		for _, c := range costs {
			if c.series != first.series {
				continue
			}
			path += fmt.Sprintf("%s%.1f %.1f", map[bool]string{true: "M", false: "L"}[path == ""], x(float64(c.species)), y(c.ns))
			last = c
		}
		fmt.Fprintf(&b, `<path d="%s" fill="none" stroke="#036" stroke-width="1.5" stroke-dasharray="%s"/><text x="%.1f" y="%.1f" stroke="#fff" stroke-width="4" paint-order="stroke">%s</text>`+"\n",
			path, dash, x(float64(last.species))+6, y(last.ns)+4, first.series)
	}
	b.WriteString("</svg>\n")
	return b.String()
}

// TestDrawCosts: a tenfold time is a third of the height higher, and every
// series is named once.
func TestDrawCosts(t *testing.T) {
	svg := drawCosts([]cost{{"a", 2, 100}, {"b", 4, 1e3}, {"a", 64, 1e5}})
	for want, n := range map[string]int{"M60.0 300.0L500.0 20.0": 1, ">a<": 1, ">b<": 1, ">1 µs<": 1} {
		if strings.Count(svg, want) != n {
			t.Errorf("%q is not there %d times:\n%s", want, n, svg)
		}
	}
}
