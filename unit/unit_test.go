package unit

import (
	"math"
	"testing"
)

func TestParseQuantity(t *testing.T) {
	// Expected values by hand from the GUM divisors sqrt(3), sqrt(6) and k.
	for _, c := range []struct {
		text string
		dim  Dimension
		x, u float64
	}{
		{"0.1000 ± 0.0002 mol/L (k=2)", DimConc, 0.1, 0.0001},
		{"50.00 mL ± 0.03 mL (rectangular)", DimVolume, 0.05, 0.03e-3 / math.Sqrt(3)},
		{"50,00 ± 0,03 mL (triangular)", DimVolume, 0.05, 0.03e-3 / math.Sqrt(6)},
		{"0.02010(5) mol/L", DimConc, 0.0201, 0.00005},
		{"25 °C", DimTemperature, 298.15, 0},
		{"-12.3 mV", DimPotential, -0.0123, 0},
		{"−12.3 mV", DimPotential, -0.0123, 0},
		{"98.2 %", DimFraction, 0.982, 0},
		{"0.1 mM", DimConc, 1e-4, 0},
		{"10 mL ± 1 %", DimVolume, 0.01, 0.0001},
		{"2 min", DimTime, 120, 0},
		{"1.5e-3 mol/L", DimConc, 0.0015, 0},
		{"0.9167 g", DimMass, 0.9167, 0},
		{"1 eq/L (n=5)", DimNormality, 1, 0},
	} {
		q, err := ParseQuantity(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		x, u, err := q.In(c.dim, "x")
		if err != nil || math.Abs(x.Float()-c.x) > 1e-15 || math.Abs(u-c.u) > 1e-17+1e-12*c.u {
			t.Errorf("%s: %g ± %g (%v), want %g ± %g", c.text, x.Float(), u, err, c.x, c.u)
		}
	}
}

func TestQuantityErrors(t *testing.T) {
	for _, text := range []string{"", "mL", "1 2 mL", "1 furlong", "1 mL ± 0.1 L", "1 ± -2 mL", "1 mL (k=0)", "1 mL (about)", "1..2 mL", "--1 mL", "1 ± x mL", "0.1(2) ± 0.1 mL"} {
		if q, err := ParseQuantity(text); err == nil {
			t.Errorf("%q is read as %+v", text, q)
		}
	}
	q, _ := ParseQuantity("50.00")
	if _, _, err := q.In(DimVolume, "50.00 mL"); err == nil {
		t.Error("a bare number passes as a volume")
	}
	q, _ = ParseQuantity("50.00 g")
	if _, _, err := q.In(DimVolume, "50.00 mL"); err == nil {
		t.Error("a mass passes as a volume")
	}
}

func TestDecimal(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
	}{{"0.1", 0.1}, {"-24.975", -24.975}, {"1e-3", 1e-3}, {"0", 0}, {"12345678901234567890.5", 12345678901234567890.5}, {"0,05", 0.05}} {
		d, err := ParseDecimal(c.text)
		if err != nil || d.Float() != c.want {
			t.Errorf("%s: %g, %v", c.text, d.Float(), err)
		}
	}
	a, _ := ParseDecimal("0.1")
	b, _ := ParseDecimal("25.00")
	c, _ := ParseDecimal("-2.5")
	if s := a.Mul(b).Add(c); !s.Coef.IsZero() {
		t.Errorf("0.1 x 25.00 - 2.5 = %g, want exactly 0", s.Float())
	}
	// One more than 9007199254740993, which no float64 holds; 18 digits and 19.
	for _, digits := range []string{"9007199254740993", "900719925474099301", "9007199254740993011"} {
		last := digits[:len(digits)-1] + string(digits[len(digits)-1]+1)
		d, _ := ParseDecimal(digits)
		e, _ := ParseDecimal("-" + last)
		if s := d.Add(e); s.Float() != -1 {
			t.Errorf("%s - %s = %g, want -1", digits, last, s.Float())
		}
	}
	for _, bad := range []string{"", ".", "1.2.3", "abc", "1e", "0x10", "12345678901234567890123456789012345"} {
		if d, err := ParseDecimal(bad); err == nil {
			t.Errorf("%q is read as %g", bad, d.Float())
		}
	}
	for _, f := range []float64{0.1, 1e-20, 123.456, -7e10} {
		if d, ok := DecimalOf(f); !ok || d.Float() != f {
			t.Errorf("DecimalOf(%g) = %g", f, d.Float())
		}
	}
	if _, ok := DecimalOf(math.NaN()); ok {
		t.Error("NaN has a decimal")
	}
}

func FuzzParseQuantity(f *testing.F) {
	for _, s := range []string{"0.1000 ± 0.0002 mol/L (k=2)", "0.02010(5) mol/L", "25 °C", "± 0.03 mL (rectangular)", "−1e5 V"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		q, err := ParseQuantity(s)
		if err == nil && (math.IsNaN(q.Value.Float()) || q.StdUnc < 0) {
			t.Errorf("%q read as %+v", s, q)
		}
	})
}
