package unit

import (
	"math"
	"testing"
)

// TestConstants compares with the digits that CODATA 2018 prints as exact:
// Faraday constant 96 485.332 12... C/mol, molar gas constant 8.314 462 618...
// J/(mol K) (from memory); and with the Nernst slope of every textbook, 59.16 mV
// at 25 °C.
func TestConstants(t *testing.T) {
	if math.Abs(Faraday-96485.33212) > 1e-5 {
		t.Errorf("Faraday constant %.10g C/mol", Faraday)
	}
	if math.Abs(GasConstant-8.314462618) > 1e-9 {
		t.Errorf("gas constant %.12g J/(mol K)", GasConstant)
	}
	slope := GasConstant * float64(Celsius(25)) * math.Ln10 / Faraday
	if math.Abs(slope-0.05916) > 5e-6 {
		t.Errorf("Nernst slope at 25 °C %.7f V", slope)
	}
}

func TestConversions(t *testing.T) {
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"25 °C in K", float64(Celsius(25)), 298.15},
		{"373.15 K in °C", Temperature(373.15).Celsius(), 100},
		{"25 mL in mL", (25 * Millilitre).Millilitres(), 25},
		{"0.5 L in mL", (Litre / 2).Millilitres(), 500},
		{"0.68 V in mV", (0.68 * Volt).Millivolts(), 680},
	} {
		if math.Abs(c.got-c.want) > 1e-12*c.want {
			t.Errorf("%s: %.15g, want %g", c.what, c.got, c.want)
		}
	}
}
