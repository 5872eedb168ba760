package chain

import (
	"math"
	"os"
	"strings"
	"testing"

	"meniscus/yamlfile"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g ± %.1g", what, got, want, tol)
	}
}

func compute(t *testing.T, text string) *Chain {
	t.Helper()
	s, err := Read([]byte(text), "shelf.yaml")
	if err != nil {
		t.Fatal(err)
	}
	c, err := Compute(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func ores(t *testing.T) string {
	t.Helper()
	data, err := os.ReadFile("../examples/chain/ores.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// TestOres compares with testdata/ores.py, which writes the same arithmetic out
// by hand and differentiates it numerically.
func TestOres(t *testing.T) {
	c := compute(t, ores(t))
	for _, want := range []struct {
		name string
		x, u float64
	}{
		{"iron stock", 0.099619139, 0.0001125},
		{"cerium", 0.1023485, 8.609e-05},
		{"ore A", 42.334609, 0.05491},
		{"ore B", 24.439481, 0.03406},
	} {
		r := c.Find(want.name)
		near(t, want.name, r.Budget.X, want.x, 1e-7*want.x)
		near(t, "u of "+want.name, r.Budget.U, want.u, 3e-4*want.u) // the molar masses' own
	}
	near(t, "correlation of the ores", c.Correlation[3][4], 0.7778, 2e-4)
}

// eurachem is EURACHEM/CITAC QUAM:2012, example A2 (NaOH with potassium hydrogen
// phthalate) and A3 (hydrochloric acid with that NaOH). Values of A2 as in its
// table A2.3; those of A3 from memory. The guide's repeatability is put into the
// volume of each run, as there is one run of each.
const eurachem = `
ware:
  burette: {volume: 50 ± 0 mL}
  pipette: {volume: 15.000 ± 0.011 mL}
substances:
  KHP: {formula: C8H5KO4, purity: 100.00 ± 0.029 %}
solutions:
  NaOH:
    standardised:
      flask: {substance: KHP}
      burette: {solution: NaOH, by: burette}
      ratio: 1 to 1
      runs: [{mass: 0.3888 ± 0.00013 g, volume: 18.64 ± 0.01599 mL}]
  HCl:
    standardised:
      flask: {solution: HCl, by: pipette}
      burette: {solution: NaOH, by: burette}
      ratio: 1 to 1
      runs: [{volume: 14.89 ± 0.0219 mL}]
`

func TestEurachemChain(t *testing.T) {
	c := compute(t, eurachem)
	naoh, hcl := c.Find("NaOH"), c.Find("HCl")
	near(t, "c(NaOH), A2", naoh.Budget.X, 0.10214, 5e-6)
	near(t, "u(c(NaOH)), A2", naoh.Budget.U, 0.00010, 5e-6)
	near(t, "c(HCl), A3", hcl.Budget.X, 0.10139, 5e-6)
	near(t, "relative u(c(HCl)), A3", hcl.Budget.U/hcl.Budget.X, 0.0019, 1e-4)
	if got := strings.Join(hcl.Path, " "); got != "NaOH KHP" {
		t.Errorf("HCl rests on %q", got)
	}
}

const ratio = `
ware:
  burette: {volume: 50 ± 0.02 mL}
  pipette: {volume: 25 ± 0.01 mL}
solutions:
  known: {concentration: 0.1 ± 0 mol/L}
  middle:
    standardised:
      flask: {solution: known, by: pipette}
      burette: {solution: middle, by: burette}
      ratio: 1 to 1
      runs: [{volume: VOLUME1 ± 0 mL}]
  last:
    standardised:
      flask: {solution: last, by: pipette}
      burette: {solution: middle, by: burette}
      ratio: 1 to 1
      runs: [{volume: VOLUME2 ± 0 mL}]
`

// TestSharedWareCancels: with the same pipette twice and the same burette at the
// same volume, c(last) = c(known) exactly; at volumes two marks apart only the
// pipette cancels, and the burette counts for both (closed forms).
func TestSharedWareCancels(t *testing.T) {
	same := strings.NewReplacer("VOLUME1", "20", "VOLUME2", "20").Replace(ratio)
	r := compute(t, same).Find("last")
	near(t, "c", r.Budget.X, 0.1, 1e-12)
	near(t, "u with shared ware", r.Budget.U, 0, 1e-12)
	near(t, "u with nothing shared", r.Alone, 0.1*math.Sqrt(2)*math.Hypot(0.01/25, 0.02/20), 1e-9)

	apart := strings.NewReplacer("VOLUME1", "20", "VOLUME2", "40").Replace(ratio)
	r = compute(t, apart).Find("last")
	near(t, "c", r.Budget.X, 0.2, 1e-12)
	near(t, "u", r.Budget.U, 0.2*math.Hypot(0.02/20, 0.02/40), 1e-9)
}

// TestBack is QUESTIONS-like arithmetic done by hand: 50.00 mL of 0.1000 M iron
// less 12.35 mL of 0.1000 M cerium is 3.765 mmol; over 6 and 25.00 mL, 0.02510 M.
func TestBack(t *testing.T) {
	c := compute(t, `
ware:
  burette: {volume: 50 ± 0 mL}
  pipette 25: {volume: 25 ± 0 mL}
  pipette 50: {volume: 50 ± 0 mL}
solutions:
  iron: {concentration: 0.1000 ± 0 mol/L}
  cerium: {concentration: 0.1000 ± 0 mol/L}
determinations:
  dichromate:
    sample: {by: pipette 25}
    excess: {solution: iron, by: pipette 50, ratio: 6 to 1}
    burette: {solution: cerium, by: burette}
    ratio: 1 to 1
    runs: [{volume: 12.35 ± 0.02 mL}]
    report as: mol/L
`)
	r := c.Find("dichromate")
	near(t, "c", r.Budget.X, 0.0251, 1e-12)
	near(t, "u", r.Budget.U, 0.02*0.1/6/25, 1e-12)
}

func TestContentThroughAliquot(t *testing.T) {
	c := compute(t, `
ware:
  burette: {volume: 50 ± 0 mL}
  pipette 25: {volume: 25 ± 0 mL}
  flask 250: {volume: 250 ± 0 mL}
solutions:
  permanganate: {concentration: 0.01016 ± 0 mol/L}
determinations:
  ore:
    sample: {made up to: flask 250, aliquot: pipette 25}
    burette: {solution: permanganate, by: burette}
    ratio: 5 to 1
    runs: [{volume: 27.42 ± 0 mL, mass: 9.167 ± 0 g}]
    report as: "% Fe"
  oxide:
    sample: {made up to: flask 250, aliquot: pipette 25}
    burette: {solution: permanganate, by: burette}
    ratio: 5 to 1
    runs: [{volume: 27.42 ± 0 mL, mass: 9.167 ± 0 g}]
    report as: "% Fe2O3 with 2 Fe"
`)
	near(t, "% Fe", c.Find("ore").Budget.X, 100*5*0.01016*0.02742*55.845*10/9.167, 2e-3)
	near(t, "% Fe2O3 over % Fe", c.Find("oxide").Budget.X/c.Find("ore").Budget.X, 1.4297, 1e-4) // Fe2O3/2 Fe
}

// TestRuns: fewer than three runs rest on what is stated, three or more on
// their scatter, s/√n with n-1 degrees of freedom.
func TestRuns(t *testing.T) {
	text := strings.NewReplacer("VOLUME1", "20", "VOLUME2", "20").Replace(ratio)
	text = strings.Replace(text, "runs: [{volume: 20 ± 0 mL}]\n  last", "volumes: [19.90 mL, 20.00 mL, 20.10 mL]\n  last", 1)
	r := compute(t, text).Find("middle")
	if !r.Runs.Used {
		t.Fatal("the scatter of three runs does not count")
	}
	c := []float64{2.5 / 19.9, 2.5 / 20.0, 2.5 / 20.1}
	mean := (c[0] + c[1] + c[2]) / 3
	sd := math.Sqrt(((c[0]-mean)*(c[0]-mean) + (c[1]-mean)*(c[1]-mean) + (c[2]-mean)*(c[2]-mean)) / 2)
	near(t, "mean", r.Budget.X, mean, 1e-12)
	for _, s := range r.Budget.Shares {
		if s.Type == "A" {
			near(t, "u of the scatter", s.U, sd/math.Sqrt(3), 1e-12)
			near(t, "its degrees of freedom", s.DoF, 2, 0)
			return
		}
	}
	t.Error("no share of Type A")
}

func TestExpiredIsSaid(t *testing.T) {
	c := compute(t, ores(t))
	for _, name := range []string{"ore A", "ore B"} {
		r := c.Find(name)
		if !r.Expired || !strings.Contains(strings.Join(r.Doubts, "\n"), "cerium was used for "+name+" on 2026-11-24, 4 days after it expired (2026-11-20)") {
			t.Errorf("%s: %q", name, r.Doubts)
		}
		if r.Budget.X == 0 {
			t.Errorf("%s: the result is gone", name)
		}
	}
	early := strings.Replace(ores(t), "made: 2026-10-05", "made: 2026-11-25", 1)
	early = strings.Replace(early, "expires: 2026-11-20", "expires: 2026-12-20", 1)
	if d := strings.Join(compute(t, early).Find("ore A").Doubts, "\n"); !strings.Contains(d, "before it was made on 2026-11-25") {
		t.Errorf("used before it was made: %q", d)
	}
}

func TestCorrect(t *testing.T) {
	c := compute(t, ores(t))
	_, moves, err := c.Correct("cerium", Value{X: 0.1030, U: 0.0001, Text: "0.1030 mol/L"})
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, m := range moves {
		names = append(names, m.Name)
		near(t, m.Name, m.Shift(), 0.1030/0.1023485-1, 1e-6) // contents are in proportion to the titre
	}
	if got := strings.Join(names, ", "); got != "cerium, ore A, ore B" {
		t.Errorf("what moves: %s", got)
	}
	if _, _, err := c.Correct("vanadate", Value{X: 1}); err == nil {
		t.Error("a solution that is not there is corrected")
	}
}

func TestErrors(t *testing.T) {
	base := ores(t)
	for _, c := range []struct{ old, now, want string }{
		{"solution: cerium, by: burette 2", "solution: ceriun, by: burette 2", `"ceriun" is not under solutions; there are dichromate, iron stock, cerium`},
		{"by: pipette 25}", "by: burette 2}", "burette 2 is a burette; a pipette is meant"},
		{"volumes: [24.62 mL, 24.66 mL, 24.63 mL]", "volumes: [24.62, 24.66 mL]", "mL"},
		{"mass: 1.2391 g", "mass: -1.2391 g", "is not above 0"},
		{"expires: 2027-11-02", "expires: 2025-11-02", "is before it was made"},
		{"made: 2026-11-02", "made: 2.11.2026", "write it as 2026-11-24"},
		{"flask: {solution: iron stock, by: pipette 25}\n      burette: {solution: dichromate, by: burette 2}", "flask: {solution: cerium, by: pipette 25}\n      burette: {solution: iron stock, by: burette 2}", "depends on itself"},
		{`report as: "% Fe"`, `report as: "ppt Fe"`, `"ppt" is not a unit of content`},
		{`report as: "% Fe"`, `report as: "g/L Fe"`, "is per volume of sample"},
		{"purity: 99.97 ± 0.02 % (rectangular)", "purity: 9997 %", "more than pure"},
		{"ratio: 1 to 1", "ratio: 1:0", "is not a ratio"},
		{"volumes: [24.62 mL, 24.66 mL, 24.63 mL]", "volumes: [24.62 L]", "more than 20 fillings"},
	} {
		text := strings.Replace(base, c.old, c.now, 1)
		if text == base {
			t.Fatalf("%q is not in the example", c.old)
		}
		_, err := Read([]byte(text), "shelf.yaml")
		var e *yamlfile.Error
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.now, err, c.want)
			continue
		}
		if e, _ = err.(*yamlfile.Error); e == nil || e.Line == 0 {
			t.Errorf("%s: the error names no line: %v", c.now, err)
		}
	}
	over := strings.Replace(base, "blank: [0.03 mL, 0.05 mL, 0.03 mL]", "blank: 30 ± 1 mL", 1)
	s, err := Read([]byte(over), "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Compute(s); err == nil || !strings.Contains(err.Error(), "ore A, run 1: the blank is not below the volume") {
		t.Errorf("a blank above the volume: %v", err)
	}
}
