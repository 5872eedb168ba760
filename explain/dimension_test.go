package explain

import (
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/electrode"
	"meniscus/working"
)

// A measure is a value in base units with its dimensions: mol, L, g, V, tablet.
type measure struct {
	value float64
	dims  map[string]float64
}

var unitScales = map[string]struct {
	scale float64
	dims  string
}{
	"": {1, ""}, "mL": {1e-3, "L"}, "L": {1, "L"}, "mol/L": {1, "mol/L"}, "mmol/L": {1e-3, "mol/L"}, "mmol": {1e-3, "mol"}, "mol": {1, "mol"},
	"V": {1, "V"}, "mV": {1e-3, "V"}, "g": {1, "g"}, "mg": {1e-3, "g"}, "g/mol": {1, "g/mol"}, "g/L": {1, "g/L"}, "mg/L": {1e-3, "g/L"},
	"%": {1e-2, ""}, "% w/w": {1e-2, ""}, "% w/w, dry basis": {1e-2, ""}, "% of label claim": {1e-2, ""}, "g/kg": {1e-3, ""},
	"mg per tablet": {1e-3, "g/tablet"}, "g per tablet": {1, "g/tablet"}, "mol^2/L^2": {1, "mol·mol/L/L"}, "L/mol": {1, "L/mol"}, "tablets": {1, "tablet"}, "mL/L": {1e-3, ""},
	"V/mL": {1e3, "V/L"}, "V/mL²": {1e6, "V/L/L"}, "1/mL": {1e3, "1/L"}, "1/mL²": {1e6, "1/L/L"},
}

func inBase(x float64, unitName string) (measure, error) {
	u, ok := unitScales[unitName]
	if !ok {
		return measure{}, fmt.Errorf("unit %q is not known to the test", unitName)
	}
	m := measure{x * u.scale, map[string]float64{}}
	for i, parts := range strings.Split(u.dims, "/") {
		for _, part := range strings.Split(parts, "·") {
			if part != "" && part != "1" {
				m.dims[part] += map[bool]float64{true: 1, false: -1}[i == 0]
			}
		}
	}
	return m, nil
}

func (m measure) same(o measure) bool {
	for _, pair := range [][2]measure{{m, o}, {o, m}} {
		for d, p := range pair[0].dims {
			if math.Abs(pair[1].dims[d]-p) > 1e-12 {
				return false
			}
		}
	}
	return true
}

func (m measure) times(o measure, power float64) measure {
	out := measure{m.value * math.Pow(o.value, power), map[string]float64{}}
	for d, p := range m.dims {
		out.dims[d] = p
	}
	for d, p := range o.dims {
		out.dims[d] += p * power
	}
	return out
}

// evaluate works an expression out in base units. Within a logarithm a
// concentration stands for its number in mol/L.
func evaluate(e working.Expr, inLog bool) (measure, error) {
	pure := measure{1, nil}
	switch e := e.(type) {
	case working.Number:
		m, err := inBase(e.Value, e.Unit)
		if inLog {
			m.dims = nil
		}
		return m, err
	case working.Symbol:
		return evaluate(e.Value, inLog)
	case working.Product:
		for _, f := range e {
			m, err := evaluate(f, inLog)
			if err != nil {
				return m, err
			}
			pure = pure.times(m, 1)
		}
		return pure, nil
	case working.Frac:
		a, err1 := evaluate(e.Num, inLog)
		b, err2 := evaluate(e.Den, inLog)
		return a.times(b, -1), errors.Join(err1, err2)
	case working.Power:
		a, err1 := evaluate(e.Base, inLog)
		p, err2 := evaluate(e.Exp, inLog)
		if !p.same(measure{}) {
			err2 = errors.Join(err2, errors.New("an exponent with a unit"))
		}
		return measure{1, nil}.times(a, p.value), errors.Join(err1, err2)
	case working.Func:
		if e.Name == "sqrt" {
			m, err := evaluate(e.Arg, inLog)
			return measure{1, nil}.times(m, 0.5), err
		}
		m, err := evaluate(e.Arg, true)
		if e.Name != "lg" {
			return m, fmt.Errorf("function %s is not known to the test", e.Name)
		}
		return measure{math.Log10(m.value), nil}, err
	case working.Sum:
		var sum measure
		for i, t := range e {
			m, err := evaluate(t.Expr, inLog)
			if err != nil {
				return m, err
			}
			if i == 0 {
				sum = measure{0, m.dims}
			}
			if !sum.same(m) {
				return sum, fmt.Errorf("a sum of %v and %v", sum.dims, m.dims)
			}
			if t.Minus {
				m.value = -m.value
			}
			sum.value += m.value
		}
		return sum, nil
	}
	return measure{}, fmt.Errorf("%T is not known to the test", e)
}

// checkUnits says which steps have units that do not work out: the formula in
// base units must be the quantity in base units.
func checkUnits(t *testing.T, name string, d *working.Document) (steps int) {
	t.Helper()
	for _, e := range d.Check() {
		t.Errorf("%s: %v", name, e)
	}
	for _, sec := range d.Sections {
		for _, block := range sec.Blocks {
			st, ok := block.(working.Step)
			if !ok || st.Formula == nil {
				continue
			}
			steps++
			got, err1 := evaluate(st.Formula, false)
			want, err2 := evaluate(st.Quantity.Value, false)
			if p, ok := st.Formula.(working.Power); ok && p.Base == working.Expr(working.Count(10)) {
				got.dims = want.dims // a constant from its logarithm, which is that of its number
			}
			if err := errors.Join(err1, err2); err != nil {
				t.Errorf("%s, %s: %s: %v", name, sec.Title, st.Quantity.Key(), err)
			} else if !got.same(want) || math.Abs(got.value-want.value) > 1e-6*math.Abs(want.value)+1e-15 {
				t.Errorf("%s, %s: %s is %g %v, its formula in base units %g %v", name, sec.Title, st.Quantity.Key(), want.value, want.dims, got.value, got.dims)
			}
		}
	}
	return steps
}

// TestUnitsWorkOut takes every step of every document apart: of the examples,
// of contents, of readings and of a conversion.
func TestUnitsWorkOut(t *testing.T) {
	files := systems(t)
	steps := 0
	for _, f := range files {
		s := read(t, f)
		places, err := Places(s)
		if err != nil {
			t.Fatal(err)
		}
		d, err := Volumes(s, places)
		if err != nil {
			t.Fatal(err)
		}
		steps += checkUnits(t, f, d)
	}
	if steps < 1000 {
		t.Errorf("only %d steps", steps)
	}
	checkUnits(t, "tablets", workedContent(t, `{ratio: 1 to 1, find: C6H8O6, burette: {contains: {I2: 0.0500 mol/L}}, sample: {mass: 0.2200 g, tablet mass: 0.6200 g, label claim: 500 mg, loss on drying: 2.0 %, report as: [mg C6H8O6 per tablet, "% of label claim", "% C6H8O6, dry basis", g/kg C6H8O6]}}`, "20.00"))
	checkUnits(t, "alkali", workedContent(t, `{find: [OH^-, CO3^2-], blank: 0.04 mL, flask: {volume: 25.00 mL, contains: {NaOH: 0.08 mol/L, Na2CO3: 0.02 mol/L}}, burette: {contains: {HCl: 0.1052 mol/L}}, sample: {volume: 50.00 mL, made up to: 250.0 mL, aliquot: 25.00 mL, report as: [g/L NaOH, mg/L Na2CO3]}}`, "24.36", "28.70"))
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
	checkUnits(t, "granules", d)
	ref, err := electrode.FindReference("SCE")
	if err != nil {
		t.Fatal(err)
	}
	d, err = Conversion(0.52, ref, []electrode.Reference{ref}, 298.15)
	if err != nil {
		t.Fatal(err)
	}
	checkUnits(t, "conversion", d)
}
