package uncertainty

import (
	"encoding/json"
	"math"
	"testing"
)

// distributions are values computed with 50 digits by a general-purpose
// library: arguments, then the result.
type distributions struct {
	Outside  [][]json.Number `json:"t_outside"`
	TQuant   [][]json.Number `json:"t_quantile"`
	Lower    [][]json.Number `json:"chi2_lower"`
	ChiQuant [][]json.Number `json:"chi2_quantile"`
	Normal   [][]json.Number `json:"normal_quantile"`
	Upper    [][]json.Number `json:"chi2_upper"`
}

func numbers(t *testing.T, row []json.Number) []float64 {
	t.Helper()
	out := make([]float64, len(row))
	for i, n := range row {
		v, err := n.Float64()
		if err != nil {
			t.Fatal(err)
		}
		out[i] = v
	}
	return out
}

func TestDistributionsToFullPrecision(t *testing.T) {
	var d distributions
	load(t, "testdata/distributions.json", &d)
	suites := []struct {
		name string
		rows [][]json.Number
		tol  float64
		f    func(a []float64) float64
	}{
		{"t outside", d.Outside, 2e-14, func(a []float64) float64 { return 2 * TCDF(-a[0], a[1]) }},
		{"t quantile", d.TQuant, 4e-15, func(a []float64) float64 { return TQuantile(a[0], a[1]) }},
		{"chi-square", d.Lower, 2e-14, func(a []float64) float64 { return Chi2CDF(a[0], a[1]) }},
		{"chi-square upper", d.Upper, 4e-14, func(a []float64) float64 { _, q := incompleteGamma(a[1]/2, a[0]/2); return q }},
		{"chi-square quantile", d.ChiQuant, 4e-15, func(a []float64) float64 { return Chi2Quantile(a[0], a[1]) }},
		{"normal quantile", d.Normal, 4e-16, func(a []float64) float64 { return NormalQuantile(a[0]) }},
	}
	for _, s := range suites {
		if len(s.rows) < 9 {
			t.Fatalf("%s: %d rows", s.name, len(s.rows))
		}
		worst := 0.0
		for _, row := range s.rows {
			a := numbers(t, row)
			want := a[len(a)-1]
			got := s.f(a)
			e := math.Abs(got/want - 1)
			worst = math.Max(worst, e)
			if !(e <= s.tol+3e-16*math.Abs(math.Log(math.Abs(want)))) { // the digits exp loses
				t.Errorf("%s%v: %.17g, want %.17g, off by %.1g", s.name, a[:len(a)-1], got, want, e)
			}
		}
		t.Logf("%s: relative error at most %.2g", s.name, worst)
	}
}

// One degree of freedom is Cauchy's distribution, t = tan(pi (p - 1/2)); two
// have t = (2p-1)/sqrt(2p(1-p)).
func TestTClosedForms(t *testing.T) {
	for _, p := range []float64{1e-9, 0.01, 0.25, 0.4, 0.6, 0.975, 0.9995} {
		cauchy := -1 / math.Tan(math.Pi*p)
		if p > 0.5 {
			cauchy = 1 / math.Tan(math.Pi*(1-p))
		}
		closed := []float64{cauchy, (2*p - 1) / math.Sqrt(2*p*(1-p))}
		for i, want := range closed {
			if got := TQuantile(p, float64(i+1)); !(math.Abs(got/want-1) <= 3e-14) {
				t.Errorf("quantile %g with %d degrees of freedom: %.17g, want %.17g", p, i+1, got, want)
			}
			if got := TCDF(want, float64(i+1)); !(math.Abs(got/p-1) <= 3e-14) {
				t.Errorf("CDF(%g) with %d degrees of freedom: %.17g, want %.17g", want, i+1, got, p)
			}
		}
	}
	// Far out, Cauchy's upper tail is 1/(pi t).
	if got, want := TCDF(-1e160, 1), 1/(math.Pi*1e160); !(math.Abs(got/want-1) <= 1e-12) {
		t.Errorf("CDF(-1e160): %g, want %g", got, want)
	}
}

// Two degrees of freedom are exponential, P = 1 - exp(-x/2); one is the square
// of a normal variable.
func TestChi2ClosedForms(t *testing.T) {
	for _, x := range []float64{1e-12, 0.3, 1, 2.5, 7, 40} {
		if got, want := Chi2CDF(x, 2), -math.Expm1(-x/2); !(math.Abs(got/want-1) <= 3e-15) {
			t.Errorf("CDF(%g, 2): %.17g, want %.17g", x, got, want)
		}
		if got, want := Chi2CDF(x, 1), math.Erf(math.Sqrt(x/2)); !(math.Abs(got/want-1) <= 3e-15) {
			t.Errorf("CDF(%g, 1): %.17g, want %.17g", x, got, want)
		}
	}
	for _, p := range []float64{1e-6, 0.05, 0.5, 0.95, 0.999} {
		if got, want := Chi2Quantile(p, 2), -2*math.Log1p(-p); !(math.Abs(got/want-1) <= 3e-14) {
			t.Errorf("quantile(%g, 2): %.17g, want %.17g", p, got, want)
		}
	}
	// Far more degrees of freedom than terms: median dof (1 - 2/(9 dof))^3.
	if got, want := Chi2Quantile(0.5, 4e9), 4e9-2./3; !(math.Abs(got-want) <= 0.01) {
		t.Errorf("median with 4e9 degrees of freedom: %.3f, want %.3f", got, want)
	}
	if got := Chi2CDF(4e9-2./3, 4e9); !(math.Abs(got-0.5) <= 1e-6) {
		t.Errorf("CDF of that median: %g", got)
	}
}

func TestDistributionsAtTheirEnds(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for name, pair := range map[string][2]float64{
		"t at 0": {TQuantile(0.5, 3), 0}, "t of 0": {TCDF(0, 3), 0.5}, "t of 0, normal": {TCDF(0, inf), 0.5},
		"t low": {TQuantile(0, 3), -inf}, "t high": {TQuantile(1, 3), inf}, "t of inf": {TCDF(inf, 3), 1},
		"t of -inf": {TCDF(-inf, 3), 0}, "chi low": {Chi2Quantile(0, 3), 0}, "chi high": {Chi2Quantile(1, 3), inf},
		"chi of 0": {Chi2CDF(0, 3), 0}, "chi below 0": {Chi2CDF(-1, 3), 0}, "chi of inf": {Chi2CDF(inf, 3), 1},
		"normal low": {NormalQuantile(0), -inf}, "normal high": {NormalQuantile(1), inf}, "normal mid": {NormalQuantile(0.5), 0},
		"coverage 0": {Coverage(0, 5), 0}, "coverage 1": {Coverage(1, 5), inf},
	} {
		if pair[0] != pair[1] {
			t.Errorf("%s: %v, want %v", name, pair[0], pair[1])
		}
	}
	for name, got := range map[string]float64{
		"t p": TQuantile(1.1, 3), "t dof": TQuantile(0.9, 0), "t nan": TQuantile(nan, 3), "cdf dof": TCDF(1, -1),
		"cdf nan": TCDF(nan, 3), "chi p": Chi2Quantile(-0.1, 3), "chi dof": Chi2Quantile(0.5, inf), "chi cdf": Chi2CDF(1, 0),
		"normal": NormalQuantile(nan), "coverage": Coverage(0.95, 0), "coverage p": Coverage(2, 5), "grubbs": GrubbsCritical(2, 0.05),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s: %v, want NaN", name, got)
		}
	}
}

// Quantile and distribution function undo one another and are monotonic.
func TestQuantilesUndoDistributions(t *testing.T) {
	for _, dof := range []float64{0.2, 1, 2.7, 9, 64.5, 999, 99e3, 101e3, 1e8} {
		last, lastChi := math.Inf(-1), 0.0
		for _, p := range []float64{1e-8, 0.003, 0.2, 0.45, 0.5, 0.55, 0.8, 0.997} {
			q, chi := TQuantile(p, dof), Chi2Quantile(p, dof)
			if back := TCDF(q, dof); !(math.Abs(back/p-1) <= 1e-12) || !(q > last) {
				t.Errorf("t, dof %g: quantile(%g) = %g after %g, back %g", dof, p, q, last, back)
			}
			if back := Chi2CDF(chi, dof); !(math.Abs(back/p-1) <= 1e-11) || !(chi > lastChi) {
				t.Errorf("chi-square, dof %g: quantile(%g) = %g after %g, back %g", dof, p, chi, lastChi, back)
			}
			last, lastChi = q, chi
		}
	}
}
