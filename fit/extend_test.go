package fit

import (
	"math"
	"testing"

	"meniscus/internal/lab"
	"meniscus/titration"
)

// TestExtension: readings that miss 3 % of each step give a lag of that size,
// with the truth within three standard uncertainties; perfect ones give none.
func TestExtension(t *testing.T) {
	s, targets := ironTitration(t, "0.05")
	for _, lag := range []float64{0, 0.03} {
		b := bench
		b.Lag, b.Interval = lag, 20
		c := b.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 5)
		r, err := Curve(&c, s.Titration, targets, Options{})
		if err != nil {
			t.Fatal(err)
		}
		x, err := NewExtender(&c, s.Titration, r)
		if err != nil {
			t.Fatal(err)
		}
		e, err := x.With(titration.Parameter{Kind: titration.Lag, Name: "lag"})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("lag %g: %g ± %g, F %.3g, p %.2g, V_eq %.6g ± %.2g mL, chi %g -> %g", lag, e.Extra.Value, e.Extra.StdUnc, e.F, e.P, e.Result.Equivalences[0].Volume.Millilitres(), e.Result.Equivalences[0].StdUnc.Millilitres(), e.Before, e.After)
		if math.Abs(e.Extra.Value-lag) > 3*e.Extra.StdUnc {
			t.Errorf("lag %g found as %g ± %g", lag, e.Extra.Value, e.Extra.StdUnc)
		}
		if significant := e.P < 0.001; significant != (lag > 0) {
			t.Errorf("lag %g: p = %g", lag, e.P)
		}
		for _, p := range []titration.Parameter{
			{Kind: titration.Blank, Name: "blank", Unit: "L"},
			{Kind: titration.Drift, Name: "drift", Unit: "V/h"},
			{Kind: titration.FlaskConcentration, Index: s.System().Index("Fe^3+"), Free: true, Name: "c(Fe^3+)"},
		} {
			e, err := x.With(p)
			if err != nil {
				t.Logf("%s: %v", p.Name, err)
				continue
			}
			t.Logf("   %s %g ± %g F %.3g p %.2g  together %.3f %s", p.Name, e.Extra.Value, e.Extra.StdUnc, e.F, e.P, e.Together, e.With)
		}
	}
}
