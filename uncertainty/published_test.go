package uncertainty

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// A record of testdata/statistics.json: published values with their source
// and whether they were read there or are from memory.
type record struct {
	ID, Source, Origin string
	Inputs             struct{ Data []float64 }
	Expected           []struct {
		Quantity         string
		Value, Tolerance float64
	}
}

func load(t *testing.T, path string, into any) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatal(err)
	}
}

func published(t *testing.T, id string) record {
	t.Helper()
	var list []record
	load(t, "testdata/statistics.json", &list)
	for _, r := range list {
		if r.ID == id && len(r.Expected) > 0 {
			return r
		}
	}
	t.Fatalf("no record %s", id)
	return record{}
}

// arguments reads the 0.05 and 7 of "G(0.05,7)".
func arguments(t *testing.T, quantity string) (p float64, n int) {
	t.Helper()
	_, tail, _ := strings.Cut(quantity, "(")
	if _, err := fmt.Sscanf(tail, "%g,%d)", &p, &n); err != nil {
		t.Fatal(err)
	}
	return p, n
}

// Two-sided Student t as in the printed tables (12.7062, 4.3027, ...).
func TestCoverageOfTables(t *testing.T) {
	for _, x := range published(t, "student-t").Expected {
		p, dof := arguments(t, x.Quantity)
		if got := Coverage(p, float64(dof)); !(math.Abs(got-x.Value) <= x.Tolerance) {
			t.Errorf("%s: %.6f, want %g", x.Quantity, got, x.Value)
		}
	}
	// 1.96 and 2.576 of every table, for the normal distribution.
	for p, want := range map[float64]float64{0.95: 1.959964, 0.99: 2.575829} {
		if got := Coverage(p, math.Inf(1)); !(math.Abs(got-want) <= 1e-6) {
			t.Errorf("normal, %g: %.7f, want %g", p, got, want)
		}
	}
}

// Harvey's LibreTexts table (two-sided, its two misprints left out), the exact
// table, and an old one-sided table, which is ours at twice alpha.
func TestGrubbsCriticalOfTables(t *testing.T) {
	for id, sides := range map[string]float64{"grubbs-libretexts": 1, "grubbs-exact": 1, "grubbs-onesided": 2} {
		for _, x := range published(t, id).Expected {
			alpha, n := arguments(t, x.Quantity)
			if got := GrubbsCritical(n, sides*alpha); !(math.Abs(got-x.Value) <= x.Tolerance) {
				t.Errorf("%s, %s: %.4f, want %g", id, x.Quantity, got, x.Value)
			}
		}
	}
}

// Rorabacher (1991) as printed by Harvey, and its continuation to n = 30.
func TestDixonCriticalOfTables(t *testing.T) {
	for _, id := range []string{"dixon-Q10", "dixon-Q10-ext"} {
		for _, x := range published(t, id).Expected {
			alpha, n := arguments(t, x.Quantity)
			if got, err := DixonCritical(n, alpha); err != nil || !(math.Abs(got-x.Value) <= x.Tolerance) {
				t.Errorf("%s: %g, %v; want %g", x.Quantity, got, err, x.Value)
			}
		}
	}
	// Closed form at n = 3: alpha = 1 - 6/pi arctan((2Q-1)/sqrt 3). Half a unit
	// in the third decimal of Q is 0.0011 at most.
	for _, alpha := range dixonAlphas {
		q, _ := DixonCritical(3, alpha)
		if got := 1 - 6/math.Pi*math.Atan((2*q-1)/math.Sqrt(3)); !(math.Abs(got-alpha) <= 0.0011) {
			t.Errorf("Q(%g, 3) = %g is exceeded with probability %.4f", alpha, q, got)
		}
	}
	for _, bad := range []struct {
		n     int
		alpha float64
	}{{2, 0.05}, {16, 0.05}, {10, 0.03}, {11, 0.04}} {
		if q, err := DixonCritical(bad.n, bad.alpha); err == nil {
			t.Errorf("Q(%g, %d) = %g is not in the table", bad.alpha, bad.n, q)
		}
	}
}

// AMC Technical Brief 6 (from memory): 4.5 to 9.9; converged 5.386 and 1.15.
func TestAlgorithmAOfAMC(t *testing.T) {
	r := published(t, "robust-amc6")
	mean, sd, err := AlgorithmA(r.Inputs.Data)
	if err != nil {
		t.Fatal(err)
	}
	for i, got := range []float64{Median(r.Inputs.Data), mean, sd} {
		if x := r.Expected[i]; !(math.Abs(got-x.Value) <= x.Tolerance) {
			t.Errorf("%s: %.5f, want %g", x.Quantity, got, x.Value)
		}
	}
}

// u 0.57 with 9 degrees of freedom and 0.25 with many give 12.8 (a university
// course on uncertainty).
func TestWelchOfCourse(t *testing.T) {
	x := published(t, "welch-satterthwaite").Expected[0]
	if got := Welch([]float64{0.57, 0.25}, []float64{9, math.Inf(1)}); !(math.Abs(got-x.Value) <= x.Tolerance) {
		t.Errorf("%.3f, want %g", got, x.Value)
	}
}
