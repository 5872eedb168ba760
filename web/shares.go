package web

import (
	"slices"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/report"
	"meniscus/setup"
)

// shares says, for each element that two species or more hold, how it is shared
// out. The element of what is sought comes first. Hydrogen and oxygen are in
// everything and say nothing.
func shares(s *setup.Setup, sys *equilibrium.System, rows []speciesRow) []shareGroup {
	parsed := make([]chem.Species, len(sys.Species))
	var order []string
	note := func(sp chem.Species) {
		for _, e := range sp.Elements {
			if e.Symbol != "H" && e.Symbol != "O" && !slices.Contains(order, e.Symbol) {
				order = append(order, e.Symbol)
			}
		}
	}
	for _, t := range s.Find {
		if sp, err := chem.ParseSpecies(t.Species); err == nil {
			note(sp)
		}
	}
	for i, sp := range sys.Species {
		if p, err := chem.ParseSpecies(sp.Name); err == nil && slices.Max(rows[i].Concentration) > 1e-12 {
			parsed[i] = p
			note(p)
		}
	}
	groups := []shareGroup{}
	var seen [][]int
	for _, symbol := range order {
		var members []int
		for i := range parsed {
			if parsed[i].Count(symbol).Sign() > 0 {
				members = append(members, i)
			}
		}
		if len(members) < 2 || slices.ContainsFunc(seen, func(m []int) bool { return slices.Equal(m, members) }) {
			continue
		}
		seen = append(seen, members)
		groups = append(groups, shareOut(symbol, members, parsed, rows))
	}
	return groups
}

func shareOut(symbol string, members []int, parsed []chem.Species, rows []speciesRow) shareGroup {
	g := shareGroup{Of: symbol}
	sum := make([]float64, len(rows[members[0]].Concentration))
	for _, m := range members {
		n := parsed[m].Count(symbol).Float()
		for i, c := range rows[m].Concentration {
			sum[i] += n * c
		}
	}
	for _, m := range members {
		n := parsed[m].Count(symbol).Float()
		line := shareLine{Name: report.Formula(parsed[m].Name), Share: make(coarse, len(sum))}
		for i, c := range rows[m].Concentration {
			if sum[i] > 0 {
				line.Share[i] = n * c / sum[i]
			}
		}
		if slices.Max(line.Share) > 0.005 {
			g.Shares = append(g.Shares, line)
		}
	}
	return g
}
