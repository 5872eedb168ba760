package solution

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/unit"
	"meniscus/volumetric"
)

// describe writes the steps in the order of work, and what to note. solutes is
// how many were wanted besides the medium.
func (r *Recipe) describe(solutes int) {
	r.dry()
	r.start()
	for i, p := range r.inOrder() {
		r.add(p, i)
	}
	r.finish()
	for i, p := range r.Portions {
		if p.Reagent.Note != "" {
			r.Notes = append(r.Notes, Pretty(p.Reagent)+": "+p.Reagent.Note)
		}
		if i < solutes && p.Volume == 0 && float64(p.Mass) < smallMass {
			r.Notes = append(r.Notes, fmt.Sprintf("%s: %.4f g is little to weigh: the balance alone makes more than 0.1 %%; weigh ten times as much into a stock and dilute", Pretty(p.Reagent), float64(p.Mass)))
		}
	}
	first := r.Portions[0]
	r.Keeps, r.Bottle = first.Reagent.Keeps, first.Reagent.Bottle
	if solutes == 0 || first.Reagent.Primary {
		return
	}
	if list, err := constants.StandardsFor(first.For); err == nil {
		r.Against = list
	}
	if first.Reagent.Damp != "" {
		r.Notes = append(r.Notes, Pretty(first.Reagent)+": "+first.Reagent.Damp+", so the amount taken does not tell the exact concentration")
	}
}

// Pretty writes the formula of a reagent with lowered digits, and an indicator
// by its name.
func Pretty(r constants.Reagent) string {
	if r.Form == constants.IndicatorReagent {
		return r.Formula
	}
	return r.Species.Unicode()
}

// smallMass is the mass in g below which a weighing by difference is worse than
// 0.1 %: BalanceLinearity twice, as a standard uncertainty.
const smallMass = 0.12

// rank orders the bottles: what needs plain water, acid into water, alkali, the
// salts, and last the bases and other liquids that fume or decay.
func (r *Recipe) rank(p Portion) int {
	isWith := slices.ContainsFunc(r.Portions, func(q Portion) bool { return q.Reagent.With == p.Reagent.Formula })
	switch {
	case p.Reagent.Before || isWith:
		return 0
	case p.Reagent.With != "":
		return 1
	case p.acid():
		return 2
	case p.Reagent.PerUnit(chem.Hydroxide) > 0 && p.Volume == 0:
		return 3
	case p.Volume == 0:
		return 4
	}
	return 5
}

// acid says whether the bottle is a concentrated acid.
func (p Portion) acid() bool {
	return p.Volume > 0 && slices.Contains([]string{"HCl", "H2SO4", "HNO3", "HClO4", "H3PO4", "CH3COOH"}, p.Reagent.Formula)
}

func (r *Recipe) inOrder() []Portion {
	list := slices.Clone(r.Portions)
	slices.SortStableFunc(list, func(a, b Portion) int { return r.rank(a) - r.rank(b) })
	return list
}

func (r *Recipe) say(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	r.Steps = append(r.Steps, strings.ToUpper(s[:1])+s[1:])
}

// dry comes first: it takes hours, or is done the day before.
func (r *Recipe) dry() {
	for _, p := range r.inOrder() {
		if d := p.Reagent.Drying; d != "" && p.Volume == 0 && (r.exact(p) || p.For == r.Portions[0].For) {
			r.say("%s.", drying(d, Pretty(p.Reagent)))
		}
	}
}

// largeBeaker is the most water that is begun with in a beaker.
const largeBeaker = 3 * unit.Litre

func (r *Recipe) start() {
	water, part, vessel := "water", 0.6, "a beaker"
	for _, p := range r.Portions {
		if p.Reagent.Water != "" {
			water = p.Reagent.Water + " water"
			if a, b, ok := strings.Cut(p.Reagent.Water, ","); ok {
				water = a + " water," + b
			}
		}
		if p.Reagent.With != "" {
			part = 0.05
		}
		if p.Reagent.Formula == "H2SO4" {
			vessel = "a borosilicate beaker that stands in cold water"
		}
	}
	begin := r.Wanted.Volume * unit.Volume(part)
	switch acid := slices.ContainsFunc(r.Portions, Portion.acid); {
	case begin <= largeBeaker:
	case acid: // it heats, and is poured into the carboy when it has cooled
		begin = largeBeaker
	default:
		vessel = "the carboy"
	}
	r.say("put about %s of %s into %s.", about(begin), water, vessel)
}

// digits writes a number with some significant digits and no exponent.
func digits(x float64, n int) string {
	decimals := n
	for y := x; y >= 1 && decimals > 0; y /= 10 {
		decimals--
	}
	if x > 0 && x < 0.1 {
		decimals++
	}
	return fmt.Sprintf("%.*f", decimals, x)
}

// exact says whether the concentration follows from the mass of this portion.
func (r *Recipe) exact(p Portion) bool {
	return p.Volume == 0 && p.Reagent.Damp == "" && (p.Reagent.Primary || p.For == r.Portions[0].For)
}

func (r *Recipe) add(p Portion, place int) {
	name := Pretty(p.Reagent)
	if p.Volume > 0 {
		with := "a measuring cylinder"
		if p.Volume < 5*unit.Millilitre {
			with = "a graduated pipette (never by mouth)"
		}
		hood := ""
		if p.Reagent.Formula != "H2SO4" && p.Reagent.Formula != "H3PO4" {
			hood = ", in the hood"
		}
		if p.acid() {
			r.say("measure %s mL of %s (%g %%) with %s and pour it slowly into the water, stirring%s.", digits(p.Volume.Millilitres(), 3), p.Reagent.Name(), p.Reagent.Assay.Value, with, hood)
			if !r.wantsWarm() {
				r.say("let it cool.")
			}
			return
		}
		r.say("measure %s mL of %s (%g %%) with %s and stir it in%s.", digits(p.Volume.Millilitres(), 3), p.Reagent.Name(), p.Reagent.Assay.Value, with, hood)
		return
	}
	if _, inFlask := FlaskFor(r.Wanted.Volume); inFlask && r.exact(p) {
		r.say("weigh %.4f g of %s to 0.1 mg; anything from %s to %s g will do, but write down what the balance shows.", float64(p.Mass), name, digits(0.9*float64(p.Mass), 4), digits(1.1*float64(p.Mass), 4))
	} else {
		r.say("weigh about %s g of %s.", digits(float64(p.Mass), 3), name)
	}
	r.dissolve(p, place)
}

// drying names what is to be dried, or not, in the instruction of the table.
func drying(instruction, name string) string {
	for _, verb := range []string{"do not dry", "do not heat", "dry it", "rinse"} {
		if rest, ok := strings.CutPrefix(instruction, verb); ok {
			return strings.TrimSuffix(verb, " it") + " the " + name + rest
		}
	}
	return name + ": " + instruction
}

func (r *Recipe) wantsWarm() bool {
	return slices.ContainsFunc(r.Portions, func(p Portion) bool {
		return len(p.Reagent.Dissolve) > 0 && strings.Contains(p.Reagent.Dissolve[0], "still warm")
	})
}

func (r *Recipe) dissolve(p Portion, place int) {
	in := p.Reagent.Dissolve
	switch {
	case len(in) == 0 && place == 0:
		in = []string{"the water"}
	case len(in) == 0 || in[0] == "the water" && place > 0:
		in = append([]string{"the same solution"}, in[min(1, len(in)):]...)
	}
	r.say("dissolve it in %s.", in[0])
	for _, s := range in[1:] {
		r.say("%s.", s)
	}
}

// finish is the flask: one of the sizes that are made, or what to do instead.
func (r *Recipe) finish() {
	v := r.Wanted.Volume
	r.say("bring it to 20 °C.")
	size, ok := FlaskFor(v)
	switch {
	case ok && size <= v*(1+1e-9):
		r.say("rinse it into the %s mL volumetric flask, make up to the mark at 20 °C, stopper, and turn it over twenty times.", plainML(v))
	case ok:
		r.say("make it up to %s mL in a measuring cylinder and mix. (No flask has this volume: for an exact one take the %s mL flask and %s times of everything.)",
			plainML(v), plainML(size), digits(float64(size/v), 4))
	default:
		n := math.Ceil(float64(v/size) - 1e-9)
		first := r.Portions[0]
		exact := ""
		if r.exact(first) {
			each := float64(first.Mass) * float64(size/v)
			exact = fmt.Sprintf(" (For a concentration by mass make it in %.0f flasks of %s mL: %s g of %s each, weighed to 0.1 mg.)", n, plainML(size), digits(each, 6), Pretty(first.Reagent))
		}
		r.say("make it up to %s L in a marked carboy and mix well.%s", fmt.Sprintf("%.6g", float64(v)), exact)
	}
	bottle := r.Portions[0].Reagent.Bottle
	if bottle != "" {
		bottle = " (" + bottle + ")"
	}
	r.say("fill the bottle%s and label it: name, concentration, medium, date, initials, hazards.", bottle)
}

// FlaskFor returns the smallest volumetric flask that holds a volume; where
// none does, the largest and false.
func FlaskFor(v unit.Volume) (unit.Volume, bool) {
	var largest, best unit.Volume
	for _, l := range volumetric.Limits() {
		if l.Kind != volumetric.Flask {
			continue
		}
		largest = max(largest, l.Capacity)
		if l.Capacity >= v*(1-1e-9) && (best == 0 || l.Capacity < best) {
			best = l.Capacity
		}
	}
	if best == 0 {
		return largest, false
	}
	return best, true
}

// plainML writes a nominal volume in mL.
func plainML(v unit.Volume) string { return fmt.Sprintf("%.6g", v.Millilitres()) }

// about writes a volume that need not be exact.
func about(v unit.Volume) string {
	if v > 2 {
		return digits(float64(v), 2) + " L"
	}
	return digits(v.Millilitres(), 2) + " mL"
}
