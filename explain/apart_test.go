package explain

import (
	"bytes"
	"math"
	"regexp"
	"strconv"
	"testing"

	"meniscus/working"
)

// Beside the equivalence point, at 0.045 × 50 / 0.1013 = 22.21125370 mL, two
// nearly equal numbers are subtracted. What a reader gets by subtracting those
// shown is what is shown.
func TestDifferencesCanBeFollowed(t *testing.T) {
	s := read(t, "../examples/granules/setup.yaml")
	shown := regexp.MustCompile(`(?:([0-9.]+) mol/L · )?\(?([0-9.]+) (mL|mmol) − ([0-9.]+) (?:mL|mmol)\)?\n += ([0-9.]+)(?: × 10⁻(⁴|⁵|⁶|⁷))? mmol`)
	for _, ml := range []float64{22.2, 22.211, 22.2112, 22.21125, 22.2113, 22.2114, 22.22} {
		d, err := At(s, millilitres(t, strconv.FormatFloat(ml, 'f', -1, 64)).X)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := working.WriteText(&b, d); err != nil {
			t.Fatal(err)
		}
		m := shown.FindStringSubmatch(b.String())
		if m == nil {
			t.Fatalf("%g mL: no difference is shown", ml)
		}
		number := func(i int) float64 {
			x, err := strconv.ParseFloat(m[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return x
		}
		by := 1.0
		if m[1] != "" {
			by = number(1)
		}
		want := number(5) * map[string]float64{"": 1, "⁴": 1e-4, "⁵": 1e-5, "⁶": 1e-6, "⁷": 1e-7}[m[6]]
		if got := by * math.Abs(number(2)-number(4)); math.Abs(got-want) > 2e-3*want {
			t.Errorf("%g mL: the numbers shown give %g mmol, beside %g: %s", ml, got, want, m[0])
		}
	}
}

// A title has the microlitre of the scale; a volume below it keeps its digits.
func TestTitledToTheMicrolitre(t *testing.T) {
	for volume, want := range map[float64]string{11.105626851: "11.106", 20: "20", 12.5: "12.5", 0: "0", 0.00002: "2e-05"} {
		if got := titled(volume); got != want {
			t.Errorf("%g mL is titled %q, want %q", volume, got, want)
		}
	}
}

// 0.1 less 0.0999 needs no zeros behind, 0.0999001 less 0.1 does need its digits.
func TestZerosThatSayNothing(t *testing.T) {
	for x, want := range map[float64]string{0.0999: "0.09990", 0.0999001: "0.0999001"} {
		if got := apart(x, 0.1, 5).Number(x, "mmol").Text; got != want {
			t.Errorf("%g beside 0.1 is shown as %q, want %q", x, got, want)
		}
	}
}
