package chain

import (
	"strings"

	"meniscus/chem"
	"meniscus/unit"
	"meniscus/yamlfile"
)

func (r *reader) determination(name string) error {
	f, place := r.f.Determinations[name], []any{"determinations", name}
	if f == nil {
		return r.fail(place, "is empty; a determination needs sample, burette, ratio and runs")
	}
	t, err := r.titration(f, place)
	if err != nil {
		return err
	}
	d := Determination{Name: name, Titration: *t}
	if d.Report, err = r.report(f, t, at(place, "report as")); err != nil {
		return err
	}
	r.s.Determinations = append(r.s.Determinations, d)
	return nil
}

func (r *reader) titration(f *titrationFile, place []any) (*Titration, error) {
	t := &Titration{}
	var err error
	if t.Date, err = r.date(f.Date, at(place, "date")...); err != nil {
		return nil, err
	}
	if f.Burette == nil {
		return nil, r.fail(place, "has no burette; write burette: {solution: ..., by: ...}")
	}
	t.Titrant, t.Burette = yamlfile.Text(f.Burette.Solution), yamlfile.Text(f.Burette.By)
	for _, step := range []func(*Titration, *titrationFile, []any) error{r.stoichiometry, r.flask, r.blank, r.runs} {
		if err := step(t, f, place); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// stoichiometry reads ratio: 6 to 1, or takes it from a reaction between the
// titrand and the titrant, its first two reactants.
func (r *reader) stoichiometry(t *Titration, f *titrationFile, place []any) error {
	switch {
	case f.Ratio != nil && f.Reaction != nil:
		return r.fail(place, "has both a ratio and a reaction; one is enough")
	case f.Ratio != nil:
		var err error
		t.Titrand, t.PerTitrant, err = r.ratio(yamlfile.Text(f.Ratio), at(place, "ratio")...)
		return err
	case f.Reaction == nil:
		return r.fail(place, "has no ratio; write how many titrand react with how many titrant, such as ratio: 6 to 1")
	}
	here := at(place, "reaction")
	re, err := chem.ParseReaction(yamlfile.Text(f.Reaction))
	if err != nil {
		return r.fail(here, "%v", err)
	}
	re, _ = re.FillWater()
	if err := re.Check(); err != nil {
		return r.fail(here, "%v", err)
	}
	var reactants []chem.Term
	for _, x := range re.Terms {
		if n := x.Species.Name; x.Coefficient.Sign() < 0 && n != "H^+" && n != "H2O" && n != "OH^-" {
			reactants = append(reactants, x)
		}
	}
	if len(reactants) != 2 {
		return r.fail(here, "has %d reactants besides H^+ and H2O; titrand and titrant are meant, or write ratio: 6 to 1", len(reactants))
	}
	t.Titrand, t.PerTitrant = -reactants[0].Coefficient.Float(), -reactants[1].Coefficient.Float()
	if s := r.species(t.Titrant); s != "" && s == reactants[0].Species.Name {
		t.Titrand, t.PerTitrant = t.PerTitrant, t.Titrand
	}
	return nil
}

// species is that of a solution, read or yet to be read.
func (r *reader) species(solution string) string {
	sp, err := chem.ParseSpecies(yamlfile.Text(r.f.Solutions[solution].Species))
	if err != nil {
		return ""
	}
	return sp.Name
}

func (r *reader) flask(t *Titration, f *titrationFile, place []any) error {
	k := &t.Flask
	switch {
	case f.Flask != nil && f.Sample != nil || f.Flask == nil && f.Sample == nil:
		return r.fail(place, "needs either a flask (a solution or a substance) or a sample")
	case f.Sample != nil:
		k.Sample = true
		k.Balance, k.Pipette = yamlfile.Text(f.Sample.On), yamlfile.Text(f.Sample.Volume)
		k.MadeUpTo, k.Aliquot = yamlfile.Text(f.Sample.MadeUpTo), yamlfile.Text(f.Sample.Aliquot)
		if (k.MadeUpTo == "") != (k.Aliquot == "") {
			return r.fail(at(place, "sample"), "made up to and aliquot go together")
		}
	case f.Flask.Solution != nil:
		k.Solution, k.Pipette = yamlfile.Text(f.Flask.Solution), yamlfile.Text(f.Flask.By)
	default:
		k.Substance, k.Balance = yamlfile.Text(f.Flask.Substance), yamlfile.Text(f.Flask.On)
		sub := find(r.s.Substances, k.Substance, func(s Substance) string { return s.Name })
		if sub == nil {
			return r.fail(at(place, "flask"), "%q is not under substances; write solution: or substance: with a name from there", k.Substance)
		}
		var err error
		if k.Gives, err = r.gives(f.Flask.Gives, sub, "", at(place, "flask")); err != nil {
			return err
		}
	}
	if f.Excess == nil {
		return nil
	}
	if f.Excess.Ratio == nil {
		return r.fail(at(place, "excess"), "needs a ratio: how many of the excess reagent react with one of the analyte, such as 6 to 1")
	}
	a, b, err := r.ratio(yamlfile.Text(f.Excess.Ratio), at(place, "excess", "ratio")...)
	t.PerExcess = a / b
	k.Excess = &Excess{yamlfile.Text(f.Excess.Solution), yamlfile.Text(f.Excess.By)}
	return err
}

// blank reads one value, or a list of which the mean counts.
func (r *reader) blank(t *Titration, f *titrationFile, place []any) error {
	if f.Blank == nil {
		return nil
	}
	list, ok := f.Blank.([]any)
	if !ok {
		v, err := r.value(f.Blank, unit.DimVolume, "0.05 ± 0.01 mL", at(place, "blank")...)
		if err == nil && !v.Stated {
			r.note("%s: the blank is taken as exact, as no uncertainty is stated", place[1])
		}
		t.Blank = v
		return err
	}
	for i, item := range list {
		v, err := r.value(item, unit.DimVolume, "0.05 mL", at(place, "blank", i)...)
		if err != nil {
			return err
		}
		t.Blanks = append(t.Blanks, v.X)
	}
	if len(t.Blanks) < 2 {
		return r.fail(at(place, "blank"), "one blank is written without a list, with its uncertainty: 0.05 ± 0.01 mL")
	}
	return nil
}

func (r *reader) runs(t *Titration, f *titrationFile, place []any) error {
	if len(f.Volumes) > 0 && len(f.Runs) > 0 {
		return r.fail(place, "has both volumes and runs; put everything into runs")
	}
	for i, v := range f.Volumes {
		q, err := r.positive(v, unit.DimVolume, "24.35 ± 0.02 mL", at(place, "volumes", i)...)
		if err != nil {
			return err
		}
		t.Runs = append(t.Runs, Run{Volume: q, place: at(place, "volumes", i)})
	}
	for i, v := range f.Runs {
		run, err := r.run(v, at(place, "runs", i))
		if err != nil {
			return err
		}
		t.Runs = append(t.Runs, run)
	}
	used := 0
	for _, q := range t.Runs {
		if q.Left == "" {
			used++
		}
	}
	if used == 0 {
		return r.fail(place, "has no run that counts; write volumes: [24.35 mL, ...] or runs:")
	}
	return nil
}

func (r *reader) run(f runFile, place []any) (Run, error) {
	q := Run{Readings: yamlfile.Text(f.Readings), Setup: yamlfile.Text(f.Setup), Left: yamlfile.Text(f.LeftOut), place: place}
	if (f.Volume == nil) == (q.Readings == "") {
		return q, r.fail(place, "needs either a volume at the equivalence point, or readings with their setup")
	}
	if q.Readings != "" && q.Setup == "" {
		return q, r.fail(place, "readings need their setup file: setup: iron.yaml")
	}
	var err error
	if f.Volume != nil {
		if q.Volume, err = r.positive(f.Volume, unit.DimVolume, "24.35 ± 0.02 mL", at(place, "volume")...); err != nil {
			return q, err
		}
	}
	if f.Mass != nil {
		q.Mass, err = r.positive(f.Mass, unit.DimMass, "0.5023 g", at(place, "mass")...)
	}
	return q, err
}

// reportUnits lists how a content can be expressed. A factor turns g/g, or
// mol/L and g/L, into the unit.
var reportUnits = []struct {
	name   string
	per    string // "mass" of sample, or "volume" of sample
	amount bool   // mol and not g
	factor float64
}{
	{"%", "mass", false, 100},
	{"g/kg", "mass", false, 1e3},
	{"mg/g", "mass", false, 1e3},
	{"mg/kg", "mass", false, 1e6},
	{"mol/kg", "mass", true, 1e3},
	{"mmol/g", "mass", true, 1e3},
	{"mol/L", "volume", true, 1},
	{"mmol/L", "volume", true, 1e3},
	{"g/L", "volume", false, 1},
	{"mg/L", "volume", false, 1e3},
}

// report reads "% Fe" or "mg/L CaCO3".
func (r *reader) report(f *titrationFile, t *Titration, place []any) (Report, error) {
	text := yamlfile.Text(f.ReportAs)
	if text == "" {
		return Report{}, r.fail(place[:2], "does not say how to report; write report as: \"%% Fe\"")
	}
	head, name, _ := strings.Cut(text, " ")
	p := Report{Text: text, Unit: head, PerUnit: 1}
	known := false
	var amount bool
	for _, u := range reportUnits {
		if u.name == head {
			known, amount = true, u.amount
			if byMass := t.Flask.Balance != "" || t.Flask.Pipette == ""; byMass != (u.per == "mass") {
				return p, r.fail(place, "%s is per %s of sample; give the sample %s", head, u.per, map[string]string{"mass": "a mass (runs: mass, sample: on)", "volume": "a volume (sample: by, a pipette)"}[u.per])
			}
		}
	}
	if !known {
		var names []string
		for _, u := range reportUnits {
			names = append(names, u.name)
		}
		return p, r.fail(place, "%q is not a unit of content; have %s", head, strings.Join(names, ", "))
	}
	name = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(name), "as "))
	if name == "" && amount {
		return p, nil
	}
	what, count, counted := strings.Cut(name, " with ")
	sp, err := chem.ParseSpecies(strings.TrimSpace(what))
	if err != nil {
		return p, r.fail(place, "%v", err)
	}
	m, err := sp.MolarMass()
	if err != nil {
		return p, r.fail(place, "%v", err)
	}
	p.Name, p.Molar, p.MolarU = sp.Name, float64(m.Value), float64(m.StdUnc)
	if counted { // "% Fe2O3 with 2 Fe": so many titrand in one of it
		n, _, err := r.ratio(firstWord(count)+" to 1", place...)
		if err != nil {
			return p, err
		}
		p.PerUnit = n
	}
	return p, nil
}
