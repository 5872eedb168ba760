package explain

import (
	"math"
	"strings"
	"testing"

	"meniscus/assay"
	"meniscus/setup"
	"meniscus/working"
)

// workedContent works out end points that are known.
func workedContent(t *testing.T, text string, ends ...string) *working.Document {
	t.Helper()
	s, err := setup.Read([]byte(text), "question.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var points []assay.StatedPoint
	for _, v := range ends {
		points = append(points, assay.StatedPoint{Volume: millilitres(t, v)})
	}
	e, err := assay.FromVolumes(points, s, nil)
	if err != nil {
		t.Fatal(err)
	}
	d, err := Content(e)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func reactions(d *working.Document) []string {
	var list []string
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if r, ok := b.(working.Reaction); ok {
				list = append(list, r.Equation)
			}
		}
	}
	return list
}

// Contents as worked on paper, each from the volume down to the basis. Values
// are arithmetic by hand with the molar masses 55.845 (Fe), 159.687 (Fe2O3),
// 63.546 (Cu), 176.124 (ascorbic acid), 105.988 (Na2CO3), 100.086 g/mol (CaCO3);
// the reactions are those of any textbook.
func TestContentsInFull(t *testing.T) {
	for name, c := range map[string]struct {
		setup     string
		ends      []string
		want      map[string][2]float64
		reactions []string
	}{
		// 36.92 mL of 0.02153 mol/L dichromate for 0.4891 g of ore: 77.86 % Fe2O3.
		// D. Harvey, Analytical Chemistry 2.1, section 9.4, worked example (from memory).
		"iron ore by dichromate": {
			`{find: Fe^2+, flask: {volume: 100 mL, contains: {Fe^2+: 0.05 mol/L}}, burette: {contains: {K2Cr2O7: 0.02153 mol/L}}, hold: {pH: 0}, sample: {mass: 0.4891 g, report as: "% Fe2O3"}}`,
			[]string{"36.92"},
			map[string][2]float64{"w(Fe₂O₃)": {77.86, 0.01}, "n(Fe²⁺)": {4.76932, 1e-5}, "n_sample(Fe₂O₃)": {2.38466, 1e-5}},
			[]string{"6 Fe^2+ + Cr2O7^2- + 14 H^+ = 6 Fe^3+ + 2 Cr^3+ + 7 H2O"},
		},
		"back titration with a blank": { // 5 - 0.1 × 12.30 = 3.770 mmol, a sixth of it in 25 mL
			`{find: Cr2O7^2-, blank: 0.05 mL, flask: {portions: [{volume: 25.00 mL, contains: {Cr2O7^2-: 0.02 mol/L}}, {volume: 50.00 mL, contains: {Fe^2+: 0.1000 mol/L}}]}, burette: {contains: {Ce^4+: 0.1000 mol/L}}, hold: {pH: 0}}`,
			[]string{"12.35"},
			map[string][2]float64{"V_net": {12.30, 1e-9}, "n_left(Fe²⁺)": {1.230, 1e-9}, "n_used(Fe²⁺)": {3.770, 1e-9}, "n(Cr₂O₇²⁻)": {0.6283333, 1e-7}, "c(Cr₂O₇²⁻)": {0.02513333, 1e-8}},
			[]string{"Fe^2+ + Ce^4+ = Fe^3+ + Ce^3+", "Cr2O7^2- + 6 Fe^2+ + 14 H^+ = 2 Cr^3+ + 6 Fe^3+ + 7 H2O"},
		},
		"two end points and a blank": { // 2 × 24.36 - 28.70 - 0.04 = 19.98 mL, and 4.34 mL
			`{find: [OH^-, CO3^2-], blank: 0.04 mL, flask: {volume: 25.00 mL, contains: {NaOH: 0.08 mol/L, Na2CO3: 0.02 mol/L}}, burette: {contains: {HCl: 0.1052 mol/L}}, sample: {volume: 50.00 mL, made up to: 250.0 mL, aliquot: 25.00 mL, report as: [g/L Na2CO3]}}`,
			[]string{"24.36", "28.70"},
			map[string][2]float64{"V_net(OH⁻)": {19.98, 1e-9}, "V_net(CO₃²⁻)": {4.34, 1e-9}, "c(OH⁻)": {0.08407584, 1e-8}, "w(Na₂CO₃)": {9.67806, 2e-4}},
			[]string{"CO3^2- + H^+ = HCO3^-", "HCO3^- + H^+ = CO2 + H2O"},
		},
		"something else takes titrant first": { // 1.440 - 0.250 mmol
			`{find: Fe^2+, flask: {volume: 50.00 mL, contains: {Fe^2+: 0.02 mol/L, Ti^3+: 0.005 mol/L}}, burette: {contains: {Ce^4+: 0.1 mol/L}}, hold: {pH: 0}, sample: {mass: 1.000 g, loss on drying: 2.0 %, report as: "% Fe2O3, dry basis"}}`,
			[]string{"14.40"},
			map[string][2]float64{"n(Fe²⁺)": {1.190, 1e-9}, "w_moist(Fe₂O₃)": {9.50138, 1e-4}, "w(Fe₂O₃)": {9.69528, 1e-4}},
			nil,
		},
		"a base of two hydroxides": { // 2 × 0.05 mol/L, and one of three protons
			`{find: H3PO4, flask: {volume: 50.00 mL, contains: {H3PO4: 0.02 mol/L}}, burette: {contains: {"Ba(OH)2": 0.05 mol/L}}, electrode: {indicator: glass}}`,
			[]string{"20.00"},
			map[string][2]float64{"c_t(OH⁻)": {0.1, 1e-12}, "c(H₃PO₄)": {0.04, 1e-9}},
			[]string{"H3PO4 + OH^- = H2PO4^- + H2O"},
		},
		"hardness": { // 10.00 mL × 0.0100 mol/L × 100.086 g/mol in 50 mL
			`{find: Ca^2+, flask: {volume: 100.0 mL, contains: {Ca^2+: 0.001 mol/L}}, burette: {contains: {Na2H2Y: 0.0100 mol/L}}, hold: {pH: 10}, electrode: {indicator: "Ca^2+", reference: SCE}, sample: {volume: 50.00 mL, report as: [mg/L as CaCO3, mmol/L Ca^2+]}}`,
			[]string{"10.00"},
			map[string][2]float64{"w₁(CaCO₃)": {200.172, 0.003}, "w₂(Ca²⁺)": {2.000, 1e-9}},
			[]string{"Ca^2+ + H2Y^2- = CaY^2- + 2 H^+"},
		},
		"copper by iodine": { // 24.38 mL × 0.1002 mol/L × 63.546 g/mol / 312.4 mg
			`{find: I2, flask: {volume: 50.00 mL, contains: {I2: 0.01 mol/L, KI: 0.1 mol/L}}, indirect: {analyte: Cu^2+, reaction: "2 Cu^2+ + 4 I^- = 2 CuI(s) + I2"}, burette: {contains: {Na2S2O3: 0.1002 mol/L}}, sample: {mass: 0.3124 g, report as: "% Cu"}}`,
			[]string{"24.38"},
			map[string][2]float64{"n(I₂)": {1.221438, 1e-6}, "n_sample(Cu²⁺)": {2.442876, 1e-6}, "w(Cu)": {49.69103, 1e-4}},
			[]string{"I2 + 2 S2O3^2- = 2 I^- + S4O6^2-", "2 Cu^2+ + 4 I^- = 2 CuI(s) + I2"},
		},
		"tablets and their label": { // 176.124 mg in 0.2200 g, a tablet of 0.6200 g, 500 mg claimed
			`{ratio: 1 to 1, find: C6H8O6, burette: {contains: {I2: 0.0500 mol/L}}, sample: {mass: 0.2200 g, tablet mass: 0.6200 g, label claim: 500 mg, loss on drying: 2.0 %, report as: [mg C6H8O6 per tablet, "% of label claim", "% C6H8O6, dry basis"]}}`,
			[]string{"20.00"},
			map[string][2]float64{"w₁(C₆H₈O₆)": {496.349, 0.003}, "w₂(C₆H₈O₆)": {99.2699, 6e-4}, "w_moist3(C₆H₈O₆)": {80.0564, 5e-4}, "w₃(C₆H₈O₆)": {81.6902, 5e-4}},
			nil,
		},
	} {
		t.Run(name, func(t *testing.T) {
			d := workedContent(t, c.setup, c.ends...)
			got, formulas := lastSteps(t, d)
			for symbol, w := range c.want {
				if x, ok := got[symbol]; !ok || math.Abs(x-w[0]) > w[1] || formulas[symbol] == nil {
					t.Errorf("%s = %.8g, want %g by a formula; have %v", symbol, x, w[0], got)
				}
			}
			if list := strings.Join(reactions(d), "; "); list != strings.Join(c.reactions, "; ") {
				t.Errorf("reactions %s, want %s", list, strings.Join(c.reactions, "; "))
			}
		})
	}
}

// A ratio comes from the reaction, never from the numbers: here the known
// titanium takes so much that iron over titrant happens to be 1 to 2, and the
// steps must still say one to one.
func TestRatioIsNotGuessed(t *testing.T) {
	d := workedContent(t, `{find: Fe^2+, flask: {volume: 50.00 mL, contains: {Fe^2+: 0.01 mol/L, Ti^3+: 0.0100 mol/L}}, burette: {contains: {Ce^4+: 0.1 mol/L}}, hold: {pH: 0}}`, "10.00")
	var b strings.Builder
	if err := working.WriteText(&b, d); err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(b.String()), " ")
	for _, want := range []string{"1 mol of Fe²⁺ takes 1 mol of Ce⁴⁺, and 1 mol of Ti³⁺ takes as much as 1 mol of Fe²⁺", "n(Fe²⁺) = n_t(Ce⁴⁺) − n₀(Ti³⁺) = 1.0000 mmol − 0.50000 mmol"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not said in\n%s", want, b.String())
		}
	}
}

// What several contents share is worked out once.
func TestContentsShareTheirSteps(t *testing.T) {
	d := workedContent(t, `{find: Fe^2+, flask: {volume: 50.00 mL, contains: {Fe^2+: 0.02 mol/L}}, burette: {contains: {Ce^4+: 0.1 mol/L}}, sample: {mass: 1.000 g, made up to: 250.0 mL, aliquot: 50.00 mL, report as: ["% Fe2O3", "% Fe", g/kg Fe]}}`, "12.00")
	seen := map[string]string{}
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if st, ok := b.(working.Step); ok {
				if where := seen[st.Quantity.Key()]; where != "" {
					t.Errorf("%s is worked out under %q and again under %q", st.Quantity.Key(), where, s.Title)
				}
				seen[st.Quantity.Key()] = s.Title
			}
		}
	}
	if seen["n_sample(Fe²⁺)"] == "" || seen["w₃(Fe)"] == "" {
		t.Errorf("steps missing: %v", seen)
	}
}

func TestFractionOf(t *testing.T) {
	for _, c := range []struct {
		x    float64
		p, q float64
	}{{0.4, 2, 5}, {-6, -6, 1}, {1.0 / 6, 1, 6}, {5.0 / 3 * (1 + 1e-12), 5, 3}, {0, 0, 1}} {
		if f, ok := fractionOf(c.x); !ok || f != (fraction{c.p, c.q}) {
			t.Errorf("%g: %v %v, want %g/%g", c.x, f, ok, c.p, c.q)
		}
	}
	for _, x := range []float64{math.Pi, 1.0001, 61, 1.0 / 61, math.NaN(), math.Inf(1)} {
		if f, ok := fractionOf(x); ok {
			t.Errorf("%g is %v", x, f)
		}
	}
}
