package setup

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"

	"meniscus/chem"
	"meniscus/titration"
	"meniscus/yamlfile"
)

// trace is what an impurity starts from, mol/L: enough for the engine to know
// it, far too little to show.
const trace = "1e-9 mol/L"

// extras reads what is fitted besides what is sought. Impurities go into the
// vessels first, so that the tables bring in their reactions.
func (r *reader) extras() error {
	for i, name := range r.f.Fit {
		p, err := r.extra(strings.Join(strings.Fields(name), " "))
		if err != nil {
			return r.fail([]any{"fit", i}, "%v", err)
		}
		if slices.Contains(r.s.Extra, p) {
			return r.fail([]any{"fit", i}, "%q is listed twice", name)
		}
		r.s.Extra = append(r.s.Extra, p)
	}
	return nil
}

// extraNames are the words that fit knows, besides constants.
const extraNames = "slope, offset, blank, lag, drift, oxidised fraction, carbonate in flask, carbonate in burette, or a constant such as pKa CH3COOH, log K CaY^2-, pKsp AgCl(s)"

func (r *reader) extra(name string) (titration.Parameter, error) {
	pH := r.s.Titration.Cell.Sensor == titration.Glass
	volt := "V"
	if pH {
		volt = ""
	}
	switch strings.ToLower(name) {
	case "slope":
		return titration.Parameter{Kind: titration.SlopeFraction, Name: "slope"}, nil
	case "offset":
		return titration.Parameter{Kind: titration.Offset, Name: "offset", Unit: volt}, nil
	case "blank":
		return titration.Parameter{Kind: titration.Blank, Name: "blank", Unit: "L"}, nil
	case "lag":
		return titration.Parameter{Kind: titration.Lag, Name: "lag"}, nil
	case "drift":
		return titration.Parameter{Kind: titration.Drift, Name: "drift", Unit: volt}, nil
	case "oxidised fraction", "oxidized fraction", "part oxidised":
		return r.oxidised()
	case "carbonate in flask", "carbonate in burette":
		return r.s.impurity("CO2", strings.HasSuffix(strings.ToLower(name), "burette"))
	case "carbonate":
		return titration.Parameter{}, fmt.Errorf("carbonate in which vessel? Write carbonate in flask, or carbonate in burette")
	}
	for _, kind := range []string{"log beta", "log K", "pKa", "pKsp"} {
		if rest, ok := strings.CutPrefix(strings.ToLower(name), strings.ToLower(kind)+" "); ok {
			return r.s.constantOf(kind, strings.TrimSpace(name[len(name)-len(rest):]))
		}
	}
	return titration.Parameter{}, fmt.Errorf("%q cannot be fitted; have %s", name, extraNames)
}

// impurity is the parameter of a species that was put in as a trace.
func (s *Setup) impurity(species string, inBurette bool) (titration.Parameter, error) {
	j := s.System().Index(species)
	if j < 0 {
		return titration.Parameter{}, fmt.Errorf("no reaction here has %s", species)
	}
	kind, where := titration.FlaskConcentration, "flask"
	if inBurette {
		kind, where = titration.BuretteConcentration, "burette"
	}
	return titration.Parameter{Kind: kind, Index: j, Name: "c(" + species + ") in " + where, Unit: "mol/L", Free: true}, nil
}

// oxidised is the other form of the sought species, in the flask from the
// start: the concentration of iron(III) where iron(II) is sought.
func (r *reader) oxidised() (titration.Parameter, error) {
	t := r.s.Titration
	for _, f := range r.s.Find {
		for _, c := range t.Couples {
			other, ok := r.otherForm(c.Reaction, f)
			if ok {
				return titration.Parameter{Kind: titration.FlaskConcentration, Index: other, Name: "c(" + t.System().Species[other].Name + ") at the start", Unit: "mol/L", Free: true}, nil
			}
		}
	}
	return titration.Parameter{}, fmt.Errorf("no half-reaction here has a species that is sought in the flask: the fraction that was converted at the start has no meaning")
}

func (r *reader) otherForm(reaction int, f Target) (int, bool) {
	sys := r.s.System()
	sought, sign, other := sys.Index(f.Species), int64(0), -1
	terms := sys.Reactions[reaction].Terms
	for _, t := range terms {
		if t.Species == sought && !f.InBurette {
			sign = t.Num
		}
	}
	for _, t := range terms {
		if name := sys.Species[t.Species].Name; sign*t.Num < 0 && name != chem.Proton && t.Species != sys.Electron() {
			other = t.Species
		}
	}
	return other, other >= 0
}

// constantOf is the constant of the reaction of that kind with the species,
// shown as it is written.
func (s *Setup) constantOf(kind, species string) (titration.Parameter, error) {
	sp, err := chem.ParseSpecies(species)
	if err != nil {
		return titration.Parameter{}, err
	}
	var have []string
	for i, rx := range s.Reactions {
		if !strings.EqualFold(rx.Kind, kind) {
			continue
		}
		for _, t := range rx.parsed.Terms {
			// an acid of pKa stands left, a complex right
			if left := t.Coefficient.Sign() < 0; t.Species.Name == sp.Name && left == strings.HasPrefix(kind, "pK") {
				scale := 1 / math.Ln10
				if left {
					scale = -scale
				}
				return titration.Parameter{Kind: titration.LnConstant, Index: i, Name: kind + "(" + sp.Name + ")", Scale: scale}, nil
			}
		}
		have = append(have, rx.Equation)
	}
	if have == nil {
		return titration.Parameter{}, fmt.Errorf("no %s is in use here", kind)
	}
	return titration.Parameter{}, fmt.Errorf("no %s of %s is in use here; have those of %s", kind, sp.Name, strings.Join(have, "; "))
}

// carbonicAcid are the reactions that an impurity of carbon dioxide needs
// where the tables are off; constants at 25 °C, ionic strength 0, from memory
// as in the tables.
var carbonicAcid = []constantRow{
	{Reaction: "CO2 + H2O = HCO3^- + H^+", PKa: "6.352", Source: "from memory"},
	{Reaction: "HCO3^- = CO3^2- + H^+", PKa: "10.329", Source: "from memory"},
}

// addTraces puts the impurities that are to be fitted into their vessels.
func (r *reader) addTraces() {
	for _, name := range r.f.Fit {
		switch strings.ToLower(strings.Join(strings.Fields(name), " ")) {
		case "carbonate in flask":
			r.addTrace("CO2", false)
		case "carbonate in burette":
			r.addTrace("CO2", true)
		}
	}
}

func (r *reader) addTrace(species string, inBurette bool) {
	item := yaml.MapItem{Key: species, Value: trace}
	has := func(m yaml.MapSlice) bool {
		return slices.ContainsFunc(m, func(i yaml.MapItem) bool { return text(i.Key) == species })
	}
	f := &r.f.Flask
	switch {
	case inBurette && !has(r.f.Burette.Contains):
		r.f.Burette.Contains = append(r.f.Burette.Contains, item)
	case !inBurette && len(f.Portions) > 0 && !has(f.Portions[0].Contains):
		f.Portions[0].Contains = append(f.Portions[0].Contains, item)
	case !inBurette && len(f.Portions) == 0 && !has(f.Contains):
		f.Contains = append(f.Contains, item)
	}
	known := slices.ContainsFunc(r.f.Chemistry, func(c constantRow) bool { return strings.Contains(c.Reaction, "HCO3^-") })
	if r.libraryOff() && !known {
		r.f.Chemistry = append(r.f.Chemistry, carbonicAcid...)
	}
}

// WithCarbonate returns the setup with a trace of carbon dioxide in the flask
// or in the burette, and the parameter that is its concentration.
func (s *Setup) WithCarbonate(inBurette bool) (*Setup, titration.Parameter, error) {
	word := "carbonate in flask"
	if inBurette {
		word = "carbonate in burette"
	}
	if s.source == nil {
		return nil, titration.Parameter{}, fmt.Errorf("the setup was not read from a file")
	}
	r := &reader{source: yamlfile.File{Name: s.name, Data: s.source}, s: &Setup{name: s.name, source: s.source}}
	if err := r.read(word); err != nil {
		return nil, titration.Parameter{}, err
	}
	for _, p := range r.s.Extra {
		if p.Free && p.Name != "" && strings.HasPrefix(p.Name, "c(CO2)") && (p.Kind == titration.BuretteConcentration) == inBurette {
			return r.s, p, nil
		}
	}
	return nil, titration.Parameter{}, fmt.Errorf("carbonate was not taken up")
}
