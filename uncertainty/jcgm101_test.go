package uncertainty

import (
	"math"
	"strings"
	"testing"
)

const fourSum = "measurand: Y\nequation: Y = X1 + X2 + X3 + X4\ninputs:\n"

func four(input string) string {
	return fourSum + "  X1: " + input + "\n  X2: " + input + "\n  X3: " + input + "\n  X4: " + input + "\n"
}

// JCGM 101:2008, 9.2.2 (table 2): four normal inputs. Propagation is exact.
func TestJCGM101NormalSum(t *testing.T) {
	m := read(t, four("0 ± 1"))
	s, b := simulate(t, m, MonteCarloOptions{Trials: 1_000_000, Workers: 2}), budgetOf(t, m)
	r := modelRecords(t, "jcgm101-9.2.2")
	r.compareTo(t, map[string]float64{"u(y)": s.StdDev, "95% low": s.Symmetric[0], "95% high": s.Symmetric[1]})
	r.compareTo(t, map[string]float64{"u(y)": b.U, "95% low": b.X - b.Expanded, "95% high": b.X + b.Expanded})
	if c := b.Compare(s); !c.Agrees || c.Undecided || c.Tolerance != 0.05 {
		t.Errorf("%+v", c)
	}
}

// JCGM 101:2008, 9.2.3 (table 3): four rectangular inputs. Propagation is not
// validated at 0.005, which is between two and three digits of u = 2.0.
func TestJCGM101RectangularSum(t *testing.T) {
	m := read(t, four("{value: 0, u: 1, distribution: rectangular}"))
	s, b := simulate(t, m, MonteCarloOptions{Trials: 1_000_000, Workers: 2}), budgetOf(t, m)
	modelRecords(t, "jcgm101-9.2.3").compareTo(t, map[string]float64{
		"u(y)": s.StdDev, "95% low (MCM)": s.Symmetric[0], "95% high (MCM)": s.Symmetric[1], "95% half width (GUM)": b.Expanded,
	})
	if c := b.Compare(s); !(c.Low > 0.005+s.Noise) || !(c.High > 0.005+s.Noise) || !c.Agrees {
		t.Errorf("%+v, noise %g", c, s.Noise)
	}
}

// JCGM 101:2008, 9.2.4 (table 4, from memory): one rectangular input ten times
// wider than the others. Propagation overstates and is not validated.
func TestJCGM101DominantRectangle(t *testing.T) {
	one := "{value: 0, u: 1, distribution: rectangular}"
	m := read(t, strings.Replace(four(one), "X4: "+one, "X4: {value: 0, u: 10, distribution: rectangular}", 1))
	s, b := simulate(t, m, MonteCarloOptions{Trials: 1_000_000, Workers: 2}), budgetOf(t, m)
	modelRecords(t, "jcgm101-9.2.4").compareTo(t, map[string]float64{"u(y)": b.U, "95% high (MCM)": s.Symmetric[1], "95% half width (GUM)": b.Expanded})
	if want := math.Sqrt(103); !(math.Abs(s.StdDev-want) <= s.Noise) {
		t.Errorf("u %g, want %g", s.StdDev, want)
	}
	if c := b.Compare(s); c.Agrees || c.Undecided {
		t.Errorf("%+v", c)
	}
}

// JCGM 101:2008, 9.3 (table 6, from memory): calibration of a mass, whose
// densities act in second order only.
func TestJCGM101MassCalibration(t *testing.T) {
	m := read(t, `
measurand: {name: dm, unit: mg}
equation: dm = (mRc + dmRc) * (1 + (rho_a - 1.2) * (1/rho_W - 1/rho_R)) - 1e5
inputs:
  mRc: 100000.000 ± 0.050 mg
  dmRc: 1.234 ± 0.020 mg
  rho_a: {value: 1.20, half-width: 0.10, distribution: rectangular, unit: kg/m3}
  rho_W: {value: 8000, half-width: 1000, distribution: rectangular, unit: kg/m3}
  rho_R: {value: 8000, half-width: 50, distribution: rectangular, unit: kg/m3}
`)
	s, b := simulate(t, m, MonteCarloOptions{Trials: 1_000_000, Workers: 2}), budgetOf(t, m)
	modelRecords(t, "jcgm101-9.3").compareTo(t, map[string]float64{
		"dm": b.X, "u (MCM)": s.StdDev, "MCM 95% low": s.Symmetric[0], "MCM 95% high": s.Symmetric[1],
		"u (GUM 1st order)": b.U, "GUM1 low": b.X - b.Expanded, "GUM1 high": b.X + b.Expanded, "u (GUM 2nd order)": b.StdUnc2,
	})
	if c := b.Compare(s); c.Agrees || c.Undecided || len(b.Warnings) != 1 || !strings.Contains(b.Warnings[0], "u about 0.075;") {
		t.Errorf("%+v, %q", c, b.Warnings)
	}
	for _, low := range []float64{s.Shortest[0] - 1.0834, s.Shortest[1] - 1.3825} {
		if !(math.Abs(low) <= 0.004) { // flat at its minimum, hence wider than the table's two units
			t.Errorf("shortest interval %v", s.Shortest)
		}
	}
}
