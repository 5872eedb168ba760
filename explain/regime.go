package explain

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/titration"
	"meniscus/working"
)

// nearEnd is how near to an equivalence volume counts as on it, relative.
const nearEnd = 1e-9

// at works out one volume.
func (b *builder) at(p Place) ([]working.Section, error) {
	pt, err := b.p.At(p.Volume)
	if err != nil {
		return nil, fmt.Errorf("explaining: %w", err)
	}
	b.pt, b.v, b.why = pt, p.Volume.Float()*1e3, ""
	title := fmt.Sprintf("At %s mL", titled(b.v))
	if p.Name != "" {
		title += ": " + p.Name
	}
	b.out = nil
	b.amounts()
	q, _, ok := b.measured()
	if !ok {
		b.add(append(working.P("The potential is undefined, "), working.Text(pt.Undefined+". "+b.trace())))
	} else if l, say, fits := b.textbook(); fits && (l.sound() || b.rescued(l)) {
		b.compare(say, l)
		b.refine(l)
	} else {
		b.noShortCut()
		b.governed(q)
	}
	b.electrode()
	b.composition()
	if b.err != nil {
		return nil, b.err
	}
	return []working.Section{{Title: title, Blocks: b.out}}, nil
}

// trace says what would give a potential that is undefined.
func (b *builder) trace() string {
	form := "of it"
	if b.redox() {
		form = "of the other form"
	}
	return "A trace " + form + " would set it, and no one knows how large that is; state one in the setup to get a value."
}

// titled is a volume for a title, to the microlitre as the scale of the curve
// has it; the steps below keep the digits they need. A volume too small for
// that has its own digits.
func titled(mL float64) string {
	rounded := math.Round(mL*1e3) / 1e3
	if math.Abs(rounded-mL) > 1e-4*math.Abs(mL) {
		return working.Shortest(round9(mL), "mL").Text
	}
	return working.Shortest(rounded, "mL").Text
}

// textbook finds the regime of this volume: within a stage, at its end, or
// beyond the last.
func (b *builder) textbook() (law, working.Paragraph, bool) {
	sum := 0.0
	for i, w := range b.ways {
		begin := sum
		sum += w.volume
		switch {
		case math.Abs(b.v-sum) <= nearEnd*sum:
			return b.atEnd(i)
		case b.v < sum && b.v-begin > nearEnd*sum:
			return b.within(i, b.v-begin)
		case b.v < sum && b.v == 0:
			return b.before()
		}
	}
	if len(b.ways) == 0 {
		return law{}, nil, false
	}
	return b.beyond(sum)
}

// within a stage both its forms are there in amounts that the titrant sets.
func (b *builder) within(i int, v float64) (law, working.Paragraph, bool) {
	w := b.ways[i]
	used := amount(w.from, "used", "the amount of {"+w.from+"} that has reacted")
	titrated := working.Symbol{Letter: "V", Sub: "s", Meaning: "the volume of titrant that went into the reaction now running", Value: atLeastTwo(round9(v), "mL")}
	reacted := b.reacted(w, titrated)
	so, err := working.Eval(reacted)
	if err != nil && b.err == nil {
		b.err = err
	}
	shown := apart(so, w.amount, 5)
	used = b.step(working.P("What has reacted of {"+w.from+"}"), used, reacted, shown, "mmol")
	whole := b.wholeOf(w).With(shown.Number(w.amount, "mmol"))
	left := amount(w.from, "left", "the amount of {"+w.from+"} that is left")
	left = b.step(working.P("What is left of it"), left, working.Less(whole, used), working.Figures(min(shown.Figures, 5)), "mmol")
	taken := map[string]float64{}
	b.dilute(taken, w.from, left, 1)
	if !b.redox() && !b.glass() {
		return b.ionWithin(w, taken)
	}
	if w.reaction < 0 {
		l, say, ok := b.strong(w.from, taken[w.from])
		var weak stage
		if i+1 < len(b.ways) {
			weak = b.ways[i+1]
		}
		l.better = b.besideStrong(w.from, taken[w.from], weak, weak.from, weak.to, weak.amount)
		return l, say, ok
	}
	b.diluteProduct(taken, w, used)
	if b.redox() {
		c := b.coupleOf(w.reaction)
		l := b.couple(c, taken)
		if i+1 == len(b.ways) {
			l.better = []attempt{b.incomplete(c, bracket(w.from, taken[w.from]), bracket(w.to, taken[w.to]))}
		}
		return l, working.P("Both forms of {" + c.Name + "} are there in known amounts, so the Nernst equation of this couple gives the potential"), true
	}
	l := b.acidLaw(w.reaction, taken)
	l.better = b.besides(w, taken)
	return l, working.P("Both forms of the acid are there in known amounts, so its constant gives the pH"), true
}

// dilute works out a concentration from an amount.
func (b *builder) dilute(taken map[string]float64, species string, n working.Symbol, times float64) {
	var e working.Expr = working.Over(n, b.total())
	if times != 1 {
		e = working.Over(timesOf(times, n), b.total())
	}
	share := 1.0
	if b.redox() || b.complexing() && species == b.ways[0].from {
		share = b.share(species)
	}
	if share > mostlyFree {
		q := b.step(working.P("Concentration of {"+species+"} if nothing else happened to it"), bracket(species, 1), e, working.Figures(4), "mol/L")
		taken[species] = q.Value.Value
		return
	}
	all, say := working.Symbol{Letter: "c", Sub: "all", Of: species, Meaning: "the concentration of {" + species + "} in all forms that need no electrons to interchange"}, "Concentration of {"+species+"} in all its forms"
	if b.complexing() {
		all, say = b.outside(species), "Concentration of {"+species+"} outside the EDTA complex, in all its forms"
	}
	all = b.step(working.P(say), all, e, working.Figures(4), "mol/L")
	free := working.Symbol{Letter: "α", Of: species, Meaning: "the share of {" + species + "} that is free, by the exact balances", Value: working.Figures(4).Number(share, "1")}
	q := b.step(working.P("Only a share of it is free {"+species+"}, the rest is in complexes or in other states of protonation"), bracket(species, 1), working.Times(free, all), working.Figures(4), "mol/L")
	taken[species] = q.Value.Value
}

// mostlyFree is the share of a species from which its complexes are left to
// the table of causes.
const mostlyFree = 0.98

// share is the part of a species that is free of complexes and in the state of
// protonation named: of all that can become it without electrons.
func (b *builder) share(species string) float64 {
	in := map[string]bool{species: true}
	for grown := true; grown; {
		grown = false
		for i, r := range b.t.System().Reactions {
			if b.coefficient(i, chem.Electron) != 0 {
				continue
			}
			for _, from := range r.Terms {
				for _, to := range r.Terms {
					x, y := b.t.System().Species[from.Species], b.t.System().Species[to.Species]
					if in[x.Name] && !in[y.Name] && !b.held(y.Name) && y.Kind == equilibrium.Dissolved && core(y.Name, species) > 0 {
						in[y.Name], grown = true, true
					}
				}
			}
		}
	}
	sum := 0.0
	for name := range in {
		sum += b.exact(name) * core(name, species)
	}
	if own := b.exact(species); own > 0 && sum > 0 {
		return own / sum
	}
	return 1
}

// core is how many times a species holds the elements of another, H and O
// aside; 0 if it lacks one.
func core(species, of string) float64 {
	x, err1 := chem.ParseSpecies(species)
	y, err2 := chem.ParseSpecies(of)
	if err1 != nil || err2 != nil {
		return 0
	}
	times := 0.0
	for _, e := range y.Elements {
		if e.Symbol == "H" || e.Symbol == "O" {
			continue
		}
		n := x.Count(e.Symbol).Float() / y.Count(e.Symbol).Float()
		if n == 0 {
			return 0
		}
		if times == 0 || n < times {
			times = n
		}
	}
	return times
}

func (b *builder) coupleOf(reaction int) titration.Couple {
	for _, c := range b.t.Couples {
		if c.Reaction == reaction {
			return c
		}
	}
	return titration.Couple{}
}

func (b *builder) pKa(reaction int) working.Symbol {
	left, _, _ := b.sides(reaction)
	return working.Symbol{
		Letter: "pK", Sub: "a", Of: left, Meaning: "minus the decadic logarithm of the acidity constant of {" + left + "}, in mol/L",
		Value: working.Shortest(round9(-b.t.System().Reactions[reaction].LnK/math.Ln10), "1"),
	}
}

func (b *builder) pKw() (working.Symbol, bool) {
	for i, r := range b.t.System().Reactions {
		if b.coefficient(i, "OH^-") == 1 && b.coefficient(i, chem.Proton) == 1 && len(r.Terms) == 2 {
			return working.Symbol{
				Letter: "pK", Sub: "w", Meaning: "minus the decadic logarithm of the ion product of water, in mol²/L²",
				Value: working.Shortest(math.Round(-r.LnK/math.Ln10*1e6)/1e6, "1"),
			}, true
		}
	}
	return working.Symbol{}, false
}

func (b *builder) acidLaw(reaction int, taken map[string]float64) law {
	l := law{constant: b.pKa(reaction)}
	for _, t := range b.massAction(reaction, taken, 1) {
		if t.species != chem.Proton {
			l.terms = append(l.terms, t)
		}
	}
	return l
}

// strong is an excess of H+ or OH-.
func (b *builder) strong(species string, c float64) (law, working.Paragraph, bool) {
	t := term{bracket(species, c), species, b.exact(species), -1}
	if species == chem.Proton {
		return law{terms: []term{t}}, working.P("Free {H^+} decides the pH"), true
	}
	t.power = 1
	pKw, ok := b.pKw()
	return law{constant: pKw, terms: []term{t}}, working.P("Free {OH^-} decides the pH, through the ion product of water"), ok
}

// half makes one half of a sum, as in a mean of two constants.
func half(terms ...working.Expr) working.Expr {
	return working.Over(working.Add(terms...), working.Count(2))
}

// before is the start of an acid-base titration; a redox couple has only one
// form then.
func (b *builder) before() (law, working.Paragraph, bool) {
	w := b.ways[0]
	if l, say, ok := b.startsWithBoth(); ok {
		return l, say, true
	}
	if b.redox() {
		return law{}, nil, false
	}
	if !b.glass() {
		return b.atOnce(w)
	}
	if w.reaction < 0 {
		l, say, ok := b.strong(w.from, w.conc)
		var weak stage
		if len(b.ways) > 1 {
			weak = b.ways[1]
		}
		l.better = b.besideStrong(w.from, w.conc, weak, weak.from, weak.to, weak.amount)
		return l, say, ok
	}
	return b.alone(w.reaction, w.from, w.to, bracket(w.from, w.conc))
}

// alone is a weak acid or base by itself: the two products of its reaction with
// water are taken as equal. Where it has a neighbour on the other side, it is
// an ampholyte.
func (b *builder) alone(reaction int, form, other string, c working.Symbol) (law, working.Paragraph, bool) {
	mean := working.Over(working.Count(1), working.Count(2))
	acidic, _, _ := b.sides(reaction)
	own := term{c, form, b.exact(form), 0}
	if r2, far, _, ok := b.acid(form, acidic != form); ok {
		return law{
			constant: half(b.pKa(reaction), b.pKa(r2)), factor: mean,
			terms: []term{b.ratio(b.basic(reaction, r2), b.acidic(reaction, r2), 1, 1)}, better: b.amphoteric(reaction, r2, c),
		}, working.P("{" + form + "} can give {H^+} and take it; as much becomes {" + far + "} as {" + other + "}, so the pH is the mean of two constants"), true
	}
	if acidic == form {
		own.power = -1
		return law{constant: working.Over(b.pKa(reaction), working.Count(2)), factor: mean, terms: []term{own, b.ratio(other, chem.Proton, 1, 1)}, better: b.attempts(mixture{reaction: reaction, acid: c, base: bracket(other, 0)})},
			working.P("A weak acid alone gives as much {" + other + "} as {H^+}; what it loses by that is neglected"), true
	}
	own.power = 1
	pKw, ok := b.pKw()
	return law{constant: half(pKw, b.pKa(reaction)), factor: mean, terms: []term{own, b.ratio("OH^-", other, 1, 1)}, better: b.attempts(mixture{reaction: reaction, acid: bracket(other, 0), base: c})},
		working.P("A weak base alone takes {H^+} from water (hydrolysis) and gives as much {OH^-} as {" + other + "}; what it loses by that is neglected"), ok
}

func (b *builder) basic(r1, r2 int) string {
	_, x, _ := b.sides(r1)
	if l, y, _ := b.sides(r2); l == x {
		return y
	}
	return x
}

func (b *builder) acidic(r1, r2 int) string {
	x, _, _ := b.sides(r1)
	if y, r, _ := b.sides(r2); r == x {
		return y
	}
	return x
}

// atEnd is an equivalence point.
func (b *builder) atEnd(i int) (law, working.Paragraph, bool) {
	if b.redox() {
		return b.redoxEnd(i)
	}
	if !b.glass() {
		return b.ionEnd(i)
	}
	w := b.ways[i]
	if w.reaction < 0 && i+1 == len(b.ways) {
		pKw, ok := b.pKw()
		return law{constant: working.Over(pKw, working.Count(2)), factor: working.Over(working.Count(1), working.Count(2)), terms: []term{b.ratio("OH^-", chem.Proton, 1, 1)}},
			working.P("Strong acid and strong base have used each other up: {H^+} and {OH^-} come from water alone"), ok
	}
	taken := map[string]float64{}
	form, other, reaction, n := w.to, w.from, w.reaction, w.amount
	if i+1 < len(b.ways) && (w.reaction < 0 || b.ways[i+1].from != w.to) {
		if w.reaction >= 0 {
			return law{}, nil, false // two different weak acids meet
		}
		next := b.ways[i+1]
		form, other, reaction, n = next.from, next.to, next.reaction, next.amount
	}
	if x, _ := b.initially(form); form == w.to && x > 0 {
		n += x * b.s.Flask.Volume.Float() * 1e3
	}
	whole := amount(form, "whole", "the amount of {"+form+"} at this equivalence point").With(working.Figures(5).Number(n, "mmol"))
	b.dilute(taken, form, whole, 1)
	return b.alone(reaction, form, other, bracket(form, taken[form]))
}

// redoxEnd combines two couples so that what is nearly used up stands only as
// a ratio that the stoichiometry fixes.
func (b *builder) redoxEnd(i int) (law, working.Paragraph, bool) {
	w := b.ways[i]
	c1 := b.coupleOf(w.reaction)
	taken := map[string]float64{}
	whole := amount(w.from, "whole", "the amount of {"+w.from+"} that has reacted at this equivalence point").With(working.Figures(5).Number(w.amount, "mmol"))
	b.diluteProduct(taken, w, whole)
	var c2 titration.Couple
	var minor, major string
	if i+1 < len(b.ways) {
		next := b.ways[i+1]
		c2, minor, major = b.coupleOf(next.reaction), next.to, next.from
		if next.from != w.to {
			n := amount(major, "rest", "the amount of {"+major+"} that has not yet reacted").With(working.Figures(5).Number(next.amount, "mmol"))
			b.dilute(taken, major, n, 1)
		}
	} else {
		c2, minor, major = b.titrantCouple(), w.titrant, ""
		left, right, _ := b.sides(c2.Reaction)
		if major = left; left == minor {
			major = right
		}
		n := amount(minor, "t", "the amount of {"+minor+"} added with the titrant").With(working.Figures(5).Number(b.v*w.titrantConc, "mmol"))
		b.diluteOther(taken, major, n, math.Abs(b.coefficient(c2.Reaction, major)/b.coefficient(c2.Reaction, minor)))
	}
	k1, k2 := math.Abs(b.coefficient(c1.Reaction, w.from)), math.Abs(b.coefficient(c2.Reaction, minor))
	if k1 != k2 {
		b.why = "The couples hold {" + w.from + "} and {" + minor + "} in different numbers. When their Nernst equations are added, the concentrations of what is nearly used up do not cancel to a ratio, so there is no short expression for this point."
		return law{}, nil, false
	}
	l1, l2 := b.couple(c1, taken), b.couple(c2, taken)
	n1, n2 := working.Count(c1.Electrons), working.Count(c2.Electrons)
	l := law{
		constant: working.Over(working.Add(working.Times(n1, l1.constant), working.Times(n2, l2.constant)), working.Add(n1, n2)),
		factor:   working.Over(b.slope(), working.Add(n1, n2)),
	}
	sign := 1.0
	for _, t := range append(l1.terms, l2.terms...) {
		switch t.species {
		case w.from:
		case minor:
			sign = math.Copysign(1, t.power)
		default:
			l.terms = joined(l.terms, t)
		}
	}
	// What is left on either side gives and takes the same number of electrons.
	l.terms = append(l.terms, b.ratioLeft(minor, w.from, c1.Electrons/c2.Electrons, sign*k1))
	return l, working.P("Both couples have this one potential. Their Nernst equations, weighted with their electrons and added, give it; what is nearly used up on both sides stands in the ratio of the reaction"), true
}

// joined adds a term to those of the same species, so that what stands above
// and below the line cancels.
func joined(list []term, t term) []term {
	for i := range list {
		if list[i].species == t.species {
			if list[i].power += t.power; list[i].power == 0 {
				return append(list[:i], list[i+1:]...)
			}
			return list
		}
	}
	return append(list, t)
}

func (b *builder) titrantCouple() titration.Couple {
	for _, c := range b.t.Couples {
		if left, right, ok := b.sides(c.Reaction); ok && (left == b.ways[0].titrant || right == b.ways[0].titrant) {
			return c
		}
	}
	return titration.Couple{}
}

// beyond the last stage the titrant is in excess.
func (b *builder) beyond(end float64) (law, working.Paragraph, bool) {
	w := b.ways[len(b.ways)-1]
	ve := working.Symbol{Letter: "V", Sub: "e", Meaning: "the volume of titrant at the last equivalence point", Value: apart(b.v, end, 6).Number(end, "mL")}
	ct := b.titrantConc(w.titrant, w.titrantConc, w.titrantText)
	excess := amount(w.titrant, "excess", "the amount of {"+w.titrant+"} that finds nothing more to react with")
	excess = b.step(working.P("Titrant in excess"), excess, working.Times(ct, working.Less(b.added(), ve)), working.Figures(5), "mmol")
	taken := map[string]float64{}
	if b.complexing() {
		all := b.step(working.P("Its concentration, in all its forms"), b.outside(w.titrant), working.Over(excess, b.total()), working.Figures(4), "mol/L")
		taken[w.titrant] = all.Value.Value
		return b.ionBeyond(w, taken)
	}
	b.dilute(taken, w.titrant, excess, 1)
	if !b.redox() && !b.glass() {
		return b.ionBeyond(w, taken)
	}
	if !b.redox() {
		l, say, ok := b.strong(w.titrant, taken[w.titrant])
		l.better = b.besideStrong(w.titrant, taken[w.titrant], w, w.to, w.from, w.amount)
		return l, say, ok
	}
	c := b.titrantCouple()
	left, right, _ := b.sides(c.Reaction)
	other := left
	if left == w.titrant {
		other = right
	}
	n := amount(w.titrant, "used", "the amount of {"+w.titrant+"} that has reacted")
	n = b.step(working.P("Titrant that has reacted"), n, working.Times(ct, ve), working.Figures(5), "mmol")
	b.diluteOther(taken, other, n, math.Abs(b.coefficient(c.Reaction, other)/b.coefficient(c.Reaction, w.titrant)))
	l := b.couple(c, taken)
	l.better = []attempt{b.incomplete(c, bracket(w.titrant, taken[w.titrant]), bracket(other, taken[other]))}
	return l, working.P("Both forms of the titrant’s couple {" + c.Name + "} are there in known amounts, so its Nernst equation gives the potential"), true
}

// governed shows the equilibrium of which most is there, with the exact
// concentrations: it holds in the solution as it is.
func (b *builder) governed(q working.Symbol) {
	sensed, best, most := b.t.Cell.Species, -1, 0.0
	for i, r := range b.t.System().Reactions {
		least, sees := math.Inf(1), false
		for _, t := range r.Terms {
			sp := b.t.System().Species[t.Species]
			if t.Species == sensed {
				sees = true
				continue
			}
			if sp.Kind == equilibrium.Solid {
				if b.p.Solver.Amount(t.Species) <= 0 {
					least = 0
				}
				continue
			}
			if sp.Kind == equilibrium.Dissolved && sp.Name != chem.Proton {
				least = math.Min(least, b.p.Solver.Concentration(t.Species))
			}
		}
		if sees && !math.IsInf(least, 1) && least > most {
			best, most = i, least
		}
	}
	if best < 0 {
		b.add(working.Step{Say: working.P("The exact value, from all balances and equilibria at once"), Quantity: q})
		return
	}
	r := b.t.System().Reactions[best]
	b.add(working.Reaction{Say: working.P("The equilibrium that governs: most of it is there"), Equation: r.Name})
	if b.redox() {
		b.compareExact(q, b.couple(b.coupleOf(best), nil))
		return
	}
	name := b.t.System().Species[sensed].Name
	nu := b.coefficient(best, name)
	k := working.Symbol{Letter: "lg K", Meaning: "the decadic logarithm of the constant of the reaction above, for concentrations in mol/L", Value: working.Decimals(4).Number(r.LnK/math.Ln10, "1")}
	if nu > 0 {
		k = working.Symbol{Letter: "pK", Meaning: "minus the decadic logarithm of the constant of the reaction above, for concentrations in mol/L", Value: working.Decimals(4).Number(-r.LnK/math.Ln10, "1")}
	}
	l := law{constant: k}
	if n := math.Abs(nu); n != 1 {
		l.constant = working.Over(k, working.Count(n))
		l.factor = working.Over(working.Count(1), working.Count(n))
	}
	for _, t := range b.massAction(best, nil, math.Copysign(1, nu)) {
		if t.species != name {
			l.terms = append(l.terms, t)
		}
	}
	b.compareExact(q, l)
}

// compareExact fills a law with the exact concentrations; under an activity
// model the rest is said.
func (b *builder) compareExact(q working.Symbol, l law) {
	x, err := working.Eval(l.expr())
	if err != nil {
		b.err = err
		return
	}
	if math.Abs(x-q.Value.Value) < leastRest {
		q.Value.Value = x
		b.add(working.Step{Say: working.P("Its mass-action expression with the exact concentrations"), Quantity: q, Formula: l.expr()})
		return
	}
	bare := q
	bare.Sub, bare.Meaning = "c", q.Meaning+", with concentrations in place of activities"
	f, u := working.Decimals(4), "V"
	if !b.redox() {
		f, u = working.Decimals(3), "1"
	}
	b.step(working.P("Its mass-action expression with the exact concentrations"), bare, l.expr(), f, u)
	b.add(working.Step{Say: working.P("The exact value, with activity coefficients"), Quantity: q})
}

// electrode goes from the potential against SHE to what the meter shows.
func (b *builder) electrode() {
	c := b.t.Cell
	if !c.Known || math.IsNaN(b.pt.Potential) {
		if !math.IsNaN(b.pt.PH) && b.glass() || !math.IsNaN(b.pt.PIon) {
			b.add(working.P("What the meter shows in millivolt is not known: the setup gives no standard potential, offset or calibration of this electrode."))
		}
		return
	}
	if (c.Slope != 0 && c.Slope != 1) || b.s.Electrode.Reference == "" {
		b.add(working.P("With this electrode’s slope and offset the meter shows @.", working.Decimals(1).Number(b.pt.Potential*1e3, "mV")))
		return
	}
	she := working.Symbol{Letter: "E", Meaning: "the potential of the indicator electrode against the standard hydrogen electrode", Value: working.Decimals(4).Number(b.pt.Standard, "V")}
	if c.Sensor == titration.Glass {
		b.add(working.P("With its offset and calibration the glass electrode shows @.", working.Decimals(1).Number(b.pt.Potential*1e3, "mV")))
		return
	}
	if c.Sensor == titration.Ion {
		b.ionPotential(she)
	}
	ref := working.Symbol{Letter: "E", Sub: "ref", Meaning: "the potential of the reference electrode against the standard hydrogen electrode", Value: working.Shortest(math.Round(c.Reference*1e6)/1e6, "V")}
	cell := working.Symbol{Letter: "E", Sub: "cell", Meaning: "what the meter shows"}
	formula := working.Less(she, ref)
	if c.Offset != 0 {
		formula = append(formula, working.Term{Expr: working.Symbol{Letter: "E", Sub: "off", Meaning: "the offset, junction included", Value: working.Shortest(math.Round(c.Offset*1e6)/1e6, "V")}})
	}
	say := append(working.P("Against the reference electrode, "), working.Text(b.s.Electrode.Reference))
	b.step(say, cell, formula, working.Decimals(4), "V")
}

func (b *builder) ionPotential(she working.Symbol) {
	ion := b.t.System().Species[b.t.Cell.Species].Name
	e0 := working.Symbol{Letter: "E", Degree: true, Of: ion, Meaning: "the standard potential of the electrode for {" + ion + "}", Value: working.Shortest(math.Round(b.t.Cell.Standard*1e6)/1e6, "V")}
	p, _, _ := b.measured()
	drop := working.Expr(working.Times(b.slope(), p))
	if z := b.t.Cell.Charge; z != 1 {
		drop = working.Over(drop, working.Count(float64(z)))
	}
	f := working.Less(e0, drop)
	b.step(working.P("The electrode for {"+ion+"} follows its activity"), she, f, working.Decimals(4), "V")
}

// mostListed is how many species a composition lists.
const mostListed = 10

// composition lists what is there, by the exact balances.
func (b *builder) composition() {
	type part struct {
		name string
		c    float64
		kind equilibrium.Kind
	}
	var list []part
	for i, sp := range b.t.System().Species {
		c := 0.0
		switch sp.Kind {
		case equilibrium.Dissolved:
			c = b.p.Solver.Concentration(i)
		case equilibrium.Solid:
			c = b.p.Solver.Amount(i)
		}
		if c > 0 {
			list = append(list, part{sp.Name, c, sp.Kind})
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].c > list[j].c })
	caption, rows := "Exact composition, the most abundant species first", [][]working.Paragraph(nil)
	if slices.ContainsFunc(list[:min(len(list), mostListed)], func(q part) bool { return q.kind == equilibrium.Solid }) {
		caption += "; solids as mol per litre of mixture"
	}
	for _, q := range list[:min(len(list), mostListed)] {
		rows = append(rows, []working.Paragraph{{working.Chem(q.name)}, working.P("@", working.Figures(4).Number(q.c, "mol/L"))})
	}
	b.add(working.Table{
		Caption: working.P(caption),
		Head:    []working.Paragraph{working.P("species"), working.P("concentration")}, Rows: rows,
	})
}
