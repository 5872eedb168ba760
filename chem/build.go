package chem

import (
	"slices"
	"strconv"
	"strings"
)

// nicknames look like formulas and are not: their molar mass would be wrong
// without notice.
var nicknames = map[string]string{
	"KHP": "KHC8H4O4 for potassium hydrogen phthalate",
}

// species puts together what was read.
func (p *reader) species(parts []formulaPart, charge int, phase Phase) (Species, error) {
	s := Species{Name: p.name(parts), Charge: charge, Phase: phase, IsLabel: p.label}
	if meant, ok := nicknames[s.Name]; ok {
		return Species{}, p.fail(0, s.Name+" is a nickname whose letters mean other elements", meant)
	}
	if s.Name == "e" {
		if charge != -1 || phase != Unmarked {
			return Species{}, p.fail(0, "only the electron is called e", Electron)
		}
		return Species{Name: Electron, Charge: -1}, nil
	}
	if charge != 0 {
		if phase != Unmarked && phase != Aqueous {
			return Species{}, p.fail(strings.LastIndexByte(p.text, '('), "an ion is in solution, not ("+string(phase)+")", "")
		}
		s.Phase = Unmarked
	} else if s.Name == Water && phase == Liquid {
		s.Phase = Unmarked
	}
	s.Name += chargeText(charge)
	if s.Phase != Unmarked {
		s.Name += "(" + string(s.Phase) + ")"
	}
	if !p.label {
		elements, ok := composition(parts, charge)
		if !ok {
			return Species{}, p.fail(0, "holds more atoms than can be counted", "")
		}
		s.Elements = elements
	}
	return s, nil
}

// name writes the parts with plain digits and without idle brackets.
func (p *reader) name(parts []formulaPart) string {
	var b strings.Builder
	for i, part := range parts {
		if i > 0 {
			b.WriteString("·")
			if part.times != Whole(1) {
				b.WriteString(multiplierText(part.times))
			}
		}
		nodes := part.nodes
		for len(nodes) == 1 && nodes[0].count == 1 && nodes[0].group != nil {
			nodes = nodes[0].group
		}
		writeNodes(&b, nodes, p.label)
	}
	return b.String()
}

// writeNodes keeps all inner brackets of a label, whose words would run
// together without them.
func writeNodes(b *strings.Builder, nodes []node, label bool) {
	for _, n := range nodes {
		switch {
		case n.group == nil:
			b.WriteString(n.word)
		case n.count == 1 && !label:
			writeNodes(b, n.group, label)
		default:
			b.WriteByte('(')
			writeNodes(b, n.group, label)
			b.WriteByte(')')
		}
		if n.count != 1 {
			b.WriteString(strconv.FormatInt(n.count, 10))
		}
	}
}

// multiplierText writes 1/2 as 0.5, and what has no short decimal as a
// fraction.
func multiplierText(r Ratio) string {
	places, exact := r.Rat().FloatPrec()
	if exact && places <= 3 {
		return r.Rat().FloatString(places)
	}
	return r.String()
}

// edta is the composition of Y^4-, the EDTA anion.
var edta = []node{{word: "C", count: 10}, {word: "H", count: 12}, {word: "N", count: 2}, {word: "O", count: 8}}

func composition(parts []formulaPart, charge int) ([]ElementCount, bool) {
	list := make([]ElementCount, 0, 4)
	for _, part := range parts {
		yIsEDTA := meansEDTA(part.nodes, charge)
		var ok bool
		if list, ok = addNodes(list, part.nodes, part.times, yIsEDTA); !ok {
			return nil, false
		}
	}
	slices.SortFunc(list, func(a, b ElementCount) int { return strings.Compare(a.Symbol, b.Symbol) })
	return list, true
}

func addNodes(list []ElementCount, nodes []node, factor Ratio, yIsEDTA bool) ([]ElementCount, bool) {
	for _, n := range nodes {
		f, ok := times(factor, Whole(n.count))
		switch {
		case !ok:
		case n.group != nil:
			list, ok = addNodes(list, n.group, f, yIsEDTA)
		case n.word == "Y" && yIsEDTA:
			list, ok = addNodes(list, edta, f, false)
		default:
			i := slices.IndexFunc(list, func(x ElementCount) bool { return x.Symbol == n.word })
			if i < 0 {
				i = len(list)
				list = append(list, ElementCount{Symbol: n.word})
			}
			list[i].Count, ok = plus(list[i].Count, f)
		}
		if !ok {
			return nil, false
		}
	}
	return list, true
}

// meansEDTA tells the abbreviation Y from yttrium by the rule of ParseSpecies.
func meansEDTA(nodes []node, charge int) bool {
	flat := flatten(nil, nodes)
	first, found := -1, 0
	for i, n := range flat {
		if n.word == "Y" {
			found += int(n.count)
			if first < 0 {
				first = i
			}
		}
	}
	return found == 1 && (first > 0 || len(flat) == 1 && charge < 0)
}

func flatten(list, nodes []node) []node {
	for _, n := range nodes {
		if n.group != nil {
			list = flatten(list, n.group)
		} else {
			list = append(list, n)
		}
	}
	return list
}
