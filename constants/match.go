package constants

import (
	"slices"
	"strconv"
	"strings"

	"meniscus/chem"
)

// SpeciesKey returns the name under which a species is compared: CO2(aq) and
// CO2 are one dissolved molecule, AgCl(aq) and AgCl(s) are two things.
func SpeciesKey(s chem.Species) string {
	return strings.TrimSuffix(s.Name, "("+string(chem.Aqueous)+")")
}

// reactionKey is the same for a reaction and its multiples, read either way.
func reactionKey(r chem.Reaction) string {
	terms := slices.Clone(r.Terms)
	slices.SortFunc(terms, func(a, b chem.Term) int {
		return strings.Compare(SpeciesKey(a.Species), SpeciesKey(b.Species))
	})
	var b strings.Builder
	for _, t := range terms {
		// Both are fractions of small numbers; the quotient is exact enough to tell them apart.
		q := t.Coefficient.Float() / terms[0].Coefficient.Float()
		b.WriteString(format(q))
		b.WriteByte(' ')
		b.WriteString(SpeciesKey(t.Species))
		b.WriteByte(';')
	}
	return b.String()
}

func format(x float64) string { return strconv.FormatFloat(x, 'g', 9, 64) }

// has says whether the species takes part in the reaction of the row.
func (row Row) has(key string) bool {
	return slices.ContainsFunc(row.Reaction.Terms, func(t chem.Term) bool { return SpeciesKey(t.Species) == key })
}

// hasFormula is has for a formula without a phase, which finds all its phases.
func (row Row) hasFormula(name string) bool {
	return slices.ContainsFunc(row.Reaction.Terms, func(t chem.Term) bool { return bare(t.Species) == bareName(name) })
}

func bare(s chem.Species) string { return bareName(s.Name) }

func bareName(name string) string {
	for _, phase := range []chem.Phase{chem.Aqueous, chem.Solid, chem.Liquid, chem.Gas} {
		name = strings.TrimSuffix(name, "("+string(phase)+")")
	}
	return name
}

// hasElement says whether a species of the reaction holds the element.
func (row Row) hasElement(symbol string) bool {
	return slices.ContainsFunc(row.Reaction.Terms, func(t chem.Term) bool { return t.Species.Count(symbol).Sign() > 0 })
}
