package assay

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/setup"
)

// A chemistry is one kind of titration: its setup, whose guess is some percent
// off, and its readings from a generator that shares nothing with the engine.
type chemistry struct {
	name  string
	setup string
	of    func(k float64) (s lab.Sample, veq []float64)
	noise float64
	gives []string // methods beside the regression and the derivatives that must give every end point; all others refuse
	maybe []string // that give them or refuse, as noise will have it
	last  []string // that give the last one only
}

const (
	ironCeriumPair = `
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
`
	silverChloride = `
electrode: {indicator: silver, reference: "Ag/AgCl, 3 mol/L KCl"}
chemistry:
  - {reaction: AgCl(s) = Ag^+ + Cl^-, pKsp: 9.752}
`
	water = "  - {reaction: H2O = H^+ + OH^-, log K: -13.995}\n"
)

func oneCouple(titrand, titrant lab.Couple) func(k float64) (lab.Sample, []float64) {
	return func(k float64) (lab.Sample, []float64) {
		s := lab.Redox{Titrand: titrand, Titrant: titrant, Conc: 0.05, V0: 0.05, TitrantConc: 0.1}.WithEquivalence(0.025 * k)
		return s, []float64{s.Equivalence()}
	}
}

func oneSilver(k float64) (lab.Sample, []float64) {
	s := lab.Silver{Halides: []lab.Halide{{Conc: 0.1, PKsp: 9.752}}, V0: 0.05, Flask: 0.05 * k, E0: 0.59}
	return s, []float64{0.025 * k}
}

func protons(a lab.Acid, veq ...float64) func(k float64) (lab.Sample, []float64) {
	return func(k float64) (lab.Sample, []float64) {
		s, at := a, slices.Clone(veq)
		s.Conc, s.Strong, s.V0 = a.Conc*k, a.Strong*k, 0.05
		for i := range at {
			at[i] *= k
		}
		return s, at
	}
}

func calcium(k float64) (lab.Sample, []float64) {
	s := lab.Chelate{Metals: []lab.Metal{{Conc: 0.005 * k, LogK: 10.2}}, V0: 0.05, TitrantConc: 0.01, E0: 0.1}
	return s, []float64{s.Equivalence(1)}
}

const calciumSetup = `
find: Ca^2+
electrode: {indicator: "Ca^2+", reference: "Ag/AgCl, 3 mol/L KCl"}
chemistry:
  - {reaction: Ca^2+ + Y^4- = CaY^2-, log K: 10.2}
`

var chemistries = []chemistry{
	{
		name:  "cerium(IV) with iron(II), falling",
		setup: vessels("Ce^4+: 0.049 mol/L", "Fe^2+: 0.1000 mol/L", "find: Ce^4+\nelectrode: {indicator: platinum, reference: SHE}"+ironCeriumPair),
		of:    oneCouple(lab.Couple{E: 1.44, N: 1, Oxidised: 1}, lab.Couple{E: 0.68, N: 1}), noise: 0.5e-3,
		gives: []string{"gran-redox-before", "gran-redox-after", "log-plot"},
	},
	{
		name: "permanganate with iron(II), falling",
		setup: vessels("MnO4^-: 0.0102 mol/L", "Fe^2+: 0.1000 mol/L", `
find: MnO4^-
hold: {pH: 0}
electrode: {indicator: platinum, reference: SHE}
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, formal potential: 1.51 V}
`),
		of: oneCouple(lab.Couple{E: 1.51, N: 5, Oxidised: 1}, lab.Couple{E: 0.68, N: 1}), noise: 0.5e-3,
		gives: []string{"gran-redox-before", "gran-redox-after", "log-plot"},
	},
	{
		name: "titanium(III) and iron(II) with cerium(IV)",
		setup: vessels("Ti^3+: 0.0205 mol/L, Fe^2+: 0.029 mol/L", "Ce^4+: 0.1000 mol/L", `
find: [Ti^3+, Fe^2+]
electrode: {indicator: platinum, reference: SHE}
chemistry:
  - {reaction: Ti^4+ + e^- = Ti^3+, formal potential: 0.10 V}
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
`),
		of: func(k float64) (lab.Sample, []float64) {
			s := lab.Mixture{
				Titrands: []lab.Portion{{Couple: lab.Couple{E: 0.1, N: 1}, Conc: 0.02 * k}, {Couple: lab.Couple{E: 0.68, N: 1}, Conc: 0.03}},
				Titrant:  lab.Couple{E: 1.44, N: 1, Oxidised: 1}, V0: 0.05, TitrantConc: 0.1,
			}
			return s, []float64{s.Equivalence(1), s.Equivalence(2)}
		},
		noise: 0.5e-3,
		gives: []string{"gran-redox-before", "log-plot"}, last: []string{"gran-redox-after"},
	},
	{
		name:  "silver with chloride, falling",
		setup: vessels("AgNO3: 0.049 mol/L", "NaCl: 0.1000 mol/L", "find: Ag^+"+silverChloride),
		of:    oneSilver, noise: 0.5e-3,
		gives: []string{"gran-silver-before", "gran-silver-after"},
	},
	{
		name:  "silver with chloride, pAg",
		setup: vessels("AgNO3: 0.049 mol/L", "NaCl: 0.1000 mol/L", "find: Ag^+"+silverChloride),
		of:    pIon(oneSilver, 0.59, lab.NernstSlope), noise: 0.01,
		gives: []string{"gran-silver-before", "gran-silver-after"},
	},
	{
		name:  "sodium hydroxide with acid, falling",
		setup: vessels("NaOH: 0.049 mol/L", "HCl: 0.1000 mol/L", "find: OH^-\nelectrode: {indicator: glass}\nchemistry:\n"+water),
		of:    protons(lab.Acid{Strong: -0.05, TitrantConc: -0.1}, 0.025), noise: 0.01,
		gives: []string{"gran-acid-base-before", "gran-acid-base-after"},
	},
	{
		name: "sodium carbonate with acid, falling",
		setup: vessels("Na2CO3: 0.0295 mol/L", "HCl: 0.1000 mol/L", `
find: CO3^2-
electrode: {indicator: glass}
chemistry:
  - {reaction: CO2 + H2O = HCO3^- + H^+, log K: -6.352}
  - {reaction: HCO3^- = CO3^2- + H^+, pKa: 10.329}
`+water),
		of: protons(lab.Acid{PKa: []float64{6.352, 10.329}, Conc: 0.03, Strong: -0.06, TitrantConc: -0.1}, 0.015, 0.030), noise: 0.01,
		gives: []string{"gran-acid-base-before"}, last: []string{"gran-acid-base-after"},
	},
	{
		name: "phosphoric acid with alkali",
		setup: vessels("H3PO4: 0.0295 mol/L", "NaOH: 0.1000 mol/L", `
find: H3PO4
electrode: {indicator: glass}
chemistry:
  - {reaction: H3PO4 = H2PO4^- + H^+, pKa: 2.148}
  - {reaction: H2PO4^- = HPO4^2- + H^+, pKa: 7.198}
  - {reaction: HPO4^2- = PO4^3- + H^+, pKa: 12.35}
`+water),
		of: protons(lab.Acid{PKa: []float64{2.148, 7.198, 12.35}, Conc: 0.03, TitrantConc: 0.1}, 0.015, 0.030), noise: 0.01,
		maybe: []string{"gran-acid-base-before"}, last: []string{"gran-acid-base-after"},
	},
	{
		name: "calcium with EDTA, falling", setup: vessels("Ca^2+: 0.0049 mol/L", "Y^4-: 0.01000 mol/L", calciumSetup),
		of: calcium, noise: 0.3e-3,
	},
	{
		name: "calcium with EDTA, pCa", setup: vessels("Ca^2+: 0.0049 mol/L", "Y^4-: 0.01000 mol/L", calciumSetup),
		of: pIon(calcium, 0.1, lab.NernstSlope/2), noise: 0.01,
		gives: []string{"gran-silver-before"},
	},
}

func pIon(of func(k float64) (lab.Sample, []float64), e0, slope float64) func(k float64) (lab.Sample, []float64) {
	return func(k float64) (lab.Sample, []float64) {
		s, veq := of(k)
		return lab.Response{What: curve.PIon, Of: func(v float64) float64 { return (e0 - s.At(v)) / slope }}, veq
	}
}

// TestChemistries evaluates every kind of titration, up and down: the whole-curve
// regression is recommended and holds the truth, every other method holds it
// or refuses, and none gives a number for a chemistry that is not its own.
func TestChemistries(t *testing.T) {
	for _, x := range chemistries {
		t.Run(x.name, func(t *testing.T) {
			s, err := setup.Read([]byte(x.setup), "setup.yaml")
			if err != nil {
				t.Fatal(err)
			}
			for seed := range uint64(4) {
				rng := rand.New(rand.NewPCG(seed, 5))
				sample, veq := x.of(1 + 0.004*(rng.Float64()-0.5))
				c := lab.Bench{Noise: x.noise, VolumeNoise: 1e-5}.Run(sample, fineAround(veq), seed)
				e, err := Evaluate(&c, s, Options{})
				if err != nil {
					t.Fatal(err)
				}
				if e.Recommended != 0 {
					t.Errorf("recommended %d: %s", e.Recommended, e.Reason)
				}
				for _, m := range e.Methods {
					x.judge(t, m, veq)
				}
			}
		})
	}
}

func (x *chemistry) judge(t *testing.T, m Method, veq []float64) {
	t.Helper()
	all := m.Name == RegressionName || slices.Contains(x.maybe, m.Name) || slices.Contains(x.gives, m.Name) || strings.HasSuffix(m.Name, "-derivative") || m.Name == "steepest-interval"
	if slices.Contains(x.last, m.Name) {
		all, veq = true, veq[len(veq)-1:]
	}
	if m.Name == RegressionName && len(m.Points) > len(veq) {
		m.Points = m.Points[:len(veq)] // the third of phosphoric acid shows no jump
	}
	switch {
	case slices.Contains(x.maybe, m.Name) && m.Refused != "": // as the noise will have it
	case !all && m.Refused == "":
		t.Errorf("%s gives %v", m.Name, m.Points)
	case all && (m.Refused != "" || len(m.Points) != len(veq)):
		t.Errorf("%s: %d end points of %d; refused with %q", m.Name, len(m.Points), len(veq), m.Refused)
	case all:
		for i, p := range m.Points {
			if z := (float64(p.Volume) - veq[i]) / float64(p.StdUnc); !(math.Abs(z) < 3.5) {
				t.Errorf("%s: end point %d at %.4f ± %.4f mL, the truth is %.4f mL", m.Name, i+1, p.Volume.Millilitres(), p.StdUnc.Millilitres(), 1e3*veq[i])
			}
		}
	}
}

// fineAround are steps of 1 mL, of 0.1 mL within 1 mL of each end point.
func fineAround(veq []float64) []float64 {
	var out []float64
	for i := 5; i <= 480; {
		out = append(out, float64(i)*1e-4)
		step := 10
		for _, q := range veq {
			if d := float64(i)*1e-4 - q; d > -1.95e-3 && d < 1e-3 {
				step = 1
			}
		}
		i += step
	}
	return out
}

// TestUnexpectedJumps gives readings of one chemistry to the setup of another
// that expects more jumps, or fewer: the diagnosis says how many and where, and no
// other cause.
func TestUnexpectedJumps(t *testing.T) {
	row := func(name string) *chemistry {
		i := slices.IndexFunc(chemistries, func(c chemistry) bool { return c.name == name })
		if i < 0 {
			t.Fatalf("no chemistry %q", name)
		}
		return &chemistries[i]
	}
	iron := vessels("Fe^2+: 0.049 mol/L", "Ce^4+: 0.1000 mol/L", "find: Fe^2+\nelectrode: {indicator: platinum, reference: SHE}"+ironCeriumPair)
	ironAlone := oneCouple(lab.Couple{E: 0.68, N: 1}, lab.Couple{E: 1.44, N: 1, Oxidised: 1})
	both := row("titanium(III) and iron(II) with cerium(IV)")
	alkali := vessels("NaOH: 0.06 mol/L", "HCl: 0.1000 mol/L", "find: OH^-\nelectrode: {indicator: glass}\nchemistry:\n"+water)
	for _, x := range []struct {
		name, setup string
		of          func(k float64) (lab.Sample, []float64)
		noise       float64
		cause       string
		says        []string
	}{
		{"titanium too", iron, both.of, 0.5e-3, "more jumps", []string{"jumps twice", "9.9", "25.0", "formal potential"}},
		{"carbonate for hydroxide", alkali, row("sodium carbonate with acid, falling").of, 0.01, "more jumps", []string{"jumps twice", "15.0", "pKa", "carbonate"}},
		{"phosphoric acid for acetic", diagnosedAcid, row("phosphoric acid with alkali").of, 0.01, "more jumps", []string{"jumps twice"}},
		{"titanium not there", both.setup, ironAlone, 0.5e-3, "fewer jumps", []string{"expects the curve to jump twice, and it does once", "24.9", "nearest to that of Fe^2+", "not in the sample"}},
		{"nothing unexpected", iron, ironAlone, 0.5e-3, "", nil},
		{"two as expected", both.setup, both.of, 0.5e-3, "", nil},
	} {
		s, err := setup.Read([]byte(x.setup), "setup.yaml")
		if err != nil {
			t.Fatal(err)
		}
		sample, veq := x.of(1)
		c := lab.Bench{Noise: x.noise, VolumeNoise: 1e-5}.Run(sample, fineAround(veq), 9)
		e, err := Evaluate(&c, s, Options{Diagnose: true})
		if err != nil {
			t.Fatal(err)
		}
		if x.cause == "" {
			if len(e.Diagnosis) > 0 {
				t.Errorf("%s: %+v", x.name, e.Diagnosis)
			}
			continue
		}
		if len(e.Diagnosis) != 1 || e.Diagnosis[0].Cause != x.cause {
			t.Errorf("%s: %+v; residuals %v", x.name, e.Diagnosis, e.Fit != nil && e.residualsFit())
			continue
		}
		f := e.Diagnosis[0]
		for _, w := range x.says {
			if !strings.Contains(f.Title+f.Evidence, w) {
				t.Errorf("%s: no %q in %+v", x.name, w, f)
			}
		}
	}
}
