package opponent

import (
	"math"
	"testing"
)

// citric has the constants that handbooks print for 25 °C (from memory).
var citric = Citric{
	FlaskVolume: 0.05, Acid: 0.02, Base: 0.1,
	PK: [3]float64{3.128, 4.761, 6.396}, PKw: 13.995, A: 0.509, B: 0.3,
}

// TestCitricAgainstBisection finds the ionic strength by halving, and at each
// the pH by halving the plain balance of charge.
func TestCitricAgainstBisection(t *testing.T) {
	for _, a := range []float64{0, 0.509} {
		s := citric
		s.A = a
		volumes := append([]float64{0}, volumesTo(0.06, 90)...)
		ph, strength := make([]float64, len(volumes)), make([]float64, len(volumes))
		s.Curve(volumes, ph, strength)
		for i, v := range volumes {
			wantI := bisect(0, 1, func(ionic float64) float64 {
				_, found := plainCitric(s, v, ionic)
				return ionic - found
			})
			wantPH, _ := plainCitric(s, v, wantI)
			if math.Abs(ph[i]-wantPH) > 1e-8 || math.Abs(strength[i]-wantI) > 1e-9 {
				t.Fatalf("A = %g, %g L: pH %.10f, I %.10f, want %.10f, %.10f", a, v, ph[i], strength[i], wantPH, wantI)
			}
		}
	}
}

// plainCitric returns the pH at the given ionic strength, and the ionic
// strength of the solution found.
func plainCitric(s Citric, v, ionic float64) (ph, found float64) {
	gamma := func(z float64) float64 {
		root := math.Sqrt(ionic)
		return math.Pow(10, -s.A*z*z*(root/(1+root)-0.3*ionic))
	}
	species := func(ph float64) (h, oh float64, c [4]float64) {
		a := math.Pow(10, -ph)
		c[0] = 1
		for z := 1; z < 4; z++ {
			c[z] = c[z-1] * gamma(float64(z-1)) * math.Pow(10, -s.PK[z-1]) / (a * gamma(float64(z)))
		}
		sum := c[0] + c[1] + c[2] + c[3]
		for z := range c {
			c[z] *= s.Acid * s.FlaskVolume / (s.FlaskVolume + v) / sum
		}
		return a / gamma(1), math.Pow(10, -s.PKw) / (a * gamma(1)), c
	}
	sodium := s.Base * v / (s.FlaskVolume + v)
	ph = bisect(0, 14, func(ph float64) float64 {
		h, oh, c := species(ph)
		return oh + c[1] + 2*c[2] + 3*c[3] - h - sodium
	})
	h, oh, c := species(ph)
	return ph, (h + oh + sodium + c[1] + 4*c[2] + 9*c[3]) / 2
}

// TestCitricBuffer: where two forms are present in equal amounts, the pH is pK
// plus what their activity coefficients differ by. At the half of the second
// step the neighbours are still felt; with the constants far apart they are not.
func TestCitricBuffer(t *testing.T) {
	s := citric
	s.PK = [3]float64{1, 7, 13}
	ph, strength := make([]float64, 1), make([]float64, 1)
	s.Curve([]float64{0.015}, ph, strength) // 1.5 of base to 1 of acid
	root := math.Sqrt(strength[0])
	logGamma := -0.509 * (root/(1+root) - 0.3*strength[0])
	if want := 7 + (4-1)*logGamma; math.Abs(ph[0]-want) > 1e-4 {
		t.Errorf("pH %.6f, want %.6f", ph[0], want)
	}
}

func BenchmarkCitric(b *testing.B) {
	strength := make([]float64, 1000)
	benchmark(b, 0.04, func(volumes, ph []float64) { citric.Curve(volumes, ph, strength) })
}
