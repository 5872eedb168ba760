package setup

import (
	"fmt"
	"math"
	"testing"

	"meniscus/internal/worked"
)

const (
	ironRow   = "Fe^3+ + e^- = Fe^2+, formal potential: %g V"
	ceriumRow = "Ce^4+ + e^- = Ce^3+, formal potential: %g V"
	permRow   = "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, formal potential: %g V"
)

var publishedRedox = map[string]func(*testing.T, worked.Record){
	"redox-harvey-fe-ce-hclo4": func(t *testing.T, r worked.Record) {
		ironCerium(t, r, "50.0", "0.1", 0.767, 1.70, 0.05916, 0)
	},
	"redox-skoog-fe-ce-h2so4": func(t *testing.T, r worked.Record) {
		ironCerium(t, r, "50.0", "0.05", 0.68, 1.44, 0.0592, 0)
	},
	"redox-harris-fe-ce-sce": func(t *testing.T, r worked.Record) {
		ironCerium(t, r, "100.0", "0.05", 0.767, 1.70, 0.05916, 0.241)
	},
	"redox-vogel-fe-ce": func(t *testing.T, r worked.Record) {
		ironCerium(t, r, "100.0", "0.1", 0.75, 1.45, 0.0591, 0)
	},
	"redox-harris-sn-tl": func(t *testing.T, r worked.Record) {
		s := bench{
			volume: "25.0", flask: "Sn^2+: 0.01", burette: "Tl^3+: 0.05",
			chemistry: []string{"Sn^4+ + 2 e^- = Sn^2+, formal potential: 0.139 V", "Tl^3+ + 2 e^- = Tl^+, formal potential: 0.77 V"},
		}.read(t)
		predicted(t, r, s, 0.241)
	},
	"redox-harris-fe-mno4": func(t *testing.T, r worked.Record) {
		predicted(t, r, ironPermanganate(t, "400.0", "0.00375", 0.68, 1.507, 0, 0), 0.241)
	},
	"redox-eqpt-symmetric": func(t *testing.T, r worked.Record) {
		s := bench{
			volume: "50", flask: "Fe^2+: 0.1", burette: "Ce^4+: 0.1",
			chemistry: []string{fmt.Sprintf(ironRow, 0.68), fmt.Sprintf(ceriumRow, 1.44)},
		}.read(t)
		compare(t, r, r.Expected[0], at(t, s.Titration.Predictor(), 50).Standard)
	},
	"redox-eqpt-sn-ce": func(t *testing.T, r worked.Record) {
		s := bench{
			volume: "50", flask: "Sn^2+: 0.05", burette: "Ce^4+: 0.1",
			chemistry: []string{"Sn^4+ + 2 e^- = Sn^2+, formal potential: 0.14 V", fmt.Sprintf(ceriumRow, 1.44)},
		}.read(t)
		compare(t, r, r.Expected[0], at(t, s.Titration.Predictor(), 50).Standard)
	},
	"redox-eqpt-fe-mno4-pH": func(t *testing.T, r worked.Record) {
		e0, e1 := ironPermanganateEquivalence(t, 0.68, 1.51, 0), ironPermanganateEquivalence(t, 0.68, 1.51, 1)
		compare(t, r, expected(t, r, "Eeq at pH 0"), e0)
		compare(t, r, expected(t, r, "Eeq at pH 1"), e1)
		compare(t, r, expected(t, r, "dEeq/dpH"), e1-e0)
	},
	"redox-harvey-eq-fe-mno4": func(t *testing.T, r worked.Record) {
		e0, e1 := ironPermanganateEquivalence(t, 0.771, 1.51, 0), ironPermanganateEquivalence(t, 0.771, 1.51, 1)
		compare(t, r, expected(t, r, "pH coefficient"), e1-e0)
		compare(t, r, expected(t, r, "Eeq at pH 0 with 0.771 and 1.51 V (computed)"), e0)
		compare(t, r, expected(t, r, "Eeq at pH 1 (computed)"), e1)
	},
	"redox-eqpt-fe-cr2o7-asym":       dichromateEquivalence,
	"redox-harvey-fe-ore-dichromate": ironOre,
	"redox-vogel-K-fe-mno4":          vogelConstant,
}

func ironCerium(t *testing.T, r worked.Record, volume, iron string, fe, ce, slope, reference float64) {
	t.Helper()
	s := bench{
		volume: volume, flask: "Fe^2+: " + iron, burette: "Ce^4+: 0.1", slope: slope,
		chemistry: []string{fmt.Sprintf(ironRow, fe), fmt.Sprintf(ceriumRow, ce)},
	}.read(t)
	predicted(t, r, s, reference)
}

func ironPermanganate(t *testing.T, volume, iron string, fe, mn, pH, slope float64) *Setup {
	t.Helper()
	return bench{
		volume: volume, flask: "Fe^2+: " + iron, burette: "MnO4^-: 0.02", slope: slope,
		chemistry: []string{fmt.Sprintf(ironRow, fe), fmt.Sprintf(permRow, mn)},
		lines:     fmt.Sprintf("hold: {pH: %g}\n", pH),
	}.read(t)
}

// ironPermanganateEquivalence returns E at V_eq, 50 mL of 0.1 mol/L iron.
func ironPermanganateEquivalence(t *testing.T, fe, mn, pH float64) float64 {
	t.Helper()
	s := ironPermanganate(t, "50", "0.1", fe, mn, pH, 0)
	return at(t, s.Titration.Predictor(), 50).Standard
}

// dichromateEquivalence: equal volumes of 6 c iron and c dichromate leave
// [Cr3+] = c. The weighted average 1.2501 V does not hold, whatever c.
func dichromateEquivalence(t *testing.T, r worked.Record) {
	for _, e := range r.Expected {
		c := numberIn(t, e.Quantity, "[Cr3+]")
		s := bench{
			volume: "50", flask: fmt.Sprintf("Fe^2+: %g", 6*c), burette: fmt.Sprintf("Cr2O7^2-: %g", c),
			chemistry: []string{fmt.Sprintf(ironRow, 0.771), "Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O, formal potential: 1.33 V"},
			lines:     "hold: {pH: 0}\n",
		}.read(t)
		got := at(t, s.Titration.Predictor(), 50).Standard
		compare(t, r, e, got)
		if average := (0.771 + 6*1.33) / 7; math.Abs(got-average) < 0.005 {
			t.Errorf("%s: the weighted average %.4f V would do", e.Quantity, average)
		}
	}
}

// ironOre: the printed content asks for the printed volume.
func ironOre(t *testing.T, r worked.Record) {
	e := r.Expected[0]
	iron := 2 * input(t, r, "m_sample_g") * e.Value / 100 / input(t, r, "M_Fe2O3") // mol
	s := bench{
		volume: "100", flask: fmt.Sprintf("Fe^2+: %.12g", iron/0.1), burette: "Cr2O7^2-: 0.02153",
		chemistry: []string{fmt.Sprintf(ironRow, 0.68), "Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O, formal potential: 1.05 V"},
		lines:     "hold: {pH: 0}\n",
	}.read(t)
	compare(t, r, e, e.Value*input(t, r, "V_mL")/equivalence(t, s))
}

// vogelConstant: 90 mL with 1 mmol of iron, and 10 mL of permanganate.
func vogelConstant(t *testing.T, r worked.Record) {
	s := ironPermanganate(t, "90", "0.0111111111111111", 0.77, 1.52, 0, 0.0591)
	lnK := s.System().Reactions[1].LnK - 5*s.System().Reactions[0].LnK
	compare(t, r, expected(t, r, "log K"), lnK/math.Ln10)
	for _, name := range []string{"[Fe3+]", "[Mn2+]"} {
		e := expected(t, r, name)
		compare(t, r, e, place1(t, s, worked.Place{What: name, VolumeML: "10"}, 0))
	}
}
