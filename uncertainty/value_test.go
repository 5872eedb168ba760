package uncertainty

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
)

// By hand: u to two figures, x to the same place.
func TestRound(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	rows := []struct {
		x, u   float64
		xs, us string
	}{
		{0.0249831, 0.0000123, "0.024983", "0.000012"},
		{24.8372, 0.0316, "24.837", "0.032"},
		{24.8, 0.00996, "24.800", "0.010"},
		{24.8372, 0.0996, "24.84", "0.10"},
		{9.996, 0.012, "9.996", "0.012"},
		{-0.0004, 0.21, "0.00", "0.21"},
		{-1.2345, 0.21, "-1.23", "0.21"},
		{717, 9.96, "717", "10"},
		{717.4, 2.1, "717.4", "2.1"},
		{56789, 1234, "56800", "1200"},
		{43, 1234, "0", "1200"},
		{57, 1234, "100", "1200"},
		{0, 0.5, "0.00", "0.50"},
		{0.001, 25, "0", "25"},
		{1.7543e-10, 1.23e-12, "1.754e-10", "0.012e-10"},
		{9.9996e-10, 1.2e-12, "1.0000e-9", "0.0012e-9"},
		{6.02214e23, 1.5e18, "6.022140e23", "0.000015e23"},
		{1e-12, 3.4e-11, "0.1e-11", "3.4e-11"},
		{0, 3.4e-11, "0.0e-11", "3.4e-11"},
		{25.1, 0, "25.1", "0"},
		{25.1, nan, "25.1", "NaN"},
		{25.1, inf, "25.1", "+Inf"},
		{nan, 0.1, "NaN", "0.1"},
	}
	for _, r := range rows {
		if xs, us := Round(r.x, r.u); xs != r.xs || us != r.us {
			t.Errorf("Round(%g, %g): %q, %q; want %q, %q", r.x, r.u, xs, us, r.xs, r.us)
		}
	}
}

// For any x and u the texts read back within half a unit of the last place,
// which is at most u/19.9, and have equally many decimals.
func FuzzRound(f *testing.F) {
	for _, s := range [][2]float64{{24.8, 0.03}, {-1e-9, 3e-9}, {1e300, 1e290}, {0.5, 1e3}, {1e-310, 1e-311}, {49920, 9.95e5}} {
		f.Add(s[0], s[1])
	}
	f.Fuzz(func(t *testing.T, x, u float64) {
		xs, us := Round(x, u)
		if !(u > 0) || math.IsInf(u, 0) || math.IsNaN(x-x) {
			return
		}
		gotX, errX := strconv.ParseFloat(xs, 64)
		gotU, errU := strconv.ParseFloat(us, 64)
		if errX != nil || errU != nil {
			t.Fatalf("Round(%g, %g): %q, %q", x, u, xs, us)
		}
		if !(math.Abs(gotU-u) <= 0.0503*u) || !(math.Abs(gotX-x) <= 0.0503*u+1e-15*math.Abs(x)) {
			t.Errorf("Round(%g, %g): %q, %q is too far off", x, u, xs, us)
		}
		if decimals(xs) != decimals(us) {
			t.Errorf("Round(%g, %g): %q, %q differ in decimals", x, u, xs, us)
		}
	})
}

func decimals(s string) int {
	s, _, _ = strings.Cut(s, "e")
	_, frac, _ := strings.Cut(s, ".")
	return len(frac)
}

// GUM G.4.2: equal uncertainties with equal degrees of freedom add up their
// degrees of freedom; an exact one counts only in the sum.
func TestWelch(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	rows := []struct {
		us, dofs []float64
		want     float64
	}{
		{[]float64{2, 2}, []float64{5, 5}, 10},
		{[]float64{1e-200, 1e-200, 1e-200}, []float64{4, 4, 4}, 12},
		{[]float64{1, 0}, []float64{7, 1}, 7},
		{[]float64{1, 1}, []float64{3, inf}, 12},
		{[]float64{3, 4}, []float64{9, 16}, 625 / (81./9 + 256./16)},
		{[]float64{1}, []float64{inf}, inf},
		{[]float64{0}, []float64{3}, inf},
		{nil, nil, inf},
		{[]float64{1}, nil, nan},
		{[]float64{-1}, []float64{3}, nan},
		{[]float64{1}, []float64{0}, nan},
		{[]float64{inf}, []float64{3}, nan},
	}
	for _, r := range rows {
		got := Welch(r.us, r.dofs)
		if !(math.Abs(got-r.want) <= 1e-12*r.want || got == r.want || math.IsNaN(got) && math.IsNaN(r.want)) {
			t.Errorf("Welch(%v, %v): %v, want %v", r.us, r.dofs, got, r.want)
		}
	}
}

// Printed tables of t: 4.303 for 2 degrees of freedom, 1.960 for none stated.
func TestExpanded(t *testing.T) {
	width, k := Value{10, 0.2, 2}.Expanded(0.95)
	if !(math.Abs(k-4.303) <= 5e-4) || !(math.Abs(width-0.8606) <= 1e-4) {
		t.Errorf("k %v, width %v", k, width)
	}
	if _, k := (Value{X: 10, U: 0.2}).Expanded(0.95); !(math.Abs(k-1.960) <= 5e-4) {
		t.Errorf("unknown degrees of freedom: k %v", k)
	}
}

// By hand. 1, 2, 9: mean 4, s = sqrt 19; gap 7 of range 8.
func TestOutliers(t *testing.T) {
	g, i, err := Grubbs([]float64{1, 9, 2})
	if err != nil || i != 1 || !(math.Abs(g-5/math.Sqrt(19)) <= 1e-15) {
		t.Errorf("grubbs %v at %d, %v", g, i, err)
	}
	q, i, err := Dixon([]float64{1, 9, 2})
	if err != nil || i != 1 || q != 7./8 {
		t.Errorf("dixon %v at %d, %v", q, i, err)
	}
	if q, i, err := Dixon([]float64{8, 1, 9}); err != nil || i != 1 || q != 7./8 {
		t.Errorf("dixon low %v at %d, %v", q, i, err)
	}
	if g, i, err := Grubbs([]float64{8, 1, 9}); err != nil || i != 1 || !(math.Abs(g-5/math.Sqrt(19)) <= 1e-15) {
		t.Errorf("grubbs low %v at %d, %v", g, i, err)
	}
	for _, bad := range [][]float64{nil, {1, 2}, {1, 2, math.NaN()}, {1, 2, math.Inf(1)}, {3, 3, 3}} {
		_, _, errG := Grubbs(bad)
		_, _, errD := Dixon(bad)
		_, _, errA := AlgorithmA(bad)
		if errG == nil || errD == nil || errA == nil {
			t.Errorf("%v: %v, %v, %v", bad, errG, errD, errA)
		}
	}
}

func TestMeanSDAndMedian(t *testing.T) {
	// A large offset must not cost the standard deviation of 1, 2, 3, 4.
	mean, sd := MeanSD([]float64{1e9 + 1, 1e9 + 2, 1e9 + 3, 1e9 + 4})
	if mean != 1e9+2.5 || !(math.Abs(sd-math.Sqrt(5./3)) <= 1e-12) {
		t.Errorf("mean %v, sd %v", mean, sd)
	}
	// Nor may its digits: of 1 to 11 the mean is 6 and the variance 11.
	var far []float64
	for i := range 11 {
		far = append(far, 1e15+float64(i+1))
	}
	if mean, sd := MeanSD(far); mean != 1e15+6 || !(math.Abs(sd-math.Sqrt(11)) <= 1e-12) {
		t.Errorf("mean %v, sd %v", mean, sd)
	}
	if mean, sd := MeanSD([]float64{7}); mean != 7 || !math.IsNaN(sd) {
		t.Errorf("of one: %v, %v", mean, sd)
	}
	if mean, _ := MeanSD(nil); !math.IsNaN(mean) || !math.IsNaN(Median(nil)) {
		t.Errorf("of none: %v, %v", mean, Median(nil))
	}
	if m := Median([]float64{4, 1, 3, 2}); m != 2.5 {
		t.Errorf("median of 4, 1, 3, 2: %v", m)
	}
	if m := Median([]float64{9, 1, 3}); m != 3 {
		t.Errorf("median of 9, 1, 3: %v", m)
	}
}

// Without readings to draw in, Algorithm A has the plain mean, and its factor
// of 1.134 on the plain standard deviation; scale and shift pass through.
func TestAlgorithmALaws(t *testing.T) {
	mean, sd, err := AlgorithmA([]float64{-1, 1, -1, 1})
	if err != nil || !(math.Abs(mean) <= 1e-12) || !(math.Abs(sd-1.134*math.Sqrt(4./3)) <= 1e-11) {
		t.Errorf("%v, %v, %v", mean, sd, err)
	}
	xs := []float64{24.81, 24.83, 24.86, 25.40, 24.79}
	mean, sd, _ = AlgorithmA(xs)
	for i := range xs {
		xs[i] = 3 - 2*xs[i]
	}
	m2, s2, err := AlgorithmA(xs)
	if err != nil || !(math.Abs(m2-(3-2*mean)) <= 1e-10) || !(math.Abs(s2-2*sd) <= 1e-10) {
		t.Errorf("3 - 2x: %v, %v, %v; x: %v, %v", m2, s2, err, mean, sd)
	}
	if mean, sd, err := AlgorithmA([]float64{5, 5, 5, 9}); mean != 5 || sd != 0 || err != nil {
		t.Errorf("mostly equal: %v, %v, %v", mean, sd, err)
	}
}

func ExampleRound() {
	x, u := Round(0.0249831, 0.0000123)
	fmt.Printf("V = %s L, u = %s L\n", x, u)
	// Output: V = 0.024983 L, u = 0.000012 L
}

func ExampleCoverage() {
	dof := Welch([]float64{0.57, 0.25}, []float64{9, math.Inf(1)})
	fmt.Printf("%.1f effective degrees of freedom, k = %.2f\n", dof, Coverage(0.95, dof))
	// Output: 12.8 effective degrees of freedom, k = 2.16
}

func ExampleGrubbs() {
	readings := []float64{24.81, 24.83, 24.86, 25.40, 24.79}
	g, i, _ := Grubbs(readings)
	fmt.Printf("%g: G = %.3f, critical %.3f\n", readings[i], g, GrubbsCritical(len(readings), 0.05))
	// Output: 25.4: G = 1.780, critical 1.715
}
