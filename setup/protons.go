package setup

import (
	"math"
	"slices"

	"meniscus/chem"
)

func (r *reader) holdsPH() bool {
	for _, item := range r.f.Hold {
		if k := text(item.Key); k == "pH" || k == "H^+" || k == "OH^-" {
			return true
		}
	}
	return false
}

// protonSource refuses a half-reaction with H+ where nothing supplies it.
func (r *reader) protonSource() error {
	if r.holdsPH() {
		return nil
	}
	for i, rx := range r.s.Reactions {
		if rx.parsed.Coefficient(chem.Electron).Sign() == 0 || rx.parsed.Coefficient(chem.Proton).Sign() == 0 {
			continue
		}
		if r.suppliesProtons() {
			return nil
		}
		place := []any{"flask"}
		if i < len(r.f.Chemistry) {
			place = []any{"chemistry", i, "reaction"}
		}
		return r.fail(place, "%s uses or gives H^+, but nothing here supplies it and the medium adds none. Either hold the acidity (hold: {pH: 0}), or put the acid under contains (H2SO4: 1 mol/L), or write the reaction without H^+ with a potential for your acidity", rx.Equation)
	}
	return nil
}

// suppliesProtons says whether an acid or a base is in a vessel: H+ or OH-
// itself, or a partner of a reaction with H+ and without electrons.
func (r *reader) suppliesProtons() bool {
	for _, c := range append(slices.Clone(r.s.Flask.Contents), r.s.Burette.Contents...) {
		for _, t := range c.Ions {
			n := t.Species.Name
			if n == chem.Proton || n == chem.Hydroxide {
				return true
			}
			if slices.ContainsFunc(r.s.Reactions, func(rx Reaction) bool { return supplies(rx.parsed, rx.lnK, n) }) {
				return true
			}
		}
	}
	return false
}

// Acids weaker and bases weaker than these do not count as a source of H+ for
// a half-reaction: ammonium or sulfate beside permanganate would leave the pH
// to chance.
const (
	weakestAcid = 8.0 // pKa
	weakestBase = 4.0 // pKa of the conjugate acid
)

// supplies says whether a species is the acid or the base of a reaction with
// H+ and without electrons.
func supplies(rx chem.Reaction, lnK float64, name string) bool {
	h, n := rx.Coefficient(chem.Proton).Float(), rx.Coefficient(name).Float()
	if h == 0 || n == 0 || rx.Coefficient(chem.Electron).Sign() != 0 {
		return false
	}
	pKa := -lnK / math.Ln10 / h
	if h*n < 0 {
		return pKa <= weakestAcid
	}
	return pKa >= weakestBase
}
