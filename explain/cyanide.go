package explain

import (
	"math"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/working"
)

// pairStages are those of an anion of which silver first binds two and then
// falls out: cyanide. The first ends where all of the anion is in the complex,
// the second where all is in the solid.
func (b *builder) pairStages(solid stage) []stage {
	pair := b.pairReaction(solid.from)
	if pair < 0 {
		return nil
	}
	first := solid
	first.reaction, first.made, first.perTitrant, first.volume = pair, 0.5, 2, solid.volume/2
	for _, t := range b.t.System().Reactions[pair].Terms {
		if t.Num > 0 {
			first.to = b.t.System().Species[t.Species].Name
		}
	}
	second := solid
	second.from, second.put, second.conc, second.text = first.to, first.to, 0, ""
	second.amount, second.made, second.volume = solid.amount/2, 2, solid.volume/2
	return []stage{first, second}
}

// pairReaction is Ag+ + 2 X- = AgX2-, or -1.
func (b *builder) pairReaction(anion string) int {
	for i, r := range b.t.System().Reactions {
		dissolved := len(r.Terms) == 3
		for _, t := range r.Terms {
			dissolved = dissolved && b.t.System().Species[t.Species].Kind == equilibrium.Dissolved
		}
		if dissolved && b.coefficient(i, "Ag^+") == -1 && b.coefficient(i, anion) == -2 {
			return i
		}
	}
	return -1
}

// paired says whether the stages are those of pairStages.
func (b *builder) paired() bool {
	return len(b.ways) == 2 && !b.redox() && !b.glass() && b.ways[0].titrant == "Ag^+" && b.ways[0].to == b.ways[1].from
}

// pairWithin is a volume within either stage.
func (b *builder) pairWithin(w stage, taken map[string]float64) (law, working.Paragraph, bool) {
	complex := b.ways[0].to
	if w.from == complex {
		return b.pairSaturated(bracket(complex, taken[complex]))
	}
	used := amount(w.from, "used", "the amount of {"+w.from+"} that has reacted").With(working.Figures(5).Number(w.perTitrant*w.titrantConc*b.v, "mmol"))
	b.dilute(taken, complex, used, w.made)
	return law{constant: b.lgBeta(), terms: []term{
		{bracket(w.from, taken[w.from]), w.from, b.exact(w.from), 2},
		{bracket(complex, taken[complex]), complex, b.exact(complex), -1},
	}}, working.P("{" + w.from + "} and {" + complex + "} are there in known amounts, so the stability constant gives the free silver"), true
}

// pairSaturated is a solution of the complex about to give solid, or with it.
func (b *builder) pairSaturated(c working.Symbol) (law, working.Paragraph, bool) {
	last := b.ways[1]
	constant := working.Less(working.Times(working.Count(2), b.pKsp(last)), b.lgBeta())
	return law{constant: constant, terms: []term{{c, c.Of, b.exact(c.Of), 1}}},
		working.P("One more silver makes two {" + last.to + "} out of {" + c.Of + "}. The solubility product, squared, times the stability constant limits the silver"), true
}

// pairEnd is the end of either stage.
func (b *builder) pairEnd(i int) (law, working.Paragraph, bool) {
	complex := b.ways[0].to
	if i == 0 {
		taken := map[string]float64{}
		n := amount(complex, "whole", "the amount of {"+complex+"} at this equivalence point").With(working.Figures(5).Number(b.ways[1].amount, "mmol"))
		b.dilute(taken, complex, n, 1)
		return b.pairSaturated(bracket(complex, taken[complex]))
	}
	one := working.Over(working.Count(1), working.Count(2))
	return law{
			constant: working.Less(b.pKsp(b.ways[1]), working.Over(b.lgBeta(), working.Count(2))), factor: one,
			terms: []term{b.ratio(complex, "Ag^+", 1, 1)},
		},
		working.P("As much silver as {" + complex + "} stays in solution, so its square is the solubility product, squared, times the stability constant"), true
}

func (b *builder) lgBeta() working.Symbol {
	w := b.ways[0]
	return working.Symbol{
		Letter: "lg β", Of: w.to, Meaning: "the decadic logarithm of the stability constant of {" + w.to + "}, in L²/mol²",
		Value: working.Shortest(round9(b.t.System().Reactions[w.reaction].LnK/math.Ln10), "1"),
	}
}

// byPair is the reaction of the second stage: the complex with more silver.
func (b *builder) byPair(x, y string, _ float64) (chem.Reaction, bool) {
	if !b.paired() || x != b.ways[1].from || y != b.ways[1].titrant {
		return chem.Reaction{}, false
	}
	r, err := chem.ParseReaction(x + " + " + y + " = 2 " + b.ways[1].to)
	return r, err == nil
}
