package setup

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/equilibrium"
	"meniscus/internal/worked"
	"meniscus/unit"
)

var publishedElectrolytes = func() map[string]func(*testing.T, worked.Record) {
	m := map[string]func(*testing.T, worked.Record){
		"nernst-slope":      nernstSlope,
		"nernst-slope-text": func(t *testing.T, r worked.Record) { compare(t, r, r.Expected[0], slopeAt(t, 25)) },

		"buf-nbs-1": buffer("tartrate"), "buf-nbs-2": buffer("citrate"), "buf-nbs-3": buffer("phthalate"),
		"buf-nbs-4": buffer("phosphate"), "buf-nbs-5": buffer("phosphate 7.4"), "buf-nbs-6": buffer("borax"),
		"buf-nbs-7": buffer("carbonate"), "buf-nbs-8": buffer("tetroxalate"), "buf-nbs-9": buffer("lime"),
		"buf-jis-phthalate": buffer("phthalate"), "buf-jis-phosphate": buffer("phosphate"),
		"buf-jis-borax": buffer("borax"), "buf-jis-carbonate": buffer("carbonate"),
		"buf-phthalate-hetzer": buffer("phthalate"), "buf-phthalate-hamer": buffer("phthalate"),
		"buf-citrate-carbonate": func(t *testing.T, r worked.Record) {
			for i, name := range []string{"citrate", "carbonate", "borax"} {
				compareBuffer(t, r, r.Expected[i], buffers[name], 25)
			}
		},
		"buf-values":  bufferValues,
		"buf-recipes": bufferRecipes,

		"debye-huckel-AB-T": debyeHuckelTable,
		"davies-examples":   daviesExamples,
		"bates-guggenheim":  batesGuggenheim,
		"davies-standard":   daviesStandard,
		"gamma-HCl":         gammaHCl,
		"pKw-molal":         waterTable,
		"pKw-iapws":         waterTable,
	}
	for _, id := range []string{"z1-a2.5", "z1-a3", "z1-a4", "z1-a6", "z1-a9", "z2-a4.5", "z2-a5", "z2-a6", "z2-a8", "z3-a4"} {
		m["kielland-"+id] = kielland
	}
	return m
}()

// slopeAt is RT ln10/F as a titration at t °C has it, V.
func slopeAt(t *testing.T, celsius float64) float64 {
	t.Helper()
	s := readText(t, fmt.Sprintf("temperature: %g °C\n", celsius)+ironFlask+ceriumBurette+`library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
`)
	return s.Titration.Thermal() * math.Ln10
}

func nernstSlope(t *testing.T, r worked.Record) {
	for _, e := range r.Expected {
		compare(t, r, e, 1e3*slopeAt(t, numberIn(t, e.Quantity, " at ")))
	}
}

// A standardBuffer is what is in a buffer, in mol/L: molalities times the
// density of water, 0.9971, less what the solute takes up.
type standardBuffer struct {
	contains, activity, lines string
	within                    float64 // pH at 25 °C
	why                       string  // where more than 0.01
}

// The chemistry is that of the tables. Davies serves but for the equimolal
// phosphate (I = 0.1 mol/L, where Davies makes HPO4^2- too active by 0.013 pH),
// which takes the extended Debye-Hückel equation with Kielland's sizes.
var buffers = map[string]standardBuffer{
	"tartrate":      {"K^+: 0.0339, HC4H4O6^-: 0.0339", "davies", "", 0.01, ""},
	"citrate":       {"K^+: 0.04958, H2C6H5O7^-: 0.04958", "davies", "", 0.01, ""},
	"phthalate":     {"K^+: 0.04958, HC8H4O4^-: 0.04958", "davies", "", 0.01, ""},
	"phosphate":     {"KH2PO4: 0.02490, Na2HPO4: 0.02490", "debye-huckel", "", 0.01, ""},
	"phosphate 7.4": {"KH2PO4: 0.008665, Na2HPO4: 0.03032", "davies", "", 0.01, ""},
	"borax":         {"Na2B4O7: 0.009971", "davies", "", 0.01, ""},
	"carbonate": {
		"NaHCO3: 0.02492, Na2CO3: 0.02492", "davies", "leave out: [NaCO3^-]\n", 0.01,
		"the constants of carbonic acid count the pair of sodium and carbonate as carbonate; with the pair the pH would be 0.16 lower",
	},
	"tetroxalate": {"K^+: 0.0496, HC2O4^-: 0.0496, H2C2O4: 0.0496", "davies", "", 0.01, ""},
	"lime": {
		"Ca^2+: 0.0202, OH^-: 0.0404", "debye-huckel", "", 0.013,
		"a secondary standard: its pH hangs on the stability of CaOH^+, known to 0.1 in log K",
	},
}

func (b standardBuffer) read(t *testing.T, celsius float64) *Setup {
	t.Helper()
	return readText(t, fmt.Sprintf("temperature: %g °C\nflask:\n  volume: 100 mL\n  contains: {%s}\nburette:\n  contains: {HCl: 0.1 mol/L}\nelectrode: {indicator: glass}\nactivity: %s\n%s",
		celsius, molar(b.contains), b.activity, b.lines))
}

var bufferTemperature = regexp.MustCompile(`([0-9.]+) C`)

func buffer(name string) func(*testing.T, worked.Record) {
	return func(t *testing.T, r worked.Record) {
		for _, e := range r.Expected {
			compareBuffer(t, r, e, buffers[name], parse(t, bufferTemperature.FindStringSubmatch(e.Quantity)[1]))
		}
	}
}

// compareBuffer: 0.01 pH at 25 °C beside the doubt of the print. Away from it
// the tables know an enthalpy and no heat capacity, whose effect grows with the
// square of the distance: 9e-5 pH a square kelvin covers it for the
// buffers here (borax and carbonate 0.06 at 0 °C). Above 60 °C there is no A, B nor pKw.
func compareBuffer(t *testing.T, r worked.Record, e worked.Expected, b standardBuffer, celsius float64) {
	t.Helper()
	if celsius > 60 {
		t.Logf("%s: not recomputed: the tables of A, B and pKw end at 60 °C", e.Quantity)
		return
	}
	p := b.read(t, celsius).Titration.Predictor()
	got := at(t, p, 0).PH
	allowed := b.within + e.Tolerance + 9e-5*(celsius-25)*(celsius-25)
	if math.Abs(got-e.Value) > allowed {
		t.Errorf("%s: pH %.4f, want %.3f ± %.3f (%s, %s)", e.Quantity, got, e.Value, allowed, r.Source, origin(r))
	}
	if celsius == 25 {
		t.Logf("%s: %+.4f by %s; %s", e.Quantity, got-e.Value, b.activity, b.why)
	}
}

// bufferValues: the capacity that the solution shows, mol/L a pH, against a
// page that says neither its constants nor its activity coefficients: most of
// its values agree to a sixth. Tetroxalate (0.10 here) and lime (0.26, its solid
// dissolving) are printed for something else and are not compared.
func bufferValues(t *testing.T, r worked.Record) {
	names := []string{"tartrate", "citrate", "phthalate", "phosphate", "phosphate 7.4", "borax", "carbonate"}
	for i, name := range names {
		s := buffers[name].read(t, 25)
		p := s.Titration.Predictor()
		at(t, p, 0)
		got, e := math.Ln10*p.Solver.Capacity(s.System().Index("H^+")), r.Expected[i]
		if math.Abs(got/e.Value-1) > 1.0/6 {
			t.Errorf("%s: %.4f mol/L a pH, want %.3f (%s)", e.Quantity, got, e.Value, r.Source)
		}
	}
	for _, e := range r.Expected[len(names):] {
		t.Logf("%s: not recomputed: what the page means is not said", e.Quantity)
	}
}

// bufferRecipes: grams in a litre against the molarity on the label, to the
// 1 % by which molal labels, weights in air and rounding differ.
func bufferRecipes(t *testing.T, r worked.Record) {
	salts := map[string]string{
		"K tetroxalate": "KHC2O4·H2C2O4·2H2O", "KH phthalate": "KHC8H4O4", "borax": "Na2B4O7·10H2O",
	}
	for _, e := range r.Expected {
		words := strings.Fields(strings.TrimSuffix(e.Quantity, " M"))
		name, c := strings.Join(words[:len(words)-1], " "), parse(t, words[len(words)-1])
		if full, ok := salts[name]; ok {
			name = full
		}
		sp, err := chem.ParseSpecies(name)
		if err != nil {
			t.Errorf("%s: %v", e.Quantity, err)
			continue
		}
		m, err := sp.MolarMass()
		if err != nil {
			t.Fatal(err)
		}
		if got := c * float64(m.Value); math.Abs(got/e.Value-1) > 0.01 {
			t.Errorf("%s: %.3f g/L, printed %.3f (%s)", e.Quantity, got, e.Value, r.Source)
		}
	}
}

// gamma is the activity coefficient of a trace of an ion in a 1:1 salt.
func gamma(t *testing.T, a equilibrium.Activity, charge int, size, ionic float64) float64 {
	t.Helper()
	sys, err := equilibrium.NewSystem([]equilibrium.Species{{Name: "X", Charge: charge, IonSize: size}, {Name: "M", Charge: 1}, {Name: "L", Charge: -1}, {Name: "ML"}},
		[]equilibrium.Reaction{{Name: "M + L = ML", Terms: []equilibrium.Term{{Species: 1, Num: -1}, {Species: 2, Num: -1}, {Species: 3, Num: 1}}, LnK: -100}})
	if err != nil {
		t.Fatal(err)
	}
	dec := func(x float64) unit.Decimal { d, _ := unit.DecimalOf(x); return d }
	p, err := sys.NewProblem(equilibrium.Mixture{Volume: dec(1), Flask: []equilibrium.Amount{{Species: 0, Value: dec(1e-14)}, {Species: 1, Value: dec(ionic)}, {Species: 2, Value: dec(ionic)}}}, a)
	if err != nil {
		t.Fatal(err)
	}
	s := p.NewSolver()
	if err := s.At(dec(0)); err != nil {
		t.Fatal(err)
	}
	return s.Gamma(0)
}

func kielland(t *testing.T, r worked.Record) {
	a := equilibrium.Activity{Model: equilibrium.DebyeHuckel, A: input(t, r, "A"), B: input(t, r, "B_1e8"), Limit: 2}
	for _, e := range r.Expected {
		compare(t, r, e, gamma(t, a, int(input(t, r, "charge")), input(t, r, "ion_size_angstrom"), numberIn(t, e.Quantity, "I=")))
	}
}

func daviesStandard(t *testing.T, r worked.Record) {
	a := equilibrium.Activity{Model: equilibrium.Davies, A: 0.509, Limit: 2}
	for _, e := range r.Expected {
		compare(t, r, e, gamma(t, a, int(numberIn(t, e.Quantity, "z=")), 0, numberIn(t, e.Quantity, "I=")))
	}
}

func daviesExamples(t *testing.T, r worked.Record) {
	_, b, err := constants.DebyeHuckel(unit.Celsius(20))
	if err != nil {
		t.Fatal(err)
	}
	A := input(t, r, "A")
	compare(t, r, r.Expected[0], math.Log10(gamma(t, equilibrium.Activity{Model: equilibrium.DebyeHuckel, A: A, B: b}, -1, 3, 0.00204)))
	compare(t, r, r.Expected[1], math.Log10(gamma(t, equilibrium.Activity{Model: equilibrium.Davies, A: A}, -1, 0, 0.1)))
}

// batesGuggenheim: the convention is the extended equation with B a = 1.5,
// which a size of 1.5/B gives chloride.
func batesGuggenheim(t *testing.T, r worked.Record) {
	A, B, err := constants.DebyeHuckel(unit.Celsius(25))
	if err != nil {
		t.Fatal(err)
	}
	e := r.Expected[0]
	for _, ionic := range []float64{0.01, 0.05, 0.1} {
		lg := math.Log10(gamma(t, equilibrium.Activity{Model: equilibrium.DebyeHuckel, A: A, B: B}, -1, e.Value/B, ionic))
		compare(t, r, e, (-A*math.Sqrt(ionic)/lg-1)/math.Sqrt(ionic))
	}
}

// gammaHCl: sizes 9 and 3 angstrom give the mean coefficient to 0.01 up to
// 0.1 mol/kg. Beyond, no model here knows it: Davies is off by 0.02 at 0.5, where
// warnings begin.
func gammaHCl(t *testing.T, r worked.Record) {
	dh := equilibrium.Activity{Model: equilibrium.DebyeHuckel, Limit: 2}
	for _, e := range r.Expected {
		m := numberIn(t, e.Quantity, "m=")
		got := math.Sqrt(gamma(t, dh, 1, 9, m) * gamma(t, dh, -1, 3, m))
		switch {
		case m <= 0.1 && math.Abs(got-e.Value) > 0.01:
			t.Errorf("%s: %.4f, want %.3f (%s, %s)", e.Quantity, got, e.Value, r.Source, origin(r))
		case m > 0.1 && m < 0.5:
			t.Logf("%s: %.4f, print %.3f: between what the model can do and where it fails", e.Quantity, got, e.Value)
		case m >= 0.5:
			davies := gamma(t, equilibrium.Activity{Model: equilibrium.Davies, Limit: 2}, 1, 0, m)
			if math.Abs(got-e.Value) < 0.01 || math.Abs(davies-e.Value) < 0.01 {
				t.Errorf("%s: %.4f and %.4f by Davies agree with %.3f; the limit is further out than said", e.Quantity, got, davies, e.Value)
			}
		}
	}
}

func debyeHuckelTable(t *testing.T, r worked.Record) {
	for _, e := range r.Expected {
		a, b, err := constants.DebyeHuckel(unit.Celsius(numberIn(t, e.Quantity, " at ")))
		if err != nil {
			t.Fatal(err)
		}
		got := a
		if strings.HasPrefix(e.Quantity, "B") {
			got = b
		}
		compare(t, r, e, got)
	}
}

func waterTable(t *testing.T, r worked.Record) {
	for _, e := range r.Expected {
		pk, err := constants.WaterPK(unit.Celsius(numberIn(t, e.Quantity, " at ")))
		if err != nil {
			t.Fatal(err)
		}
		compare(t, r, e, pk)
	}
}
