package explain

import (
	"math"

	"meniscus/chem"
)

// overall is the reaction of two species in a ratio, mol of other for 1 mol of
// species, put together from the reactions of the titration; "" where none has
// this ratio.
func (b *builder) overall(species, other string, ratio float64) string {
	if b.t == nil {
		return ""
	}
	for _, find := range []func(x, y string, ratio float64) (chem.Reaction, bool){b.byElectrons, b.byProtons, b.byCombination, b.byPair} {
		if r, ok := find(species, other, ratio); ok && r.Check() == nil {
			return r.Ordered().String()
		}
	}
	return ""
}

// byElectrons joins two couples so that the electrons cancel.
func (b *builder) byElectrons(x, y string, ratio float64) (chem.Reaction, bool) {
	for _, c1 := range b.t.Couples {
		for _, c2 := range b.t.Couples {
			k1, k2 := b.coefficient(c1.Reaction, x), b.coefficient(c2.Reaction, y)
			if c1.Reaction == c2.Reaction || k1 == 0 || k2 == 0 || (k1 < 0) == (k2 < 0) {
				continue
			}
			e1, e2 := b.electronsOf(c1.Reaction), b.electronsOf(c2.Reaction)
			if math.Abs(math.Abs(k2/e2)/math.Abs(k1/e1)/ratio-1) > 1e-9 {
				continue
			}
			g := gcd(e1, e2)
			r, ok := b.sum(map[int]float64{c1.Reaction: -math.Copysign(e2/g, k1), c2.Reaction: -math.Copysign(e1/g, k2)}, c1.Reaction, c2.Reaction)
			if ok {
				return r, true
			}
		}
	}
	return chem.Reaction{}, false
}

// sum adds reactions of the system, each so many times, and fills in water.
func (b *builder) sum(times map[int]float64, order ...int) (chem.Reaction, bool) {
	net := map[string]float64{}
	var names []string
	for _, i := range order {
		for _, t := range b.t.System().Reactions[i].Terms {
			name := b.t.System().Species[t.Species].Name
			if _, seen := net[name]; !seen {
				names = append(names, name)
			}
			net[name] += times[i] * b.coefficient(i, name)
		}
	}
	var r chem.Reaction
	shared := 0.0
	for _, name := range names {
		shared = gcd(shared, net[name])
	}
	for _, name := range names {
		k := net[name]
		if k == 0 || name == chem.Electron {
			continue
		}
		if shared >= 1 {
			k /= shared
		}
		sp, err := chem.ParseSpecies(name)
		if err != nil || k != math.Round(k) {
			return r, false
		}
		r.Terms = append(r.Terms, chem.Term{Species: sp, Coefficient: chem.Whole(int64(k))})
	}
	if len(r.Terms) == 0 {
		return r, false
	}
	if filled, ok := r.FillWater(); ok {
		r = filled
	}
	return r, true
}

// byProtons follows an acid or a base through as many steps as the ratio says,
// with H+ or OH-.
func (b *builder) byProtons(x, y string, ratio float64) (chem.Reaction, bool) {
	var r chem.Reaction
	if y != chem.Proton && y != "OH^-" {
		if x != chem.Proton && x != "OH^-" {
			return r, false
		}
		x, y, ratio = y, x, 1/ratio
	}
	steps := math.Round(ratio)
	if math.Abs(steps-ratio) > 1e-9 || steps < 1 {
		return r, false
	}
	form := x
	if x == chem.Proton || x == "OH^-" {
		if x == y || steps != 1 {
			return r, false
		}
		return reactionOf("H^+ + OH^- = H2O")
	}
	for range int(steps) {
		_, to, _, ok := b.acid(form, y == "OH^-")
		if !ok {
			return r, false
		}
		form = to
	}
	return balancedOf(x+" + "+y+" = "+form, " + H2O")
}

// balancedOf is the reaction with coefficients, with more on its right side
// where it needs that.
func balancedOf(text, more string) (chem.Reaction, bool) {
	for _, t := range []string{text, text + more} {
		if q, ok := reactionOf(t); ok {
			if r, err := q.Balance(); err == nil {
				return r, true
			}
		}
	}
	return chem.Reaction{}, false
}

func reactionOf(text string) (chem.Reaction, bool) {
	r, err := chem.ParseReaction(text)
	return r, err == nil
}

// byCombination finds the solid or complex that two species make; a titrant
// that has to lose protons first gives them off.
func (b *builder) byCombination(x, y string, ratio float64) (chem.Reaction, bool) {
	for _, pair := range [][2]string{{x, y}, {y, x}} {
		for form, guard := pair[1], 0; guard < 9; guard++ {
			if r, ok := b.madeOf(pair[0], form, pair[1]); ok {
				k, l := r.Coefficient(x).Float(), r.Coefficient(y).Float()
				if k != 0 && math.Abs(l/k/ratio-1) < 1e-9 {
					return r, true
				}
			}
			_, to, _, ok := b.acid(form, true)
			if !ok {
				break
			}
			form = to
		}
	}
	return chem.Reaction{}, false
}

// madeOf is the reaction of x with a form of y, written with y itself.
func (b *builder) madeOf(x, form, y string) (chem.Reaction, bool) {
	for i, r := range b.t.System().Reactions {
		if len(r.Terms) != 3 || b.coefficient(i, x) == 0 || b.coefficient(i, x)*b.coefficient(i, form) <= 0 {
			continue
		}
		for _, t := range r.Terms {
			sp := b.t.System().Species[t.Species]
			if sp.Name == x || sp.Name == form {
				continue
			}
			return balancedOf(x+" + "+y+" = "+sp.Name, " + H^+")
		}
	}
	return chem.Reaction{}, false
}
