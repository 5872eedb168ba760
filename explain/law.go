package explain

import (
	"math"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/titration"
	"meniscus/working"
)

// A term is a concentration, or the ratio of two, in a mass-action expression.
type term struct {
	expr    working.Expr // with the value taken for it
	species string       // "" for a ratio
	exact   float64
	power   float64
}

// A law gives the measured quantity: constant plus factor times the logarithm
// of the product of terms.
type law struct {
	constant working.Expr
	factor   working.Expr
	terms    []term
	better   []attempt // next-better approximations, where there are any
}

func (l law) expr() working.Expr {
	var num, den []working.Expr
	for _, t := range l.terms {
		if t.plain() {
			continue
		}
		e, p := t.expr, math.Abs(t.power)
		if p != 1 {
			e = working.Power{Base: e, Exp: working.Count(p)}
		}
		if t.power > 0 {
			num = append(num, e)
		} else {
			den = append(den, e)
		}
	}
	if len(num)+len(den) == 0 {
		return l.constant
	}
	arg, minus := product(num), len(num) == 0
	switch {
	case minus:
		arg = product(den)
	case len(den) > 0:
		arg = working.Over(arg, product(den))
	}
	lg := working.Expr(working.Lg(arg))
	if l.factor != nil {
		lg = working.Times(l.factor, lg)
	}
	sum := working.Sum{{Expr: lg, Minus: minus}}
	if l.constant != nil {
		sum = append(working.Add(l.constant), sum...)
		if constant, ok := l.constant.(working.Sum); ok {
			sum = append(append(working.Sum{}, constant...), sum[1:]...)
		}
	}
	return sum
}

// plain says whether a term is a ratio of one to one, which no formula shows.
func (t term) plain() bool {
	s, ok := t.expr.(working.Symbol)
	return ok && t.species == "" && s.Value.Value == 1
}

func product(list []working.Expr) working.Expr {
	switch len(list) {
	case 0:
		return working.Count(1)
	case 1:
		return list[0]
	}
	return working.Times(list...)
}

func (l law) factorValue() float64 {
	if l.factor == nil {
		return 1
	}
	x, err := working.Eval(l.factor)
	if err != nil {
		return math.NaN()
	}
	return x
}

// couple is the Nernst equation with the concentrations given, or the exact
// ones where none is.
func (b *builder) couple(c titration.Couple, taken map[string]float64) law {
	e0 := working.Symbol{Letter: "E", Degree: true, Prime: c.Formal, Of: c.Name, Value: atLeastTwo(math.Round(c.Potential*1e6)/1e6, "V")}
	e0.Meaning = "the standard potential of {" + c.Name + "}"
	if c.Formal {
		e0.Meaning = "the formal potential of {" + c.Name + "} in this medium"
	}
	l := law{constant: e0, factor: working.Over(b.slope(), working.Count(c.Electrons))}
	if c.Electrons == 1 {
		l.factor = b.slope()
	}
	l.terms = b.massAction(c.Reaction, taken, -1)
	return l
}

// massAction lists the concentrations of a reaction, those on the left with
// sign times their coefficient.
func (b *builder) massAction(reaction int, taken map[string]float64, sign float64) []term {
	var list []term
	for _, t := range b.t.System().Reactions[reaction].Terms {
		sp := b.t.System().Species[t.Species]
		if sp.Name == chem.Electron || sp.Kind != equilibrium.Dissolved {
			continue
		}
		exact := b.exact(sp.Name)
		if sp.Name == chem.Proton && exact == 0 {
			exact = math.Pow(10, -b.pt.PH)
		}
		x, ok := taken[sp.Name]
		if !ok {
			x = exact
		}
		list = append(list, term{bracket(sp.Name, x), sp.Name, exact, sign * float64(t.Num) / math.Max(float64(t.Den), 1)})
	}
	return list
}

// ratio is the quotient of two concentrations as one term.
func (b *builder) ratio(x, y string, value, power float64) term {
	q := working.Symbol{
		Letter: "r", Sub: "", Of: x + "/" + y, Meaning: "the ratio of the concentrations [{" + x + "}]/[{" + y + "}]",
		Value: working.Figures(4).Number(value, "1"),
	}
	return term{expr: q, exact: b.exact(x) / b.exact(y), power: power}
}

// usable says whether the concentrations taken are near enough to the exact
// ones to teach anything: within a factor, which is a decade and a half.
const usable = 30

func (l law) sound() bool {
	for _, t := range l.terms {
		x, err := working.Eval(t.expr)
		if err != nil || !(x > 0) || !(t.exact > 0) || x/t.exact > usable || t.exact/x > usable {
			return false
		}
	}
	return true
}

// compare shows the law with the values taken, the exact value, and what each
// concentration contributes to the difference. These contributions add up to
// the difference, since the law holds exactly for the exact concentrations.
func (b *builder) compare(say working.Paragraph, l law) {
	q, exact, _ := b.measured()
	format, unit, scale, small := working.Decimals(3), "1", 1.0, "1"
	if b.redox() {
		format, unit, scale, small = working.Decimals(4), "V", 1e3, "mV"
	}
	textbook := q
	textbook.Sub, textbook.Meaning = "textbook", q.Meaning+", by the expression of the textbook"
	textbook = b.step(say, textbook, l.expr(), format, unit)
	if b.err != nil {
		return
	}
	b.add(working.Step{Say: working.P("The exact value, from all balances and equilibria at once"), Quantity: q})
	diff := textbook.Value.Value - exact
	d := working.Symbol{Letter: "Δ", Meaning: "the textbook value less the exact one"}
	d.Value = working.Decimals(shownPlaces(scale)).Number(diff*scale, small)
	b.add(working.Step{Say: working.P("Textbook less exact, before rounding"), Quantity: d})
	rows, sum := b.contributions(l, scale, small)
	if len(rows) > 0 {
		b.add(working.Table{
			Caption: working.P("Where the difference comes from: for each concentration the value taken, the exact one and the effect on the result"),
			Head:    []working.Paragraph{working.P("quantity"), working.P("taken"), working.P("exact"), working.P("effect"), working.P("reason")}, Rows: rows,
		})
	} else {
		b.add(working.P("Both agree to the digits shown: what the textbook neglects does not matter here."))
	}
	if rest := diff - sum; math.Abs(rest) > leastRest {
		b.add(working.P("The remaining @ come from activity coefficients, which the textbook takes as 1.", working.Decimals(3).Number(rest*scale, small)))
	}
}

// leastRest is what rounding may leave between a difference and the sum of its
// parts, V or units of pH.
const leastRest = 1e-6

// shownPlaces is how many decimals a difference has: of mV, or of pH.
func shownPlaces(scale float64) int {
	if scale == 1 {
		return 4
	}
	return 3
}

func (b *builder) contributions(l law, scale float64, unit string) (rows [][]working.Paragraph, sum float64) {
	for _, t := range l.terms {
		x, err := working.Eval(t.expr)
		if err != nil || !(t.exact > 0) {
			continue
		}
		effect := l.factorValue() * t.power * math.Log10(x/t.exact)
		sum += effect
		if math.Abs(effect)*scale < 0.5*math.Pow10(-shownPlaces(scale)) {
			continue
		}
		s, _ := t.expr.(working.Symbol)
		u := s.Value.Unit
		if s.Value.Pure {
			u = "1"
		}
		rows = append(rows, []working.Paragraph{
			working.P("@", s), working.P("@", s.Value), working.P("@", working.Figures(4).Number(t.exact, u)),
			working.P("@", working.Decimals(shownPlaces(scale)).Number(effect*scale, unit)), b.reason(l, t, x),
		})
	}
	return rows, sum
}

// reason says why the exact concentration is not the one taken.
func (b *builder) reason(l law, t term, taken float64) working.Paragraph {
	if t.species == "" {
		return b.ratioReason()
	}
	if why, ok := b.withWaterReason(t, taken); ok {
		return why
	}
	own := map[string]bool{}
	for _, other := range l.terms {
		own[other.species] = true
	}
	best, most := "", 0.0
	for i, r := range b.t.System().Reactions {
		if b.coefficient(i, chem.Electron) != 0 || b.coefficient(i, t.species) == 0 || t.species == chem.Proton {
			continue
		}
		for _, q := range r.Terms {
			sp := b.t.System().Species[q.Species]
			if c := b.p.Solver.Concentration(q.Species); sp.Kind == equilibrium.Dissolved && !own[sp.Name] && c > most && related(sp.Name, t.species) &&
				(float64(q.Num) > 0) != (b.coefficient(i, t.species) > 0) {
				best, most = sp.Name, c
			}
		}
	}
	switch {
	case t.exact < taken && most > 0.1*(taken-t.exact):
		return append(working.P("part of it is {"+best+"}"), working.P(" (@)", working.Figures(3).Number(most, "mol/L"))...)
	case t.exact < taken:
		return working.P("less is there: a small part reacts further")
	}
	return b.moreReason(t)
}

func shortText(x float64) string { return working.Shortest(round12(x), "mol/L").Text }
