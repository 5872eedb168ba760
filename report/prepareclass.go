package report

import (
	"fmt"
	"strings"

	"meniscus/solution"
	"meniscus/unit"
)

func litres(v unit.Volume) string {
	if v < 1 {
		return figures(v.Millilitres(), 3) + " mL"
	}
	return figures(float64(v), 3) + " L"
}

func stockroomSections(s *solution.Stockroom) []prepareSection {
	return []prepareSection{classSection(s), shoppingSection(s), wareSection(s), wasteSection(s)}
}

func classSection(s *solution.Stockroom) prepareSection {
	b := prepareSection{Heading: "The class"}
	b.Items = s.Rules
	rows := [][]string{{"solution for", "used", "needed with spare", "make"}}
	for _, x := range s.Batches {
		rows = append(rows, []string{"the " + x.Place, litres(x.Used), litres(x.Needed), fmt.Sprintf("%d × %s", x.Lots, litres(x.Recipe.Wanted.Volume))})
	}
	b.Tables = []planTable{{Rows: rows, Align: "lrrr"}}
	return b
}

func shoppingSection(s *solution.Stockroom) prepareSection {
	b := prepareSection{Heading: "Chemicals to have"}
	rows := [][]string{{"chemical", "CAS", "needed", "packages"}}
	for _, p := range s.Purchases {
		need, in, size := figures(float64(p.Mass), 3)+" g", "g", p.Package
		if p.Volume > 0 {
			need, in = figures(p.Volume.Millilitres(), 3)+" mL", "mL"
		}
		if size >= 1000 {
			size /= 1000
			in = map[string]string{"g": "kg", "mL": "L"}[in]
		}
		name := solution.Pretty(p.Reagent)
		if other := p.Reagent.Name(); other != name {
			name += ", " + other
		}
		rows = append(rows, []string{name, p.Reagent.CAS, need, fmt.Sprintf("%d × %g %s", p.Packages, size, in)})
	}
	b.Tables = []planTable{{Rows: rows, Align: "llrr"}}
	b.say("Primary standards are counted for three titrations of each lot. Packages are usual sizes; look first at what is on the shelf.")
	return b
}

func wareSection(s *solution.Stockroom) prepareSection {
	b := prepareSection{Heading: "Glassware and gear"}
	rows := [][]string{{"piece", "count", "for"}}
	for _, w := range s.Wares {
		rows = append(rows, []string{w.What, fmt.Sprint(w.Count), w.Why})
	}
	b.Tables = []planTable{{Rows: rows, Align: "lrl"}}
	b.say("Counted for one section; sections use the same.")
	return b
}

func wasteSection(s *solution.Stockroom) prepareSection {
	b := prepareSection{Heading: "Waste"}
	rows := [][]string{{"stream", "volume", "from"}}
	for _, w := range s.Waste {
		rows = append(rows, []string{w.Name, litres(w.Volume), strings.Join(w.Holds, "; ")})
		b.Items = append(b.Items, w.Name+": "+w.Say)
	}
	b.Tables = []planTable{{Rows: rows, Align: "lrl"}}
	b.say("At most so much, with every burette emptied into it and the spare unused. The local disposal rule decides how it is treated.")
	return b
}
