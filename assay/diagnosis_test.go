package assay

import (
	"flag"
	"slices"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/setup"
)

const diagnosedIron = `
flask:
  volume: 50.00 mL
  contains:
    Fe^2+: 0.0490 mol/L
burette:
  contains:
    Ce^4+: 0.1000 mol/L
electrode: {indicator: platinum, reference: SHE}
find: Fe^2+
library: off
chemistry:
  - reaction: Fe^3+ + e^- = Fe^2+
    formal potential: 0.68 V
  - reaction: Ce^4+ + e^- = Ce^3+
    formal potential: 1.44 V
`

const diagnosedAcid = `
flask:
  volume: 20.00 mL
  contains:
    CH3COOH: 0.0980 mol/L
burette:
  contains:
    NaOH: 0.1000 mol/L
electrode: {indicator: glass}
find: CH3COOH
library: off
chemistry:
  - reaction: CH3COOH = CH3COO^- + H^+
    pKa: 4.757
  - reaction: H2O = H^+ + OH^-
    pKa: 13.995
`

var quiet = lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}

// ill are runs with one thing wrong each, by size, from the generator that
// shares nothing with the engine. cause is what a finding should name; alike
// are causes that may stand in its place.
var ill = []struct {
	name  string
	acid  bool
	bench func(b *lab.Bench)
	iron  func(r *lab.Redox)
	soda  float64 // carbon dioxide in the alkali, mol/L
	turn  func(c *curve.Curve)
	cause string
	least int // of 10 runs, in the test
}{
	{name: "nothing wrong, iron"},
	{name: "nothing wrong, acid", acid: true},
	{name: "lag of 10 %", bench: func(b *lab.Bench) { b.Lag = 0.10 }, cause: "lag", least: 9},
	{name: "lag of 10 %, timed", bench: func(b *lab.Bench) { b.Lag, b.Interval = 0.10, 30 }, cause: "lag", least: 9},
	{name: "drift of 20 mV", bench: func(b *lab.Bench) { b.Drift = 0.020 }, cause: "drift", least: 5},
	{name: "blank of 0.3 mL", bench: func(b *lab.Bench) { b.Blank = 3e-4 }, cause: "blank", least: 9},
	{name: "2 % oxidised at the start", iron: func(r *lab.Redox) { r.Titrand.Oxidised = 0.02 }, cause: "oxidised fraction", least: 9},
	{name: "slope of 95 %", bench: func(b *lab.Bench) { b.SlopeError = -0.05 }, cause: "slope", least: 9},
	{name: "0.5 mmol/L of CO2 in 0.1 mol/L alkali", acid: true, soda: 5e-4, cause: "carbonate in alkali", least: 5},
	{name: "reference off by 44 mV", bench: func(b *lab.Bench) { b.Offset = 0.044 }, cause: "reference", least: 9},
	{name: "sign reversed", turn: func(c *curve.Curve) { negate(c) }, cause: "sign", least: 9},
	{name: "one reading 30 mV off", turn: func(c *curve.Curve) { c.Readings[12].Value += 0.030 }, cause: "outlier", least: 9},
}

func diagnosed(t testing.TB, i, seed int) (*Evaluation, []Finding) {
	t.Helper()
	x := ill[i]
	text, b := diagnosedIron, quiet
	r := lab.IronCerium().WithEquivalence(0.025 + 1e-4*(float64(seed%97)/97-0.5))
	if x.iron != nil {
		x.iron(&r)
	}
	var sample lab.Sample = r
	volumes := lab.DefaultPlan(0.025).Volumes()
	if x.acid {
		text, b.Noise, volumes = diagnosedAcid, 0.005, lab.DefaultPlan(0.020).Volumes()
		sample = lab.Acid{PKa: []float64{4.757}, Conc: 0.1, V0: 0.020, TitrantConc: 0.1, Carbonate: x.soda}
	}
	if x.bench != nil {
		x.bench(&b)
	}
	c := b.Run(sample, volumes, uint64(seed))
	if x.turn != nil {
		x.turn(&c)
	}
	s, err := setup.Read([]byte(text), "setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	e, err := Evaluate(&c, s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if e.Fit == nil && x.cause != "sign" {
		t.Fatalf("%s: %s", x.name, e.Methods[0].Refused)
	}
	return e, e.Diagnose()
}

// perFault is 50 for the figures of docs/diagnosis.md.
var perFault = flag.Int("diagnosed", 5, "runs of each fault in TestDiagnosis")

// TestDiagnosis: sound runs have no finding, but for the odd one in twenty;
// faults are found and named, and never called likely under another name.
func TestDiagnosis(t *testing.T) {
	runs := *perFault
	for i, x := range ill {
		found, wrong := 0, 0
		others := map[string]int{}
		for seed := range runs {
			_, list := diagnosed(t, i, 1000*i+seed)
			if slices.ContainsFunc(list, func(f Finding) bool { return f.Cause == x.cause }) {
				found++
			}
			for _, f := range list {
				if f.Cause != x.cause {
					others[f.Cause]++
					if f.Confidence == Likely {
						wrong++
					}
				}
			}
		}
		t.Logf("%-40s found %d of %d; likely others %d; others %v", x.name, found, runs, wrong, others)
		if x.cause != "" && 10*found < x.least*runs {
			t.Errorf("%s: found in %d of %d runs", x.name, found, runs)
		}
		if x.cause == "" && 10*sum(others) > runs {
			t.Errorf("%s: findings in sound runs: %v", x.name, others)
		}
		if 10*wrong > 2*runs {
			t.Errorf("%s: called likely under another name %d times: %v", x.name, wrong, others)
		}
	}
}

func sum(m map[string]int) int {
	n := 0
	for _, k := range m {
		n += k
	}
	return n
}
