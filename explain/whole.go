package explain

import (
	"fmt"
	"math"
	"strings"

	"meniscus/chem"
	"meniscus/titration"
	"meniscus/working"
)

// A pair is the two couples of a redox titration of one stage.
type pair struct {
	titrand, titrant titration.Couple
	e1, e2           working.Symbol // potentials of the couples at the pH of the solution
	n1, n2           working.Symbol // electrons
	sign             float64        // 1 where the titrant oxidises
	plain            bool           // one species on either side of both couples
}

// redoxPair is what completeness and the steepest point follow from; ok is
// false for other titrations.
func (b *builder) redoxPair() (p pair, ok bool) {
	if !b.redox() || len(b.ways) != 1 {
		return p, false
	}
	w := b.ways[0]
	p.titrand, p.titrant, p.sign, p.plain = b.coupleOf(w.reaction), b.titrantCouple(), 1, true
	if p.titrant.Electrons == 0 {
		return p, false
	}
	if b.coefficient(w.reaction, w.from) < 0 {
		p.sign = -1
	}
	pt, err := b.p.At(decimal(w.volume * 1e-3))
	if err != nil {
		b.err = fmt.Errorf("explaining the equivalence point: %w", err)
		return p, false
	}
	b.pt, b.v = pt, w.volume
	for _, c := range []titration.Couple{p.titrand, p.titrant} {
		left, right, fine := b.sides(c.Reaction)
		if !fine {
			return p, false
		}
		p.plain = p.plain && b.coefficient(c.Reaction, left) == -1 && b.coefficient(c.Reaction, right) == 1
	}
	electrons := func(sub, whose string, c titration.Couple) working.Symbol {
		return working.Symbol{Letter: "n", Sub: sub, Meaning: "the number of electrons in the couple of the " + whose, Value: working.Count(c.Electrons)}
	}
	p.n1, p.n2 = electrons("1", "titrand", p.titrand), electrons("2", "titrant", p.titrant)
	p.e1, p.e2 = b.atThisPH(p.titrand), b.atThisPH(p.titrant)
	return p, true
}

// atThisPH is the potential of a couple with its protons, and what complexes
// hold of its forms, taken into account.
func (b *builder) atThisPH(c titration.Couple) working.Symbol {
	e0, _ := b.couple(c, nil).constant.(working.Symbol)
	h := -b.coefficient(c.Reaction, chem.Proton)
	f := working.Sum{{Expr: e0}}
	var causes []string
	if h != 0 && !math.IsNaN(b.pt.PH) {
		pH := working.Symbol{Letter: "pH", Meaning: "minus the decadic logarithm of the activity of {H^+}", Value: working.Shortest(math.Round(b.pt.PH*1e4)/1e4+0, "1")}
		f = append(f, working.Term{Expr: working.Times(working.Over(working.Count(h), working.Count(c.Electrons)), b.slope(), pH), Minus: true})
		causes = append(causes, "{H^+} takes part")
	}
	left, right, _ := b.sides(c.Reaction)
	if b.share(left) < mostlyFree || b.share(right) < mostlyFree {
		f = append(f, working.Term{Expr: working.Times(b.slopeFor(c), working.Lg(working.Over(b.freeShare(left), b.freeShare(right))))})
		causes = append(causes, "complexes or other states of protonation hold a part of its forms")
	}
	if len(causes) == 0 {
		return e0
	}
	q := working.Symbol{Letter: "E", Sub: "here", Of: c.Name, Meaning: "the potential of {" + c.Name + "} in this solution, with equal amounts of both forms"}
	return b.step(working.P("The potential of {"+c.Name+"} is another in this solution, as "+strings.Join(causes, ", and ")+":"), q, f, working.Decimals(4), "V")
}

// slopeFor is the Nernst slope of a couple.
func (b *builder) slopeFor(c titration.Couple) working.Expr {
	if c.Electrons == 1 {
		return b.slope()
	}
	return working.Over(b.slope(), working.Count(c.Electrons))
}

// wholeCurve is what can be said of the curve as a whole.
func (b *builder) wholeCurve() []working.Section {
	b.out = nil
	p, ok := b.redoxPair()
	if !ok {
		return nil
	}
	section, fits := b.completeness(p)
	list := []working.Section{section}
	if fits {
		if section, ok := b.steepestPoint(p); ok {
			list = append(list, section)
		}
	}
	return list
}

// completeness says how far apart the potentials of the couples must be for so
// much of the titrand to react, and how complete this reaction is.
func (b *builder) completeness(p pair) (section working.Section, fits bool) {
	first, second := p.e2, p.e1
	if p.sign < 0 {
		first, second = p.e1, p.e2
	}
	gap := b.step(working.P("What drives the reaction is the difference of the two potentials:"), working.Symbol{Letter: "ΔE", Meaning: "by how much the couple that oxidises stands above the other"},
		working.Less(first, second), working.Decimals(4), "V")
	one := working.Count(1)
	both := working.Add(working.Over(one, p.n1), working.Over(one, p.n2))
	b.add(working.P("At the equivalence point both couples stand at one potential. If one part in a thousand of the titrand is left, the forms of its couple stand as 1000 to 1, and those of the titrant’s couple as well, the other way round. Each power of ten takes @ and @ of the distance between the two potentials.",
		working.Over(b.slope(), p.n1), working.Over(b.slope(), p.n2)))
	for _, x := range []struct {
		p    float64
		text string
	}{{2, "99"}, {3, "99.9"}, {4, "99.99"}} {
		b.step(working.P("So that "+x.text+" % of the titrand has reacted, @ powers of ten are needed:", working.Count(x.p)), working.Symbol{Letter: "ΔE", Sub: x.text, Meaning: "the difference that " + x.text + " % needs"},
			working.Times(working.Count(x.p), b.slope(), both), working.Decimals(3), "V")
	}
	reached := b.step(working.P("The difference that there is gives so many powers of ten:"), working.Symbol{Letter: "p", Meaning: "the powers of ten that the difference allows"}, working.Over(gap, working.Times(b.slope(), both)), working.Decimals(2), "1")
	left := b.step(working.P("What is left of the titrand at the equivalence point, by this rule:"), working.Symbol{Letter: "x", Meaning: "the part of the titrand that is left at the equivalence point"},
		working.Times(working.Said(100, "100", "%"), working.Over(one, working.Add(one, working.TenTo(reached)))), working.Figures(3), "%")
	fits = b.exactLeft(p, left)
	return working.Section{Kind: Completeness, Title: "How complete the reaction is at the equivalence point", Blocks: b.out}, fits
}

// exactLeft sets the part that the balances leave beside that of the rule, and
// says whether the rule fits.
func (b *builder) exactLeft(p pair, rule working.Symbol) bool {
	w := b.ways[0]
	from, to := b.exact(w.from)/b.share(w.from), b.exact(w.to)/b.share(w.to)/w.made
	if !(from > 0) || !(to > 0) {
		return false
	}
	x := working.Symbol{Letter: "x", Sub: "exact", Meaning: "the part that is left by all balances", Value: working.Figures(3).Number(100*from/(from+to), "%")}
	b.add(working.Step{Say: working.P("What is left by all balances and equilibria at once:"), Quantity: x})
	switch {
	case !p.plain:
		b.add(working.P("The rule takes one species on either side of each couple. Here the numbers differ, so that concentrations count as well, and the exact part is another."))
	case math.Abs(rule.Value.Value/x.Value.Value-1) > 0.05:
		b.add(working.P("The rule is a rough one here: it takes the two couples as the only ones."))
	default:
		return true
	}
	return false
}

// steepestPoint says where the curve is steepest beside the equivalence point.
func (b *builder) steepestPoint(p pair) (working.Section, bool) {
	if math.IsNaN(b.pt.Standard) {
		return working.Section{}, false
	}
	ve := b.ways[0].volume
	end, nearest := -1, math.Inf(1)
	for i, e := range b.ends {
		if d := math.Abs(e.Volume - ve*1e-3); d < nearest {
			end, nearest = i, d
		}
	}
	if end < 0 {
		return working.Section{}, false
	}
	inf, found, err := b.m.Inflection(b.ends, end)
	if err != nil || !found {
		return working.Section{}, false
	}
	b.out = nil
	at := working.Symbol{Letter: "E", Sub: "eq", Meaning: "the potential at the equivalence point, by all balances", Value: working.Decimals(4).Number(b.pt.Standard, "V")}
	b.add(working.Step{Say: working.P("The potential at the equivalence point, from all balances and equilibria at once:"), Quantity: at})
	if p.titrand.Electrons == p.titrant.Electrons {
		b.add(working.P("Both couples exchange as many electrons, so the curve is as steep a little before the equivalence point as a little behind it, and steepest at that point itself, if dilution and what is left of the titrand are neglected."))
	} else {
		b.inflectionRule(p, at)
	}
	exact := working.Symbol{Letter: "E", Sub: "inf,exact", Meaning: "the potential where the exact curve is steepest", Value: working.Decimals(4).Number(b.pt.Standard+inf.Value-inf.At, "V")}
	b.add(working.Step{Say: working.P("The exact curve, dilution included, is steepest at this potential:"), Quantity: exact})
	off := inf.Beyond / (ve * 1e-3) * 100
	rel := working.Symbol{Letter: "δ", Sub: "exact", Meaning: "how far beyond the equivalence volume the exact curve is steepest, relative to that volume", Value: working.Figures(2).Number(off, "%")}
	b.add(working.Step{Say: working.P("And at this volume beyond the equivalence volume:"), Quantity: rel})
	say := working.P("A method that looks for the steepest point finds an end point that is off by this part.")
	if math.Abs(off) < unseen {
		say = working.P("No burette shows this difference: the steepest point is as good as the equivalence point.")
	}
	if mV := working.Decimals(1).Number((exact.Value.Value-at.Value.Value)*1e3, "mV"); mV.Text != "0.0" {
		say = append(say, working.P(" The potential there is @ from that at the equivalence point.", mV)...)
	}
	b.add(say)
	return working.Section{Kind: Steepest, Title: "Where the curve is steepest", Blocks: b.out}, b.err == nil
}

// unseen is a relative difference of volumes, in %, far below what a burette
// can show: 0.001 mL of 10 mL.
const unseen = 0.01

// inflectionRule is the inflection of an asymmetric curve where what is left
// on both sides is small.
func (b *builder) inflectionRule(p pair, at working.Symbol) {
	b.add(working.P("The couples exchange different numbers of electrons, so the curve is not symmetrical. With the potential, what is left of the titrand falls as a power of ten with @ in the exponent, and what is left of the titrant rises as one with @. The volume is the difference of the two, so it changes least with the potential, and the curve is steepest, where the titrand left stands to the titrant left as @ to @.",
		p.n1, p.n2, square(p.n2), square(p.n1)))
	two := working.Count(2)
	shift := working.Times(working.Over(working.Times(two, b.slope()), working.Add(p.n1, p.n2)), working.Lg(working.Over(p.n2, p.n1)))
	var f working.Expr = working.Less(at, shift)
	if p.sign < 0 {
		f = working.Add(at, shift)
	}
	e := b.step(working.P("At the equivalence point the two are equal, so this lies off it:"), working.Symbol{Letter: "E", Sub: "inf", Meaning: "the potential where the curve is steepest, by this rule"}, f, working.Decimals(4), "V")
	away := working.Less(e, p.e1)
	if p.sign < 0 {
		away = working.Less(p.e1, e)
	}
	left := b.step(working.P("What is left of the titrand there:"), working.Symbol{Letter: "x", Sub: "inf", Meaning: "the part of the titrand that is left at the steepest point"},
		working.Power{Base: working.Count(10), Exp: working.Sum{{Expr: working.Times(p.n1, working.Over(away, b.slope())), Minus: true}}}, working.Figures(3), "1")
	b.step(working.P("The titrant left there less the titrand left is how far the volume lies off:"), working.Symbol{Letter: "δ", Meaning: "how far beyond the equivalence volume the curve is steepest, relative to that volume, by this rule"},
		working.Times(working.Said(100, "100", "%"), left, working.Less(working.Over(square(p.n1), square(p.n2)), working.Count(1))), working.Figures(2), "%")
}

func square(e working.Expr) working.Expr { return working.Power{Base: e, Exp: working.Count(2)} }
