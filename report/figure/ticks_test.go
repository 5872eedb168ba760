package figure

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// Ticks written down by hand.
func TestNiceTicks(t *testing.T) {
	for _, row := range []struct {
		low, high float64
		most      int
		want      []float64
		decimals  int
	}{
		{0, 50, 11, []float64{0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50}, 0},
		{0, 50, 10, []float64{0, 10, 20, 30, 40, 50}, 0},
		{337, 1201, 6, []float64{400, 600, 800, 1000, 1200}, 0},
		{-0.31, 0.31, 7, []float64{-0.3, -0.2, -0.1, 0, 0.1, 0.2, 0.3}, 1},
		{24.79, 24.83, 5, []float64{24.79, 24.80, 24.81, 24.82, 24.83}, 2},
		{1, 1, 5, nil, 0},
		{2, 1, 5, nil, 0},
		{-1e300, 1e300, 5, nil, 0},
	} {
		got := NiceTicks(row.low, row.high, row.most)
		if !slices.Equal(got.Values, row.want) || got.Decimals != row.decimals {
			t.Errorf("NiceTicks(%g, %g, %d) = %v with %d decimals, want %v with %d", row.low, row.high, row.most, got.Values, got.Decimals, row.want, row.decimals)
		}
	}
}

func TestNumber(t *testing.T) {
	for _, row := range []struct {
		v        float64
		decimals int
		comma    bool
		want     string
	}{
		{-12.3, 1, false, "−12.3"},
		{-12.3, 1, true, "−12,3"},
		{-0.0001, 2, false, "0.00"}, // no minus before a zero
		{24.8509, 3, false, "24.851"},
		{3e8, 0, false, "3×10⁸"},
		{2e-9, 9, false, "2×10⁻⁹"},
		{math.NaN(), 0, false, "–"},
		{math.Inf(1), 0, false, "–"},
	} {
		if got := String(Number(row.v, row.decimals, row.comma)); got != row.want {
			t.Errorf("Number(%g, %d, %t) = %q, want %q", row.v, row.decimals, row.comma, got, row.want)
		}
	}
}

func FuzzTicks(f *testing.F) {
	f.Add(0.0, 50.0, 11)
	f.Add(-1e-9, 1e-9, 4)
	f.Add(1e15, 1e15+1, 5)
	f.Add(-math.MaxFloat64, math.MaxFloat64, 3)
	f.Add(5e-324, 1e-323, 5)
	f.Add(math.NaN(), 1.0, 5)
	f.Fuzz(func(t *testing.T, low, high float64, most int) {
		got := NiceTicks(low, high, most)
		if len(got.Values) > max(0, min(most, maxTicks)) {
			t.Fatalf("%d ticks, at most %d were asked for", len(got.Values), most)
		}
		if len(got.Values) == 0 {
			return
		}
		first, last, slack := got.Values[0], got.Values[len(got.Values)-1], 1e-6*got.Step
		if first < low-slack || last > high+slack {
			t.Fatalf("ticks %g to %g leave [%g, %g]", first, last, low, high)
		}
		if first-low >= got.Step+slack || high-last >= got.Step+slack {
			t.Fatalf("ticks %g to %g step %g do not cover [%g, %g]", first, last, got.Step, low, high)
		}
		seen := map[string]bool{}
		for i, v := range got.Values {
			if i > 0 && !(v > got.Values[i-1]) {
				t.Fatalf("ticks do not rise: %v", got.Values)
			}
			label := String(Number(v, got.Decimals, false))
			if seen[label] {
				t.Fatalf("two ticks are labelled %q: %v", label, got.Values)
			}
			seen[label] = true
		}
		mantissa := got.Step / math.Pow(10, math.Floor(math.Log10(got.Step)+1e-9))
		if m := math.Round(mantissa); math.Abs(mantissa-m) > 1e-6 || m != 1 && m != 2 && m != 5 {
			t.Fatalf("step %g is not 1, 2 or 5 times a power of ten", got.Step)
		}
	})
}

func ExampleNiceTicks() {
	t := NiceTicks(-0.07, 0.32, 6)
	for _, v := range t.Values {
		fmt.Print(String(Number(v, t.Decimals, true)), " ")
	}
	// Output: 0,0 0,1 0,2 0,3
}
