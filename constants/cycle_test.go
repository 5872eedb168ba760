package constants

import (
	"math"
	"testing"

	"meniscus/chem"
	"meniscus/unit"
)

// A step is a reaction of the tables, taken times times.
type step struct {
	kind     Kind
	reaction string
	times    float64
}

// cycles are sums of reactions that come to nothing, so that their ln K must
// add up to zero: an independent check of values against one another. The
// tolerance, in decadic logarithms, is what the doubt of the rows allows.
var cycles = []struct {
	name      string
	tolerance float64
	steps     []step
}{
	{"AgCl", 0.05, []step{{StandardPotential, "Ag^+ + e^- = Ag(s)", 1}, {StandardPotential, "AgCl(s) + e^- = Ag(s) + Cl^-", -1}, {PKsp, "AgCl(s) = Ag^+ + Cl^-", 1}}},
	{"AgBr", 0.05, []step{{StandardPotential, "Ag^+ + e^- = Ag(s)", 1}, {StandardPotential, "AgBr(s) + e^- = Ag(s) + Br^-", -1}, {PKsp, "AgBr(s) = Ag^+ + Br^-", 1}}},
	{"AgI", 0.05, []step{{StandardPotential, "Ag^+ + e^- = Ag(s)", 1}, {StandardPotential, "AgI(s) + e^- = Ag(s) + I^-", -1}, {PKsp, "AgI(s) = Ag^+ + I^-", 1}}},
	{"AgSCN", 0.05, []step{{StandardPotential, "Ag^+ + e^- = Ag(s)", 1}, {StandardPotential, "AgSCN(s) + e^- = Ag(s) + SCN^-", -1}, {PKsp, "AgSCN(s) = Ag^+ + SCN^-", 1}}},
	{"Ag2CrO4", 0.15, []step{{StandardPotential, "Ag^+ + e^- = Ag(s)", 2}, {StandardPotential, "Ag2CrO4(s) + 2 e^- = 2 Ag(s) + CrO4^2-", -1}, {PKsp, "Ag2CrO4(s) = 2 Ag^+ + CrO4^2-", 1}}},
	{"Ag2C2O4", 0.2, []step{{StandardPotential, "Ag^+ + e^- = Ag(s)", 2}, {StandardPotential, "Ag2C2O4(s) + 2 e^- = 2 Ag(s) + C2O4^2-", -1}, {PKsp, "Ag2C2O4(s) = 2 Ag^+ + C2O4^2-", 1}}},
	{"Ag(NH3)2", 0.05, []step{{StandardPotential, "Ag^+ + e^- = Ag(s)", 1}, {StandardPotential, "Ag(NH3)2^+ + e^- = Ag(s) + 2 NH3", -1}, {LogBeta, "Ag^+ + 2 NH3 = Ag(NH3)2^+", -1}}},
	{"Hg2Cl2", 0.5, []step{{StandardPotential, "Hg2^2+ + 2 e^- = 2 Hg(l)", 1}, {StandardPotential, "Hg2Cl2(s) + 2 e^- = 2 Hg(l) + 2 Cl^-", -1}, {PKsp, "Hg2Cl2(s) = Hg2^2+ + 2 Cl^-", 1}}},
	{"CuI", 0.2, []step{{StandardPotential, "Cu^2+ + e^- = Cu^+", 1}, {StandardPotential, "Cu^2+ + I^- + e^- = CuI(s)", -1}, {PKsp, "CuI(s) = Cu^+ + I^-", -1}}},
	{"CuCl", 0.3, []step{{StandardPotential, "Cu^2+ + e^- = Cu^+", 1}, {StandardPotential, "Cu^2+ + Cl^- + e^- = CuCl(s)", -1}, {PKsp, "CuCl(s) = Cu^+ + Cl^-", -1}}},
	{"triiodide", 0.25, []step{{StandardPotential, "I2 + 2 e^- = 2 I^-", 1}, {StandardPotential, "I3^- + 2 e^- = 3 I^-", -1}, {LogK, "I2 + I^- = I3^-", -1}}},
	{"iodine", 0.25, []step{{StandardPotential, "I2(s) + 2 e^- = 2 I^-", 1}, {StandardPotential, "I2 + 2 e^- = 2 I^-", -1}, {PKsp, "I2(s) = I2", -1}}},
	{"tribromide", 0.4, []step{{StandardPotential, "Br2 + 2 e^- = 2 Br^-", 1}, {StandardPotential, "Br3^- + 2 e^- = 3 Br^-", -1}, {LogK, "Br2 + Br^- = Br3^-", -1}}},
	{"iodate", 0.4, []step{{StandardPotential, "IO3^- + 6 H^+ + 6 e^- = I^- + 3 H2O", 2}, {StandardPotential, "2 IO3^- + 12 H^+ + 10 e^- = I2(s) + 6 H2O", -1}, {StandardPotential, "I2(s) + 2 e^- = 2 I^-", -1}}},
	{"iodine chloride", 1.3, []step{{StandardPotential, "IO3^- + 6 H^+ + 2 Cl^- + 4 e^- = ICl2^- + 3 H2O", 2}, {StandardPotential, "2 ICl2^- + 2 e^- = I2(s) + 4 Cl^-", 1}, {StandardPotential, "2 IO3^- + 12 H^+ + 10 e^- = I2(s) + 6 H2O", -1}}},
	{"bromate", 1, []step{{StandardPotential, "BrO3^- + 6 H^+ + 6 e^- = Br^- + 3 H2O", 2}, {StandardPotential, "2 BrO3^- + 12 H^+ + 10 e^- = Br2(l) + 6 H2O", -1}, {StandardPotential, "Br2(l) + 2 e^- = 2 Br^-", -1}}},
	{"perchlorate", 1, []step{{StandardPotential, "ClO4^- + 8 H^+ + 8 e^- = Cl^- + 4 H2O", 1}, {StandardPotential, "ClO4^- + 2 H^+ + 2 e^- = ClO3^- + H2O", -1}, {StandardPotential, "ClO3^- + 6 H^+ + 6 e^- = Cl^- + 3 H2O", -1}}},
	{"permanganate", 0.2, []step{{StandardPotential, "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", 1}, {StandardPotential, "MnO4^- + 4 H^+ + 3 e^- = MnO2(s) + 2 H2O", -1}, {StandardPotential, "MnO2(s) + 4 H^+ + 2 e^- = Mn^2+ + 2 H2O", -1}}},
	{"permanganate in alkali", 0.5, []step{{StandardPotential, "MnO4^- + 4 H^+ + 3 e^- = MnO2(s) + 2 H2O", 1}, {StandardPotential, "MnO4^- + 2 H2O + 3 e^- = MnO2(s) + 4 OH^-", -1}, {PKw, "H2O = H^+ + OH^-", 4}}},
	{"dichromate", 0.6, []step{{StandardPotential, "HCrO4^- + 7 H^+ + 3 e^- = Cr^3+ + 4 H2O", 2}, {StandardPotential, "Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O", -1}, {LogK, "2 HCrO4^- = Cr2O7^2- + H2O", -1}}},
	{"hydrogen peroxide", 0.1, []step{{StandardPotential, "O2(g) + 4 H^+ + 4 e^- = 2 H2O", 1}, {StandardPotential, "O2(g) + 2 H^+ + 2 e^- = H2O2", -1}, {StandardPotential, "H2O2 + 2 H^+ + 2 e^- = 2 H2O", -1}}},
	{"oxygen in alkali", 0.05, []step{{StandardPotential, "O2(g) + 4 H^+ + 4 e^- = 2 H2O", 1}, {StandardPotential, "O2(g) + 2 H2O + 4 e^- = 4 OH^-", -1}, {PKw, "H2O = H^+ + OH^-", 4}}},
	{"hydrogen in alkali", 0.05, []step{{StandardPotential, "2 H^+ + 2 e^- = H2(g)", 1}, {StandardPotential, "2 H2O + 2 e^- = H2(g) + 2 OH^-", -1}, {PKw, "H2O = H^+ + OH^-", 2}}},
	{"lead dioxide", 0.3, []step{{StandardPotential, "PbO2(s) + SO4^2- + 4 H^+ + 2 e^- = PbSO4(s) + 2 H2O", 1}, {StandardPotential, "PbO2(s) + 4 H^+ + 2 e^- = Pb^2+ + 2 H2O", -1}, {PKsp, "PbSO4(s) = Pb^2+ + SO4^2-", 1}}},
	{"copper", 1, []step{{StandardPotential, "Cu^2+ + 2 e^- = Cu(s)", 1}, {StandardPotential, "Cu^2+ + e^- = Cu^+", -1}, {StandardPotential, "Cu^+ + e^- = Cu(s)", -1}}},
	{"mercury", 2.5, []step{{StandardPotential, "Hg^2+ + 2 e^- = Hg(l)", 2}, {StandardPotential, "2 Hg^2+ + 2 e^- = Hg2^2+", -1}, {StandardPotential, "Hg2^2+ + 2 e^- = 2 Hg(l)", -1}}},
	{"iron(III) hydroxide", 0.05, []step{{LogBeta, "Fe^3+ + OH^- = FeOH^2+", 1}, {PKw, "H2O = H^+ + OH^-", 1}, {PKa, "Fe^3+ + H2O = FeOH^2+ + H^+", -1}}},
}

// preferred returns the first active or inactive row of a kind and reaction.
func preferred(t *testing.T, kind Kind, reaction string) Row {
	t.Helper()
	p, err := chem.ParseReaction(reaction)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all(t) {
		if r.Kind == kind && reactionKey(r.Reaction) == reactionKey(p) && (kind != PKw || r.Temperature == unit.Celsius(25)) {
			if r.Reaction.String() != p.String() {
				t.Fatalf("%s: the table has it as %s", reaction, r.Reaction)
			}
			return r
		}
	}
	t.Fatalf("no %s of %s", kind, reaction)
	return Row{}
}

func TestCycles(t *testing.T) {
	for _, c := range cycles {
		sum := 0.0
		left := map[string]float64{}
		for _, s := range c.steps {
			r := preferred(t, s.kind, s.reaction)
			lnK, _ := r.LnK(unit.Celsius(25))
			sum += s.times * lnK / math.Ln10
			for _, term := range r.Reaction.Terms {
				left[SpeciesKey(term.Species)] += s.times * term.Coefficient.Float()
			}
		}
		for name, x := range left {
			if math.Abs(x) > 1e-9 {
				t.Errorf("%s: %g %s are left over", c.name, x, name)
			}
		}
		if math.Abs(sum) > c.tolerance {
			t.Errorf("%s: the logarithms add up to %.3f, tolerance %g", c.name, sum, c.tolerance)
		}
	}
}
