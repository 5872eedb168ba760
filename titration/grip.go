package titration

import (
	"math"
	"slices"
	"strings"

	"meniscus/equilibrium"
)

// A Grip says how much one couple or pair holds the reading where it is: its
// share of what resists a change of the quantity that the electrode follows.
type Grip struct {
	Name  string // "Fe^3+/Fe^2+", "CH3COOH/CH3COO^-"; the ion itself where it is free
	Share float64
}

// Grips returns what holds the reading at the current point, the strongest
// first; nil where nothing does and the reading is undefined. The share of a
// reaction follows from letting it alone run by a little: n²/Σ(ν²/c) over its
// dissolved species, the poise of a couple or the capacity of a buffer pair
// (closed form for an ideal solution). Reactions that only share a species
// with another count as if they stood alone, so shares are a guide to which
// one governs and no exact partition.
func (p *Predictor) Grips() []Grip {
	var list []Grip
	sum := 0.0
	add := func(name string, size float64) {
		if size > 0 && !math.IsInf(size, 1) {
			list = append(list, Grip{name, size})
			sum += size
		}
	}
	sys := p.System()
	sensed := p.Cell.Species
	if p.Cell.Sensor == Inert {
		for _, c := range p.Couples {
			add(c.Name, p.grip(&sys.Reactions[c.Reaction], sensed))
		}
	} else {
		add(sys.Species[sensed].Name, p.Solver.Concentration(sensed))
		for i := range sys.Reactions {
			add(pairName(sys, &sys.Reactions[i], sensed), p.grip(&sys.Reactions[i], sensed))
		}
	}
	for i := range list {
		list[i].Share /= sum
	}
	slices.SortStableFunc(list, func(a, b Grip) int {
		switch {
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		}
		return 0
	})
	return list
}

// grip is the size of the resistance of one reaction, mol/L; 0 where one of its
// species is not there.
func (p *Predictor) grip(r *equilibrium.Reaction, sensed int) float64 {
	n, inverse := 0.0, 0.0
	for _, t := range r.Terms {
		nu := float64(t.Num) / float64(max(t.Den, 1))
		if t.Species == sensed {
			n = nu
			continue
		}
		switch p.System().Species[t.Species].Kind {
		case equilibrium.Electron:
			return 0
		case equilibrium.Solid:
			if p.Solver.Amount(t.Species) <= 0 {
				return 0
			}
		case equilibrium.Dissolved:
			c := p.Solver.Concentration(t.Species)
			if c <= 0 {
				return 0
			}
			inverse += nu * nu / c
		}
	}
	if n == 0 || inverse == 0 {
		return 0
	}
	return n * n / inverse
}

// pairName names a reaction by its other species, those without the sensed one
// last: CH3COOH/CH3COO^-.
func pairName(sys *equilibrium.System, r *equilibrium.Reaction, sensed int) string {
	var with, without []string
	side := int64(0)
	for _, t := range r.Terms {
		if t.Species == sensed {
			side = t.Num
		}
	}
	for _, t := range r.Terms {
		switch name := sys.Species[t.Species].Name; {
		case t.Species == sensed:
		case (t.Num > 0) == (side > 0):
			without = append(without, name)
		default:
			with = append(with, name)
		}
	}
	return strings.Trim(strings.Join(with, " + ")+"/"+strings.Join(without, " + "), "/")
}
