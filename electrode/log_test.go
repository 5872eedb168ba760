package electrode

import (
	"math"
	"testing"

	"meniscus/unit"
)

// TestChecks: readings that handouts print for electrodes in order (common
// practice): 430 mV against SCE and 476 mV against saturated Ag/AgCl in the
// ferrous-ferric solution, quinhydrone 265 and 88 mV against the latter at pH
// 4.01 and 7.00, 177 mV apart.
func TestChecks(t *testing.T) {
	room := unit.Celsius(25)
	sce, silver := named(t, "SCE"), named(t, "Ag/AgCl, saturated KCl")
	iron := CheckSolutions[0]
	for _, c := range []struct {
		m    Measure
		want bool
	}{
		{iron.Measure(0.430, sce, room, 0), true},
		{iron.Measure(0.476, silver, room, 0), true},
		{iron.Measure(0.455, sce, room, 0), false},
		{iron.Measure(0.455, sce, room, 0.030), true},
		{iron.Measure(0.476, sce, room, 0.030), false}, // the wrong reference
	} {
		if c.m.InOrder() != c.want {
			t.Errorf("%+v", c.m)
		}
	}
	list, err := Quinhydrone([]BufferPoint{{4.01, 0.265}, {7.00, 0.088}}, silver, room, 0)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{265, 88, 177} {
		m := list[i]
		if !m.InOrder() || math.Abs(m.Value-want) > 0.01 {
			t.Errorf("%+v, want %g", m, want)
		}
		if i < 2 && math.Abs((m.Low+m.High)/2-want) > 0.5 {
			t.Errorf("%s: %g to %g about %g", m.Name, m.Low, m.High, want)
		}
	}
	off, err := Quinhydrone([]BufferPoint{{4.01, 0.309}, {7.00, 0.132}}, silver, room, 0)
	if err != nil {
		t.Fatal(err)
	}
	if off[0].InOrder() || off[1].InOrder() || !off[2].InOrder() {
		t.Errorf("another reference shifts both and not their difference: %+v", off)
	}
	if _, err := Quinhydrone([]BufferPoint{{4.01, 0.265}}, silver, room, 0); err == nil {
		t.Error("one buffer is no error")
	}
}

func named(t *testing.T, name string) Reference {
	t.Helper()
	r, err := FindReference(name)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestGlassMeasures: a slope of 90 % and a zero 40 mV off are named.
func TestGlassMeasures(t *testing.T) {
	s := 0.0591593
	for _, c := range []struct {
		slope, zero  float64
		slopeOK, mOK bool
	}{{0.98, 0, true, true}, {0.90, 0, false, true}, {1.0, 0.040, true, false}, {1.03, 0, false, true}} {
		at := func(pH float64) unit.Potential { return unit.Potential(c.zero + c.slope*s*(7-pH)) }
		g, err := CalibrateGlass([]BufferPoint{{4, at(4)}, {7, at(7)}}, unit.Celsius(25))
		if err != nil {
			t.Fatal(err)
		}
		m := g.Measures()
		if m[0].InOrder() != c.slopeOK || m[1].InOrder() != c.mOK || math.Abs(m[1].Value-c.zero*1e3) > 1e-6 || math.Abs(m[0].Value-100*c.slope) > 1e-3 {
			t.Errorf("%+v: %+v", c, m)
		}
	}
}

// TestTrend: the line through 99, 98.6, 97.9, 97.5 at 0, 30, 60, 90 days. By
// hand: b = Σ(x-45)(y-98.25)/4500 = -78/4500 per day, residuals ∓0.03, ±0.09,
// so that Σr² = 0.018 and u(b) = √(0.009/4500).
func TestTrend(t *testing.T) {
	tr, err := TrendOf([]float64{0, 30, 60, 90}, []float64{99, 98.6, 97.9, 97.5}, 95, 102)
	if err != nil {
		t.Fatal(err)
	}
	b, u := -78./4500, math.Sqrt(0.009/4500)
	now := 98.25 + 45*b
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"per month", tr.PerMonth, b * daysPerMonth},
		{"u", tr.StdUnc, u * daysPerMonth},
		{"now", tr.Now, now},
		{"in", tr.In, (95 - now) / b},
		{"earliest", tr.Earliest, (95 - now) / (b - 4.302653*u)}, // Student's t, 2 degrees of freedom, 95 %
	} {
		if math.Abs(x.got-x.want) > 1e-5*math.Abs(x.want) {
			t.Errorf("%s: %g, want %g", x.what, x.got, x.want)
		}
	}
	if !tr.Clear || !tr.Leaves || tr.Limit != 95 {
		t.Errorf("%+v", tr)
	}
	flat, _ := TrendOf([]float64{0, 30, 60, 90}, []float64{98, 98.4, 97.9, 98.3}, 95, 102)
	if flat.Clear || flat.Leaves {
		t.Errorf("scatter is a trend: %+v", flat)
	}
	low, _ := TrendOf([]float64{0, 30, 60}, []float64{94, 94.2, 93.9}, 95, 102)
	if !low.Leaves || low.In != 0 || low.Limit != 95 {
		t.Errorf("outside is not told: %+v", low)
	}
	for _, days := range [][]float64{{0, 1}, {5, 5, 5}} {
		if _, err := TrendOf(days, make([]float64, len(days)), 0, 1); err == nil {
			t.Errorf("%v is no error", days)
		}
	}
}
