package chem

import (
	"slices"
	"strconv"
	"strings"
)

// An UnknownSaltError says that the table in ions.txt does not tell which ions
// a species gives.
type UnknownSaltError struct {
	Species Species
	Cations []string // known ions that share an element with it, C, H, N, O aside
	Anions  []string
	Several []string // the ways it could be read, if more than one
}

func (e *UnknownSaltError) Error() string {
	s := "splitting " + e.Species.Name + " into ions: "
	if len(e.Several) > 0 {
		return s + "it could be " + strings.Join(e.Several, " or ") + "; write the ions"
	}
	s += "it is no salt of known ions and no known acid, base or molecule"
	if len(e.Cations)+len(e.Anions) == 0 {
		return s + "; write the ions"
	}
	return s + "; known with its elements are " + strings.Join(append(slices.Clone(e.Cations), e.Anions...), ", ")
}

// Dissociate returns the particles that one formula unit gives in water, as
// totals: salts and strong acids and bases become ions (sulfuric acid gives
// 2 H^+ + SO4^2-), weak acids, weak bases and other molecules of the table stay
// whole under one name. Water of crystallisation is dropped. Where the solute
// takes up water (Na2B4O7, As2O3) elements are conserved but for H2O. Ions,
// labels, pure elements, H2O and species with a phase are returned as they
// are. The coefficients are positive; the error is an *UnknownSaltError.
func Dissociate(s Species) ([]Term, error) {
	if s.Charge != 0 || s.IsLabel || s.Phase != Unmarked || len(s.Elements) == 1 || s.Name == Water {
		return []Term{{s, Whole(1)}}, nil
	}
	table, err := ions()
	if err != nil {
		return nil, err
	}
	var out Reaction
	for i, part := range strings.Split(s.Name, "·") {
		factor := Whole(1)
		if n := numberPrefix(part); i > 0 && n > 0 {
			factor, _ = parseRatio(part[:n]) // a Name holds only what was read
			part = part[n:]
		}
		if part == Water {
			continue
		}
		terms, several := table.split(part)
		if terms == nil {
			return nil, table.unknown(s, several)
		}
		for _, t := range terms {
			n, ok := times(factor, t.Coefficient)
			if !ok || out.add(Term{t.Species, n}) != "" {
				return nil, table.unknown(s, nil)
			}
		}
	}
	if len(out.Terms) == 0 || !conserves(s, out.Terms) {
		return nil, table.unknown(s, nil)
	}
	return out.Terms, nil
}

// conserves says whether s gives the terms but for H2O. It fails where the two
// meanings of Y meet in one formula.
func conserves(s Species, terms []Term) bool {
	r := Reaction{append([]Term{{s, Whole(-1)}}, terms...)}
	if r.Check() == nil || len(terms) == 1 && terms[0].Species.Name == s.Name {
		return true
	}
	filled, ok := r.FillWater()
	return ok && filled.Check() == nil
}

// split takes one part of a formula apart. Of several readings the one with
// the fewest kinds of ions counts, so that K4Fe(CN)6 holds hexacyanoferrate.
func (t *ionTable) split(text string) (terms []Term, several []string) {
	if terms, ok := t.splits[text]; ok {
		return terms, nil
	}
	if m, ok := t.molecules[text]; ok {
		return []Term{{m, Whole(1)}}, nil
	}
	var best [][]Term
	keep := func(terms []Term) {
		switch {
		case len(best) > 0 && len(best[0]) < len(terms):
		case len(best) > 0 && len(best[0]) == len(terms):
			best = append(best, terms)
		default:
			best = [][]Term{terms}
		}
	}
	walk(text, [][]writtenIon{t.cations, t.anions}, nil, keep)
	if len(best) == 0 {
		walk(text, [][]writtenIon{t.anions, t.cations}, nil, keep)
	}
	switch len(best) {
	case 0:
		return nil, nil
	case 1:
		return best[0], nil
	}
	for _, b := range best {
		several = append(several, Reaction{b}.format("", Species.String))
	}
	return nil, several
}

// walk matches rest with ions of groups[0], then of groups[1], at least one of
// each, and passes on every neutral match.
func walk(rest string, groups [][]writtenIon, found []Term, keep func([]Term)) {
	if rest == "" {
		charge := int64(0)
		for _, t := range found {
			charge += t.Coefficient.Num() * int64(t.Species.Charge)
		}
		if len(groups) == 1 && charge == 0 {
			keep(slices.Clone(found))
		}
		return
	}
	for level, group := range groups {
		if level > 0 && len(found) == 0 {
			break
		}
		for _, w := range group {
			n, size := countOf(rest, w)
			if size == 0 || slices.ContainsFunc(found, func(t Term) bool { return t.Species.Name == w.ion.Name }) {
				continue
			}
			walk(rest[size:], groups[level:], append(found, Term{w.ion, Whole(n)}), keep)
		}
	}
}

// countOf says how many of the ion rest begins with and how many bytes they
// take; 0 bytes if it does not.
func countOf(rest string, w writtenIon) (n int64, size int) {
	if tail, ok := strings.CutPrefix(rest, "("+w.text+")"); ok {
		d := digitsPrefix(tail)
		n, err := strconv.ParseInt(tail[:d], 10, 32)
		if err != nil {
			return 0, 0
		}
		return n, len(rest) - len(tail) + d
	}
	tail, ok := strings.CutPrefix(rest, w.text)
	if !ok || tail != "" && 'a' <= tail[0] && tail[0] <= 'z' {
		return 0, 0
	}
	d := digitsPrefix(tail)
	switch {
	case d == 0:
		return 1, len(w.text)
	case len(w.ion.Elements) > 1 || strings.TrimRight(w.text, digits) != w.text:
		return 0, 0 // the digits belong to the last element of the ion
	}
	n, err := strconv.ParseInt(tail[:d], 10, 32)
	if err != nil {
		return 0, 0
	}
	return n, len(w.text) + d
}

// unknown builds the error for a species that cannot be split.
func (t *ionTable) unknown(s Species, several []string) error {
	related := func(list []writtenIon) []string {
		var names []string
		for _, w := range list {
			shares := slices.ContainsFunc(w.ion.Elements, func(e ElementCount) bool {
				return !strings.Contains("CHNO", e.Symbol) && s.Count(e.Symbol).Sign() > 0
			})
			if shares && !slices.Contains(names, w.ion.Name) {
				names = append(names, w.ion.Name)
			}
		}
		return names
	}
	return &UnknownSaltError{s, related(t.cations), related(t.anions), several}
}
