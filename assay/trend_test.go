package assay

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"meniscus/setup"
	"meniscus/uncertainty"
)

// By hand: 10, 9, 9, 8 over 0, 1, 2, 3 has the slope -0.6; the residuals are
// 0.1, -0.3, 0.3, -0.1, their squares sum to 0.2, so u = sqrt(0.2/2/5) = 0.1414.
func TestLineSlope(t *testing.T) {
	slope, u := lineSlope([]float64{10, 9, 9, 8})
	if math.Abs(slope+0.6) > 1e-12 || math.Abs(u-math.Sqrt(0.02)) > 1e-12 {
		t.Errorf("slope %g, u %g", slope, u)
	}
}

func trendNotes(m Mean) int {
	n := 0
	for _, note := range m.Notes {
		if strings.Contains(note, "from run to run") {
			n++
		}
	}
	return n
}

// Six portions that stand before they are titrated lose 0.4 % each to air; five
// that do not are only scattered.
func TestTrendOverRuns(t *testing.T) {
	s, err := setup.Read([]byte(byRatio), "ratio.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m := Combine(stated(t, s, 0.02, 25.00, 24.91, 24.80, 24.69, 24.61, 24.49), s, nil, 0).Means[0]
	if trendNotes(m) != 1 || !strings.Contains(strings.Join(m.Notes, "\n"), "falls by 0.10") || !strings.Contains(strings.Join(m.Notes, "\n"), "air oxidises") {
		t.Errorf("falling runs: %q", m.Notes)
	}
	m = Combine(stated(t, s, 0.02, 24.50, 24.61, 24.69, 24.80), s, nil, 0).Means[0]
	if trendNotes(m) != 1 || !strings.Contains(strings.Join(m.Notes, "\n"), "rises") {
		t.Errorf("rising runs: %q", m.Notes)
	}
	for _, sound := range [][]float64{{25.00, 24.97, 25.02, 24.99, 25.01}, {25.0, 24.9, 24.8}} {
		if m := Combine(stated(t, s, 0.02, sound...), s, nil, 0).Means[0]; trendNotes(m) != 0 {
			t.Errorf("%v: %q", sound, m.Notes)
		}
	}
}

// Of sound sets of five runs, one in a hundred is called a trend.
func TestTrendByChance(t *testing.T) {
	r := rand.New(rand.NewPCG(2026, 11))
	called := 0
	const sets = 4000
	for range sets {
		m := Mean{}
		ys := make([]float64, 5)
		for i := range ys {
			ys[i] = 25 + 0.02*r.NormFloat64()
		}
		m.Replicates = replicatesOf(t, ys)
		m.trend()
		called += trendNotes(m)
	}
	if called < 20 || called > 62 { // 40 ± 3.5 standard deviations
		t.Errorf("%d of %d sound sets are called a trend", called, sets)
	}
}

func replicatesOf(t *testing.T, ys []float64) *uncertainty.Replicates {
	t.Helper()
	r, err := uncertainty.Replicate(ys, 0)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
