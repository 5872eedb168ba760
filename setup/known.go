package setup

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/unit"
)

// water adds the ion product where H+ or OH- is part of the model.
func (p *picker) water() error {
	needs := false
	for _, t := range p.ions() {
		needs = needs || t.Species.Name == chem.Proton || t.Species.Name == chem.Hydroxide
	}
	for _, rx := range p.r.s.Reactions {
		if isWater(rx.parsed) {
			return nil
		}
		needs = needs || rx.parsed.Coefficient(chem.Proton).Sign() != 0 || rx.parsed.Coefficient(chem.Hydroxide).Sign() != 0
	}
	if !needs {
		return nil
	}
	pk, err := p.waterPK()
	if err != nil {
		return p.r.fail([]any{"temperature"}, "%v", err)
	}
	rx, err := chem.ParseReaction("H2O = H^+ + OH^-")
	if err != nil {
		return err
	}
	p.r.s.Reactions = append(p.r.s.Reactions, Reaction{
		Equation: rx.String(), Kind: string(constants.PKw), Value: pk, Source: "memory", FromTable: true, parsed: rx, lnK: -pk * math.Ln10,
	})
	return nil
}

// waterPK returns pKw; beyond the table the straight line in 1/T through its
// last two rows goes on, with a warning.
func (p *picker) waterPK() (float64, error) {
	t := p.r.s.Temperature
	pk, err := constants.WaterPK(t)
	if err == nil {
		return pk, nil
	}
	near, next := unit.Celsius(60), unit.Celsius(55)
	if t < near {
		near, next = unit.Celsius(0), unit.Celsius(5)
	}
	a, err := constants.WaterPK(near)
	if err != nil {
		return 0, err
	}
	b, err := constants.WaterPK(next)
	if err != nil {
		return 0, err
	}
	inverse := func(t unit.Temperature) float64 { return 1 / float64(t) }
	pk = a + (b-a)*(inverse(t)-inverse(near))/(inverse(next)-inverse(near))
	p.r.s.Warnings = append(p.r.s.Warnings, fmt.Sprintf("the ion product of water is known from 0 to 60 °C; pKw %.2f at %.4g °C is a continuation", pk, t.Celsius()))
	return pk, nil
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
	for _, side := range []struct {
		list  []Content
		place string
	}{{p.r.s.Flask.Contents, "flask"}, {p.r.s.Burette.Contents, "burette"}} {
		for _, c := range side.list {
			for _, t := range c.Ions {
				if n := t.Species.Name; !p.r.mentions(n) && !ambient(n) && !p.known(n) {
					return p.r.fail([]any{side.place, "contains", c.Species}, "the tables know nothing of %s%s; add its reactions under chemistry, or write library: off to count it as inert", n, p.suggest(t.Species)+titrantsFor(side.place))
				}
			}
		}
	}
	return nil
}

// titrantsFor names what the tables know as titrants, for the burette.
func titrantsFor(place string) string {
	list, err := constants.Titrants()
	if place != "burette" || err != nil {
		return ""
	}
	var names []string
	for _, t := range list {
		names = append(names, t.Species)
	}
	return "; titrants that the tables know: " + strings.Join(names, ", ")
}

// known says whether a table mentions the species at all.
func (p *picker) known(name string) bool {
	if _, ok, err := constants.Size(name); err == nil && ok || spectators[name] {
		return true
	}
	return len(p.table.of[name]) > 0
}

// suggest names species of the tables with the same atoms and charge.
func (p *picker) suggest(sp chem.Species) string {
	var list []string
	for _, row := range p.table.rows {
		for _, t := range row.Reaction.Terms {
			same := t.Species.Charge == sp.Charge && len(sp.Elements) > 0 && slices.Equal(t.Species.Elements, sp.Elements)
			if same && t.Species.Phase != chem.Solid && !slices.Contains(list, t.Species.Name) {
				list = append(list, t.Species.Name)
			}
		}
	}
	if len(list) == 0 {
		return ""
	}
	return "; species with the same atoms and charge: " + strings.Join(list, ", ")
}

// tell says what the picking of constants leaves to know.
func (p *picker) tell() {
	s := p.r.s
	if len(p.constant) > 0 {
		s.Notes = append(s.Notes, "the constant holds as given, for its change with temperature is not known: "+strings.Join(p.constant, "; "))
	}
	if !p.source && len(p.dry) > 0 {
		s.Notes = append(s.Notes, "left out, because nothing here supplies H^+ and the potentials do not reach it: "+strings.Join(p.dry, "; "))
	}
	if !p.conforms {
		return
	}
	for _, t := range p.ions() {
		n := t.Species.Name
		if !spectators[n] && !ambient(n) && !p.r.mentions(n) {
			s.Warnings = append(s.Warnings, n+" takes part in no reaction here: with formal potentials only half-reactions are taken from the tables. Put it in as the species of a half-reaction, leave medium out, or add its reactions under chemistry")
		}
	}
}
