package assay

import (
	"math"
	"strings"
	"testing"

	"meniscus/internal/lab"
	"meniscus/setup"
	"meniscus/unit"
)

const ironCeriumSHE = `
find: Fe^2+
flask: {volume: 50 mL, contains: {Fe^2+: 0.045 mol/L}}
burette: {contains: {Ce^4+: 0.1 mol/L}}
electrode: {indicator: platinum, reference: SHE}
` + ironCerium

// Half and twice the equivalence volume give the formal potentials that the
// readings were made with, and their u is the spread of the error: over 60
// runs its mean square is within 40 % of 1 (two standard deviations of it).
// The noise of the readings is told, as the number of readings around twice
// is too small to show it in each run.
func TestHalfAndTwice(t *testing.T) {
	bench := lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}
	s := read(t, ironCeriumSHE+"readings: {potential: 0.5 mV, volume: 0.01 mL}\n")
	want := map[string]float64{"Fe^3+/Fe^2+": 0.68, "Ce^4+/Ce^3+": 1.44}
	squares := map[string]float64{}
	const runs = 60
	for seed := range uint64(runs) {
		c := bench.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), seed)
		e, err := Evaluate(&c, s, Options{})
		if err != nil {
			t.Fatal(err)
		}
		seen := 0
		for _, r := range e.FormalPotentials {
			if !strings.Contains(r.From, "equivalence volume") {
				near(t, r.Name+" from the whole curve", r.Value, want[r.Name], 4*r.StdUnc)
				continue
			}
			seen++
			z := (r.Value - want[r.Name]) / r.StdUnc
			squares[r.Name] += z * z / runs
			if math.Abs(z) > 4 {
				t.Errorf("run %d: %s %g, u %g", seed, r.Name, r.Value, r.StdUnc)
			}
		}
		if seen != 2 {
			t.Fatalf("run %d: %d potentials at half and twice", seed, seen)
		}
	}
	for name, q := range squares {
		near(t, "mean square of "+name+" over u", q, 1, 0.4)
	}
}

// A stated offset is in the reading, not in the couple.
func TestHalfWithOffset(t *testing.T) {
	c := lab.Bench{Offset: -0.0123}.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 1)
	s := read(t, strings.Replace(ironCeriumSHE, "reference: SHE", "reference: SHE, offset: -12.3 mV", 1))
	e, err := Evaluate(&c, s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range e.FormalPotentials {
		want := 0.68
		if strings.HasPrefix(r.Name, "Ce") {
			want = 1.44
		}
		near(t, r.Name+" from "+r.From, r.Value, want, 1e-4)
	}
}

// Where the ratio of the two forms is not enough, the potential at twice the
// equivalence volume is not the formal one, and is not given as such.
func TestRuleFails(t *testing.T) {
	for _, c := range []struct{ name, burette, reaction, hold, want string }{
		{"dichromate", "Cr2O7^2-: 0.01 mol/L", "Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O, formal potential: 1.33 V", "{pH: 0}", "1 Cr2O7^2- give 2 reduced"},
		{"permanganate in acid that is used up", "MnO4^-: 0.02 mol/L", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, formal potential: 1.51 V", "", "its activity is not held"},
		{"permanganate at held pH", "MnO4^-: 0.02 mol/L", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, formal potential: 1.51 V", "{pH: 0.5}", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := "find: Fe^2+\nflask: {volume: 50 mL, contains: {Fe^2+: 0.05 mol/L, H^+: 1 mol/L}}\nburette: {contains: {" + c.burette + "}}\nlibrary: off\n" +
				"chemistry:\n  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}\n  - {reaction: " + c.reaction + "}\n"
			if c.hold != "" {
				text = strings.Replace(text, ", H^+: 1 mol/L", "", 1) + "hold: " + c.hold + "\n"
			}
			twiceIs(t, read(t, text), c.want)
		})
	}
}

func twiceIs(t *testing.T, s *setup.Setup, refusal string) {
	run := lab.Bench{}.Run(lab.IronPermanganate(0.5), lab.DefaultPlan(0.025).Volumes(), 3)
	e := &Evaluation{Setup: s, Curve: &run, EquivalencePoints: []Point{{Volume: 25 * unit.Millilitre, StdUnc: 1e-6}}}
	e.halfTwice()
	if len(e.FormalPotentials) != 2 {
		t.Fatalf("%d potentials", len(e.FormalPotentials))
	}
	near(t, "iron at half", e.FormalPotentials[0].Value, 0.68, 2e-4)
	titrant := e.FormalPotentials[1]
	if refusal == "" {
		// E at twice is E0' - (8/5) 59.159 mV pH: the note's term brings it back.
		near(t, "permanganate at [H+] = 1", titrant.Value, 1.51, 2e-4)
		return
	}
	if !math.IsNaN(titrant.Value) || !strings.Contains(titrant.Note, refusal) {
		t.Errorf("%g: %q, want %q", titrant.Value, titrant.Note, refusal)
	}
}

// The ratio rules: 5 iron to 1 permanganate by hand.
func TestRatioOnly(t *testing.T) {
	s := read(t, "ratio: 5 to 1\nflask: {volume: 50.00 ± 0.03 mL}\nburette: {contains: {MnO4^-: 0.02000 ± 0.00004 mol/L}}\n")
	r := only(t, at(s, 25, 0.02).Concentrations)
	near(t, "c", r.Value, 5*0.02*25/50, 1e-12)
	near(t, "u", r.StdUnc/r.Value, math.Sqrt(math.Pow(0.02/25, 2)+math.Pow(0.03/50, 2)+math.Pow(0.00004/0.02, 2)), 1e-9)
	e := at(read(t, "ratio: 5 to 1\n"), 25, 0.02)
	if len(e.Concentrations) != 0 || !has(e.Assumed, "names no titrant") {
		t.Errorf("%v %q", e.Concentrations, e.Assumed)
	}
}
