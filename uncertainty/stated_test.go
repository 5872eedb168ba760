package uncertainty

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// TestStated: factors of JCGM 100:2008 (GUM) 4.3 and EURACHEM/CITAC QUAM:2012
// 8.1, from memory, and the two ends of the trapezium.
func TestStated(t *testing.T) {
	for _, c := range []struct {
		stated Stated
		want   float64
	}{
		{Stated{Width: 0.03}, 0.03},
		{Stated{Shape: Normal, Width: 0.0002, Param: 2}, 0.0001},
		{Stated{Shape: Rectangular, Width: 1}, 0.57735},
		{Stated{Shape: Triangular, Width: 1}, 0.40825},
		{Stated{Shape: Arcsine, Width: 1}, 0.70711},
		{Stated{Shape: Trapezoidal, Width: 1}, 0.40825},
		{Stated{Shape: Trapezoidal, Width: 1, Param: 1}, 0.57735},
		{Stated{Shape: StudentT, Width: 0.7, Param: 4}, 0.7},
	} {
		got, err := c.stated.StdUnc()
		if err != nil || math.Abs(got-c.want) > 1e-5 {
			t.Errorf("%+v: %v (%v), want %v", c.stated, got, err, c.want)
		}
	}
}

func TestStatedErrors(t *testing.T) {
	for _, c := range []struct {
		stated Stated
		want   string
	}{
		{Stated{Width: -1}, "width -1"},
		{Stated{Width: math.NaN()}, "width NaN"},
		{Stated{Width: math.Inf(1)}, "width +Inf"},
		{Stated{Width: 1, Param: -2}, "-2 is not the coverage factor"},
		{Stated{Shape: Trapezoidal, Width: 1, Param: 1.5}, "1.5 is not the width of the top"},
		{Stated{Shape: StudentT, Width: 1}, "0 is not the degrees of freedom"},
		{Stated{Shape: "square", Width: 1}, `distribution "square" is not known; have normal, rectangular`},
	} {
		if _, err := c.stated.StdUnc(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: error %v, want %q", c.stated, err, c.want)
		}
	}
}

// TestImpedance is JCGM 100:2008 (GUM) H.2: resistance, reactance and
// impedance from V, I and phase read together five times (table H.2, from
// memory; its means and standard deviations agree with the printed ones).
// Correlations of the results are from memory of table H.4.
func TestImpedance(t *testing.T) {
	raw := [3][]float64{
		{5.007, 4.994, 5.005, 4.990, 4.999},
		{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3},
		{1.0456, 1.0438, 1.0468, 1.0428, 1.0433},
	}
	var mean [3]float64
	for a := range raw {
		for _, x := range raw[a] {
			mean[a] += x / 5
		}
	}
	cov := make([]float64, 9)
	for a := range raw {
		for b := range raw {
			for k := range 5 {
				cov[3*a+b] += (raw[a][k] - mean[a]) * (raw[b][k] - mean[b]) / (5 * 4)
			}
		}
	}
	v, i, phi := mean[0], mean[1], mean[2]
	z, c, s := v/i, math.Cos(phi), math.Sin(phi)
	jac := []float64{
		c / i, -z * c / i, -z * s,
		s / i, -z * s / i, z * c,
		1 / i, -z / i, 0,
	}
	out, err := PropagateAll(jac, 3, cov)
	if err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want, within float64) {
		t.Helper()
		if !(math.Abs(got-want) <= within) {
			t.Errorf("%s = %.5f, want %g", what, got, want)
		}
	}
	uR, uX, uZ := math.Sqrt(out[0]), math.Sqrt(out[4]), math.Sqrt(out[8])
	near("u(R)", uR, 0.071, 0.0005)
	near("u(X)", uX, 0.295, 0.001) // the guide rounds on the way
	near("u(Z)", uZ, 0.236, 0.0005)
	near("r(R,X)", out[1]/(uR*uX), -0.588, 0.0005)
	near("r(R,Z)", out[2]/(uR*uZ), -0.485, 0.0005)
	near("r(X,Z)", out[5]/(uX*uZ), 0.993, 0.0005)
	alone, err := Propagate(jac[:3], cov)
	if err != nil {
		t.Fatal(err)
	}
	near("u(R) alone", alone, uR, 1e-15)
}

func TestPropagateErrors(t *testing.T) {
	// A correlation of 2 is none: the difference has a negative variance.
	if _, err := Propagate([]float64{1, -1}, []float64{1, 2, 2, 1}); err == nil {
		t.Error("a negative variance is no error")
	}
	// Fully correlated inputs: a difference weighted the other way round is
	// known exactly, whichever way the rounding falls.
	for k := range 100 {
		a, b := 1/3., (1+float64(k))/7
		if u, err := Propagate([]float64{a, -b}, []float64{b * b, a * b, a * b, a * a}); err != nil || !(u <= 1e-7*b) {
			t.Errorf("factors %g and %g: u = %v (%v), want 0", a, b, u, err)
		}
	}
	if _, err := Propagate([]float64{1, 1}, []float64{1}); err == nil {
		t.Error("a covariance for two inputs that has one number is no error")
	}
	if _, err := PropagateAll([]float64{1, 1, 1}, 2, []float64{1}); err == nil {
		t.Error("three derivatives in two rows are no error")
	}
}

func ExampleStated() {
	u, err := Stated{Shape: Triangular, Width: 0.05}.StdUnc()
	fmt.Printf("%.4f %v\n", u, err)
	// Output: 0.0204 <nil>
}
