package setup

import (
	"slices"

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

// library adds what the tables know about the species of the setup. Without
// formal potentials that is standard potentials, acids, complexes and solids;
// with them, couples of the same medium and no side reactions, because formal
// potentials contain those.
func (r *reader) library() error {
	if r.libraryOff() {
		return r.withoutLibrary()
	}
	t, err := readTables()
	if err != nil {
		return r.fail(nil, "reading the tables of constants: %v", err)
	}
	p := &picker{r: r, table: t, have: make([]bool, len(t.place))}
	if p.allow, err = p.names(r.f.Allow, "allow"); err != nil {
		return err
	}
	if p.leave, err = p.names(r.f.LeaveOut, "leave out"); err != nil {
		return err
	}
	if err := p.begin(); err != nil {
		return err
	}
	if err := p.checkKnown(); err != nil {
		return err
	}
	p.pick()
	if err := p.water(); err != nil {
		return err
	}
	p.tell()
	return nil
}

// withoutLibrary refuses keys that speak of the tables. Water's own constant
// comes in even so where H+ or OH- takes part, unless the file has its own.
func (r *reader) withoutLibrary() error {
	for _, k := range []struct {
		key  string
		list []string
	}{{"allow", r.f.Allow}, {"leave out", r.f.LeaveOut}} {
		if len(k.list) > 0 {
			return r.fail([]any{k.key}, "speaks of the tables, but library is off; list the reactions wanted under chemistry instead")
		}
	}
	if r.holdsPH() {
		return nil // what water gives or takes then changes nothing
	}
	var known span
	for _, rx := range r.s.Reactions {
		known.add(rx.parsed)
	}
	water, err := chem.ParseReaction("H2O = H^+ + OH^-")
	if err != nil {
		return err
	}
	if !known.add(water) {
		return nil // the file lists it, or two reactions that make it up
	}
	p := &picker{r: r}
	return p.water()
}

// names reads species of allow or leave out, which the tables must have.
func (p *picker) names(list []string, key string) ([]string, error) {
	var out []string
	for i, n := range list {
		sp, err := chem.ParseSpecies(n)
		if err != nil {
			return nil, p.r.fail([]any{key, i}, "%v", err)
		}
		found := slices.ContainsFunc(p.table.of[sp.Name], func(row *tabled) bool { return key != "allow" || row.Inactive != "" || len(row.Needs) > 0 })
		if !found && key == "allow" {
			return nil, p.r.fail([]any{key, i}, "no reaction of %s is held back; allow names a species of a couple that the tables hold back, such as MnO2(s)", sp.Name)
		}
		if !found {
			return nil, p.r.fail([]any{key, i}, "the tables have no reaction of %s to leave out", sp.Name)
		}
		out = append(out, sp.Name)
	}
	return out, nil
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
