package explain

import (
	"math"

	"meniscus/chem"
	"meniscus/titration"
	"meniscus/working"
)

// An attempt works out the measured quantity by an approximation better than
// the textbook's first one. It adds its steps and returns the formula of the
// quantity; ok is false where it does not fit.
type attempt func() (formula working.Expr, ok bool)

// A textbook value is worth bettering where it misses by more than this: units
// of pH or p of an ion, and volts. A better one must halve the miss.
const (
	worthP = 0.005
	worthV = 0.5e-3
	better = 0.5
	// near is how near to the exact value a better approximation comes where the
	// first one is too far out to teach anything.
	near = 0.1
)

// miss is how far a formula is from the exact value; NaN where it has none.
func (b *builder) miss(formula working.Expr) float64 {
	_, exact, _ := b.measured()
	x, err := working.Eval(formula)
	if err != nil {
		return math.NaN()
	}
	return math.Abs(x - exact)
}

// best returns the attempt that comes nearest and how far it stays away. What
// the attempts write is discarded.
func (b *builder) best(l law) (attempt, float64) {
	out, err := b.out, b.err
	defer func() { b.out, b.err = out, err }()
	var chosen attempt
	least := math.Inf(1)
	for _, try := range l.better {
		b.out, b.err = append([]working.Block(nil), out...), err
		formula, ok := try()
		if m := b.miss(formula); ok && m < least {
			chosen, least = try, m
		}
	}
	return chosen, least
}

// rescued says whether a better approximation holds where the first does not.
func (b *builder) rescued(l law) bool {
	x, err := working.Eval(l.expr())
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return false
	}
	_, m := b.best(l)
	if b.redox() {
		return m < near*b.t.Thermal()
	}
	return m < near
}

// refine shows the next-better formula where the first one misses visibly.
func (b *builder) refine(l law) {
	first := b.miss(l.expr())
	worth, format, unit, scale, small := worthP, working.Decimals(3), "1", 1.0, "1"
	if b.redox() {
		worth, format, unit, scale, small = worthV, working.Decimals(4), "V", 1e3, "mV"
	}
	if b.err != nil || first < worth {
		return
	}
	try, m := b.best(l)
	if try == nil || m > better*first {
		return
	}
	formula, _ := try()
	q, exact, _ := b.measured()
	nearer := q
	nearer.Sub, nearer.Meaning = "better", q.Meaning+", by the better approximation"
	nearer = b.step(working.P("With that the better approximation is"), nearer, formula, format, unit)
	d := working.Symbol{Letter: "Δ", Sub: "better", Meaning: "the better approximation less the exact value"}
	d.Value = working.Decimals(shownPlaces(scale)).Number((nearer.Value.Value-exact)*scale, small)
	b.add(working.Step{Say: working.P("Better approximation less exact, before rounding"), Quantity: d})
	if m > 0.1*worth {
		b.add(working.P("What is left comes from equilibria that this formula leaves out as well; only all balances at once hold them."))
	}
}

// An equation is x·(beside + x) = k·(from − x), or x·(beside + x) = k where
// from is nil; its positive root is wanted.
type equation struct {
	say    working.Paragraph // what x is and what is no longer neglected
	k      working.Symbol
	beside *working.Symbol // what is there already beside x
	from   *working.Symbol // what x is taken from
}

// unknown is the unknown of an equation.
func unknown() working.Symbol {
	return working.Symbol{Letter: "x", Meaning: "the unknown of the equation above, a concentration", Value: working.Number{Unit: "mol/L"}}
}

// solve writes the equation and its root, and returns the root.
func (b *builder) solve(e equation) working.Symbol {
	x := unknown()
	left, linear := working.Expr(working.Power{Base: x, Exp: working.Count(2)}), working.Expr(e.k)
	if e.beside != nil {
		left, linear = working.Times(x, working.Add(*e.beside, x)), *e.beside
	}
	product, right := working.Expr(e.k), working.Expr(e.k)
	if e.from != nil {
		product, right = working.Times(e.k, *e.from), working.Times(e.k, working.Less(*e.from, x))
		if e.beside != nil {
			linear = working.Add(*e.beside, e.k)
		}
	}
	b.add(working.Display{Say: e.say, Expr: working.Relation{Left: left, Sign: "=", Right: right}})
	if e.beside == nil {
		disc := working.Add(working.Power{Base: e.k, Exp: working.Count(2)}, working.Times(working.Count(4), e.k, *e.from))
		plain := working.Over(working.Less(working.Root(disc), e.k), working.Count(2))
		return b.step(working.P("This is a quadratic equation. Its positive root"), x, plain, working.Figures(4), "mol/L")
	}
	if _, ok := linear.(working.Sum); ok {
		linear = b.linear(linear)
	}
	return b.step(working.P(rootSay), x, root(linear, product), working.Figures(4), "mol/L")
}

const (
	linearSay = "This is a quadratic equation. What stands with the unknown in it"
	rootSay   = "The positive root of the quadratic equation, written so that no two nearly equal numbers are subtracted"
)

// linear works out what the unknown is multiplied with in a quadratic equation.
func (b *builder) linear(e working.Expr) working.Symbol {
	u := working.Symbol{Letter: "u", Meaning: "what stands with the unknown in the quadratic equation"}
	return b.step(working.P(linearSay), u, e, working.Figures(4), "mol/L")
}

// root is the positive root of x² + p·x − q = 0 as 2q/(p + √(p² + 4q)).
func root(p, q working.Expr) working.Expr {
	four := working.Times(working.Count(4), q)
	if list, ok := q.(working.Product); ok {
		four = append(working.Times(working.Count(4)), list...)
	}
	two := append(working.Times(working.Count(2)), four[1:]...)
	sum := working.Add(p)
	if list, ok := p.(working.Sum); ok {
		sum = append(working.Sum{}, list...)
	}
	square := working.Power{Base: p, Exp: working.Count(2)}
	return working.Over(two, append(sum, working.Term{Expr: working.Root(working.Add(square, four))}))
}

// molar is 1 mol/L: what the argument of a logarithm is taken in.
func molar() working.Number { return working.Said(1, "1", "mol/L") }

// minus is −e.
func minus(e working.Expr) working.Sum { return working.Sum{{Expr: e, Minus: true}} }

// acidity works out the constant of an acid from its pK.
func (b *builder) acidity(reaction int) working.Symbol {
	left, _, _ := b.sides(reaction)
	k := working.Symbol{Letter: "K", Sub: "a", Of: left, Meaning: "the acidity constant of {" + left + "}"}
	return b.step(working.P("The acidity constant of {"+left+"}"), k, working.Times(working.TenTo(minus(b.pKa(reaction))), molar()), working.Figures(4), "mol/L")
}

// basicity works out the constant of the base of an acid.
func (b *builder) basicity(reaction int) (working.Symbol, bool) {
	_, base, _ := b.sides(reaction)
	pKw, ok := b.pKw()
	k := working.Symbol{Letter: "K", Sub: "b", Of: base, Meaning: "the basicity constant of {" + base + "}"}
	if !ok {
		return k, false
	}
	return b.step(working.P("The basicity constant of {"+base+"}, from the ion product of water"), k, working.Times(working.TenTo(working.Less(b.pKa(reaction), pKw)), molar()), working.Figures(4), "mol/L"), true
}

// water works out the ion product of water.
func (b *builder) water() (working.Symbol, bool) {
	pKw, ok := b.pKw()
	k := working.Symbol{Letter: "K", Sub: "w", Meaning: "the ion product of water"}
	if !ok {
		return k, false
	}
	return b.step(working.P("The ion product of water"), k, working.Times(working.TenTo(minus(pKw)), molarSquared()), working.Figures(4), "mol^2/L^2"), true
}

func molarSquared() working.Number { return working.Said(1, "1", "mol^2/L^2") }

// A mixture is what the amounts alone say is in an acid-base solution: an acid
// and its base, or either, with strong acid or base beside it.
type mixture struct {
	reaction int // of the weak acid; -1 for none
	acid     working.Symbol
	base     working.Symbol
	strong   working.Symbol // [H+] or [OH-] from strong acid or base
	weak     working.Symbol // beside the strong one: the amount of the weak one
}

func has(s working.Symbol) bool { return s.Value.Value > 0 }

// optional is a symbol where it has a value.
func optional(s working.Symbol) *working.Symbol {
	if has(s) {
		return &s
	}
	return nil
}

// attempts lists the quadratic equations of a mixture, of an acid or a base.
func (b *builder) attempts(m mixture) []attempt {
	var list []attempt
	if m.reaction >= 0 && has(m.acid) && m.strong.Of != "OH^-" {
		list = append(list, func() (working.Expr, bool) { return b.givesProton(m) })
	}
	if m.reaction >= 0 && has(m.base) && m.strong.Of != chem.Proton {
		list = append(list, func() (working.Expr, bool) { return b.takesProton(m) })
	}
	if has(m.strong) {
		list = append(list, func() (working.Expr, bool) { return b.withWater(m.strong) })
	}
	return list
}

// givesProton lets the acid of a mixture give some of its protons to water.
func (b *builder) givesProton(m mixture) (working.Expr, bool) {
	acid := "{" + m.acid.Of + "}"
	k := b.acidity(m.reaction)
	if has(m.strong) {
		m.acid = b.concentrationOfWeak(m.acid.Of, m.weak)
		x := b.solve(equation{
			say: working.P("The first formula neglects the {H^+} that " + acid + " gives beside the strong acid. Let it be x; as much {" + m.base.Of + "} is made, and " + acid + " loses x"),
			k:   k, beside: optional(m.strong), from: &m.acid,
		})
		return minus(working.Lg(working.Add(m.strong, x))), true
	}
	say := working.P("The first formula neglects that the {H^+} comes out of " + acid + ". Let [{H^+}] be x: " + acid + " loses x, and {" + m.base.Of + "} gains x")
	x := b.solve(equation{say: say, k: k, beside: optional(m.base), from: &m.acid})
	return minus(working.Lg(x)), true
}

// takesProton lets the base of a mixture take protons from water.
func (b *builder) takesProton(m mixture) (working.Expr, bool) {
	base := "{" + m.base.Of + "}"
	pKw, ok := b.pKw()
	k, fine := b.basicity(m.reaction)
	if !ok || !fine {
		return nil, false
	}
	if has(m.strong) {
		m.base = b.concentrationOfWeak(m.base.Of, m.weak)
		x := b.solve(equation{
			say: working.P("The first formula neglects the {OH^-} that " + base + " makes beside the strong base. Let it be x; as much {" + m.acid.Of + "} is made, and " + base + " loses x"),
			k:   k, beside: optional(m.strong), from: &m.base,
		})
		return working.Add(pKw, working.Lg(working.Add(m.strong, x))), true
	}
	say := working.P("The first formula neglects that {OH^-} is made at the cost of " + base + ". Let [{OH^-}] be x: " + base + " loses x, and {" + m.acid.Of + "} gains x")
	x := b.solve(equation{say: say, k: k, beside: optional(m.acid), from: &m.base})
	return working.Add(pKw, working.Lg(x)), true
}

// concentrationOfWeak works out what stands beside a strong acid or base.
func (b *builder) concentrationOfWeak(species string, n working.Symbol) working.Symbol {
	return b.step(working.P("Concentration of {"+species+"} if nothing else happened to it"), bracket(species, 1), working.Over(n, b.total()), working.Figures(4), "mol/L")
}

// withWater adds what water itself gives to a little strong acid or base.
func (b *builder) withWater(strong working.Symbol) (working.Expr, bool) {
	k, ok := b.water()
	if !ok {
		return nil, false
	}
	other := "OH^-"
	if strong.Of == other {
		other = chem.Proton
	}
	x := b.solve(equation{
		say: working.P("The first formula neglects what water gives: as much {H^+} as {OH^-}. Let it be x; then [{" + other + "}] is x"),
		k:   k, beside: &strong,
	})
	if strong.Of == chem.Proton {
		return minus(working.Lg(working.Add(strong, x))), true
	}
	pKw, _ := b.pKw()
	return working.Add(pKw, working.Lg(working.Add(strong, x))), true
}

// ampholyte is the fuller formula for a species between two acid constants: it
// keeps the protons of water and the {H^+} beside the dissolved species.
func (b *builder) ampholyte(strongAcid, weakAcid int, c working.Symbol) attempt {
	return func() (working.Expr, bool) {
		k1, k2 := b.acidity(strongAcid), b.acidity(weakAcid)
		kw, ok := b.water()
		h := bracket(chem.Proton, 1)
		f := working.Root(working.Over(working.Add(working.Times(k1, k2, c), working.Times(k1, kw)), working.Add(k1, c)))
		h = b.step(working.P("The mean of the constants neglects {H^+} and {OH^-} beside {"+c.Of+"}. With both in the balance of protons"), h, f, working.Figures(4), "mol/L")
		return minus(working.Lg(h)), ok
	}
}

// A disproportion is the exchange 2 mid = side + far, or mid + other = side +
// far with as much other as mid, which the textbook neglects.
type disproportion struct {
	say   working.Paragraph
	kappa working.Symbol
	side  *working.Symbol // what is there of one product beside y
	mid   working.Symbol
	twice bool // mid loses 2 y
}

// exchange writes the equation of a disproportion and returns y.
func (b *builder) exchange(d disproportion) (y working.Symbol, ok bool) {
	y = working.Symbol{Letter: "y", Meaning: "the unknown of the equation above, a concentration", Value: working.Number{Unit: "mol/L"}}
	lost, f := working.Expr(y), 1.0
	if d.twice {
		lost, f = working.Times(working.Count(2), y), 2
	}
	left := working.Expr(working.Power{Base: y, Exp: working.Count(2)})
	if d.side != nil {
		left = working.Times(y, working.Add(*d.side, y))
	}
	right := working.Times(d.kappa, working.Power{Base: working.Less(d.mid, lost), Exp: working.Count(2)})
	b.add(working.Display{Say: d.say, Expr: working.Relation{Left: left, Sign: "=", Right: right}})
	if d.side == nil {
		r := working.Root(d.kappa)
		den := working.Add(working.Count(1), r)
		if d.twice {
			den = working.Add(working.Count(1), working.Times(working.Count(2), r))
		}
		return b.step(working.P("The root of both sides gives"), y, working.Over(working.Times(r, d.mid), den), working.Figures(4), "mol/L"), true
	}
	if f*f*d.kappa.Value.Value >= 1 {
		return y, false
	}
	a := working.Less(working.Count(1), working.Times(working.Count(f*f), d.kappa))
	p := b.linear(working.Add(*d.side, working.Times(working.Count(2*f), d.kappa, d.mid)))
	q := working.Times(d.kappa, working.Power{Base: d.mid, Exp: working.Count(2)})
	if f == 1 {
		a = working.Less(working.Count(1), d.kappa)
	}
	disc := working.Add(working.Power{Base: p, Exp: working.Count(2)}, working.Times(working.Count(4), a, q[0], q[1]))
	f2 := working.Over(append(working.Times(working.Count(2)), q...), working.Add(p, working.Root(disc)))
	return b.step(working.P(rootSay), y, f2, working.Figures(4), "mol/L"), true
}

// neighbour lets two of the middle form of a polyprotic acid become one of
// either neighbour. reaction is the one whose two forms the amounts give, next
// the one beyond mid.
func (b *builder) neighbour(reaction, next int, side, mid working.Symbol, far string) attempt {
	return func() (working.Expr, bool) {
		pk1, pk2 := b.pKa(reaction), b.pKa(next)
		if pk1.Value.Value > pk2.Value.Value {
			pk1, pk2 = pk2, pk1
		}
		kappa := working.Symbol{Letter: "κ", Of: mid.Of, Meaning: "the constant of the exchange of a proton between two {" + mid.Of + "}"}
		kappa = b.step(working.P("Two {"+mid.Of+"} can also become {"+side.Of+"} and {"+far+"}. The constant of this is"), kappa, working.TenTo(working.Less(pk1, pk2)), working.Figures(4), "1")
		y, ok := b.exchange(disproportion{
			say:   working.P("The first formula neglects this. Let y be the concentration of {" + far + "}: as much is added to {" + side.Of + "}, and {" + mid.Of + "} loses twice as much"),
			kappa: kappa, side: optional(side), mid: mid, twice: true,
		})
		if !ok {
			return nil, false
		}
		more, less := working.Expr(working.Add(side, y)), working.Expr(working.Less(mid, working.Times(working.Count(2), y)))
		if !has(side) {
			more = y
		}
		acid, _, _ := b.sides(reaction)
		if side.Of == acid {
			more, less = less, more
		}
		return working.Add(b.pKa(reaction), working.Lg(working.Over(more, less))), true
	}
}

// besides lists the attempts within a stage of an acid: either form with water,
// and the exchange with the forms on both sides.
func (b *builder) besides(w stage, taken map[string]float64) []attempt {
	from, to := bracket(w.from, taken[w.from]), bracket(w.to, taken[w.to])
	acid, _, _ := b.sides(w.reaction)
	m := mixture{reaction: w.reaction, acid: from, base: to}
	gives := acid == w.from
	if !gives {
		m.acid, m.base = to, from
	}
	list := b.attempts(m)
	if next, far, _, ok := b.acid(w.to, gives); ok {
		list = append(list, b.neighbour(w.reaction, next, from, to, far))
	}
	if next, far, _, ok := b.acid(w.from, !gives); ok {
		list = append(list, b.neighbour(w.reaction, next, to, from, far))
	}
	return list
}

// beside the strong acid or base of a stage stands the weak one of the next;
// beyond the last stage, the product of the last.
func (b *builder) besideStrong(species string, c float64, weak stage, form, other string, amount float64) []attempt {
	strong := bracket(species, c)
	m := mixture{reaction: -1, strong: strong}
	if weak.titrant != "" && weak.reaction >= 0 {
		m.reaction = weak.reaction
		m.weak = working.Symbol{Letter: "n", Sub: "all", Of: form, Meaning: "the amount of {" + form + "} by the reactions so far", Value: working.Figures(5).Number(amount, "mmol")}
		there, made := bracket(form, amount/b.millilitres()), bracket(other, 0)
		acid, _, _ := b.sides(weak.reaction)
		if m.acid, m.base = there, made; acid != form {
			m.acid, m.base = made, there
		}
	}
	return b.attempts(m)
}

// millilitres is the volume of the mixture, mL.
func (b *builder) millilitres() float64 { return b.s.Flask.Volume.Float()*1e3 + b.v }

// dissolving lets the solid of a stage dissolve into what the amounts leave:
// the product of silver and anion is the solubility product.
func (b *builder) dissolving(w stage, beside working.Symbol) attempt {
	return func() (working.Expr, bool) {
		k := working.Symbol{Letter: "K", Sub: "sp", Of: w.to, Meaning: "the solubility product of {" + w.to + "}"}
		k = b.step(working.P("The solubility product"), k, working.Times(working.TenTo(minus(b.pKsp(w))), molarSquared()), working.Figures(4), "mol^2/L^2")
		e := equation{k: k, beside: &beside}
		e.say = working.P("The first formula neglects what {" + w.to + "} gives back. Let x be that: as much {Ag^+} as {" + w.from + "}")
		x := b.solve(e)
		if beside.Of == "Ag^+" {
			return minus(working.Lg(working.Add(beside, x))), true
		}
		return minus(working.Lg(x)), true
	}
}

// equalCouples are the couple of the last stage and the titrant's, where both
// have one of each form and as many electrons: then the reaction has a
// quadratic equation.
func (b *builder) equalCouples() (titrand, titrant titration.Couple, ok bool) {
	w := b.ways[len(b.ways)-1]
	titrand, titrant = b.coupleOf(w.reaction), b.titrantCouple()
	for _, c := range []titration.Couple{titrand, titrant} {
		left, right, fine := b.sides(c.Reaction)
		if !fine || math.Abs(b.coefficient(c.Reaction, left)) != 1 || b.coefficient(c.Reaction, right) != 1 || b.coefficient(c.Reaction, chem.Proton) != 0 ||
			b.share(left) < mostlyFree || b.share(right) < mostlyFree {
			return titrand, titrant, false
		}
	}
	return titrand, titrant, titrand.Electrons == titrant.Electrons
}

// incomplete lets the reaction of a redox titration stop before its end: of
// what the amounts say has reacted, y is still there. side is what is left of
// the form in excess, mid what has reacted; own is the couple whose potential
// the first formula took.
func (b *builder) incomplete(own titration.Couple, side, mid working.Symbol) attempt {
	return func() (working.Expr, bool) {
		titrand, titrant, ok := b.equalCouples()
		if !ok {
			return nil, false
		}
		e1, e2 := b.couple(titrand, nil).constant, b.couple(titrant, nil).constant
		high, low := e2, e1
		if titrant.Potential < titrand.Potential {
			high, low = e1, e2
		}
		exponent := working.Expr(working.Over(working.Less(low, high), b.slope()))
		if n := titrand.Electrons; n != 1 {
			exponent = working.Over(working.Times(working.Count(n), working.Less(low, high)), b.slope())
		}
		kappa := working.Symbol{Letter: "κ", Meaning: "the constant of the reaction read backwards"}
		kappa = b.step(working.P("The reaction is not complete. Its constant, read backwards, is"), kappa, working.TenTo(exponent), working.Figures(4), "1")
		y, ok := b.exchange(disproportion{
			say:   working.P("Let y be the concentration of what has not reacted although the amounts say so, on either side"),
			kappa: kappa, side: optional(side), mid: mid,
		})
		if !ok {
			return nil, false
		}
		left, _, _ := b.sides(own.Reaction)
		more, less := working.Expr(working.Add(side, y)), working.Expr(working.Less(mid, y))
		if !has(side) {
			more = y
		}
		if side.Of != left {
			more, less = less, more
		}
		l := b.couple(own, nil)
		return working.Add(l.constant, working.Times(l.factor, working.Lg(working.Over(more, less)))), true
	}
}

// amphoteric is the fuller formula for a species between the constants of two
// reactions.
func (b *builder) amphoteric(r1, r2 int, c working.Symbol) []attempt {
	if b.pKa(r1).Value.Value > b.pKa(r2).Value.Value {
		r1, r2 = r2, r1
	}
	return []attempt{b.ampholyte(r1, r2, c)}
}
