package endpoint

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/unit"
)

// lakeWater is a measured titration of 50 mL of lake water with acid; source
// and licence stand in the file.
func lakeWater(t *testing.T) *curve.Curve {
	t.Helper()
	f, err := os.Open("testdata/lake-water-gran.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var v, y []float64
	for _, row := range rows[1:] {
		var x [2]float64
		for i := range x {
			if x[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		v, y = append(v, x[0]*1e-3), append(y, x[1])
	}
	return points(curve.PH, v, y)
}

// The published end point is 0.212721 mL, by equal weights over the three
// readings below pH 4.
func TestLakeWater(t *testing.T) {
	c := lakeWater(t)
	opt := Options{V0: 0.05, Equal: true}
	r := granAcidAfter(c, opt)
	p := found(t, r, 0.212721e-3, 0.5e-9)
	if p.Points != 3 || r.Detail.Lines[0].Name != "(V0+V)·10^(-pH)" {
		t.Errorf("%d points of %s", p.Points, r.Detail.Lines[0].Name)
	}
	opt.Equal = false
	r = granAcidAfter(c, opt)
	if r.Refused != "" {
		t.Fatal(r.Refused)
	}
	p = r.Points[0]
	if d := math.Abs(float64(p.Volume) - 0.212721e-3); d > float64(p.StdUnc) || d < 0.1e-6 {
		t.Errorf("with weights %.6f ± %.6f mL", p.Volume.Millilitres(), p.StdUnc.Millilitres())
	}
	if w := r.Detail.Lines[0].Windows[0]; math.Abs(float64(w.Equal)-0.212721e-3) > 0.5e-9 {
		t.Errorf("window with equal weights: %.6f mL", w.Equal.Millilitres())
	}
	// The last two readings alone: by hand from G = (50+V) 10^-pH.
	opt.Window = [2]float64{1.5, 2.1}
	if r := granAcidAfter(c, opt); r.Refused == "" {
		t.Error("a line through two readings was accepted")
	}
}

// What a slope of 98 or 95 % and 1 % of oxidised iron do to Gran's line, for
// readings each millilitre and equal weights. The first two are known to the
// printed digit (0.13 and 0.35 mL); for the last the figures known, 0.024 and
// 0.47 mL, belong to a spacing that is not stated, so the ones compared with
// are the straight line through V (V_e-V)/(V+0.2525) worked out apart.
func TestGranBiases(t *testing.T) {
	whole := [2]float64{0.075, 0.965} // 2 to 24 mL
	for _, c := range []struct {
		what      string
		slope, ox float64
		window    [2]float64
		want, tol float64 // mL
	}{
		{"98 %", -0.02, 0, [2]float64{0.5, 0.97}, 0.13, 0.005},
		{"95 %", -0.05, 0, [2]float64{0.5, 0.97}, 0.35, 0.005},
		{"1 % oxidised", 0, 0.01, [2]float64{0.5, 0.97}, 0.0262, 0.0001},
		{"1 % oxidised, 2 to 24 mL", 0, 0.01, whole, 0.4577, 0.0005},
	} {
		r := lab.IronCerium()
		r.Conc /= 1 - c.ox
		r.Titrand.Oxidised = c.ox
		plan := lab.Plan{Expected: 0.025, Fine: 1e-3, Coarse: 1e-3, First: 1e-3, Last: 0.05}
		run := lab.Bench{SlopeError: c.slope}.Run(r, plan.Volumes(), 1)
		got := granRedoxBefore(&run, Options{Slope: SlopeAssumed, Window: c.window, Equal: true, Noise: Noise{0.5e-3, 1e-5}})
		p := found(t, got, 0.025+c.want*1e-3, c.tol*1e-3)
		if c.window == whole {
			continue
		}
		// The window of the rule and its neighbours: their spread is in u.
		auto := granRedoxBefore(&run, Options{Slope: SlopeAssumed, Noise: Noise{0.05e-3, 1e-6}})
		if len(auto.Points) != 1 || auto.Detail.Lines[0].Choice < 0.2*(auto.Points[0].Volume-25*unit.Millilitre) {
			t.Errorf("%s: the window does not count: %+v", c.what, auto.Points)
		}
		if p.Points != 12 {
			t.Errorf("%s: %d points, want 12", c.what, p.Points)
		}
	}
}
