package volumetric

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"meniscus/uncertainty"
	"meniscus/unit"
)

// A record of testdata/records.json: published values with their source and
// whether they were read there or are from memory.
type record struct {
	ID, Source, Origin string
	Expected           []struct {
		Quantity         string
		Value, Tolerance float64
	}
}

func published(t *testing.T, id string) record {
	t.Helper()
	text, err := os.ReadFile("testdata/records.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []record
	if err := json.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	for _, r := range list {
		if r.ID == id && len(r.Expected) > 0 {
			return r
		}
	}
	t.Fatalf("no record %q", id)
	return record{}
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.9g, want %.9g ± %g", what, got, want, within)
	}
}

// scan reads the number behind a word in "rho at 20 C" or "25 mL (0.05 div.)".
func scan(t *testing.T, text, format string) float64 {
	t.Helper()
	var v float64
	if _, err := fmt.Sscanf(text, format, &v); err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return v
}

// TestLimits: tables of the standards, class A (records from memory).
func TestLimits(t *testing.T) {
	for id, c := range map[string]struct {
		kind     Kind
		standard string
	}{
		"glass-iso385":     {Burette, "ISO 385"},
		"glass-iso648":     {Pipette, "ISO 648"},
		"glass-iso1042":    {Flask, "ISO 1042"},
		"glass-astm-e287":  {Burette, "ASTM E287"},
		"glass-astm-e969":  {Pipette, "ASTM E969"},
		"glass-astm-e288":  {Flask, "astm e288"},
		"piston-iso8655-3": {PistonBurette, "ISO 8655-3"},
	} {
		for _, e := range published(t, id).Expected {
			capacity := unit.Volume(scan(t, e.Quantity, "%g mL")) * unit.Millilitre
			var division unit.Volume
			if _, rest, ok := strings.Cut(e.Quantity, "("); ok {
				division = unit.Volume(scan(t, rest, "%g div.")) * unit.Millilitre
			}
			want := e.Value // mL
			if c.kind == PistonBurette {
				want /= 1000 // µL there
			}
			l, err := FindLimit(c.kind, capacity, division, "AS", c.standard)
			if err != nil {
				t.Errorf("%s, %s: %v", id, e.Quantity, err)
				continue
			}
			near(t, id+", "+e.Quantity, l.Tolerance.Millilitres(), want, 1e-12)
			if c.kind == PistonBurette {
				continue // no classes
			}
			b, err := FindLimit(c.kind, capacity, division, "b", c.standard)
			if err != nil {
				t.Errorf("%s class B, %s: %v", id, e.Quantity, err)
				continue
			}
			near(t, id+" class B, "+e.Quantity, b.Tolerance.Millilitres(), 2*want, 1e-12)
		}
	}
}

func TestFindLimit(t *testing.T) {
	l, err := FindLimit(Burette, 25*unit.Millilitre, 0, "", "")
	if err != nil {
		t.Fatal(err)
	}
	if l.Standard != "ISO 385" || l.Class != "A" {
		t.Errorf("%s class %s, want ISO 385 class A", l.Standard, l.Class)
	}
	near(t, "wider of two scales", l.Tolerance.Millilitres(), 0.05, 1e-12)
	want := "burette of 25 mL, ± 0.05 mL: typical limit of ISO 385 class A, from memory; check your certificate"
	if l.Note() != want {
		t.Errorf("note %q, want %q", l.Note(), want)
	}
	for _, c := range []struct {
		kind            Kind
		ml, division    float64
		class, standard string
		want            string
	}{
		{Burette, 30, 0, "A", "", "no limit for a burette of 30 mL by ISO 385; known are 5 mL, 10 mL, 25 mL, 50 mL, 100 mL"},
		{Burette, 50, 0.5, "A", "", "burette of 50 mL with divisions of 0.5 mL"},
		{Pipette, 25, 0, "C", "", `pipette of class "C"; known are A, AS, B`},
		{Flask, 100, 0, "A", "DIN 1", `flask by "DIN 1"; known are ISO 1042, ASTM E288`},
		{"beaker", 100, 0, "A", "", `"beaker"; known are burette, pipette, flask, piston burette`},
	} {
		_, err := FindLimit(c.kind, unit.Volume(c.ml)*unit.Millilitre, unit.Volume(c.division)*unit.Millilitre, c.class, c.standard)
		var unknown *UnknownWareError
		if !errors.As(err, &unknown) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want %q", err, c.want)
		}
	}
}

// TestFlaskUncertainty: EURACHEM/CITAC QUAM:2012, appendix A1: a 100 mL flask,
// ± 0.1 mL triangular, filling s = 0.02 mL, ± 4 °C rectangular; u = 0.07 mL.
func TestFlaskUncertainty(t *testing.T) {
	l, err := FindLimit(Flask, 100*unit.Millilitre, 0, "A", "ISO 1042")
	if err != nil {
		t.Fatal(err)
	}
	u, err := l.StdUnc("")
	if err != nil {
		t.Fatal(err)
	}
	kelvin, err := uncertainty.Stated{Shape: uncertainty.Rectangular, Width: 4}.StdUnc()
	if err != nil {
		t.Fatal(err)
	}
	d := Delivery{Calibration: u, Reading: 0.02 * unit.Millilitre, Readings: 1, Temperature: kelvin}
	s, err := d.Uncertainty(100 * unit.Millilitre)
	if err != nil {
		t.Fatal(err)
	}
	// The guide's contributions to c = 1002.7 mg/L, in mg/L, over 10.027 mg/L per mL.
	near(t, "flask", s.Calibration.Millilitres(), 0.40935/10.027, 1e-4)
	near(t, "temperature", s.Temperature.Millilitres(), 0.486284/10.027, 1e-4)
	near(t, "filling", s.Reading.Millilitres(), 0.20054/10.027, 1e-4)
	near(t, "total", s.Total.Millilitres(), 0.666525/10.027, 1e-4)
	if _, err := l.StdUnc("square"); err == nil {
		t.Error("an unknown shape is no error")
	}
}

// TestBurette: a 50 mL class A burette, ± 0.05 mL triangular, two readings of
// 0.01 mL: relative standard uncertainty by volume (worked beforehand).
func TestBurette(t *testing.T) {
	l, err := FindLimit(Burette, 50*unit.Millilitre, 0, "A", "")
	if err != nil {
		t.Fatal(err)
	}
	u, err := l.StdUnc(uncertainty.Triangular)
	if err != nil {
		t.Fatal(err)
	}
	d := Delivery{Calibration: u, Reading: 0.01 * unit.Millilitre, Readings: 2}
	for ml, percent := range map[float64]float64{10: 0.25, 20: 0.12, 35: 0.071, 45: 0.055} {
		s, err := d.Uncertainty(unit.Volume(ml) * unit.Millilitre)
		if err != nil {
			t.Fatal(err)
		}
		// Half a unit of the last printed digit.
		within := 0.005
		if percent < 0.1 {
			within = 0.0005
		}
		near(t, fmt.Sprintf("%g mL, %%", ml), 100*s.Total.Millilitres()/ml, percent, within)
	}
	// A second filling: twice the calibration, √4 readings; a drop beside them.
	d.Fillings, d.Drop = 2, 0.02*unit.Millilitre
	s, err := d.Uncertainty(70 * unit.Millilitre)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "two fillings", s.Total.Millilitres(), math.Sqrt(4*0.0025/6+4e-4+4e-4), 1e-9)
	if _, err := (Delivery{Reading: -1}).Uncertainty(1); err == nil {
		t.Error("a negative reading uncertainty is no error")
	}
	if _, err := d.Uncertainty(unit.Volume(math.NaN())); err == nil {
		t.Error("a NaN volume is no error")
	}
}

// TestWaterDensity: values of the CIPM formula (Tanaka 2001, from memory), and
// a measurement at 16 °C (read), which departs from it by 0.0009 kg/m³.
func TestWaterDensity(t *testing.T) {
	for _, id := range []string{"water-tanaka", "water-16C-measured"} {
		for _, e := range published(t, id).Expected {
			celsius, within := 16.0, 0.001
			switch {
			case e.Quantity == "rho max":
				celsius = 3.983
			case id == "water-tanaka":
				celsius, within = scan(t, e.Quantity, "rho at %g C"), e.Tolerance
			}
			got, err := WaterDensity(unit.Celsius(celsius))
			if err != nil {
				t.Error(err)
			}
			near(t, fmt.Sprintf("%s at %g °C", id, celsius), got, e.Value, within)
		}
	}
	for _, c := range []float64{-0.1, 40.1, math.NaN()} {
		if _, err := WaterDensity(unit.Celsius(c)); err == nil {
			t.Errorf("density at %g °C is no error", c)
		}
	}
}

// TestTemperature: 25.00 mL read at 27 °C is 24.963 mL at 20 °C with the
// coefficient, 24.958 mL with the density of water (worked beforehand).
func TestTemperature(t *testing.T) {
	v, warm := 25*unit.Millilitre, unit.Celsius(27)
	near(t, "coefficient", VolumeByCoefficient(v, warm, WaterExpansion).Millilitres(), 24.963, 5e-4)
	got, err := VolumeAtReference(v, warm)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "density", got.Millilitres(), 24.958, 5e-4)
	if _, err := VolumeAtReference(v, unit.Celsius(60)); err == nil {
		t.Error("60 °C is no error")
	}
}

// TestZFactors: ISO 8655-6, 101.3 kPa (from memory), in mL/g.
func TestZFactors(t *testing.T) {
	for _, e := range published(t, "z-factors").Expected {
		celsius := scan(t, e.Quantity, "Z at %g C")
		z, err := ZFactor(unit.Celsius(celsius), StandardAir, WeightsDensity)
		if err != nil {
			t.Fatal(err)
		}
		near(t, e.Quantity, 1000*z, e.Value, e.Tolerance)
	}
}

func TestAir(t *testing.T) {
	e := published(t, "air-cipm2007").Expected[0]
	near(t, "air at 20 °C, 1013.25 hPa, 50 %", AirDensity(unit.Celsius(20), 1013.25, 50), e.Value, e.Tolerance)
	// The size of the correction as handbooks give it (from memory): 0.1 % for
	// a body of 1 g/mL, 0.03 % for 3 g/mL, none for one of the weights' density.
	near(t, "1 g/mL", 100*(Buoyancy(1000, StandardAir, WeightsDensity)-1), 0.105, 0.001)
	near(t, "3 g/mL", 100*(Buoyancy(3000, StandardAir, WeightsDensity)-1), 0.025, 0.005)
	near(t, "8 g/mL", Buoyancy(8000, StandardAir, WeightsDensity), 1, 1e-15)
}

// TestCalibrate: portions made from Z factors of the table above (1.0029 mL/g
// at 20 °C, 1.0040 at 25 °C, good to 0.0001) so that each is 25 mL.
func TestCalibrate(t *testing.T) {
	weighings := []Weighing{
		{unit.Mass(25 / 1.0029), unit.Celsius(20)},
		{unit.Mass(25/1.0029) + 0.01, unit.Celsius(20)},
		{unit.Mass(25/1.0029) - 0.01, unit.Celsius(20)},
	}
	cal, err := Calibrate(weighings, Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean, mL", 1000*cal.Volume.X, 25, 0.0025)
	near(t, "s, mL", cal.SD.Millilitres(), 0.01003, 1e-5)
	near(t, "u, mL", 1000*cal.Volume.U, 0.01003/math.Sqrt(3), 1e-5)
	near(t, "degrees of freedom", cal.Volume.DoF, 2, 0)

	// At 25 °C glass has grown by 5·27e-6 (soda-lime): 3.4 µL in 25 mL.
	warm := []Weighing{{unit.Mass(25 / 1.0040), unit.Celsius(25)}, {unit.Mass(25 / 1.0040), unit.Celsius(25)}}
	none, err := Calibrate(warm, Conditions{Glass: 1e-12})
	if err != nil {
		t.Fatal(err)
	}
	soda, err := Calibrate(warm, Conditions{Glass: SodaLime})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "warm, mL", none.Volumes[0].Millilitres(), 25, 0.0025)
	near(t, "glass, mL", (none.Volumes[0] - soda.Volumes[0]).Millilitres(), 0.003375, 1e-6)

	for _, bad := range [][]Weighing{
		weighings[:1],
		{{25, unit.Celsius(20)}, {0, unit.Celsius(20)}},
		{{25, unit.Celsius(20)}, {25, unit.Celsius(50)}},
	} {
		if _, err := Calibrate(bad, Conditions{}); err == nil {
			t.Errorf("%v is no error", bad)
		}
	}
}

func TestCertificate(t *testing.T) {
	const ml = unit.Millilitre
	c, err := NewCertificate([]Correction{{10 * ml, 0.02 * ml}, {30 * ml, -0.02 * ml}}, 0.008*ml)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []struct{ start, end, want float64 }{
		{0, 10, 10.02},
		{0, 5, 5.01},
		{0, 20, 20},
		{5, 30, 24.97}, // the start is corrected by 0.01 too
		{7, 7, 0},
	} {
		got, err := c.Delivered(unit.Volume(v.start)*ml, unit.Volume(v.end)*ml)
		if err != nil {
			t.Error(err)
		}
		near(t, fmt.Sprintf("from %g to %g", v.start, v.end), got.Millilitres(), v.want, 1e-9)
	}
	for _, v := range [][2]float64{{0, 31}, {-1, 5}, {0, math.NaN()}} {
		if _, err := c.Delivered(unit.Volume(v[0])*ml, unit.Volume(v[1])*ml); err == nil {
			t.Errorf("from %g to %g is no error", v[0], v[1])
		}
	}
	for _, bad := range [][]Correction{
		nil,
		{{10 * ml, 0}, {10 * ml, 0}},
		{{-1 * ml, 0}},
		{{10 * ml, unit.Volume(math.Inf(1))}},
	} {
		if _, err := NewCertificate(bad, 0); err == nil {
			t.Errorf("%v is no error", bad)
		}
	}
	if _, err := NewCertificate([]Correction{{10 * ml, 0}}, -1); err == nil {
		t.Error("a negative uncertainty is no error")
	}
	zero, err := NewCertificate([]Correction{{0, 0.01 * ml}}, 0)
	if err != nil {
		t.Fatal(err)
	}
	if v, err := zero.Delivered(0, 0); err != nil || v != 0 {
		t.Errorf("%v (%v), want 0", v, err)
	}
}

func ExampleFindLimit() {
	l, err := FindLimit(Burette, 50*unit.Millilitre, 0, "A", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	u, err := l.StdUnc(uncertainty.Triangular)
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := Delivery{Calibration: u, Reading: 0.01 * unit.Millilitre, Readings: 2}.Uncertainty(35 * unit.Millilitre)
	fmt.Printf("%.3f mL %v\n", s.Total.Millilitres(), err)
	// Output: 0.025 mL <nil>
}

func ExampleVolumeAtReference() {
	v, err := VolumeAtReference(25*unit.Millilitre, unit.Celsius(27))
	fmt.Printf("%.3f mL %v\n", v.Millilitres(), err)
	// Output: 24.958 mL <nil>
}

// TestBudget: at 22.5 °C the printed Z factors of TestZFactors give 1.0029
// mL/g at 20 °C and 1.0040 at 25 °C, 2.2e-4 per K, less 1e-5 of the glass; the
// air enters by 1/water - 1/weights; the balance in proportion.
func TestBudget(t *testing.T) {
	weighings := []Weighing{
		{9.965, unit.Celsius(22.5)}, {9.969, unit.Celsius(22.5)}, {9.961, unit.Celsius(22.5)},
	}
	_, b, err := Budget(weighings, Conditions{}, Doubts{Balance: 0.001, Temperature: 0.5, Air: 0.02})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "scatter, mL", b.Repeatability.Millilitres(), 0.004/math.Sqrt(3)*1.0035, 1e-6)
	near(t, "balance, mL", b.Balance.Millilitres(), 0.001*1.0035, 1e-6)
	near(t, "temperature, mL", b.Temperature.Millilitres(), 10*2.1e-4*0.5, 10*1e-5)
	near(t, "air, mL", b.Air.Millilitres(), 10*(1/997.7-1/8000.)*0.02, 2e-6)
	near(t, "together, mL", b.Total.U*1e3, math.Sqrt(0.0023175*0.0023175+0.0010035*0.0010035+0.00105*0.00105+0.0001754*0.0001754), 1e-4)
	// Welch and Satterthwaite by hand: 2 (u/u_A)^4.
	near(t, "degrees of freedom", b.Total.DoF, 2*math.Pow(b.Total.U/float64(b.Repeatability), 4), 1e-9)
	if _, _, err := Budget(weighings[:1], Conditions{}, Doubts{}); err == nil {
		t.Error("one weighing is no error")
	}
}
