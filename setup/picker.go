package setup

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/constants"
)

// A picker adds reactions from the tables to those of the file.
type picker struct {
	r     *reader
	table *table
	have  []bool // whether a species can be present, by its place in the table
	span  span   // reactions so far
	allow []string
	leave []string

	redox    bool            // couples belong to the model
	conforms bool            // formal potentials do: no side reactions
	medium   string          // whose potentials are wanted
	source   bool            // something supplies H+
	covered  map[string]bool // species of formal couples
	fallback map[string]bool // species for which standard potentials must do in a medium
	constant []string        // reactions whose change with temperature is not known
	dry      []string        // couples left out because nothing supplies H+
}

// begin collects what is present and which kind of constants is wanted.
func (p *picker) begin() error {
	r := p.r
	p.covered, p.fallback = map[string]bool{}, map[string]bool{}
	for _, t := range p.ions() {
		p.put(t.Species.Name)
	}
	for _, item := range r.f.Hold {
		if sp, err := chem.ParseSpecies(text(item.Key)); err == nil { // a wrong key is reported where holds are read
			p.put(sp.Name)
		}
	}
	p.medium = constants.CleanMedium(r.s.Flask.Medium)
	for _, rx := range r.s.Reactions {
		p.note(rx)
	}
	water, err := chem.ParseReaction("H2O = H^+ + OH^-")
	if err != nil {
		return err
	}
	p.span.add(water)
	p.redox = p.isRedox()
	if !p.inert() && p.medium != "" {
		r.s.Notes = append(r.s.Notes, "medium: it selects formal potentials, which an indicator electrode of "+r.s.Electrode.Indicator+" does not need; it is not used")
		p.medium = ""
	}
	p.conforms = p.conforms || p.medium != ""
	if !p.conforms {
		p.put(chem.Proton)
		p.put(chem.Hydroxide)
	}
	p.source = r.holdsPH() || r.suppliesProtons() || p.tableSource()
	return p.checkMedium()
}

// put says that a species can be present.
func (p *picker) put(name string) {
	if i, ok := p.table.place[name]; ok {
		p.have[i] = true
	}
}

// note takes a reaction of the model into account.
func (p *picker) note(rx Reaction) {
	p.span.add(rx.parsed)
	formal := rx.Kind == string(constants.FormalPotential)
	if formal && !rx.FromTable {
		p.conforms = true
		if p.medium == "" {
			p.medium = constants.CleanMedium(rx.Medium)
		}
	}
	for _, t := range rx.parsed.Terms {
		p.put(t.Species.Name)
		if formal {
			p.covered[t.Species.Name] = true
		}
	}
}

func (p *picker) ions() []chem.Term {
	var list []chem.Term
	for _, c := range append(slices.Clone(p.r.s.Flask.Contents), p.r.s.Burette.Contents...) {
		list = append(list, c.Ions...)
	}
	return list
}

// checkMedium refuses a medium for which neither tables nor file have a
// potential.
func (p *picker) checkMedium() error {
	if p.medium == "" || p.r.s.Flask.Medium == "" {
		return nil
	}
	media, err := constants.Media("")
	if err != nil {
		return p.r.fail([]any{"flask", "medium"}, "reading the tables: %v", err)
	}
	listed := slices.ContainsFunc(p.r.s.Reactions, func(rx Reaction) bool { return constants.CleanMedium(rx.Medium) == p.medium })
	if listed || slices.Contains(media, p.medium) {
		return nil
	}
	return p.r.fail([]any{"flask", "medium"}, "the tables hold no potentials in %q; they hold %s. Without medium standard potentials are used", p.r.s.Flask.Medium, strings.Join(media, "; "))
}

// inert says whether the electrode follows electrons, or may.
func (p *picker) inert() bool {
	ind := p.r.s.Electrode.Indicator
	return ind == "" || slices.Contains(inertIndicators, ind)
}

// isRedox says whether couples of the tables belong into the model. Where no
// electrode tells, both vessels must hold a species of a couple.
func (p *picker) isRedox() bool {
	switch {
	case !p.inert():
		return false
	case p.r.s.Electrode.Indicator != "" || p.medium != "":
		return true
	case slices.ContainsFunc(p.r.s.Reactions, func(rx Reaction) bool { return rx.parsed.Coefficient(chem.Electron).Sign() != 0 }):
		return true
	}
	return p.hasCouple(p.r.s.Flask.Contents) && p.hasCouple(p.r.s.Burette.Contents)
}

// hasCouple says whether a vessel holds a species of an active couple, other
// than ions that are common in every kind of titration.
func (p *picker) hasCouple(list []Content) bool {
	for _, c := range list {
		for _, t := range c.Ions {
			n := t.Species.Name
			if spectators[n] || ambient(n) || n == "Br^-" || n == "Ag^+" || n == "Cu^2+" {
				continue
			}
			if slices.ContainsFunc(p.table.of[n], func(row *tabled) bool { return row.Kind.Redox() && row.Inactive == "" }) {
				return true
			}
		}
	}
	return false
}

// spectators are ions that seldom take part in a reaction of electrons.
var spectators = map[string]bool{
	"Na^+": true, "K^+": true, "Li^+": true, "NH4^+": true, "Mg^2+": true, "Ca^2+": true, "Ba^2+": true, "Zn^2+": true,
	"Cl^-": true, "NO3^-": true, "ClO4^-": true, "SO4^2-": true, "HSO4^-": true,
}

// tableSource says whether an acid or base of the tables is in a vessel.
func (p *picker) tableSource() bool {
	if p.conforms {
		return false
	}
	for _, t := range p.ions() {
		for _, row := range p.table.of[t.Species.Name] {
			if row.Kind != constants.PKa || row.Also != "" {
				continue
			}
			ln, _ := row.LnK(p.r.s.Temperature)
			if supplies(row.Reaction, ln, t.Species.Name) {
				return true
			}
		}
	}
	return false
}

// pick adds rows until nothing new can form: first what belongs without
// question, then standard potentials where they must do.
func (p *picker) pick() {
	for p.round(p.first) || p.round(p.second) || p.round(p.third) {
	}
}

// round adds the rows that are wanted now.
func (p *picker) round(wanted func(*tabled) bool) bool {
	added := false
	for _, row := range p.table.usable {
		if p.usable(row) && wanted(row) && p.span.add(row.Reaction) {
			p.add(row)
			added = true
		}
	}
	return added
}

// usable says whether a row may take part in this titration.
func (p *picker) usable(row *tabled) bool {
	if !p.reachable(row) || p.mentions(row, p.leave) {
		return false
	}
	return row.Inactive == "" && p.putIn(row.Needs) || p.mentions(row, p.allow)
}

// putIn says whether a vessel was given one of the species that a row needs.
func (p *picker) putIn(needs []string) bool {
	return len(needs) == 0 || slices.ContainsFunc(p.ions(), func(t chem.Term) bool { return slices.Contains(needs, t.Species.Name) })
}

func (p *picker) mentions(row *tabled, list []string) bool {
	return len(list) > 0 && slices.ContainsFunc(row.Reaction.Terms, func(t chem.Term) bool { return slices.Contains(list, t.Species.Name) })
}

// first: formal potentials of the medium; without one, standard potentials
// and side reactions, those couples put off that need H+ where none is.
func (p *picker) first(row *tabled) bool {
	switch row.Kind {
	case constants.FormalPotential:
		return p.redox && p.medium != "" && row.Medium == p.medium
	case constants.StandardPotential:
		return p.redox && !p.conforms && (p.source || row.Reaction.Coefficient(chem.Proton).Sign() == 0)
	}
	return !p.conforms && row.Medium == ""
}

// second: in a medium, standard potentials of species put in for which there
// is no formal one, and of what these turn into.
func (p *picker) second(row *tabled) bool {
	if !p.redox || !p.conforms || row.Kind != constants.StandardPotential {
		return false
	}
	for _, t := range p.ions() {
		n := t.Species.Name
		if !p.covered[n] && !spectators[n] && !ambient(n) {
			p.fallback[n] = true
		}
	}
	related := false
	for _, t := range row.Reaction.Terms {
		related = related || p.fallback[t.Species.Name]
	}
	if related {
		for _, t := range row.Reaction.Terms {
			if !ambient(t.Species.Name) {
				p.fallback[t.Species.Name] = true
			}
		}
	}
	return related
}

// third: a couple with H+ where nothing supplies it, if the potentials in the
// flask can reach it. The model then asks for the source of H+; otherwise, as
// with iodate where iodide meets thiosulfate, the couple is left out.
func (p *picker) third(row *tabled) bool {
	if !p.redox || p.conforms || p.source || row.Kind != constants.StandardPotential || len(p.span.reduce(row.Reaction)) == 0 {
		return false
	}
	if p.missing(row) || p.neutral(row) < p.highest() {
		return true
	}
	if !slices.Contains(p.dry, row.Reaction.String()) {
		p.dry = append(p.dry, row.Reaction.String())
	}
	return false
}

// missing says whether a species put in has no half-reaction but this one.
func (p *picker) missing(row *tabled) bool {
	for _, t := range p.ions() {
		n := t.Species.Name
		if row.Reaction.Coefficient(n).Sign() == 0 || spectators[n] || ambient(n) {
			continue
		}
		if !slices.ContainsFunc(p.r.s.Reactions, func(rx Reaction) bool {
			return rx.Unit == "V" && rx.parsed.Coefficient(n).Sign() != 0
		}) {
			return true
		}
	}
	return false
}

// neutral returns the potential of a couple at pH 7, V.
func (p *picker) neutral(row *tabled) float64 {
	h, n := row.Reaction.Coefficient(chem.Proton).Float(), row.Reaction.Coefficient(chem.Electron).Float()
	return row.Potential() - 0.0592*7*h/n
}

// highest returns the largest potential among the couples so far, V.
func (p *picker) highest() float64 {
	e := math.Inf(-1)
	for _, rx := range p.r.s.Reactions {
		if rx.Unit == "V" {
			e = math.Max(e, rx.Value)
		}
	}
	return e
}

// reachable says whether all of one side can be present, a species of the
// reaction's own among it.
func (p *picker) reachable(row *tabled) bool {
	left, right, own := true, true, false
	for _, i := range row.left {
		have := p.have[i]
		own, left = own || have, left && have
	}
	for _, i := range row.right {
		have := p.have[i]
		own, right = own || have, right && have
	}
	return own && (left || right)
}

// ambient names what is always at hand in water.
func ambient(name string) bool {
	switch name {
	case chem.Water, chem.Electron, chem.Proton, chem.Hydroxide:
		return true
	}
	return false
}

func (p *picker) add(row *tabled) {
	ln, changes := row.LnK(p.r.s.Temperature)
	if !changes && math.Abs(float64(p.r.s.Temperature-row.Temperature)) > 2 {
		p.constant = append(p.constant, fmt.Sprintf("%s (%.4g °C)", row.Text, row.Temperature.Celsius()))
	}
	rx := Reaction{
		Equation: row.Reaction.String(), Kind: string(row.Kind), Value: row.Value, Medium: row.Medium,
		Source: row.Source.Key, FromTable: true, parsed: row.Reaction, lnK: ln,
	}
	if row.Kind.Redox() {
		rx.Unit, rx.Value = "V", row.Potential()
	}
	if row.IonicStrength.Known {
		rx.ionic = row.IonicStrength.Value
	}
	p.r.s.Reactions = append(p.r.s.Reactions, rx)
	p.note(rx)
}
