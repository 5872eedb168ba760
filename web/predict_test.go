package web_test

import (
	"encoding/json"
	"math"
	"net/http"
	"strings"
	"testing"

	"meniscus/examples"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/unit"
	"meniscus/web"
)

// What a page shows is what predict computes: the same volumes, asked of both.
func TestCurveIsThatOfPredict(t *testing.T) {
	b := bench(t, web.Options{})
	for _, e := range append(examples.Systems(), examples.Worked()) {
		w := post(b, "/api/predict", "application/json", strings.NewReader(`{"setup":`+quote(t, e.Setup)+`}`))
		var got struct {
			Curve struct {
				Volume  []float64  `json:"volume_mL"`
				Reading []*float64 `json:"reading"`
				Marks   []struct {
					Kind   string
					Volume float64 `json:"volume_mL"`
				} `json:"landmarks"`
			}
			Problem *struct{ Message string }
		}
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || w.Code != http.StatusOK || got.Problem != nil {
			t.Errorf("%s: %d, %v, %v", e.Name, w.Code, err, got.Problem)
			continue
		}
		s, err := setup.Read(e.Setup, e.Name)
		if err != nil {
			t.Fatal(err)
		}
		n := len(got.Curve.Volume)
		if n < 200 || n != len(got.Curve.Reading) {
			t.Errorf("%s: %d volumes, %d readings", e.Name, n, len(got.Curve.Reading))
			continue
		}
		// A jump is judged a part in a thousand before and behind its equivalence
		// point; a curve without points there draws it aslant.
		for _, m := range got.Curve.Marks {
			near := 0
			for _, v := range got.Curve.Volume {
				if d := math.Abs(v - m.Volume); d > 0 && d <= 1e-3*m.Volume {
					near++
				}
			}
			if m.Kind == "equivalence" && near < 4 {
				t.Errorf("%s: %d points beside the equivalence point at %g mL", e.Name, near, m.Volume)
			}
		}
		var at []int
		for i := 1; i < n; i += n / 7 {
			v, _ := unit.DecimalOf(got.Curve.Volume[i])
			s.Volumes = append(s.Volumes, v.Shift(-3))
			at = append(at, i)
		}
		p, err := report.Predict(s, true)
		if err != nil {
			t.Fatal(err)
		}
		for k, i := range at {
			want := p.Reading(k)
			if y := got.Curve.Reading[i]; y == nil != math.IsNaN(want) || y != nil && math.Abs(*y-want) > 1e-5*math.Max(1, math.Abs(want)) {
				t.Errorf("%s at %g mL: %v, predict has %g", e.Name, got.Curve.Volume[i], y, want)
			}
		}
	}
}

// Iron with cerium, one to one, 50 mL of 0.04 mol/L against 0.1 mol/L: half,
// equivalence and twice by arithmetic, and the uncertainty from 1 % in one
// concentration.
func TestLandmarks(t *testing.T) {
	text := strings.Replace(string(examples.Worked().Setup), "0.045 mol/L ", "0.0400 ± 0.0004 mol/L ", 1)
	text = strings.Replace(text, "0.1013 ± 0.0002 mol/L (k=2)", "0.1 mol/L", 1)
	text = strings.Replace(text, "50.00 ± 0.05 mL (triangular)", "50 mL", 1)
	w := post(bench(t, web.Options{}), "/api/predict", "application/json", strings.NewReader(`{"setup":`+quote(t, []byte(text))+`}`))
	var got struct {
		Curve struct {
			Landmarks []struct {
				Kind   string  `json:"kind"`
				Volume float64 `json:"volume_mL"`
				StdUnc float64 `json:"standard_uncertainty_mL"`
			}
		}
	}
	if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	marks := got.Curve.Landmarks
	if len(marks) != 3 {
		t.Fatalf("%s", w.Body)
	}
	for i, want := range []struct {
		kind string
		v, u float64
	}{{"half", 10, 0}, {"equivalence", 20, 0.2}, {"twice", 40, 0}} {
		if m := marks[i]; m.Kind != want.kind || math.Abs(m.Volume-want.v) > 1e-9 || math.Abs(m.StdUnc-want.u) > 1e-6 {
			t.Errorf("got %v, want %v", m, want)
		}
	}
}
