package uncertainty

import (
	"errors"
	"fmt"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"
)

// Ways to state an input, and the value, width, shape and u that they mean.
func TestInputsAsStated(t *testing.T) {
	for text, want := range map[string]Input{
		"0.3888 ± 0.00013 g":              {Unit: "g", X: 0.3888, Stated: Stated{"", 0.00013, 0}},
		"18.64 mL ± 0.03 mL (triangular)": {Unit: "mL", X: 18.64, Stated: Stated{Triangular, 0.03, 0}},
		"0.1000 ± 0.0002 mol/L (k=2)":     {Unit: "mol/L", X: 0.1, Stated: Stated{Normal, 0.0002, 2}},
		"0.02010(5)":                      {X: 0.0201, Stated: Stated{"", 0.00005, 0}},
		"99.95 ± 0.05 % (rectangular)":    {X: 0.9995, Stated: Stated{Rectangular, 0.0005, 0}},
		"25":                              {X: 25},
		"{value: 25 mL, u: 0.02}":         {Unit: "mL", X: 25, Stated: Stated{"", 0.02, 0}},
		"{value: 25, u: 0.04, k: 2, unit: mL, note: certificate, type: A}":  {Unit: "mL", X: 25, Note: "certificate", Type: "A", Stated: Stated{"", 0.04, 2}},
		"{value: 1, half-width: 0.3, distribution: rectangular}":            {X: 1, Stated: Stated{Rectangular, 0.3, 0}},
		"{value: 1, half-width: 0.3, distribution: arcsine}":                {X: 1, Stated: Stated{Arcsine, 0.3, 0}},
		"{value: 1, u: 0.5, distribution: arcsine}":                         {X: 1, Stated: Stated{Arcsine, 0.5 * math.Sqrt2, 0}},
		"{value: 1, half-width: 0.3, distribution: trapezoidal, beta: 0.5}": {X: 1, Stated: Stated{Trapezoidal, 0.3, 0.5}},
		"{value: 1, u: 0.1, distribution: t, dof: 6}":                       {X: 1, DoF: 6, Stated: Stated{StudentT, 0.1, 6}},
		"{value: 1 ± 0.1, dof: 6}":                                          {X: 1, DoF: 6, Stated: Stated{"", 0.1, 0}},
		"{readings: [18.62, 18.65, 18.64], unit: mL}":                       {Unit: "mL", Readings: []float64{18.62, 18.65, 18.64}},
		"{readings: [18.62 mL, 18.65 mL]}":                                  {Unit: "mL", Readings: []float64{18.62, 18.65}},
	} {
		m := read(t, "equation: y = x\ninputs:\n  x: "+text+"\n")
		got := m.Inputs[0]
		want.Name = "x"
		if d := got.Stated.Width - want.Stated.Width; math.Abs(d) <= 1e-15 {
			got.Stated.Width = want.Stated.Width
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s:\n%+v\n%+v", text, got, want)
		}
	}
}

// The inputs may be a list, and the first equation names the measurand.
func TestInputsAsAList(t *testing.T) {
	m := read(t, "equation:\n- y = x*z\n- z = 2*w\ninputs:\n- {name: x, value: 3 mL}\n- name: w\n  readings: [1, 2]\n")
	if m.Measurand != "y" || len(m.Inputs) != 2 || m.Inputs[0].X != 3 || m.Inputs[1].Name != "w" || budgetOf(t, m).X != 9 {
		t.Errorf("%+v", m)
	}
}

// The model shown in docs/budget.md is read, and gives 511.1/(204.2212 · 24.98).
func TestModelOfTheDocument(t *testing.T) {
	page, err := os.ReadFile("../docs/budget.md")
	if err != nil {
		t.Fatal(err)
	}
	text := ""
	for line := range strings.Lines(string(page)) {
		if shown, ok := strings.CutPrefix(line, "    "); ok {
			text += shown
		}
	}
	if b := budgetOf(t, read(t, text)); !(math.Abs(b.X-0.100187) <= 1e-6) || b.Correlation == 0 {
		t.Errorf("c = %g, share of the correlation %g", b.X, b.Correlation)
	}
}

func TestModelErrorsPointAtTheirPlace(t *testing.T) {
	const head = "measurand: y\nequation: y = x\ninputs:\n  x: "
	for _, e := range []struct {
		text string
		line int
		word string
	}{
		{head + "{value: 1, halfwidth: 2}", 4, "inputs, x, halfwidth: unknown key"},
		{"equaton: y = x\ninputs: {x: 1}", 1, "unknown key"},
		{"measurand: {name: y, units: mL}\nequation: y = x\ninputs: {x: 1}", 1, "units: unknown key"},
		{"inputs: {x: 1}", 0, "has no equation"},
		{"equation: y = x", 0, "has no inputs"},
		{"", 0, "is empty"},
		{"equation: [y = x\n", 1, ""},
		{"equation: y = x\ninputs: 3", 2, "a mapping is meant"},
		{"equation: {a: b}\ninputs: {x: 1}", 1, "is text"},
		{"equation: y = x + z\ninputs:\n  x: 1", 1, "z is neither"},
		{"equation: |\n  y = x * w\n  w = 2 x\ninputs:\n  x: 1", 3, "operator is missing before x"},
		{"equation:\n- y = x\n- [1, 2]\ninputs: {x: 1}", 3, "one equation is meant"},
		{head + "12 quarts", 4, "unit \"quarts\" is not known"},
		{head + "", 4, "needs a value"},
		{head + "[1, 2]", 4, "below readings"},
		{head + "{u: 0.1}", 4, "needs a value or readings"},
		{head + "{value: 1, u: a}", 4, "\"a\" is not a number"},
		{head + "{value: 1 ± 0.1, u: 0.1}", 4, "stated twice"},
		{head + "{value: 1, u: 0.1, half-width: 1, distribution: rectangular}", 4, "stated twice"},
		{head + "{value: 1, half-width: 1}", 4, "of which distribution"},
		{head + "{value: 1, half-width: 1, distribution: normal}", 4, "no half-width"},
		{head + "{value: 1, half-width: 1, distribution: round}", 4, "\"round\" is not known"},
		{head + "{value: 1, u: -1}", 4, "from 0 up"},
		{head + "{value: 1 ± 1 (rectangular), distribution: normal}", 4, "distribution already"},
		{head + "{value: 1, u: 1, distribution: rectangular, k: 2}", 4, "goes with a normal"},
		{head + "{value: 1, u: 1, k: 0}", 4, "above 0"},
		{head + "{value: 1 ± 1 (k=2), k: 2}", 4, "coverage factor is stated twice"},
		{head + "{value: 1, u: 1, beta: 0.5}", 4, "of a trapezoidal"},
		{head + "{value: 1, u: 1, distribution: trapezoidal}", 4, "needs beta"},
		{head + "{value: 1, u: 1, distribution: trapezoidal, beta: 2}", 4, "width of the top"},
		{head + "{value: 1, u: 1, distribution: t}", 4, "needs dof"},
		{head + "{value: 1, u: 1, dof: 0}", 4, "above 0"},
		{head + "{value: 1, type: C}", 4, "not A or B"},
		{head + "{value: 1 mL, unit: L}", 4, "has the unit mL"},
		{head + "{readings: [1, 2], u: 0.1}", 4, "readings give the value"},
		{head + "{readings: [1]}", 4, "two or more"},
		{head + "{readings: [1, 2 ± 1]}", 4, "no uncertainty of its own"},
		{head + "{readings: [1 mL, 2 L]}", 4, "same unit"},
		{head + "{readings: [1, 2], type: B}", 4, "type A"},
		{head + "1\n  z: 2", 0, "input z is in no equation"},
		{head + "1\n  sin: 2", 0, "taken by a function"},
		{head + "1\n  a-b: 2", 0, "letters, digits"},
		{"equation: y = x\ninputs:\n- {name: x, value: 1}\n- {name: x, value: 1}", 0, "listed twice"},
		{"equation: y = x\ninputs:\n- {value: 1}", 3, "has no name"},
		{head + "1\ncorrelations: {x: 1}", 5, "two inputs are meant"},
		{head + "1\ncorrelations: 3", 5, "pairs of inputs"},
		{head + "1\ncorrelations: [3]", 5, "two inputs and a number"},
		{head + "1\ncorrelations: {\"x, q\": 1}", 0, "both must be inputs"},
		{head + "1\ncorrelations: {\"x, x\": 1}", 0, "with itself"},
		{head + "1\ncorrelations:\n  x, x: much", 6, "\"much\" is not a number"},
	} {
		_, err := ReadModel([]byte(e.text), "m.yaml")
		var q *ModelError
		if !errors.As(err, &q) || !strings.Contains(err.Error(), e.word) || q.Line != e.line {
			t.Errorf("%q: %v, want line %d and %q", e.text, err, e.line, e.word)
		}
	}
	_, err := ReadModel([]byte("equation: |\n  # the sum\n  y = x +* 2\ninputs:\n  x: 1\n"), "m.yaml")
	if want := "m.yaml:3: equation: * stands where a number, a name or ( should\n    3 |   y = x +* 2\n      |          ^"; err == nil || err.Error() != want {
		t.Errorf("%v\nwant\n%s", err, want)
	}
}

// A file of a few lines whose lists refer to one another stands for ten billion
// numbers: it is refused wherever it stands, without writing them out.
func TestModelThatGrows(t *testing.T) {
	lists := "- &a0 [1,1,1,1,1,1,1,1,1,1]\n"
	for i := range 9 {
		r := fmt.Sprintf("*a%d", i)
		lists += fmt.Sprintf("- &a%d [%s%s]\n", i+1, r, strings.Repeat(","+r, 9))
	}
	for _, text := range []string{
		"equation:\n" + lists + "inputs: {x: 1}", "equation: y = x\nmeasurand:\n" + lists + "inputs: {x: 1}", "equation: y = x\ninputs:\n  x:\n    readings:\n" + strings.ReplaceAll("\n"+lists, "\n-", "\n    -")[1:],
		"equation: y = x\ninputs:\n  x:\n    note: 1\n    value:\n" + strings.ReplaceAll("\n"+lists, "\n-", "\n    -")[1:], "equation: y = x\ninputs: {x: 1}\ncorrelations:\n" + lists,
	} {
		var q *ModelError
		if _, err := ReadModel([]byte(text), "m.yaml"); !errors.As(err, &q) || len(q.Message) > 200 {
			t.Errorf("%.60q: %v", text, err)
		}
	}
}

func TestCorrelationsThatCannotBe(t *testing.T) {
	in := []Input{{Name: "a", Readings: []float64{1, 2, 3}}, {Name: "b", Readings: []float64{1, 2}}, {Name: "c", Readings: []float64{4, 4, 4}}}
	for word, list := range map[string][]Correlation{
		"contradict":          {{A: "a", B: "b", R: 0.9}, {A: "b", B: "c", R: 0.9}, {A: "a", B: "c", R: -0.9}},
		"not between":         {{A: "a", B: "b", R: 1.01}},
		"given twice":         {{A: "a", B: "b", R: 0.1}, {A: "b", B: "a", R: 0.1}},
		"not in pairs":        {{A: "a", B: "b", FromReadings: true}},
		"show no correlation": {{A: "a", B: "c", FromReadings: true}},
	} {
		m := &Model{Measurand: "y", Equations: "y = a + b + c", Inputs: in, Correlations: list}
		if _, err := m.Propagate(); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%v, want %q", err, word)
		}
	}
}

// Any text is refused as a *ModelError or gives a model that can be computed or
// says why not.
func FuzzReadModel(f *testing.F) {
	for _, s := range []string{"measurand: {name: y, unit: g}\nequation: y = a*b\ninputs:\n  a: 1 ± 0.1 g\n  b: {readings: [1, 2]}\ncorrelations: {\"a, b\": 0.3}\n", "equation: [y = x]\ninputs: [{name: x, value: 1, u: 2, k: 2}]", "inputs: {}", "equation: &a [*a]"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ReadModel(data, "f")
		var q *ModelError
		if err != nil && !errors.As(err, &q) {
			t.Fatalf("%T: %v", err, err)
		}
		if err != nil {
			return
		}
		if b, err := m.Propagate(); err == nil && !(b.U >= 0) {
			t.Fatalf("u %v", b.U)
		}
	})
}
