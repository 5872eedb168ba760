package setup

import (
	"math"
	"strconv"
	"testing"

	"meniscus/chem"
	"meniscus/internal/worked"
	"meniscus/unit"
)

// TestIndependentCurves compares the whole way from the text of a setup to
// the reading with curves computed to 30 digits in another formulation (see
// internal/worked/reference): potentials to 1e-6 mV, pH to 1e-9.
func TestIndependentCurves(t *testing.T) {
	systems, err := worked.Systems()
	if err != nil {
		t.Fatal(err)
	}
	if len(systems) < 25 {
		t.Fatalf("only %d systems", len(systems))
	}
	for _, sys := range systems {
		t.Run(sys.ID, func(t *testing.T) { compareCurve(t, sys) })
	}
}

func compareCurve(t *testing.T, sys worked.System) {
	s, err := Read([]byte(sys.Setup), sys.ID+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	p := s.Titration.Predictor()
	for _, pt := range sys.Points {
		v, err := unit.ParseDecimal(pt.VolumeML)
		if err != nil {
			t.Fatal(err)
		}
		got, err := p.At(v.Shift(-3))
		if err != nil {
			t.Errorf("%s mL: %v", pt.VolumeML, err)
			continue
		}
		if pt.Potential != "" {
			want := parse(t, pt.Potential)
			if d := (got.Standard - want) * 1e3; !(math.Abs(d) < 1e-6) {
				t.Errorf("%s mL: E = %.15g, want %.15g V: off by %.2g mV (%s)", pt.VolumeML, got.Standard, want, d, got.Undefined)
			}
		}
		if pt.PH != "" {
			want := parse(t, pt.PH)
			if d := got.PH - want; !(math.Abs(d) < 1e-9) {
				t.Errorf("%s mL: pH = %.15g, want %.15g: off by %.2g", pt.VolumeML, got.PH, want, d)
			}
		}
		for name, text := range pt.Concentrations {
			want := parse(t, text)
			sp, err := chem.ParseSpecies(name)
			if err != nil {
				t.Fatal(err)
			}
			j := s.System().Index(sp.Name)
			if j < 0 { // neither in a reaction nor put in
				if want != 0 {
					t.Errorf("%s is not in the system", name)
				}
				continue
			}
			c := p.Solver.Concentration(j) + p.Solver.Amount(j)
			if !(math.Abs(c-want) <= 1e-8*want+1e-300) {
				t.Errorf("%s mL: [%s] = %.12g, want %.12g", pt.VolumeML, name, c, want)
			}
		}
		compareSlopes(t, p.Slope, p.Solver.LnActivitySlope, sys, pt, s)
	}
}

// compareSlopes checks the first and second derivatives with respect to
// volume, of the potential or, for acid-base systems, of the pH.
func compareSlopes(t *testing.T, slope func() (float64, float64), ln func(int) (float64, float64, bool), sys worked.System, pt worked.ReferencePoint, s *Setup) {
	if pt.First == "" {
		return
	}
	first, second := slope()
	if sys.Kind == worked.AcidBase {
		a, b, _ := ln(s.System().Index("H^+"))
		first, second = -a/math.Ln10, -b/math.Ln10
	}
	first, second = first*1e-3, second*1e-6 // per L to per mL
	w1, w2 := parse(t, pt.First), parse(t, pt.Second)
	if !(math.Abs(first-w1) <= 1e-6*math.Abs(w1)) {
		t.Errorf("%s mL: first derivative %.10g, want %.10g", pt.VolumeML, first, w1)
	}
	// A second derivative that passes through zero is judged by its size next to the first.
	if !(math.Abs(second-w2) <= 1e-5*math.Abs(w2)+1e-6*math.Abs(w1)*math.Max(1, math.Abs(w1))) {
		t.Errorf("%s mL: second derivative %.10g, want %.10g", pt.VolumeML, second, w2)
	}
}

func parse(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}
