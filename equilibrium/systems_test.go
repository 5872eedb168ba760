package equilibrium

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"meniscus/chem"
	"meniscus/unit"
)

// A sample is a titration for the laws: reactions with log K, what is in the
// flask and in the burette (mol/L), what is held, and volumes in mL to look
// at. The constants are round numbers near the usual ones: the laws hold for
// any.
type sample struct {
	name      string
	reactions []string // "equation; log K"
	flask     string   // "Fe^2+ 0.05, Na^+ 0.1", in 50 mL
	burette   string
	held      string // "H^+ -1" is a log activity, "[NH3] -1" a log concentration
	volumes   []float64
	solids    bool
}

const water = "H2O = H^+ + OH^-; -14"

var samples = []sample{
	{
		name:      "iron with cerium",
		reactions: []string{"Fe^3+ + e^- = Fe^2+; 11.5", "Ce^4+ + e^- = Ce^3+; 24.3"},
		flask:     "Fe^2+ 0.01, Cl^- 0.02", burette: "Ce^4+ 0.02, Cl^- 0.08",
		volumes: []float64{5, 24, 25.5, 40},
	},
	{
		name:      "iron with permanganate at held pH",
		reactions: []string{"Fe^3+ + e^- = Fe^2+; 11.5", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O; 127", water},
		flask:     "Fe^2+ 0.01, Cl^- 0.02", burette: "K^+ 0.004, MnO4^- 0.004", held: "H^+ -1",
		volumes: []float64{5, 24, 25.5, 40},
	},
	{
		name:      "iron with dichromate in acid that is used up",
		reactions: []string{"Fe^3+ + e^- = Fe^2+; 13", "Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O; 138", "HSO4^- = H^+ + SO4^2-; -1.99", "FeSO4^+ = Fe^3+ + SO4^2-; -4.04", water},
		flask:     "Fe^2+ 0.01, SO4^2- 0.06, H^+ 0.1", burette: "K^+ 0.004, Cr2O7^2- 0.002",
		volumes: []float64{5, 24, 46, 60},
	},
	{
		name:      "citric acid with sodium hydroxide",
		reactions: []string{"C6H8O7 = C6H7O7^- + H^+; -3.13", "C6H7O7^- = C6H6O7^2- + H^+; -4.76", "C6H6O7^2- = C6H5O7^3- + H^+; -6.4", water},
		flask:     "C6H8O7 0.02", burette: "Na^+ 0.1, OH^- 0.1",
		volumes: []float64{2, 10, 15, 25, 29, 33},
	},
	{
		name:      "zinc with EDTA in held ammonia",
		reactions: []string{"Zn^2+ + Y^4- = ZnY^2-; 16.5", "HY^3- = H^+ + Y^4-; -10.2", "H2Y^2- = H^+ + HY^3-; -6.2", "Zn^2+ + NH3 = Zn(NH3)^2+; 2.2", "Zn^2+ + 4 NH3 = Zn(NH3)4^2+; 9.1", "NH4^+ = NH3 + H^+; -9.25", water},
		flask:     "Zn^2+ 0.01, Cl^- 0.02", burette: "Na^+ 0.04, Y^4- 0.01", held: "H^+ -10, [NH3] -1",
		volumes: []float64{5, 49, 51, 70},
	},
	{
		name:      "cadmium with EDTA in held chloride",
		reactions: []string{"Cd^2+ + Y^4- = CdY^2-; 16.4", "HY^3- = H^+ + Y^4-; -10.2", "Cd^2+ + Cl^- = CdCl^+; 2", "Cd^2+ + 4 Cl^- = CdCl4^2-; 2.2", water},
		flask:     "Cd^2+ 0.01, NO3^- 0.02", burette: "Na^+ 0.08, Y^4- 0.02", held: "H^+ -8, [Cl^-] -1",
		volumes: []float64{5, 24, 26, 45},
	},
	{
		name:      "chloride and bromide with silver",
		reactions: []string{"AgCl(s) = Ag^+ + Cl^-; -9.75", "AgBr(s) = Ag^+ + Br^-; -12.3", "Ag^+ + 2 Cl^- = AgCl2^-; 5.04"},
		flask:     "Na^+ 0.03, Cl^- 0.02, Br^- 0.01", burette: "Ag^+ 0.05, NO3^- 0.05",
		volumes: []float64{5, 9, 11, 20, 29, 35}, solids: true,
	},
	{
		name:      "chalk with hydrochloric acid",
		reactions: []string{"CaCO3(s) = Ca^2+ + CO3^2-; -8.5", "Ca(OH)2(s) = Ca^2+ + 2 OH^-; -5.2", "HCO3^- = H^+ + CO3^2-; -10.3", "CO2 + H2O = H^+ + HCO3^-; -6.35", water},
		flask:     "Ca^2+ 0.02, CO3^2- 0.02", burette: "H^+ 0.1, Cl^- 0.1",
		volumes: []float64{1, 5, 8, 15, 25}, solids: true,
	},
	{
		name:      "copper with iodide",
		reactions: []string{"Cu^2+ + e^- = Cu^+; 2.6", "CuI(s) = Cu^+ + I^-; -12", "I3^- + 2 e^- = 3 I^-; 18.1", "I3^- = I2 + I^-; -2.85", "I2(s) = I2; -2.9"},
		flask:     "Cu^2+ 0.01, NO3^- 0.02", burette: "K^+ 0.1, I^- 0.1",
		volumes: []float64{2, 4, 9, 11, 30}, solids: true,
	},
}

var models = map[string]Activity{"ideal": {}, "davies": {Model: Davies}, "debye-hückel": {Model: DebyeHuckel}}

// A ready sample is a sample with its system, mixture and formulas.
type readySample struct {
	sample
	sys      *System
	mix      Mixture
	formulas []chem.Species
}

const flaskVolume = 0.05 // L

func (s sample) ready(t testing.TB) *readySample {
	t.Helper()
	r := &readySample{sample: s}
	var species []Species
	index := map[string]int{}
	add := func(sp chem.Species) int {
		if i, ok := index[sp.Name]; ok {
			return i
		}
		kind := Dissolved
		switch {
		case sp.Name == chem.Electron:
			kind = Electron
		case sp.Phase == chem.Solid:
			kind = Solid
		}
		index[sp.Name] = len(species)
		// Sizes that differ, so that the Debye-Hückel model is not Davies' in disguise.
		species = append(species, Species{Name: sp.Name, Kind: kind, Charge: sp.Charge, IonSize: 3 + float64(len(species)%7)})
		r.formulas = append(r.formulas, sp)
		return index[sp.Name]
	}
	parse := func(name string) int {
		sp, err := chem.ParseSpecies(name)
		if err != nil {
			t.Fatal(err)
		}
		return add(sp)
	}
	var reactions []Reaction
	for _, line := range s.reactions {
		equation, logK, _ := strings.Cut(line, ";")
		rx, err := chem.ParseReaction(equation)
		if err != nil {
			t.Fatal(err)
		}
		if err := rx.Check(); err != nil {
			t.Fatal(err)
		}
		out := Reaction{Name: equation, LnK: float(t, logK) * math.Ln10}
		for _, term := range rx.Terms {
			if term.Species.Name != chem.Water {
				out.Terms = append(out.Terms, Term{add(term.Species), term.Coefficient.Num(), term.Coefficient.Den()})
			}
		}
		reactions = append(reactions, out)
	}
	contents := func(list string, volume unit.Decimal) (amounts []Amount) {
		for _, item := range strings.Split(list, ",") {
			name, c, _ := strings.Cut(strings.TrimSpace(item), " ")
			amounts = append(amounts, Amount{parse(name), dec(t, c).Mul(volume)})
		}
		return amounts
	}
	r.mix.Volume, _ = unit.DecimalOf(flaskVolume)
	one, _ := unit.DecimalOf(1)
	r.mix.Flask, r.mix.Burette = contents(s.flask, r.mix.Volume), contents(s.burette, one)
	if s.held != "" {
		for _, item := range strings.Split(s.held, ",") {
			name, log, _ := strings.Cut(strings.TrimSpace(item), " ")
			bare := strings.Trim(name, "[]")
			r.mix.Held = append(r.mix.Held, Held{parse(bare), float(t, log) * math.Ln10, bare != name})
		}
	}
	var err error
	if r.sys, err = NewSystem(species, reactions); err != nil {
		t.Fatal(err)
	}
	return r
}

func float(t testing.TB, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// decimal is x as an exact decimal.
func decimal(x float64) unit.Decimal {
	d, _ := unit.DecimalOf(x)
	return d
}

// millilitres is v mL in litres, the decimal that v is written with.
func millilitres(v float64) unit.Decimal { return decimal(v).Shift(-3) }

func (r *readySample) solver(t testing.TB, act Activity) *Solver {
	t.Helper()
	p, err := r.sys.NewProblem(r.mix, act)
	if err != nil {
		t.Fatal(err)
	}
	return p.NewSolver()
}

// at returns a solver that stands at v mL.
func (r *readySample) at(t testing.TB, act Activity, v float64) *Solver {
	t.Helper()
	s := r.solver(t, act)
	if err := s.At(millilitres(v)); err != nil {
		t.Fatal(err)
	}
	return s
}

// each runs f for every sample under every model.
func each(t *testing.T, f func(t *testing.T, r *readySample, act Activity)) {
	for _, s := range samples {
		r := s.ready(t)
		for name, act := range models {
			t.Run(s.name+"/"+name, func(t *testing.T) { f(t, r, act) })
		}
	}
}
