package electrode

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"meniscus/unit"
)

// A record of testdata/standards.json: values for redox standard solutions and
// reference electrodes, each with its published source and whether it was read
// there or is from memory.
type record struct {
	ID, Source, Origin string
	Expected           []struct {
		Quantity         string
		Value, Tolerance float64
		Unit             string
	}
}

func standards(t *testing.T) map[string]record {
	t.Helper()
	text, err := os.ReadFile("testdata/standards.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []record
	if err := json.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	byID := make(map[string]record)
	for _, r := range list {
		byID[r.ID] = r
	}
	return byID
}

// celsius reads the 15 of "E at 15 C"; 25 if there is none.
func celsius(t *testing.T, quantity string) float64 {
	t.Helper()
	_, tail, ok := strings.Cut(quantity, " at ")
	if !ok {
		return 25
	}
	c, err := strconv.ParseFloat(strings.TrimSuffix(tail, " C"), 64)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func volts(value float64, unitName string) float64 {
	if unitName == "mV" {
		return value * 1e-3
	}
	return value
}

func find(t *testing.T, text string) Reference {
	t.Helper()
	r, err := FindReference(text)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The tables by temperature, with the shift of the 25 °C value that References
// documents (textbook value without liquid junction minus table).
func TestPotentialByTemperature(t *testing.T) {
	rows := []struct {
		id, name string
		shift    float64
	}{
		{"ref-skoog-SCE", "SCE", -0.003},
		{"ref-skoog-calomel-35-M-KCl", "calomel, 3.5 mol/L KCl", 0},
		{"ref-skoog-AgAgCl-sat-KCl", "Ag/AgCl, saturated KCl", -0.002},
		{"ref-skoog-AgAgCl-35-M-KCl", "Ag/AgCl, 3.5 mol/L KCl", 0},
		{"ref-agcl-3M-T", "Ag/AgCl, 3 mol/L KCl", 0},
		{"ref-agcl-3M-25C", "Ag/AgCl, 3 mol/L KCl", 0},
		{"ref-agcl-standard-T", "Ag/AgCl, standard (activity of chloride 1)", 0},
	}
	all := standards(t)
	for _, row := range rows {
		r := find(t, row.name)
		if len(all[row.id].Expected) == 0 {
			t.Fatalf("no record %s", row.id)
		}
		for _, x := range all[row.id].Expected {
			e, u, _ := r.Potential(unit.Celsius(celsius(t, x.Quantity)))
			want := volts(x.Value, x.Unit) + row.shift
			if !(math.Abs(float64(e)-want) <= 1e-9) {
				t.Errorf("%s, %s: %.5f V, want %.5f (%s)", r.Name, x.Quantity, float64(e), want, all[row.id].Source)
			}
			if !(u >= 0.001 && u < 0.004) {
				t.Errorf("%s, %s: u %.5f V", r.Name, x.Quantity, float64(u))
			}
		}
	}
}

// Review in Int. J. Corrosion 2010, table 2, at 25 °C.
func TestPotentialOfReview(t *testing.T) {
	names := map[string]string{"SCE (sat. KCl)": "SCE", "Cu/CuSO4 sat.": "Cu/CuSO4 sat."}
	for _, x := range standards(t)["ref-review-25C"].Expected {
		name := x.Quantity
		if n, ok := names[name]; ok {
			name = n
		}
		r := find(t, name)
		if e, _, _ := r.Potential(unit.Celsius(25)); !(math.Abs(float64(e)-x.Value) <= 1e-9) {
			t.Errorf("%s: %.5f V, want %g", name, float64(e), x.Value)
		}
	}
}

// Every other source lies within three standard uncertainties of the value
// used: 0.336 V (calomel 0.1 mol/L with junction), 213 mV (Ag/AgCl 3 mol/L at
// 20 °C), 0.64 to 0.658 V (Hg/Hg2SO4).
func TestSpreadCoversSources(t *testing.T) {
	rows := []struct {
		name       string
		c, e, uMin float64
	}{
		{"SCE", 25, 0.244, 0.0017},
		{"Ag/AgCl sat. KCl", 25, 0.199, 0.0011},
		{"calomel 0.1 M KCl", 25, 0.336, 0.0013},
		{"Ag/AgCl 3 M KCl", 20, 0.213, 0.0017},
		{"Hg/Hg2SO4 sat. K2SO4", 25, 0.658, 0.0103},
	}
	for _, row := range rows {
		e, u, note := find(t, row.name).Potential(unit.Celsius(row.c))
		if d := math.Abs(float64(e) - row.e); d > 3*float64(u) || float64(u) < row.uMin || float64(u) > row.uMin+0.001 {
			t.Errorf("%s: %.4f ± %.5f V, another source has %g", row.name, float64(e), float64(u), row.e)
		}
		if !strings.Contains(note, "sources differ") {
			t.Errorf("%s: note %q does not say that sources differ", row.name, note)
		}
	}
}

// The ferrous-ferric solution against five references, and quinhydrone
// against SHE and Ag/AgCl, within the tolerance of the records.
func TestCheckSolutions(t *testing.T) {
	all := standards(t)
	byName := make(map[string]CheckSolution)
	for _, c := range CheckSolutions {
		byName[c.Name] = c
	}
	check := func(c CheckSolution, ref string, celsius, want, tol float64) {
		t.Helper()
		e, _, _ := c.Reading(find(t, ref), unit.Celsius(celsius))
		if !(math.Abs(float64(e)-want) <= tol) {
			t.Errorf("%s against %s at %g °C: %.4f V, want %g ± %g", c.Name, ref, celsius, float64(e), want, tol)
		}
	}
	for _, x := range all["light-astm"].Expected {
		check(byName["ferrous-ferric"], strings.TrimPrefix(x.Quantity, "E vs "), 25, x.Value*1e-3, x.Tolerance*1e-3)
	}
	for id, ref := range map[string]string{"quinhydrone-astm-SHE": "SHE", "quinhydrone-astm-AgAgCl": "Ag/AgCl sat. KCl"} {
		for _, x := range all[id].Expected {
			buffer := strings.Fields(x.Quantity)[3]
			check(byName["quinhydrone, pH "+buffer], ref, celsius(t, x.Quantity), x.Value*1e-3, x.Tolerance*1e-3)
		}
	}
	// 428 mV - 2.2 mV/K (t - 25 °C), CRC/Taylor & Francis.
	check(byName["hexacyanoferrate"], "SHE", 25, 0.428, 1e-9)
	check(byName["hexacyanoferrate"], "SHE", 17, 0.428+8*0.0022, 1e-9)
	// Quinhydrone obeys E = 699.4 mV - 59.16 mV pH at 25 °C.
	check(byName["quinhydrone, pH 4"], "SHE", 25, 0.6994-0.05916*4, 1e-3)
	check(byName["quinhydrone, pH 7"], "SHE", 25, 0.6994-0.05916*7, 1e-3)
}

func TestCheckSolutionSaysWhereItLeavesItsTable(t *testing.T) {
	for _, c := range CheckSolutions {
		if _, _, note := c.Reading(References[0], unit.Celsius(60)); !strings.Contains(note, c.Name) {
			t.Errorf("%s at 60 °C: note %q", c.Name, note)
		}
		if _, _, note := c.Reading(References[0], unit.Celsius(25)); strings.Contains(note, c.Name) {
			t.Errorf("%s at 25 °C: note %q", c.Name, note)
		}
	}
}

// The change with temperature where only a coefficient is listed. Ag/AgCl:
// standard potentials of Bates & Bower, E = E0 - RT/F ln a(Cl-) with the
// activity that gives E at 25 °C. Calomel: by the same equation two fillings
// differ in coefficient by the difference of their potentials over T.
func TestTemperatureCoefficients(t *testing.T) {
	standard := find(t, "Ag/AgCl standard")
	at := func(r Reference, c float64) float64 {
		e, _, _ := r.Potential(unit.Celsius(c))
		return float64(e)
	}
	for _, name := range []string{"Ag/AgCl 0.1 M KCl", "Ag/AgCl 1 M KCl", "Ag/AgCl 4 M KCl"} {
		r := find(t, name)
		for _, c := range []float64{15, 35} {
			want := at(standard, c) + (at(r, 25)-at(standard, 25))*(c+273.15)/298.15
			if d := at(r, c) - want; !(math.Abs(d) <= 0.5e-3) {
				t.Errorf("%s at %g °C: %.5f V, want %.5f", name, c, at(r, c), want)
			}
		}
	}
	one, tenth := find(t, "calomel 1 M"), find(t, "calomel 0.1 M")
	got := (at(tenth, 35) - at(one, 35)) - (at(tenth, 25) - at(one, 25))
	if want := 10 * (0.3337 - 0.2801) / 298.15; !(math.Abs(got-want) <= 0.3e-3) {
		t.Errorf("calomel fillings part by %.5f V in 10 K, want %.5f", got, want)
	}
	for _, r := range References {
		d := at(r, 30) - at(r, 20)
		if d != 0 && !(d > -0.0102 && d < -0.0005) {
			t.Errorf("%s changes by %.5f V from 20 to 30 °C", r.Name, d)
		}
	}
}
