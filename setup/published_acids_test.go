package setup

import (
	"fmt"
	"math"
	"testing"

	"meniscus/internal/worked"
)

const waterRow = "H2O = H^+ + OH^-, log K: -14"

var publishedAcids = map[string]func(*testing.T, worked.Record){
	"ab-whitten-hoac":          acetic("100.0", "0.1", "0.1", 1.8e-5),
	"ab-skoog-weak":            acetic("50.0", "0.1", "0.1", 1.75e-5),
	"ab-harvey-weak":           acetic("50.0", "0.1", "0.2", 1.75e-5),
	"ab-skoog-strong-05":       strong("50.0", "H^+: 0.05", "OH^-: 0.1"),
	"ab-skoog-strong-0005":     strong("50.0", "H^+: 0.0005", "OH^-: 0.001"),
	"ab-harvey-strong":         strong("50.0", "H^+: 0.1", "OH^-: 0.2"),
	"ab-harvey-strong-2000":    strong("50.0", "H^+: 0.1", "OH^-: 0.2"),
	"ab-harris-koh-hbr":        strong("50.0", "OH^-: 0.02", "H^+: 0.1"),
	"ab-hcl-naoh-equal-volume": equalVolume,
	"ab-gran-identity":         granIdentity,
	"ab-harvey-standardisation": func(t *testing.T, r worked.Record) {
		// The printed c(NaOH) neutralises the phthalate weighed at the volume read.
		e, acid := r.Expected[0], input(t, r, "m_KHP_g")/input(t, r, "M_KHP")
		s := bench{
			volume: "50", flask: fmt.Sprintf("HC8H4O4^-: %.12g", acid/0.05), burette: fmt.Sprintf("OH^-: %g", e.Value),
			chemistry: []string{waterRow, "HC8H4O4^- = C8H4O4^2- + H^+, pKa: 5.408"},
		}.read(t)
		compare(t, r, e, e.Value*equivalence(t, s)/input(t, r, "V_mL"))
	},
	"ab-bowerbates-hcl-kcl": bowerBates("K^+: 0.05, Cl^-: %.6g, H^+: %.6g", 0.2, 0.05, nil),
	"ab-bowerbates-khp-naoh": bowerBates("K^+: 0.05, HC8H4O4^-: 0.05, Na^+: %.6g, OH^-: %.6g", 0.1, 0,
		[]string{"H2C8H4O4 = HC8H4O4^- + H^+, pKa: 2.950", "HC8H4O4^- = C8H4O4^2- + H^+, pKa: 5.408"}),
}

func acetic(volume, acid, base string, ka float64) func(*testing.T, worked.Record) {
	return func(t *testing.T, r worked.Record) {
		s := bench{
			volume: volume, flask: "CH3COOH: " + acid, burette: "OH^-: " + base,
			chemistry: []string{waterRow, fmt.Sprintf("CH3COOH = CH3COO^- + H^+, pKa: %.12g", -math.Log10(ka))},
		}.read(t)
		predicted(t, r, s, 0)
	}
}

func strong(volume, flask, burette string) func(*testing.T, worked.Record) {
	return func(t *testing.T, r worked.Record) {
		predicted(t, r, bench{volume: volume, flask: flask, burette: burette, chemistry: []string{waterRow}}.read(t), 0)
	}
}

// equalVolume: the acid found from the curve gives the curve, and as much
// base as acid.
func equalVolume(t *testing.T, r worked.Record) {
	e := expected(t, r, "c(HCl)")
	s := bench{volume: "20.0", flask: fmt.Sprintf("H^+: %g", e.Value), burette: "OH^-: 0.1", chemistry: []string{waterRow}}.read(t)
	predicted(t, r, s, 0)
	compare(t, r, e, 0.1*equivalence(t, s)/20)
}

// granIdentity fits V 10^-pH against V from 0.8 to 0.99 of V_e.
func granIdentity(t *testing.T, r worked.Record) {
	s := bench{
		volume: "50.0", flask: "MESH: 0.02", burette: "OH^-: 0.1",
		chemistry: []string{waterRow, "MESH = MES^- + H^+, pKa: 6.27, unbalanced: allowed"},
	}.read(t)
	p := s.Titration.Predictor()
	var n, sx, sy, sxx, sxy float64
	for v := 8.0; v < 9.95; v += 0.1 {
		y := v * math.Pow(10, -at(t, p, v).PH)
		n, sx, sy, sxx, sxy = n+1, sx+v, sy+y, sxx+v*v, sxy+v*y
	}
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	compare(t, r, expected(t, r, "-slope"), -slope)
	compare(t, r, expected(t, r, "Ve from 0.8-0.99 Ve data of ab-harris-mes"), -(sy-slope*sx)/n/slope)
}

// bowerBates mixes x mL of a solution into 100 mL, by Davies with A = 0.509;
// added (mol/L) comes on top of the first of the two concentrations. x is
// printed to 0.1 mL: what it leaves open counts with the tolerance.
func bowerBates(flask string, titrant, added float64, chemistry []string) func(*testing.T, worked.Record) {
	return func(t *testing.T, r worked.Record) {
		pH := func(mL float64) float64 {
			x := titrant * mL / 100
			s := bench{
				volume: "100", flask: fmt.Sprintf(flask, x+added, x), burette: "K^+: 0.1, Cl^-: 0.1",
				chemistry: append([]string{"H2O = H^+ + OH^-, log K: -13.995"}, chemistry...),
				lines:     "activity: {model: davies, A: 0.509}\n",
			}.read(t)
			return at(t, s.Titration.Predictor(), 0).PH
		}
		for _, e := range r.Expected {
			x := numberIn(t, e.Quantity, "x=")
			a, b := pH(x-0.05), pH(x+0.05)
			compare(t, r, e, math.Max(math.Min(a, b), math.Min(math.Max(a, b), e.Value)))
		}
	}
}
