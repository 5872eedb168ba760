package uncertainty

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// A modelRecord is a row of testdata/models.json: published models with
// their results, their source, and whether it was read or is from memory.
type modelRecord struct {
	ID       string
	Inputs   map[string]json.RawMessage
	Expected []struct {
		Quantity         string
		Value, Tolerance float64
	}
}

func modelRecords(t *testing.T, id string) modelRecord {
	t.Helper()
	var list []modelRecord
	load(t, "testdata/models.json", &list)
	for _, r := range list {
		if r.ID == id {
			return r
		}
	}
	t.Fatalf("no record %s", id)
	return modelRecord{}
}

// compareTo checks each result against the record. Every number of the record
// must be asked for, or be named as left out.
func (r modelRecord) compareTo(t *testing.T, got map[string]float64) {
	t.Helper()
	for _, x := range r.Expected {
		v, ok := got[x.Quantity]
		if !ok || !(math.Abs(v-x.Value) <= x.Tolerance) {
			t.Errorf("%s, %s: %.9g (%v), want %g ± %g", r.ID, x.Quantity, v, ok, x.Value, x.Tolerance)
		}
	}
}

func (r modelRecord) list(t *testing.T, key string) []float64 {
	t.Helper()
	var xs []float64
	if err := json.Unmarshal(r.Inputs[key], &xs); err != nil {
		t.Fatal(err)
	}
	return xs
}

func read(t *testing.T, text string) *Model {
	t.Helper()
	m, err := ReadModel([]byte(text), "model.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func budgetOf(t *testing.T, m *Model) *Budget {
	t.Helper()
	b, err := m.Propagate()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func simulate(t *testing.T, m *Model, o MonteCarloOptions) *Simulation {
	t.Helper()
	s, err := m.MonteCarlo(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func (b *Budget) contribution(name string) float64 {
	for _, s := range b.Shares {
		if s.Name == name {
			return s.Contribution
		}
	}
	return math.NaN()
}

func (b *Budget) derived(name string) Derived {
	for _, d := range b.Intermediate {
		if d.Name == name {
			return d
		}
	}
	return Derived{"", math.NaN(), math.NaN()}
}

// Eurachem/CITAC CG4 (QUAM:2012), A1: a cadmium standard, every number that
// it goes through.
func TestEurachemA1(t *testing.T) {
	b := budgetOf(t, read(t, `
measurand: {name: c, unit: mg/L}
equation: |
  c = 1000 * m * P / V
  V = V_flask + V_rep + V_T
inputs:
  m: 100.28 ± 0.05 mg
  P: 0.9999 ± 0.0001 (rectangular)
  V_flask: 100.0 ± 0.1 mL (triangular)
  V_rep: 0 ± 0.02 mL
  V_T: {value: 0, half-width: 0.084, distribution: rectangular, unit: mL}
`))
	v := b.derived("V")
	var p float64
	for _, s := range b.Shares {
		if s.Name == "P" {
			p = s.U
		}
	}
	modelRecords(t, "eurachem-A1").compareTo(t, map[string]float64{
		"c(Cd)": b.X, "u(P)": p, "u(V)": v.U, "u(c) unrounded": b.U, "u(c) printed in guide": b.U,
		"contribution m": b.contribution("m"), "contribution P": b.contribution("P"),
		"contribution V":       math.Abs(1000*100.28*0.9999/(v.X*v.X)) * v.U,
		"contribution V_flask": b.contribution("V_flask"), "contribution V_T": b.contribution("V_T"), "contribution V_rep": b.contribution("V_rep"),
		"U (k=2) printed (memory)": 2 * b.U,
	})
}

// Eurachem/CITAC CG4 (QUAM:2012), A2: sodium hydroxide against potassium
// hydrogen phthalate. The masses of container and rest are ours; only their
// difference is published.
func TestEurachemA2(t *testing.T) {
	b := budgetOf(t, read(t, `
measurand: {name: c, unit: mol/L}
equation:
  - c = R * 1000 * m * P / (M * V)
  - m = m_before - m_after
  - M = 8*C + 5*H + 4*O + K
  - V = V_cal + V_T
inputs:
  m_before: 60.5450 ± 0.00015 g (rectangular)
  m_after: 60.1562 ± 0.00015 g (rectangular)
  P: 1.0 ± 0.0005 (rectangular)
  C: 12.0107 ± 0.0008 (rectangular)
  H: 1.00794 ± 0.00007 (rectangular)
  O: 15.9994 ± 0.0003 (rectangular)
  K: 39.0983 ± 0.0001 (rectangular)
  V_cal: 18.64 ± 0.03 mL (triangular)
  V_T: 0 ± 0.006 mL
  R: 1 ± 0.0005
`))
	m, mm, v := b.derived("m"), b.derived("M"), b.derived("V")
	modelRecords(t, "eurachem-A2").compareTo(t, map[string]float64{
		"c(NaOH)": b.X, "c unrounded": b.X, "u(c) unrounded": b.U, "u(c) printed": b.U, "relative u(c) printed": b.U / b.X,
		"u(m)": m.U, "M(KHP)": mm.X, "u(M)": mm.U, "u(V)": v.U,
		"contribution V": b.X / v.X * v.U, "contribution m": b.X / m.X * m.U, "contribution M": b.X / mm.X * mm.U,
		"contribution R": b.contribution("R"), "contribution P": b.contribution("P"), "U (k=2) printed (memory)": 2 * b.U,
	})
	if b.Shares[0].Name != "V_cal" || b.Correlation != 0 {
		t.Errorf("largest share %s, correlation %g", b.Shares[0].Name, b.Correlation)
	}
}

const impedance = `
measurand: %
equation: |
  R = 1000 * V / I * cos(phi)
  X = 1000 * V / I * sin(phi)
  Z = 1000 * V / I
inputs:
`

// impedances runs GUM H.2 for its three measurands.
func impedances(t *testing.T, inputs string) map[string]float64 {
	t.Helper()
	got := map[string]float64{}
	for _, name := range []string{"R", "X", "Z"} {
		m := read(t, strings.Replace(impedance, "%", name, 1)[1:]+inputs)
		b := budgetOf(t, m)
		got[name], got["u("+name+")"] = b.X, b.U
		if name != "R" {
			continue
		}
		c, err := m.compile()
		if err != nil {
			t.Fatal(err)
		}
		d, err := c.p.at(c.x)
		if err != nil {
			t.Fatal(err)
		}
		jac := append(append(append([]float64{}, d.gradient(c.p.out)...), d.gradient(c.p.middle[0].register)...), d.gradient(c.p.middle[1].register)...)
		cov, err := PropagateAll(jac, 3, c.covariance())
		if err != nil {
			t.Fatal(err)
		}
		r := func(i, j int) float64 { return cov[i*3+j] / math.Sqrt(cov[i*4]*cov[j*4]) }
		got["r(R,X)"], got["r(R,Z)"], got["r(X,Z)"] = r(0, 1), r(0, 2), r(1, 2)
	}
	return got
}

// GUM H.2 with the estimates and coefficients of its table H.2, units from mA
// in the equation; results as in table H.3.
func TestGUMH2(t *testing.T) {
	got := impedances(t, `
  V: {value: 4.999, u: 0.0032, unit: V}
  I: {value: 19.661, u: 0.0095, unit: mA}
  phi: {value: 1.04446, u: 0.00075, unit: rad}
correlations:
  V, I: -0.36
  V, phi: 0.86
  I, phi: -0.65
`)
	modelRecords(t, "gum-H2").compareTo(t, got)
}

// GUM H.2 from the five sets of simultaneous readings of table H.2 (from
// memory): their means, and the printed results of table H.3 with r from the
// readings, to the last digit printed.
func TestGUMH2FromReadings(t *testing.T) {
	raw := modelRecords(t, "gum-H2-raw")
	inputs := ""
	for name, key := range map[string]string{"V": "V_V", "I": "I_mA", "phi": "phi_rad"} {
		inputs += "  " + name + ": {readings: " + string(raw.Inputs[key]) + "}\n"
	}
	inputs += "correlations:\n- V, I: from readings\n- V, phi: from readings\n- {I, phi: from readings}\n"
	got := impedances(t, inputs)
	for name, want := range map[string][2]float64{
		"R": {127.732, 5e-4}, "X": {219.847, 5e-4}, "Z": {254.260, 5e-4}, "u(R)": {0.071, 5e-4}, "u(X)": {0.295, 6e-4}, "u(Z)": {0.236, 5e-4},
		"r(R,X)": {-0.588, 5e-4}, "r(R,Z)": {-0.485, 5e-4}, "r(X,Z)": {0.993, 5e-4},
	} {
		if !(math.Abs(got[name]-want[0]) <= want[1]) {
			t.Errorf("%s: %.6f, want %g", name, got[name], want[0])
		}
	}
	b := budgetOf(t, read(t, strings.Replace(impedance, "%", "R", 1)[1:]+inputs))
	means := map[string]float64{}
	for _, s := range b.Shares {
		means["mean "+s.Name], means["s(mean "+s.Name+")"] = s.X, s.U
	}
	raw.compareTo(t, means)
	if b.DoF != 4 || b.Shares[0].Type != "A" || !(math.Abs(b.K-2.776) <= 5e-4) { // n - 1 of the common sets
		t.Errorf("%g degrees of freedom, type %s, k %g", b.DoF, b.Shares[0].Type, b.K)
	}
}

// GUM H.3: the calibration line of a thermometer, its intercept and slope by
// the formulas of H.3.2 in the test, and the correction at 30 °C with their
// correlation; 9 degrees of freedom (H.3.4).
func TestGUMH3(t *testing.T) {
	r := modelRecords(t, "gum-H3")
	ts, bs := r.list(t, "t_C"), r.list(t, "b_C")
	n := float64(len(ts))
	var st, sb, stt, stb float64
	for i := range ts {
		x := ts[i] - 20
		st, sb, stt, stb = st+x, sb+bs[i], stt+x*x, stb+x*bs[i]
	}
	d := n*stt - st*st
	y1, y2 := (sb*stt-stb*st)/d, (n*stb-sb*st)/d
	ss := 0.0
	for i := range ts {
		res := bs[i] - y1 - y2*(ts[i]-20)
		ss += res * res
	}
	s := math.Sqrt(ss / (n - 2))
	u1, u2, rho := s*math.Sqrt(stt/d), s*math.Sqrt(n/d), -st/math.Sqrt(n*stt)
	b := budgetOf(t, &Model{
		Measurand: "b", Equations: "b = y1 + y2*(30 - 20)",
		Inputs:       []Input{{Name: "y1", X: y1, Stated: Stated{Width: u1}, DoF: n - 2}, {Name: "y2", X: y2, Stated: Stated{Width: u2}, DoF: n - 2}},
		Correlations: []Correlation{{A: "y1", B: "y2", R: rho}},
	})
	r.compareTo(t, map[string]float64{
		"intercept y1": y1, "u(y1)": u1, "slope y2": y2, "u(y2)": u2, "r(y1,y2)": rho, "residual s": s, "b(30 C)": b.X, "u(b(30))": b.U,
	})
	if b.DoF != 9 || !(math.Abs(b.K-2.26) <= 0.005) || !(b.Correlation < -1) {
		t.Errorf("%g degrees of freedom, k %g, share of the correlation %g", b.DoF, b.K, b.Correlation)
	}
}

// JCGM 100:2008, table G.2 (from memory), with 1, 2 and 3 sigma as its footnote
// says.
func TestGUMTableG2(t *testing.T) {
	r := modelRecords(t, "gum-G2")
	sigma := map[float64]float64{0.6827: 1, 0.9545: 2, 0.9973: 3}
	for _, x := range r.Expected {
		p, n := arguments(t, x.Quantity)
		if k, ok := sigma[p]; ok {
			p = math.Erf(k / math.Sqrt2)
		}
		if got := Coverage(p, float64(n)); !(math.Abs(got-x.Value) <= x.Tolerance) {
			t.Errorf("%s: %.5f, want %g", x.Quantity, got, x.Value)
		}
	}
}

// Iron(II) with cerium(IV) as a class determines it, the cerium taken as
// exact: published as 1.040(4)e-2 mol/L with U in the parentheses.
func TestCeriumOfAClass(t *testing.T) {
	b := budgetOf(t, read(t, `
measurand: {name: c, unit: mol/L}
equation: c = C_Ce * V_eq / V0
inputs:
  C_Ce: 0.0201 mol/L
  V_eq: 10.35 ± 0.03 mL (rectangular)
  V0: 20.00 ± 0.03 mL (rectangular)
`))
	modelRecords(t, "cerium-class").compareTo(t, map[string]float64{"c": b.X, "u(c)": b.U, "U (k=2)": 2 * b.U})
}

// A 50 mL burette of class A, read twice, at four volumes.
func TestClassABurette(t *testing.T) {
	got := map[string]float64{}
	for _, v := range []string{"10", "20", "35", "45"} {
		b := budgetOf(t, read(t, `
measurand: {name: V, unit: mL}
equation: V = after - before + d
inputs:
  after: `+v+` ± 0.01 mL
  before: 0 ± 0.01 mL
  d: 0 ± 0.05 mL (triangular)
`))
		got["relative u at "+v+" mL"] = b.U / b.X
	}
	modelRecords(t, "burette-class-a").compareTo(t, got)
}
