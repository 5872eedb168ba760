package solution

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/constants"
)

// StandardFrom returns how a substance standardises a titrant: by the row of
// the table of standards, or else by the redox couples of the tables, balanced
// against each other. balanced says that it is the latter: the ratio is right if
// the reaction is the one that runs, which nobody has vouched for.
func StandardFrom(substance, titrant string) (s constants.Standard, balanced bool, err error) {
	r, known, err := constants.FindReagent(substance)
	if err != nil {
		return s, false, err
	}
	list, err := constants.StandardsFor(titrant)
	if err != nil {
		return s, false, err
	}
	var have []string
	for _, x := range list {
		if known && x.Reagent.Formula == r.Formula {
			return x, false, nil
		}
		have = append(have, x.Reagent.Formula)
	}
	if known {
		if s, ok, err := byCouples(r, titrant); err != nil || ok {
			return s, true, err
		}
	}
	if len(have) == 0 {
		return s, false, fmt.Errorf("no primary standard for %s in the tables, and no two redox couples that make %s one", titrant, substance)
	}
	return s, false, fmt.Errorf("%s is no primary standard for %s in the tables; have %s", substance, titrant, strings.Join(have, ", "))
}

// byCouples looks for a couple of the titrant and one of what the reagent gives
// that run against each other.
func byCouples(r constants.Reagent, titrant string) (constants.Standard, bool, error) {
	rows, err := constants.Redox()
	if err != nil {
		return constants.Standard{}, false, err
	}
	names, err := speciesOf(titrant)
	if err != nil {
		return constants.Standard{}, false, err
	}
	for _, a := range rows {
		for _, n := range names {
			x := a.Reaction.Coefficient(n)
			if a.Inactive != "" || x.Sign() == 0 {
				continue
			}
			for _, b := range rows {
				given, species, ok := partner(r, b, x.Sign())
				if b.Inactive != "" || !ok || b.Reaction.Coefficient(n).Sign() != 0 || !runs(a, b, x.Sign()) {
					continue
				}
				rx, err := against(a, b, x.Sign(), species, given)
				if err != nil || rx.Coefficient(n).Sign() >= 0 || rx.Coefficient(given.Name).Sign() >= 0 || !onlyReactants(rx, n, given.Name) {
					continue // a third substance reacts, or more than one reaction hides in these species
				}
				return constants.Standard{
					Reagent: r, Species: given.Name, Titrant: n, Reaction: rx, Source: b.Source,
					Conditions: "by balancing the couples of the tables: make sure that this is the reaction that runs, completely and alone",
				}, true, nil
			}
		}
	}
	return constants.Standard{}, false, nil
}

// onlyReactants says whether nothing but two species, protons, hydroxide and
// water stands on the left.
func onlyReactants(rx chem.Reaction, species ...string) bool {
	species = append(species, chem.Proton, chem.Hydroxide, chem.Water)
	for _, t := range rx.Terms {
		if t.Coefficient.Sign() < 0 && !slices.Contains(species, t.Species.Name) {
			return false
		}
	}
	return true
}

func speciesOf(text string) ([]string, error) {
	s, err := chem.ParseSpecies(text)
	if err != nil {
		return nil, fmt.Errorf("reading %q: %w", text, err)
	}
	names := []string{s.Name}
	if terms, err := chem.Dissociate(s); err == nil {
		for _, t := range terms {
			names = append(names, t.Species.Name)
		}
	}
	return names, nil
}

// leastApart is how far apart in V two couples must be; it is near what 99.9 %
// takes with couples of one and five electrons, and keeps chloride from being a
// standard for permanganate.
const leastApart = 0.2

// runs says whether the couple that is to be reduced has the higher potential:
// side is -1 where the titrant is the oxidised form of a.
func runs(a, b constants.Row, side int) bool {
	if side < 0 {
		return a.Value-b.Value > leastApart
	}
	return b.Value-a.Value > leastApart
}

// partner finds what the reagent gives on the side of a couple that the titrant
// takes, in whatever state of protonation the couple has it.
func partner(r constants.Reagent, row constants.Row, side int) (given chem.Species, species string, ok bool) {
	for _, g := range r.Gives {
		for _, t := range row.Reaction.Terms {
			if t.Coefficient.Sign() == -side && t.Species.Name != chem.Proton && t.Species.Name != chem.Water && t.Species.Name != chem.Electron && sameButProtons(g.Species, t.Species) {
				return g.Species, t.Species.Name, true
			}
		}
	}
	return chem.Species{}, "", false
}

// sameButProtons says whether two species differ by protons only.
func sameButProtons(a, b chem.Species) bool {
	symbols := map[string]bool{}
	for _, s := range []chem.Species{a, b} {
		for _, e := range s.Elements {
			symbols[e.Symbol] = true
		}
	}
	heavy := false
	for e := range symbols {
		if e == "H" {
			continue
		}
		if a.Count(e) != b.Count(e) {
			return false
		}
		heavy = true
	}
	return heavy && a.Phase == b.Phase && a.Count("H").Float()-float64(a.Charge) == b.Count("H").Float()-float64(b.Charge)
}

// against adds the two couples so that their electrons cancel, the titrant's on
// its side, with the form that the reagent gives in place of the couple's.
func against(a, b constants.Row, side int, species string, given chem.Species) (chem.Reaction, error) {
	ra, rb := a.Reaction, b.Reaction.Reverse()
	if side > 0 {
		ra, rb = a.Reaction.Reverse(), b.Reaction
	}
	na, nb := a.Reaction.Coefficient(chem.Electron).Rat(), b.Reaction.Coefficient(chem.Electron).Rat()
	sum := map[string]*big.Rat{}
	var order []string
	add := func(name string, n *big.Rat) {
		if sum[name] == nil {
			order = append(order, name)
			sum[name] = new(big.Rat)
		}
		sum[name].Add(sum[name], n)
	}
	for _, part := range []struct {
		r chem.Reaction
		n *big.Rat
	}{{ra, nb.Abs(nb)}, {rb, na.Abs(na)}} {
		for _, t := range part.r.Terms {
			n := new(big.Rat).Mul(t.Coefficient.Rat(), part.n)
			name := t.Species.Name
			if name == species { // H2C2O4 of the couple is C2O4^2- and 2 H^+
				add(chem.Proton, new(big.Rat).Mul(n, big.NewRat(int64(t.Species.Charge-given.Charge), 1)))
				name = given.Name
			}
			add(name, n)
		}
	}
	var left, right []string
	for _, s := range order {
		switch sum[s].Sign() {
		case -1:
			left = append(left, s)
		case 1:
			right = append(right, s)
		}
	}
	// The sum says which stand on which side; Balance gives the smallest numbers.
	r, err := chem.ParseReaction(strings.Join(left, " + ") + " = " + strings.Join(right, " + "))
	if err != nil {
		return r, err
	}
	return r.Balance()
}
