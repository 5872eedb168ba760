package assay

import (
	"fmt"
	"math"

	"meniscus/uncertainty"
)

// Limits of what is called a trend over runs.
const (
	trendRuns  = 4    // fewer cannot tell one from scatter
	trendLevel = 0.01 // probability of as steep a line by chance
)

// trend looks for results that rise or fall from run to run: a line by least
// squares over the order of the runs, its slope judged by Student's t with n-2
// degrees of freedom. Nothing is corrected.
func (m *Mean) trend() {
	ys := m.Replicates.Values
	n := float64(len(ys))
	if len(ys) < trendRuns {
		return
	}
	slope, u := lineSlope(ys)
	if u == 0 || math.IsNaN(u) {
		return
	}
	t := math.Abs(slope) / u
	if p := 2 * (1 - uncertainty.TCDF(t, n-2)); !(p < trendLevel) {
		return
	}
	verb, cause := "rises", "a titrant that weakens as it stands, or a sample that takes up what is titrated, would do this"
	if slope < 0 {
		verb, cause = "falls", "an analyte that air oxidises or that escapes as the solutions stand would do this, and so would a titrant that gets stronger"
	}
	s, su := uncertainty.Round(math.Abs(slope), u)
	m.Notes = append(m.Notes, fmt.Sprintf("%s %s by %s ± %s %s from run to run, in the order they were taken (one standard uncertainty; less than 1 %% by chance): %s. Order alone does not tell these apart; titrate each portion as soon as it is made, keep air away, and mix the order of the runs",
		m.Name, verb, s, su, m.Unit, cause))
}

// lineSlope returns the slope of ys over 0, 1, 2 ... and its standard
// uncertainty from the residuals.
func lineSlope(ys []float64) (slope, u float64) {
	n := float64(len(ys))
	mean, _ := uncertainty.MeanSD(ys)
	var sxx, sxy float64
	for i, y := range ys {
		d := float64(i) - (n-1)/2
		sxx, sxy = sxx+d*d, sxy+d*(y-mean)
	}
	slope = sxy / sxx
	rest := 0.0
	for i, y := range ys {
		r := y - mean - slope*(float64(i)-(n-1)/2)
		rest += r * r
	}
	return slope, math.Sqrt(rest / (n - 2) / sxx)
}
