package explain

import (
	"fmt"
	"math"

	"meniscus/chem"
	"meniscus/titration"
	"meniscus/working"
)

// formal shows how the potentials of the two couples are read from a curve, and
// says where the rule of half and twice fails.
func (b *builder) formal() (working.Section, bool) {
	if !b.redox() || len(b.ways) != 1 {
		return working.Section{}, false
	}
	w := b.ways[0]
	b.out = nil
	b.readCouple(b.coupleOf(w.reaction), "half the equivalence volume", "half", w.volume/2)
	b.readCouple(b.titrantCouple(), "twice the equivalence volume", "twice", 2*w.volume)
	return working.Section{Kind: FormalPotential, Title: "Reading a formal potential from the curve", Blocks: b.out}, b.err == nil
}

func (b *builder) readCouple(c titration.Couple, where, mark string, mL float64) {
	if _, err := b.p.At(decimal(mL * 1e-3)); err != nil {
		b.err = fmt.Errorf("explaining the formal potential of %s: %w", c.Name, err)
		return
	}
	left, right, ok := b.sides(c.Reaction)
	if !ok {
		return
	}
	name := "{" + c.Name + "}"
	if b.coefficient(c.Reaction, left)+b.coefficient(c.Reaction, right) != 0 {
		b.add(working.P("At " + where + " the potential is not that of " + name + ": the numbers of {" + left + "} and {" + right + "} in the couple differ, so equal amounts do not cancel and the concentration stays in the expression."))
		return
	}
	if b.share(left) <= mostlyFree || b.share(right) <= mostlyFree {
		b.add(working.P("Complexes or other states of protonation hold a part of {" + left + "} or {" + right + "}, so what is read at " + where + " is a formal potential of this medium and not the standard potential."))
	}
	e := working.Symbol{Letter: "E", Sub: mark, Meaning: "the potential read at " + where + ", against the standard hydrogen electrode", Value: working.Number{Unit: "V"}}
	e0 := working.Symbol{Letter: "E", Degree: true, Prime: true, Sub: "read", Of: c.Name, Meaning: "the formal potential of " + name + " that the curve gives", Value: working.Number{Unit: "V"}}
	zero := working.P("At " + where + " the two forms of " + name + " are there in equal amounts, so the logarithm of their ratio is zero.")
	h := -b.coefficient(c.Reaction, chem.Proton)
	if h == 0 {
		b.add(zero, working.Display{Expr: working.Relation{Left: e0, Sign: "=", Right: e}})
		return
	}
	per := working.Symbol{Letter: "k", Of: c.Name, Meaning: "what one unit of pH takes off the potential of " + name}
	say := working.P("{H^+} takes part in this couple, so the pH must be known and steady. For each unit of pH the potential falls by")
	per = b.step(say, per, working.Times(working.Over(working.Count(math.Abs(h)), working.Count(c.Electrons)), b.slope()), working.Decimals(5), "V")
	pH := working.Symbol{Letter: "pH", Meaning: "minus the decadic logarithm of the activity of {H^+}"}
	b.add(zero, working.Display{Expr: working.Relation{Left: e0, Sign: "=", Right: working.Add(e, working.Times(per, pH))}})
}
