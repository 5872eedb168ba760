package explain

import (
	"math"
	"os"
	"strings"
	"testing"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/setup"
	"meniscus/unit"
	"meniscus/working"
)

// lastSteps returns the value and the block of each quantity as last found.
func lastSteps(t *testing.T, d *working.Document) (values map[string]float64, formulas map[string]working.Expr) {
	t.Helper()
	for _, e := range d.Check() {
		t.Error(e)
	}
	values, formulas = map[string]float64{}, map[string]working.Expr{}
	for _, sec := range d.Sections {
		for _, b := range sec.Blocks {
			if st, ok := b.(working.Step); ok {
				values[st.Quantity.Key()], formulas[st.Quantity.Key()] = st.Quantity.Value.Value, st.Formula
			}
		}
	}
	return values, formulas
}

func millilitres(t *testing.T, text string) setup.Value {
	t.Helper()
	d, err := unit.ParseDecimal(text)
	if err != nil {
		t.Fatal(err)
	}
	return setup.Value{X: d.Shift(-3), Text: text + " mL"}
}

// Questions as asked on paper: five iron for one permanganate,
// six iron for one dichromate, two oxalate for five, and Warder's two end points.
// The answers were worked out by hand; the tolerance is the last digit printed.
func TestContentQuestions(t *testing.T) {
	for name, c := range map[string]struct {
		setup string
		ends  []string
		want  map[string][2]float64
	}{
		"iron in a sample": {
			`{find: Fe^2+, ratio: 5 to 1, flask: {volume: 50 mL}, burette: {contains: {MnO4^-: 0.01016 mol/L}}, sample: {mass: 0.9167 g, report as: "% Fe"}}`,
			[]string{"27.42"},
			map[string][2]float64{"w(Fe)": {8.486, 5e-4}, "n(Fe²⁺)": {1.39294, 5e-5}},
		},
		"back titration": {
			`{find: Cr2O7^2-, flask: {portions: [{volume: 25.00 mL, contains: {Cr2O7^2-: 0.02 mol/L}}, {volume: 50.00 mL, contains: {Fe^2+: 0.1000 mol/L}}]}, burette: {contains: {Ce^4+: 0.1000 mol/L}}, hold: {pH: 0}}`,
			[]string{"12.35"},
			map[string][2]float64{"c(Cr₂O₇²⁻)": {0.02510, 5e-6}, "n_used(Fe²⁺)": {3.765, 5e-4}},
		},
		"alkali with carbonate": {
			`{find: [OH^-, CO3^2-], flask: {volume: 25.00 mL, contains: {NaOH: 0.08 mol/L, Na2CO3: 0.02 mol/L}}, burette: {contains: {HCl: 0.1052 mol/L}}, sample: {report as: [g/L NaOH, g/L Na2CO3]}}`,
			[]string{"24.36", "28.70"},
			map[string][2]float64{"c(OH⁻)": {0.08424, 5e-6}, "c(CO₃²⁻)": {0.01826, 5e-6}, "w₁(NaOH)": {3.370, 1e-3}, "w₂(Na₂CO₃)": {1.936, 5e-4}},
		},
		"permanganate against oxalate, with a blank": { // 0.2000 g of 133.998 g/mol in 50 mL
			`{find: MnO4^- in burette, blank: 0.05 mL, flask: {volume: 50.00 mL, contains: {H2C2O4: 0.02985119 mol/L}}, burette: {contains: {MnO4^-: 0.02 mol/L}}, hold: {pH: 0}}`,
			[]string{"34.87"},
			map[string][2]float64{"c_t(MnO₄⁻)": {0.017146, 6e-7}},
		},
		"iron against dichromate": { // 1.2430 g of 294.185 g/mol in 250.0 mL
			`{find: Fe^2+ in burette, flask: {volume: 25.00 mL, contains: {Cr2O7^2-: 0.01690093 mol/L}}, burette: {contains: {Fe^2+: 0.1 mol/L}}, hold: {pH: 0}}`,
			[]string{"24.23"},
			map[string][2]float64{"n(Fe²⁺)": {2.5351, 6e-5}, "c_t(Fe²⁺)": {0.10463, 5e-6}},
		},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := setup.Read([]byte(c.setup), "question.yaml")
			if err != nil {
				t.Fatal(err)
			}
			var points []assay.StatedPoint
			for _, v := range c.ends {
				points = append(points, assay.StatedPoint{Volume: millilitres(t, v)})
			}
			e, err := assay.FromVolumes(points, s, nil)
			if err != nil {
				t.Fatal(err)
			}
			d, err := Content(e)
			if err != nil {
				t.Fatal(err)
			}
			got, formulas := lastSteps(t, d)
			for symbol, w := range c.want {
				if x, ok := got[symbol]; !ok || math.Abs(x-w[0]) > w[1] || formulas[symbol] == nil {
					t.Errorf("%s = %.7g, want %g by a formula; have %v", symbol, x, w[0], got)
				}
			}
		})
	}
}

// The steepest interval of these readings is from 21.90 to 22.00 mL: 0.6111 V
// and 1.0071 V in the file. The second differences either side of zero are, by
// hand from the file, 37.64 and -32.24 V/mL², so zero is at 21.9 + 0.1 × 37.64/69.88.
func TestEvaluationOfReadings(t *testing.T) {
	s := read(t, "../examples/granules/setup.yaml")
	data, err := os.Open("../examples/granules/readings.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer data.Close()
	r, err := curve.Read(data, "readings.csv", curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	e, err := assay.Evaluate(&r.Curves[0], s, assay.Options{Preset: []float64{0.85}})
	if err != nil {
		t.Fatal(err)
	}
	d, err := Evaluation(e)
	if err != nil {
		t.Fatal(err)
	}
	got, _ := lastSteps(t, d)
	if x := got["m_e"]; math.Abs(x-3.960) > 5e-4 {
		t.Errorf("steepest slope %g V/mL, want 3.960", x)
	}
	ends := map[string]float64{}
	for _, sec := range d.Sections {
		for _, b := range sec.Blocks {
			if st, ok := b.(working.Step); ok && st.Quantity.Key() == "V_e" && st.Formula != nil {
				ends[sec.Title] = st.Quantity.Value.Value
			}
		}
	}
	for title, want := range map[string]float64{
		"Whole-curve regression": e.Fit.Estimates[0].Value * 50 / 0.1013, // all of the iron, in 50 mL, takes as much cerium
		"Steepest interval":      21.950, "Zero of the second derivative": 21.9 + 0.1*37.64/69.88,
		"Preset end point": 21.9 + 0.1*(0.85-0.6111)/0.396,
	} {
		if x, ok := ends[title]; !ok || math.Abs(x-want) > 1e-6 {
			t.Errorf("%s: %.6f mL, want %.6f by a formula", title, x, want)
		}
	}
	var b strings.Builder
	if err := working.WriteText(&b, d); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "Fe^") {
		t.Error("a species is not typeset")
	}
	for _, w := range []string{"c(Fe²⁺)", "E°′(Fe³⁺/Fe²⁺)  0.6850 V", "0.0012 V", "Smoothed slopes", "Some of the readings, and the line", "Recommended: Whole-curve regression: it uses the whole curve", "Correlations", "Methods that refuse"} {
		if !strings.Contains(b.String(), w) {
			t.Errorf("%q is not said", w)
		}
	}
}
