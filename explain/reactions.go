package explain

import (
	"fmt"

	"meniscus/working"
)

// amounts shows what was in the flask and what the titrant has done to it. What
// holds for the whole titration is told at the first volume only.
func (b *builder) amounts() {
	if len(b.ways) == 0 {
		return
	}
	if !b.told {
		b.told = true
		for i := range b.ways {
			b.tellStage(i)
		}
	}
	if b.v == 0 {
		return
	}
	w := b.ways[0]
	n := amount(w.titrant, "t", "the amount of {"+w.titrant+"} added with the titrant")
	b.step(working.P("Amount of titrant added"), n, working.Times(b.titrantConc(w.titrant, w.titrantConc, w.titrantText), b.added()), working.Figures(5), "mmol")
}

// tellStage shows the reaction of a stage and the volume that it takes.
func (b *builder) tellStage(i int) {
	w := b.ways[i]
	per, whole := fractionOf(w.perTitrant)
	if r := b.reagent; i == 0 && r.holder != "" {
		b.add(working.Reaction{Say: working.P("{" + r.put + "} stands in the burette beside an excess of {" + r.holder + "}, and nearly all of it is {" + r.name + "}; the concentration of {" + r.name + "} is that of the {" + r.put + "} put in:"), Equation: r.put + " + " + r.holder + " = " + r.name})
	}
	if w.holder != "" {
		b.add(working.Reaction{Say: working.P("{" + w.put + "} stands in the flask beside an excess of {" + w.holder + "}, and nearly all of it is {" + w.from + "}:"), Equation: w.put + " + " + w.holder + " = " + w.from})
	}
	if eq := b.overall(w.from, w.titrant, 1/w.perTitrant); eq != "" {
		say := "The reaction of the titration"
		if len(b.ways) > 1 {
			say = fmt.Sprintf("Reaction %d of the titration", i+1)
		}
		b.add(working.Reaction{Say: working.P(say), Equation: eq})
	} else {
		b.add(working.P("The titrant turns {" + w.from + "} into {" + w.to + "}."))
	}
	n := b.wholeOf(w)
	switch {
	case w.conc > 0 && w.amount > w.conc*b.s.Flask.Volume.Float()*1e3*(1+nearEnd):
		n.Value = working.Figures(5).Number(w.amount, "mmol")
		b.add(working.Step{Say: working.P("Amount of {" + w.from + "}, with what the stages before make"), Quantity: n})
	case w.holder != "":
		n = b.step(working.P("Amount of {"+w.from+"} at the start: that of the {"+w.put+"} put in"), n, working.Times(b.flaskConc(w.put, w.conc, w.text), b.flaskVolume()), working.Figures(5), "mmol")
	case w.conc > 0:
		say := "Amount of {" + w.from + "} at the start"
		if w.put != w.from {
			say = "Amount of {" + w.from + "} at the start, in all its states of protonation; it was put in as {" + w.put + "}"
		}
		n = b.step(working.P(say), n, working.Times(b.flaskConc(w.put, w.conc, w.text), b.flaskVolume()), working.Figures(5), "mmol")
	default:
		n.Value = working.Figures(5).Number(w.amount, "mmol")
		b.add(working.Step{Say: working.P("Amount of {" + w.from + "}, all from the stages before"), Quantity: n})
	}
	ct := b.titrantConc(w.titrant, w.titrantConc, w.titrantText)
	takes := working.Symbol{Letter: "V", Sub: "takes", Meaning: "the volume of titrant that uses up what there is"}
	if len(b.ways) > 1 {
		takes.Sub, takes.Meaning = fmt.Sprintf("takes,%d", i+1), fmt.Sprintf("the volume of titrant that reaction %d takes", i+1)
	}
	say := working.P("It takes this volume of titrant, and ends there")
	if whole {
		say = working.P(fmt.Sprintf("%g mol of {%s} takes %g mol of {%s}, so that it is used up after", per.p, w.from, per.q, w.titrant))
		if per.p > 1 {
			say = working.P(fmt.Sprintf("%g mol of {%s} take %g mol of {%s}, so that it is used up after", per.p, w.from, per.q, w.titrant))
		}
	} else {
		per = fraction{round9(w.perTitrant), 1}
	}
	b.step(say, takes, working.Over(fraction{per.q, per.p}.times(n), ct), working.Figures(5), "mL")
	if sum := b.endOf(i); i > 0 {
		b.add(working.P("That is from @ to @ of titrant in all.", working.Figures(5).Number(b.endOf(i-1), "mL"), working.Figures(5).Number(sum, "mL")))
	}
}

// endOf is the volume at which a stage ends, mL.
func (b *builder) endOf(i int) float64 {
	sum := 0.0
	for _, w := range b.ways[:i+1] {
		sum += w.volume
	}
	return sum
}

// wholeOf is the symbol of all that a stage uses up.
func (b *builder) wholeOf(w stage) working.Symbol {
	n := amount(w.from, "0", "the amount of {"+w.from+"} put into the flask")
	if w.conc == 0 {
		n = amount(w.from, "made", "the amount of {"+w.from+"} made in the stages before")
	} else if w.amount > w.conc*b.s.Flask.Volume.Float()*1e3*(1+nearEnd) {
		n = amount(w.from, "both", "the amount of {"+w.from+"} put into the flask and made in the stages before")
	}
	return n
}

// reacted is the amount of a stage that a volume of titrant has used up.
func (b *builder) reacted(w stage, volume working.Symbol) working.Expr {
	ct := b.titrantConc(w.titrant, w.titrantConc, w.titrantText)
	per, ok := fractionOf(w.perTitrant)
	if !ok {
		per = fraction{round9(w.perTitrant), 1}
	}
	if per.p == per.q {
		return working.Times(ct, volume)
	}
	if per.q == 1 {
		return working.Times(working.Count(per.p), ct, volume)
	}
	return working.Times(working.Over(working.Count(per.p), working.Count(per.q)), ct, volume)
}

// initially is what was put into the flask of a product of a stage, mol/L.
func (b *builder) initially(species string) (x float64, text string) {
	if b.glass() {
		return b.inFlask(species)
	}
	x, text = ionConc(b.s.Flask.Contents, species)
	if h := b.bound[species]; h > 0 {
		x -= h
		text = shortText(x)
	}
	return x, text
}

// diluteOther works out the concentration of what the titrant has become, with
// what was there of it from the start and what the burette brings beside the
// titrant.
func (b *builder) diluteOther(taken map[string]float64, other string, n working.Symbol, times float64) {
	sum := working.Add(timesOf(times, n))
	if x, text := b.initially(other); x > 0 {
		first := b.step(working.P("{"+other+"} was there from the start"), amount(other, "0", "the amount of {"+other+"} put into the flask"),
			working.Times(b.flaskConc(other, x, text), b.flaskVolume()), working.Figures(5), "mmol")
		sum = append(sum, working.Term{Expr: first})
	}
	x, text := ionConc(b.s.Burette.Contents, other)
	if b.reagent.holder == other {
		x -= b.ways[0].titrantConc
		text = shortText(x)
	}
	if x > 0 && b.redox() {
		c := working.Symbol{Letter: "c", Sub: "beside", Of: other, Meaning: "the concentration of free {" + other + "} beside the titrant in the burette", Value: working.Said(x, text, "mol/L")}
		beside := b.step(working.P("The burette brings {"+other+"} beside the titrant"), amount(other, "beside", "the amount of {"+other+"} added beside the titrant"),
			working.Times(c, b.added()), working.Figures(5), "mmol")
		sum = append(sum, working.Term{Expr: beside})
	}
	if len(sum) == 1 {
		b.dilute(taken, other, n, times)
		return
	}
	all := b.step(working.P("{"+other+"} in all"), amount(other, "now", "the amount of {"+other+"} that is there now"), sum, working.Figures(5), "mmol")
	b.dilute(taken, other, all, 1)
}

// diluteProduct works out the concentration of what a stage has made, with what
// was put in of it.
func (b *builder) diluteProduct(taken map[string]float64, w stage, used working.Symbol) {
	x, text := b.initially(w.to)
	if !(x > 0) {
		b.dilute(taken, w.to, used, w.made)
		return
	}
	first := b.step(working.P("{"+w.to+"} was there from the start"), amount(w.to, "0", "the amount of {"+w.to+"} put into the flask"),
		working.Times(b.flaskConc(w.to, x, text), b.flaskVolume()), working.Figures(5), "mmol")
	all := b.step(working.P("With what has been made of it"), amount(w.to, "now", "the amount of {"+w.to+"} that is there now"), working.Add(first, timesOf(w.made, used)), working.Figures(5), "mmol")
	b.dilute(taken, w.to, all, 1)
}

// startsWithBoth is the start of a titration whose first stage has both its
// forms from the beginning: a buffer, or a poised couple.
func (b *builder) startsWithBoth() (law, working.Paragraph, bool) {
	w := b.ways[0]
	x, text := b.initially(w.to)
	if w.reaction < 0 || !(x > 0) || w.conc == 0 || !b.redox() && !b.glass() {
		return law{}, nil, false
	}
	taken := map[string]float64{}
	n := b.wholeOf(w).With(working.Figures(5).Number(w.amount, "mmol"))
	b.dilute(taken, w.from, n, 1)
	first := b.step(working.P("{"+w.to+"} is there from the start"), amount(w.to, "0", "the amount of {"+w.to+"} put into the flask"),
		working.Times(b.flaskConc(w.to, x, text), b.flaskVolume()), working.Figures(5), "mmol")
	b.dilute(taken, w.to, first, 1)
	if b.redox() {
		c := b.coupleOf(w.reaction)
		return b.couple(c, taken), working.P("Both forms of {" + c.Name + "} are there from the start, so the Nernst equation of this couple gives the potential"), true
	}
	return b.acidLaw(w.reaction, taken), working.P("Both forms of the acid are there from the start, as in a buffer, so its constant gives the pH"), true
}

// concentration shows how the volume at the end of the first stage gives the
// concentration of what it uses up.
func (b *builder) concentration() (working.Section, bool) {
	if len(b.ways) == 0 || b.ways[0].conc == 0 || b.s.Flask.Volume.Float() == 0 {
		return working.Section{}, false
	}
	b.out = nil
	w := b.ways[0]
	ve := working.Symbol{Letter: "V", Sub: "e,1", Meaning: "the volume of titrant at the first equivalence point, blank taken off", Value: working.Figures(6).Number(w.volume, "mL")}
	c := working.Symbol{Letter: "c", Sub: "found", Of: w.put, Meaning: "the concentration of {" + w.put + "} in the flask that the titration finds"}
	b.step(working.P("The amount of titrant, times what 1 mol of it reacts with, over the volume in the flask"), c, working.Over(b.reacted(w, ve), b.flaskVolume()), working.Figures(5), "mol/L")
	return working.Section{Kind: Concentration, Title: "From the equivalence volume to the concentration", Blocks: b.out}, b.err == nil
}

// noShortCut says why there is no textbook value here, at length the first time.
func (b *builder) noShortCut() {
	const then = " The exact balances give the composition, and the equilibrium below holds in it."
	switch {
	case b.why != "":
		b.add(working.P(b.why + then))
	case b.shortCutTold:
		b.add(working.P("Here too no textbook short cut holds; the equilibrium below holds in the exact composition."))
	default:
		b.shortCutTold = true
		b.add(working.P("No textbook short cut holds here: concentrations from the amounts alone would be wrong by more than a factor of @, or the reactions do not run one after the other."+then, working.Count(usable)))
	}
}

// freeShare is the share of a species that is free.
func (b *builder) freeShare(species string) working.Symbol {
	return working.Symbol{Letter: "α", Of: species, Meaning: "the share of {" + species + "} that is free, by the exact balances", Value: working.Figures(4).Number(b.share(species), "1")}
}

// ratioLeft is the ratio of what is nearly used up on both sides, x by the
// reaction; where complexes hold a part, that of the free ones.
func (b *builder) ratioLeft(minor, from string, x, power float64) term {
	r := b.ratio(minor, from, x, power)
	if b.share(minor) > mostlyFree && b.share(from) > mostlyFree {
		return r
	}
	q, _ := r.expr.(working.Symbol)
	r.expr = b.step(working.P("What little is left of {"+minor+"} and {"+from+"} stands in the ratio of the reaction, counted in all forms; the ratio of the free ones"), q,
		timesOf(x, working.Over(b.freeShare(minor), b.freeShare(from))), working.Figures(4), "1")
	return r
}
