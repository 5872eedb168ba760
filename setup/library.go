package setup

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/electrode"
	"meniscus/unit"
)

// reference looks the reference electrode up; without one potentials are
// against SHE, and the setup says so.
func (r *reader) reference() error {
	e := &r.s.Electrode
	name := text(r.f.Electrode.Reference)
	if name == "" {
		e.Reference = "SHE"
		if r.f.Electrode.Indicator != "glass" {
			r.s.Notes = append(r.s.Notes, "no reference electrode is named; potentials are taken against SHE")
		}
		return nil
	}
	ref, err := electrode.FindReference(name)
	if err != nil {
		return r.fail([]any{"electrode", "reference"}, "%v", err)
	}
	v, u, note := ref.Potential(r.s.Temperature)
	e.Reference, e.ReferenceV, e.ReferenceU = ref.Name, float64(v), float64(u)
	if note != "" {
		r.s.Notes = append(r.s.Notes, note)
	}
	if ref.Name != "SHE" {
		ju, note := electrode.JunctionUncertainty(r.s.Flask.Medium)
		e.JunctionU, e.JunctionNote = float64(ju), note
	}
	return nil
}

// A picker adds reactions from the tables to those of the file.
type picker struct {
	r       *reader
	have    map[string]bool // species that can be present
	allow   []string
	leave   []string
	medium  string
	redox   bool
	used    map[string]bool // couples and reactions already there, by their species
}

// library adds what the tables know about the species of the setup: couples
// in the medium, or standard ones; and without a medium, whose formal
// potentials contain all side reactions, acids, complexes and solids too.
func (r *reader) library() error {
	if r.libraryOff() {
		return nil
	}
	p := &picker{r: r, have: map[string]bool{chem.Water: true, chem.Electron: true}, used: map[string]bool{}}
	p.medium = constants.CleanMedium(r.s.Flask.Medium)
	var err error
	if p.allow, err = r.names(r.f.Allow, "allow"); err != nil {
		return err
	}
	if p.leave, err = r.names(r.f.LeaveOut, "leave out"); err != nil {
		return err
	}
	if err := p.checkMedium(); err != nil {
		return err
	}
	for _, c := range p.contents() {
		for _, t := range c.Ions {
			p.have[t.Species.Name] = true
		}
	}
	for _, rx := range r.s.Reactions {
		p.used[coupleKey(rx.parsed)] = true
		for _, t := range rx.parsed.Terms {
			p.have[t.Species.Name] = true
		}
	}
	p.redox = p.isRedox()
	if err := p.closure(); err != nil {
		return err
	}
	return p.checkKnown()
}

func (r *reader) names(list []string, key string) ([]string, error) {
	var out []string
	for i, n := range list {
		sp, err := chem.ParseSpecies(n)
		if err != nil {
			return nil, r.fail([]any{key, i}, "%v", err)
		}
		out = append(out, sp.Name)
	}
	return out, nil
}

func (p *picker) contents() []Content {
	return append(slices.Clone(p.r.s.Flask.Contents), p.r.s.Burette.Contents...)
}

// coupleKey names a reaction by its species, without H+, OH- and water.
func coupleKey(rx chem.Reaction) string {
	var names []string
	for _, t := range rx.Terms {
		switch t.Species.Name {
		case chem.Water, chem.Proton, chem.Hydroxide:
		default:
			names = append(names, t.Species.Name)
		}
	}
	slices.Sort(names)
	return strings.Join(names, " ")
}

func (p *picker) checkMedium() error {
	if p.medium == "" {
		return nil
	}
	media, err := constants.Media("")
	if err != nil {
		return p.r.fail([]any{"flask", "medium"}, "reading the tables: %v", err)
	}
	if !slices.Contains(media, p.medium) {
		known := p.listedMedium()
		if known {
			return nil
		}
		return p.r.fail([]any{"flask", "medium"}, "the tables hold no potentials in %q; they hold %s", p.r.s.Flask.Medium, strings.Join(media, "; "))
	}
	return nil
}

// listedMedium says whether the file itself gives a constant in the medium.
func (p *picker) listedMedium() bool {
	return slices.ContainsFunc(p.r.s.Reactions, func(rx Reaction) bool { return constants.CleanMedium(rx.Medium) == p.medium })
}

// isRedox says whether couples of the tables belong into the model.
func (p *picker) isRedox() bool {
	ind := p.r.s.Electrode.Indicator
	if slices.Contains(inertIndicators, ind) || p.medium != "" {
		return true
	}
	if ind != "" {
		return false
	}
	if slices.ContainsFunc(p.r.s.Reactions, func(rx Reaction) bool { return rx.Unit == "V" }) {
		return true
	}
	return p.hasCouple(p.r.s.Flask.Contents) && p.hasCouple(p.r.s.Burette.Contents)
}

// hasCouple says whether a vessel holds a species of an active couple other
// than those that are common counter-ions.
func (p *picker) hasCouple(list []Content) bool {
	rows, err := constants.Redox()
	if err != nil {
		return false
	}
	for _, c := range list {
		for _, t := range c.Ions {
			switch t.Species.Name {
			case chem.Proton, chem.Hydroxide, "Cl^-", "Br^-", "Ag^+", "SO4^2-", "NO3^-", "Ca^2+", "Mg^2+", "Zn^2+", "Cu^2+", "Na^+", "K^+":
				continue
			}
			for _, row := range rows {
				if row.Inactive == "" && row.Reaction.Coefficient(t.Species.Name).Sign() != 0 {
					return true
				}
			}
		}
	}
	return false
}

// closure adds rows until nothing new can form.
func (p *picker) closure() error {
	rows, err := constants.All()
	if err != nil {
		return p.r.fail(nil, "reading the tables of constants: %v", err)
	}
	p.waterSpecies()
	for round := 0; round < 20; round++ {
		added := false
		for _, row := range rows {
			if p.wants(row) {
				if err := p.add(row); err != nil {
					return err
				}
				added = true
			}
		}
		if !added {
			break
		}
	}
	return p.water()
}

// waterSpecies lets H+ and OH- count as present where acid-base chemistry
// belongs to the model.
func (p *picker) waterSpecies() {
	if p.side() {
		p.have[chem.Proton], p.have[chem.Hydroxide] = true, true
	}
}

// side says whether side reactions belong to the model: not with formal
// potentials, which contain them.
func (p *picker) side() bool { return p.medium == "" }

func (p *picker) wants(row constants.Row) bool {
	if row.Also != "" || p.used[coupleKey(row.Reaction)] || p.leftOut(row) {
		return false
	}
	if row.Inactive != "" && !p.allowed(row) {
		return false
	}
	switch {
	case row.Kind == constants.FormalPotential:
		return p.redox && p.medium != "" && row.Medium == p.medium && p.reachable(row)
	case row.Kind == constants.StandardPotential:
		return p.redox && !p.hasFormal(row) && !p.metal(row) && p.reachable(row)
	case !p.side() || row.Medium != "" || row.Kind == constants.PKw || row.Kind == constants.ConditionalLogK:
		return false
	}
	return p.reachable(row)
}

func (p *picker) leftOut(row constants.Row) bool {
	return slices.ContainsFunc(row.Reaction.Terms, func(t chem.Term) bool { return slices.Contains(p.leave, t.Species.Name) })
}

func (p *picker) allowed(row constants.Row) bool {
	return slices.ContainsFunc(row.Reaction.Terms, func(t chem.Term) bool { return slices.Contains(p.allow, t.Species.Name) })
}

// hasFormal says whether the tables have the couple in the medium.
func (p *picker) hasFormal(row constants.Row) bool {
	if p.medium == "" {
		return false
	}
	media, err := constants.Media(row.Reaction.String())
	return err == nil && slices.Contains(media, p.medium)
}

// metal says whether the couple deposits an element that was not put in.
func (p *picker) metal(row constants.Row) bool {
	return slices.ContainsFunc(row.Reaction.Terms, func(t chem.Term) bool {
		return t.Species.Phase == chem.Solid && !p.have[t.Species.Name] && len(t.Species.Elements) == 1
	})
}

// reachable says whether all of one side can be present.
func (p *picker) reachable(row constants.Row) bool {
	left, right, gas := true, true, false
	for _, t := range row.Reaction.Terms {
		gas = gas || t.Species.Phase == chem.Gas
		if p.have[t.Species.Name] || p.ambient(t.Species.Name) {
			continue
		}
		if t.Coefficient.Sign() < 0 {
			left = false
		} else {
			right = false
		}
	}
	return (left || right) && !gas && p.own(row)
}

// ambient names what is always at hand in water.
func (p *picker) ambient(name string) bool {
	switch name {
	case chem.Water, chem.Electron, chem.Proton, chem.Hydroxide:
		return true
	}
	return false
}

// own says whether the reaction has a species of its own that is present, so
// that water and electrons alone form nothing.
func (p *picker) own(row constants.Row) bool {
	return slices.ContainsFunc(row.Reaction.Terms, func(t chem.Term) bool {
		return !p.ambient(t.Species.Name) && p.have[t.Species.Name]
	})
}

func (p *picker) add(row constants.Row) error {
	ln, changes := row.LnK(p.r.s.Temperature)
	if !changes && math.Abs(float64(p.r.s.Temperature-row.Temperature)) > 2 {
		p.r.s.Notes = append(p.r.s.Notes, fmt.Sprintf("%s: the constant is that at %.4g °C; its change with temperature is not known", row.Text, row.Temperature.Celsius()))
	}
	rx := Reaction{
		Equation: row.Reaction.String(), Kind: string(row.Kind), Value: row.Value, Unit: row.Kind.Unit(), Medium: row.Medium,
		Source: row.Source.Key, FromTable: true, parsed: row.Reaction, lnK: ln,
	}
	if row.Kind.Redox() {
		rx.Unit = "V"
	} else {
		rx.Unit = ""
	}
	p.r.s.Reactions = append(p.r.s.Reactions, rx)
	p.used[coupleKey(row.Reaction)] = true
	for _, t := range row.Reaction.Terms {
		p.have[t.Species.Name] = true
	}
	return nil
}

// water adds the ion product where H+ or OH- is part of the model.
func (p *picker) water() error {
	needs := false
	for _, rx := range p.r.s.Reactions {
		if isWater(rx.parsed) {
			return nil
		}
		needs = needs || rx.parsed.Coefficient(chem.Proton).Sign() != 0 || rx.parsed.Coefficient(chem.Hydroxide).Sign() != 0
	}
	for _, c := range p.contents() {
		for _, t := range c.Ions {
			needs = needs || t.Species.Name == chem.Proton || t.Species.Name == chem.Hydroxide
		}
	}
	if !needs {
		return nil
	}
	pk, err := constants.WaterPK(p.r.s.Temperature)
	if err != nil {
		return p.r.fail([]any{"temperature"}, "%v", err)
	}
	rx, err := chem.ParseReaction("H2O = H^+ + OH^-")
	if err != nil {
		return err
	}
	p.r.s.Reactions = append(p.r.s.Reactions, Reaction{
		Equation: rx.String(), Kind: "pKw", Value: pk, Source: "memory", FromTable: true, parsed: rx, lnK: -pk * math.Ln10,
	})
	return nil
}

func isWater(rx chem.Reaction) bool {
	for _, t := range rx.Terms {
		switch t.Species.Name {
		case chem.Water, chem.Proton, chem.Hydroxide:
		default:
			return false
		}
	}
	return true
}

// checkKnown refuses a species that neither the file nor the tables know.
func (p *picker) checkKnown() error {
	for _, c := range p.contents() {
		for _, t := range c.Ions {
			n := t.Species.Name
			if p.r.mentions(n) || p.ambient(n) {
				continue
			}
			if known(n) {
				continue
			}
			where := "flask"
			if slices.ContainsFunc(p.r.s.Burette.Contents, func(x Content) bool { return x.Species == c.Species }) {
				where = "burette"
			}
			return p.r.fail([]any{where, "contains", c.Species}, "the tables know nothing of %s; add its reactions under chemistry, or write library: off to count it as inert", n)
		}
	}
	return nil
}

// known says whether a table mentions the species at all.
func known(name string) bool {
	if _, ok, err := constants.Size(name); err == nil && ok {
		return true
	}
	switch name {
	case "Na^+", "K^+", "Cl^-", "NO3^-", "ClO4^-", "SO4^2-", "Br^-", "NH4^+", "Li^+":
		return true
	}
	rows, err := constants.All()
	return err == nil && slices.ContainsFunc(rows, func(r constants.Row) bool { return r.Reaction.Coefficient(name).Sign() != 0 })
}

// ionSizes gives the ions Kielland's sizes.
func (r *reader) ionSizes(b *builder) {
	for i := range b.species {
		if a, ok, err := constants.Size(b.species[i].Name); err == nil && ok {
			b.species[i].IonSize = a
		}
	}
}

// debyeHuckel returns A and B at temperature t, or those at 25 °C beyond the
// table.
func debyeHuckel(t unit.Temperature) (a, b float64) {
	a, b, err := constants.DebyeHuckel(t)
	if err != nil {
		a, b, _ = constants.DebyeHuckel(unit.Celsius(25))
	}
	return a, b
}
