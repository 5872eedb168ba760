package setup

import (
	"math"
	"slices"
	"strings"
	"testing"
)

func ironIn(lines string) string {
	return `flask:
  volume: 50 mL
  contains: {Fe^2+: 0.05 mol/L}
` + lines
}

const ceriumBurette = `burette:
  contains: {Ce^4+: 0.1 mol/L}
electrode: {indicator: platinum, reference: SHE}
`

func equations(s *Setup) []string {
	var out []string
	for _, rx := range s.Reactions {
		out = append(out, rx.Equation)
	}
	return out
}

// find returns the reaction with all the species, or fails.
func find(t *testing.T, s *Setup, species ...string) Reaction {
	t.Helper()
	for _, rx := range s.Reactions {
		if !slices.ContainsFunc(species, func(n string) bool { return rx.parsed.Coefficient(n).Sign() == 0 }) {
			return rx
		}
	}
	t.Fatalf("no reaction of %v among %q", species, equations(s))
	return Reaction{}
}

func without(t *testing.T, s *Setup, species string) {
	t.Helper()
	if i := slices.IndexFunc(s.Reactions, func(rx Reaction) bool { return rx.parsed.Coefficient(species).Sign() != 0 }); i >= 0 {
		t.Errorf("%s takes part: %s", species, s.Reactions[i].Equation)
	}
}

// In a medium there are formal potentials of that medium and nothing else.
func TestMediumTakesFormalPotentials(t *testing.T) {
	s := readText(t, ironIn("  medium: 1 M H2SO4\n")+ceriumBurette)
	if fe := find(t, s, "Fe^3+", "Fe^2+"); fe.Kind != "formal potential" || fe.Value != 0.68 { // Skoog, appendix 5
		t.Errorf("iron: %+v", fe)
	}
	if ce := find(t, s, "Ce^4+", "Ce^3+"); ce.Kind != "formal potential" || ce.Value != 1.44 {
		t.Errorf("cerium: %+v", ce)
	}
	if len(s.Reactions) != 2 || len(s.Warnings) != 0 {
		t.Errorf("%q, warnings %q", equations(s), s.Warnings)
	}
}

// Permanganate has no formal potential in sulfuric acid: the standard one
// stands in, and that is said. No other couple of iron or manganese joins.
func TestMediumFallsBackToStandard(t *testing.T) {
	s := readText(t, ironIn("  medium: 1 mol/L H2SO4\n")+`burette:
  contains: {KMnO4: 0.02 mol/L}
electrode: {indicator: platinum, reference: SHE}
hold: {pH: 0}
`)
	if mn := find(t, s, "MnO4^-", "Mn^2+"); mn.Kind != "standard potential" || mn.Value != 1.51 {
		t.Errorf("permanganate: %+v", mn)
	}
	checkWarnings(t, s, "formal and standard potentials are mixed: MnO4^-")
	if n := len(s.Titration.Couples); n != 2 {
		t.Errorf("%d couples: %q", n, equations(s))
	}
}

// Chromium(III) in a medium does not bring HCrO4^- by its standard potential:
// the formal potential of dichromate means all of chromium(VI).
func TestMediumKeepsToItsOwnForms(t *testing.T) {
	s := readText(t, ironIn("  medium: 1 mol/L HCl\n")+`burette:
  contains: {K2Cr2O7: 0.01 mol/L}
hold: {pH: 0}
`)
	without(t, s, "HCrO4^-")
	if len(s.Warnings) != 0 {
		t.Errorf("%q", s.Warnings)
	}
}

// Iodine has a formal potential in sulfuric acid as I3- only: I2 put in takes
// the standard one, and is not left idle.
func TestFallbackReachesWhatIsPutIn(t *testing.T) {
	s := readText(t, `flask:
  volume: 25 mL
  contains: {I2: 0.01 mol/L, KI: 0.1 mol/L}
  medium: 0.5 mol/L H2SO4
burette:
  contains: {Na2S2O3: 0.1 mol/L}
hold: {pH: 0.3}
`)
	if i3 := find(t, s, "I3^-"); i3.Kind != "formal potential" {
		t.Errorf("%+v", i3)
	}
	find(t, s, "I2")
	find(t, s, "S4O6^2-")
	checkWarnings(t, s, "formal and standard potentials are mixed")
}

func TestWithoutMediumSideReactionsJoin(t *testing.T) {
	s := readText(t, strings.Replace(ironIn(""), "0.05 mol/L}", "0.05 mol/L, H2SO4: 0.5 mol/L}", 1)+ceriumBurette)
	if fe := find(t, s, "Fe^3+", "Fe^2+"); fe.Kind != "standard potential" || fe.Value != 0.771 {
		t.Errorf("iron: %+v", fe)
	}
	find(t, s, "HSO4^-", "SO4^2-")
	find(t, s, "FeSO4(aq)")
	find(t, s, "Fe(OH)3(s)")
	find(t, s, "H^+", "OH^-", "H2O")
	without(t, s, "Fe(s)")
	without(t, s, "O2")
}

// A reaction of the file replaces what the tables have, whichever way it is
// written.
func TestFileOverridesTables(t *testing.T) {
	s := readText(t, `flask:
  volume: 20 mL
  contains: {CH3COOH: 0.1 mol/L}
burette:
  contains: {NaOH: 0.1 mol/L}
chemistry:
  - {reaction: CH3COO^- + H^+ = CH3COOH, log K: 4.60}
`)
	n := 0
	for _, rx := range s.Reactions {
		if rx.parsed.Coefficient("CH3COOH").Sign() != 0 {
			n++
		}
	}
	if pt := at(t, s.Titration.Predictor(), 10); n != 1 || math.Abs(pt.PH-4.60) > 0.002 {
		t.Errorf("%d reactions of acetic acid; pH %.3f at half way, want that of the file's pKa 4.60", n, pt.PH)
	}
}

// A formal potential in the file means what one from the tables means.
func TestFormalPotentialOfFileBringsNoSideReactions(t *testing.T) {
	s := readText(t, ironIn("")+ceriumBurette+`chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.70 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.40 V}
`)
	if len(s.Reactions) != 2 {
		t.Errorf("%q", equations(s))
	}
}

func TestAllowAndLeaveOut(t *testing.T) {
	base := `flask:
  volume: 50 mL
  contains: {MnSO4: 0.01 mol/L, H2SO4: 0.01 mol/L}
burette:
  contains: {KMnO4: 0.02 mol/L}
electrode: {indicator: platinum, reference: SHE}
`
	without(t, readText(t, base), "MnO2(s)")
	find(t, readText(t, base+"allow: [MnO2(s)]\n"), "MnO2(s)")
	find(t, readText(t, base), "MnSO4(aq)")
	without(t, readText(t, base+"leave out: [MnSO4(aq)]\n"), "MnSO4(aq)")
	for _, c := range []struct{ lines, want string }{
		{"allow: [NaCl(s)]\n", "no reaction of NaCl(s) is held back"},
		{"allow: [MnSO4(aq)]\n", "no reaction of MnSO4(aq) is held back"},
		{"leave out: [NaCl(s)]\n", "no reaction of NaCl(s) to leave out"},
		{"library: off\nallow: [MnO2(s)]\n", "library is off"},
	} {
		wantError(t, base+c.lines, c.want)
	}
}

// Iodide and thiosulfate need no acid: iodate is out of reach, and left out.
func TestCouplesThatNeedAcidWithoutNeed(t *testing.T) {
	s := readText(t, `flask:
  volume: 25 mL
  contains: {I2: 0.01 mol/L, KI: 0.1 mol/L}
burette:
  contains: {Na2S2O3: 0.1 mol/L}
`)
	without(t, s, "IO3^-")
	find(t, s, "I3^-")
	if !slices.ContainsFunc(s.Notes, func(n string) bool { return strings.Contains(n, "left out") && strings.Contains(n, "IO3^-") }) {
		t.Errorf("notes %q", s.Notes)
	}
}

// Held ammonia is present, so its complexes are.
func TestHeldSpeciesBringTheirReactions(t *testing.T) {
	s := readText(t, `flask:
  volume: 25 mL
  contains: {ZnCl2: 0.0001 mol/L}
burette:
  contains: {Na2H2Y: 0.0001 mol/L}
electrode: {indicator: Zn^2+}
hold: {pH: 10, NH3: 0.1 mol/L}
`)
	find(t, s, "Zn(NH3)4^2+")
	// log beta 2.18, 4.43, 6.74, 8.70 at 0.1 mol/L: 1 + 15.1 + 269 + 5495 + 50119 times the free zinc, and
	// hydroxides at pH 10 a thousandth more.
	free := math.Exp(-at(t, s.Titration.Predictor(), 1e-6).PIon * math.Ln10)
	if ratio := 0.0001 / free; math.Abs(ratio-55899) > 300 {
		t.Errorf("total over free zinc is %.0f, want 55899 and a little", ratio)
	}
}

// A liquid, like a solid, has activity 1 and not a concentration: bromine
// dissolves to what its two potentials, 1.087 and 1.065 V, say.
func TestLiquidsArePure(t *testing.T) {
	s := readText(t, `flask:
  volume: 100 mL
  contains: {Br2: 0.3 mol/L, HClO4: 0.1 mol/L}
burette:
  contains: {KBr: 0.01 mol/L}
electrode: {indicator: platinum, reference: SHE}
leave out: [Br3^-]
`)
	p := s.Titration.Predictor()
	at(t, p, 1)
	want := math.Exp((1.065 - 1.087) * 2 / s.Titration.Thermal()) // 0.18 mol/L
	if c := p.Solver.Concentration(s.System().Index("Br2")); math.Abs(c/want-1) > 1e-6 {
		t.Errorf("[Br2] = %g over liquid bromine, want %g", c, want)
	}
	if l := p.Solver.Amount(s.System().Index("Br2(l)")); math.Abs(l-(0.3*100/101-want)) > 1e-3 {
		t.Errorf("%g mol/L of liquid", l)
	}
}

// Davies turns constants for 0.1 mol/L into those at infinite dilution: for
// CaY^2- by A (4 + 16 - 4)(sqrt(I)/(1 + sqrt(I)) - 0.3 I), which adds 1.71.
func TestConstantsAreConvertedUnderAModel(t *testing.T) {
	text := `flask:
  volume: 25 mL
  contains: {CaCl2: 0.01 mol/L}
burette:
  contains: {Na2H2Y: 0.01 mol/L}
electrode: {indicator: Ca^2+}
hold: {pH: 10}
`
	ideal, davies := find(t, readText(t, text), "CaY^2-"), find(t, readText(t, text+"activity: {model: davies, A: 0.509}\n"), "CaY^2-")
	r := math.Sqrt(0.1)
	want := 0.509 * 16 * (r/(1+r) - 0.03)
	if got := (davies.lnK - ideal.lnK) / math.Ln10; math.Abs(got-want) > 1e-9 {
		t.Errorf("log K rose by %.4f, want %.4f", got, want)
	}
	if s := readText(t, text+"activity: davies\n"); !slices.ContainsFunc(s.Notes, func(n string) bool {
		return strings.Contains(n, "converted to infinite dilution") && strings.Contains(n, "CaY^2-")
	}) {
		t.Errorf("notes %q", s.Notes)
	}
}

// Above 60 °C the ion product of water goes on in a straight line over 1/T,
// with a warning. 70 °C: 12.81 by Marshall and Franck (1981), from memory.
func TestWaterBeyondItsTable(t *testing.T) {
	s := readText(t, `temperature: 70 °C
flask:
  volume: 20 mL
  contains: {HCl: 0.1 mol/L}
burette:
  contains: {NaOH: 0.1 mol/L}
`)
	checkWarnings(t, s, "ion product of water")
	if w := find(t, s, "H^+", "OH^-"); math.Abs(w.Value-12.81) > 0.03 {
		t.Errorf("pKw = %.3f", w.Value)
	}
}

func TestGlassNeedsNoMedium(t *testing.T) {
	s := readText(t, `flask:
  volume: 20 mL
  contains: {CH3COOH: 0.1 mol/L}
  medium: 1 mol/L KCl
burette:
  contains: {NaOH: 0.1 mol/L}
electrode: {indicator: glass}
`)
	find(t, s, "CH3COOH")
	if !slices.ContainsFunc(s.Notes, func(n string) bool { return strings.HasPrefix(n, "medium: ") }) {
		t.Errorf("notes %q", s.Notes)
	}
}
