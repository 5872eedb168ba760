package explain

import (
	"math"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/working"
)

// moves is how near a change of concentration must come to the surplus of H+
// or OH- to be called its doing.
const moves = 0.25

// withWaterReason says which solid, or what water, takes or makes a species,
// where that makes up the difference between the concentration taken and the exact one.
func (b *builder) withWaterReason(t term, taken float64) (working.Paragraph, bool) {
	if solid, c := b.fallen(t.species); t.exact < taken && c > 0.1*(taken-t.exact) {
		return append(working.P("part of it is in {"+solid+"}"), working.P(" (@)", working.Figures(3).Number(c, "mol/L"))...), true
	}
	if !b.glass() {
		return nil, false
	}
	h, oh := b.exact(chem.Proton), b.exact("OH^-")
	change := t.exact - taken
	if t.species == chem.Proton || t.species == "OH^-" {
		other := h + oh - t.exact
		switch {
		case change > 0 && change < (1+moves)*other:
			return working.P("more is there: water gives some as well"), true
		case change > 0 && t.species == chem.Proton:
			return working.P("more is there: the weak acid beside it gives some as well"), true
		case change > 0:
			return working.P("more is there: the weak base beside it makes some as well"), true
		}
		return nil, false
	}
	surplus := h - oh
	_, _, _, gives := b.acid(t.species, true)
	_, _, _, takes := b.acid(t.species, false)
	if math.Abs(math.Abs(change)-math.Abs(surplus)) > moves*math.Abs(surplus) {
		return nil, false
	}
	switch {
	case surplus > 0 && change < 0 && gives:
		return working.P("less is there: it gives {H^+} to water"), true
	case surplus > 0 && change > 0 && takes:
		return working.P("more is there: the acid gives {H^+} to water"), true
	case surplus < 0 && change < 0 && takes:
		return working.P("less is there: it takes {H^+} from water"), true
	case surplus < 0 && change > 0 && gives:
		return working.P("more is there: the base takes {H^+} from water"), true
	}
	return nil, false
}

// fallen is the solid that holds most of a species, other than that of a stage,
// and how much of the species it holds, mol per litre of mixture.
func (b *builder) fallen(species string) (solid string, c float64) {
	for i, r := range b.t.System().Reactions {
		n := math.Abs(b.coefficient(i, species))
		if n == 0 {
			continue
		}
		for _, q := range r.Terms {
			sp := b.t.System().Species[q.Species]
			if x := n * b.p.Solver.Amount(q.Species); sp.Kind == equilibrium.Solid && !b.held(sp.Name) && x > c {
				solid, c = sp.Name, x
			}
		}
	}
	return solid, c
}

// moreReason says where a concentration above the one taken comes from.
func (b *builder) moreReason(t term) working.Paragraph {
	switch {
	case b.redox():
		return working.P("more is there: the reaction does not run quite to its end, or other equilibria set it free")
	case b.glass():
		return working.P("more is there: neighbouring forms exchange protons and make some")
	}
	for _, w := range b.ways {
		if w.from == t.species {
			return working.P("more is there: {" + w.to + "} gives some back")
		}
	}
	return working.P("more is there: other equilibria set it free")
}

// ratioReason says why two concentrations that the first formula takes to be in
// a plain ratio are not.
func (b *builder) ratioReason() working.Paragraph {
	switch {
	case b.glass():
		return working.P("{H^+}, {OH^-} or a further form counts in the balance of protons too")
	case b.complexing():
		if other, c := b.rival(); other != "" {
			return append(working.P("part of the free EDTA is {"+other+"}"), working.P(" (@)", working.Figures(3).Number(c, "mol/L"))...)
		}
	}
	return working.P("one of the two takes part in other equilibria as well; see the composition")
}

// rival is the most abundant complex of the ligand with anything but H+ and
// the metal that is titrated.
func (b *builder) rival() (species string, c float64) {
	for i, r := range b.t.System().Reactions {
		if b.coefficient(i, ligand) >= 0 || b.coefficient(i, chem.Proton) != 0 {
			continue
		}
		for _, q := range r.Terms {
			sp := b.t.System().Species[q.Species]
			if x := b.p.Solver.Concentration(q.Species); q.Num > 0 && sp.Kind == equilibrium.Dissolved && !b.held(sp.Name) && x > c {
				species, c = sp.Name, x
			}
		}
	}
	return species, c
}
