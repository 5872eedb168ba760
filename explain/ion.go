package explain

import (
	"math"
	"sort"

	"meniscus/equilibrium"
	"meniscus/working"
)

// ionStages are those of an ion electrode: solids of one ion each with the
// titrant, or the complex of the sensed metal with EDTA.
func (b *builder) ionStages() []stage {
	if _, text := ionConc(b.s.Burette.Contents, "Ag^+"); text != "0" {
		return b.silverStages()
	}
	return b.complexStages()
}

func (b *builder) silverStages() []stage {
	ct, text := ionConc(b.s.Burette.Contents, "Ag^+")
	v0 := b.s.Flask.Volume.Float() * 1e3
	var list []stage
	for i, r := range b.t.System().Reactions {
		solid, anion := b.salt(i)
		c, t := ionConc(b.s.Flask.Contents, anion)
		if solid == "" || c == 0 {
			continue
		}
		list = append(list, stage{
			from: anion, put: anion, to: solid, reaction: i, conc: c, text: t, amount: c * v0, made: 1, perTitrant: 1, volume: c * v0 / ct,
			strength: r.LnK, titrant: "Ag^+", titrantConc: ct, titrantText: text,
		})
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].strength < list[j].strength })
	if len(list) == 1 && b.isEnd(list[0].volume/2) {
		return b.pairStages(list[0])
	}
	if len(list) == 0 || len(b.ends) == 0 || math.Abs(b.ends[0].Volume*1e3-list[0].volume) > 1e-6*list[0].volume {
		return nil // a complex takes the silver first
	}
	return list
}

// salt returns solid and anion of a reaction AgX(s) = Ag+ + X-.
func (b *builder) salt(reaction int) (solid, anion string) {
	r := b.t.System().Reactions[reaction]
	if len(r.Terms) != 3 || b.coefficient(reaction, "Ag^+") != 1 {
		return "", ""
	}
	for _, t := range r.Terms {
		sp := b.t.System().Species[t.Species]
		switch {
		case sp.Name == "Ag^+":
		case sp.Kind == equilibrium.Solid:
			solid = sp.Name
		case b.coefficient(reaction, sp.Name) == 1:
			anion = sp.Name
		}
	}
	if anion == "" {
		solid = ""
	}
	return solid, anion
}

const ligand = "Y^4-"

func (b *builder) complexStages() []stage {
	ct, titrant, text := 0.0, "", ""
	for _, form := range []string{"H2Y^2-", "HY^3-", ligand} {
		if x, t := ionConc(b.s.Burette.Contents, form); x > 0 {
			ct, titrant, text = x, form, t
		}
	}
	metal := b.t.System().Species[b.t.Cell.Species].Name
	c, t := ionConc(b.s.Flask.Contents, metal)
	if ct == 0 || c == 0 || len(b.s.Find) > 1 {
		return nil
	}
	n := c * b.s.Flask.Volume.Float() * 1e3
	for i, r := range b.t.System().Reactions {
		if len(r.Terms) != 3 || b.coefficient(i, metal) != -1 || b.coefficient(i, ligand) != -1 {
			continue
		}
		w := stage{from: metal, put: metal, reaction: i, conc: c, text: t, amount: n, made: 1, perTitrant: 1, volume: n / ct, titrant: titrant, titrantConc: ct, titrantText: text}
		for _, q := range r.Terms {
			if q.Num > 0 {
				w.to = b.t.System().Species[q.Species].Name
			}
		}
		return []stage{w}
	}
	return nil
}

func (b *builder) complexing() bool {
	return len(b.ways) == 1 && !b.redox() && !b.glass() && b.ways[0].titrant != "Ag^+"
}

func (b *builder) pKsp(w stage) working.Symbol {
	return working.Symbol{
		Letter: "pK", Sub: "sp", Of: w.to, Meaning: "minus the decadic logarithm of the solubility product of {" + w.to + "}, in mol²/L²",
		Value: working.Shortest(round9(-b.t.System().Reactions[w.reaction].LnK/math.Ln10), "1"),
	}
}

func (b *builder) ionWithin(w stage, taken map[string]float64) (law, working.Paragraph, bool) {
	if b.paired() {
		return b.pairWithin(w, taken)
	}
	x := term{bracket(w.from, taken[w.from]), w.from, b.exact(w.from), 1}
	if b.complexing() {
		x.power = -1
		l := law{terms: []term{x}}
		if rest := w.amount - b.v*w.titrantConc*w.perTitrant; rest < w.amount {
			left, _ := x.expr.(working.Symbol)
			if b.share(w.from) <= mostlyFree {
				left = b.outside(w.from).With(working.Figures(4).Number(rest/b.millilitres(), "mol/L"))
			}
			used := amount(w.from, "used", "the amount of {"+w.from+"} that has reacted").With(working.Figures(5).Number(w.amount-rest, "mmol"))
			l.better = []attempt{func() (working.Expr, bool) {
				return b.tied(w, &left, false, b.concentrationOfWeak(w.to, used))()
			}}
		}
		return l, working.P("What is left of the metal decides its activity; the complex gives back next to nothing"), true
	}
	return law{constant: b.pKsp(w), terms: []term{x}, better: []attempt{b.dissolving(w, x.expr.(working.Symbol))}}, working.P("The solution is saturated with {" + w.to + "}: its solubility product gives the silver that what is left of {" + w.from + "} allows"), true
}

// atOnce is the start of a complexometric titration: all of the metal is there.
func (b *builder) atOnce(w stage) (law, working.Paragraph, bool) {
	if !b.complexing() {
		return law{}, nil, false
	}
	n := amount(w.from, "0", "the amount of {"+w.from+"} put into the flask").With(working.Figures(5).Number(w.amount, "mmol"))
	taken := map[string]float64{}
	b.dilute(taken, w.from, n, 1)
	return b.ionWithin(w, taken)
}

func (b *builder) ionEnd(i int) (law, working.Paragraph, bool) {
	if b.paired() {
		return b.pairEnd(i)
	}
	w := b.ways[i]
	half := working.Over(working.Count(1), working.Count(2))
	if b.complexing() {
		taken := map[string]float64{}
		whole := amount(w.to, "whole", "the amount of {"+w.to+"} at the equivalence point").With(working.Figures(5).Number(w.amount, "mmol"))
		b.dilute(taken, w.to, whole, 1)
		y := b.freeLigand()
		m := b.freeMetal(w)
		r := b.ratio(ligand, w.from, 1, 1)
		q, _ := r.expr.(working.Symbol)
		r.expr = b.step(working.P("As much ligand as metal is left over, each with its free share"), q, working.Over(y, m), working.Figures(4), "1")
		my := term{bracket(w.to, taken[w.to]), w.to, b.exact(w.to), -1}
		return law{constant: working.Over(b.lgK(w), working.Count(2)), factor: half, terms: []term{r, my}, better: []attempt{b.tied(w, nil, false, bracket(w.to, taken[w.to]))}}, working.P("The stability constant, with that ratio"), true
	}
	if i+1 == len(b.ways) {
		return law{constant: working.Over(b.pKsp(w), working.Count(2)), factor: half, terms: []term{b.ratio(w.from, "Ag^+", 1, 1)}},
			working.P("As much silver as {" + w.from + "} stays in solution, so each is the root of the solubility product"), true
	}
	next := b.ways[i+1]
	taken := map[string]float64{}
	n := amount(next.from, "whole", "the amount of {"+next.from+"}, none of which has reacted").With(working.Figures(5).Number(next.amount, "mmol"))
	b.dilute(taken, next.from, n, 1)
	return law{constant: b.pKsp(next), terms: []term{{bracket(next.from, taken[next.from]), next.from, b.exact(next.from), 1}}},
		working.P("{" + next.to + "} is about to fall out or has begun to: its solubility product now limits the silver"), true
}

func (b *builder) ionBeyond(w stage, taken map[string]float64) (law, working.Paragraph, bool) {
	if !b.complexing() {
		free := bracket("Ag^+", taken[w.titrant])
		l := law{terms: []term{{free, "Ag^+", b.exact("Ag^+"), -1}}}
		if !b.paired() {
			l.better = []attempt{b.dissolving(w, free)}
		}
		return l, working.P("The silver in excess decides"), true
	}
	y := b.freeLigand()
	all := b.outside(w.titrant).With(working.Figures(4).Number(taken[w.titrant], "mol/L"))
	free := b.step(working.P("The share that is {"+ligand+"}"), bracket(ligand, 1), working.Times(y, all), working.Figures(4), "mol/L")
	whole := amount(w.to, "whole", "the amount of {"+w.to+"} at the equivalence point").With(working.Figures(5).Number(w.amount, "mmol"))
	b.dilute(taken, w.to, whole, 1)
	return law{constant: b.lgK(w), terms: []term{
		{free, ligand, b.exact(ligand), 1},
		{bracket(w.to, taken[w.to]), w.to, b.exact(w.to), -1},
	}, better: []attempt{b.tied(w, &all, true, bracket(w.to, taken[w.to]))}}, working.P("The stability constant gives the metal that the ligand in excess leaves free"), true
}

// outside is the concentration of metal or titrant outside the complex.
func (b *builder) outside(species string) working.Symbol {
	return working.Symbol{Letter: "c", Sub: "out", Of: species, Meaning: "the concentration of {" + species + "} outside the complex, in all its forms, by the amounts"}
}

func (b *builder) lgK(w stage) working.Symbol {
	return working.Symbol{Letter: "lg K", Of: w.to, Meaning: "the decadic logarithm of the stability constant of {" + w.to + "}, in L/mol", Value: working.Shortest(round9(b.t.System().Reactions[w.reaction].LnK/math.Ln10), "1")}
}

// freeLigand works out the share of EDTA that has lost all its protons, from
// its constants and the pH; and with it the conditional constant.
func (b *builder) freeLigand() working.Symbol {
	alpha := working.Symbol{Letter: "α", Of: ligand, Meaning: "the share of free EDTA that is {" + ligand + "} at this pH"}
	sum := b.protonated()
	alpha = b.step(working.P("The share of free EDTA without any protons; a form below one part in ten thousand is left out"), alpha, working.Over(working.Count(1), sum), working.Figures(4), "1")
	w := b.ways[0]
	cond := working.Symbol{Letter: "lg K", Prime: true, Of: w.to, Meaning: "the decadic logarithm of the conditional constant of {" + w.to + "} at this pH, in L/mol"}
	b.step(working.P("The conditional constant, the protons of EDTA taken into account"), cond, working.Add(b.lgK(w), working.Lg(alpha)), working.Decimals(3), "1")
	return alpha
}

// leastForm is the part of the free ligand below which a form is left out of
// its sum.
const leastForm = 1e-4

// protonated is the sum of the forms of free EDTA per concentration of the one
// without protons; it works each of them out.
func (b *builder) protonated() working.Sum {
	pH := working.Symbol{Letter: "pH", Meaning: "minus the decadic logarithm of the activity of {H^+}", Value: working.Decimals(4).Number(b.pt.PH, "1")}
	sum, whole := working.Sum{{Expr: working.Count(1)}}, 1.0
	var last working.Expr
	for form := ligand; ; {
		r, up, _, ok := b.acid(form, false)
		if !ok {
			return sum
		}
		formula := working.Expr(working.TenTo(working.Less(b.pKa(r), pH)))
		if last != nil {
			formula = working.Times(last, formula)
		}
		x, err := working.Eval(formula)
		if err != nil && b.err == nil {
			b.err = err
		}
		if whole += x; x < leastForm*whole && b.pt.PH > b.pKa(r).Value.Value {
			return sum // and those with more protons are rarer still
		}
		q := b.ratio(up, ligand, 1, 1).expr.(working.Symbol)
		q = b.step(working.P("EDTA holds protons. At the pH that the exact balances give, the ratio of {"+up+"} to {"+ligand+"}"), q, formula, working.Figures(4), "1")
		sum, last, form = append(sum, working.Term{Expr: q}), q, up
	}
}

// tied is a better approximation for a complex: it gives back a little, and
// other metals hold part of the free ligand. excess is what is there beside, of
// metal or ligand in all free forms; nil at the equivalence point.
func (b *builder) tied(w stage, excess *working.Symbol, ofLigand bool, complex working.Symbol) attempt {
	return func() (working.Expr, bool) {
		share := working.Symbol{Letter: "α", Sub: "all", Of: ligand, Meaning: "the share of EDTA outside {" + w.to + "} that is {" + ligand + "}, complexes with other metals counted"}
		sum := b.protonated()
		say := working.P("Of the EDTA outside {" + w.to + "} this share is {" + ligand + "}")
		if other, k, metal, ok := b.rivalTerm(); ok {
			say = working.P("The first formula neglects {" + other + "}, which holds part of the EDTA outside {" + w.to + "}. With the {" + metal + "} that the exact balances give, the share that is {" + ligand + "}")
			sum = append(sum, working.Term{Expr: k})
		}
		share = b.step(say, share, working.Over(working.Count(1), sum), working.Figures(4), "1")
		metal := b.freeMetal(w)
		k := working.Symbol{Letter: "K", Sub: "d", Of: w.to, Meaning: "the constant by which {" + w.to + "} falls apart into metal and EDTA, each in all its other forms"}
		unit := working.Over(molar(), working.Times(working.TenTo(b.lgK(w)), share, metal))
		k = b.step(working.P("The constant of {"+w.to+"} falling apart, the share of both that is free taken into account"), k, unit, working.Figures(4), "mol/L")
		x := b.solve(equation{say: working.P("Let x be the concentration of {" + w.to + "} that falls apart"), k: k, beside: excess, from: &complex})
		all := working.Expr(x)
		if excess != nil && !ofLigand {
			all = working.Add(*excess, x)
		}
		return minus(working.Lg(working.Times(metal, all))), true
	}
}

// rivalTerm is what the most abundant other complex of the ligand adds to the
// sum of its forms.
func (b *builder) rivalTerm() (species string, part working.Expr, metal string, ok bool) {
	species, c := b.rival()
	if species == "" || c < leastForm*b.exact(ligand) {
		return "", nil, "", false
	}
	for i, r := range b.t.System().Reactions {
		if len(r.Terms) != 3 || b.coefficient(i, species) != 1 || b.coefficient(i, ligand) != -1 {
			continue
		}
		for _, q := range r.Terms {
			if name := b.t.System().Species[q.Species].Name; name != species && name != ligand {
				metal = name
			}
		}
		k := b.lgK(stage{to: species, reaction: i})
		return species, working.Times(working.TenTo(k), working.Said(1, "1", "L/mol"), bracket(metal, b.exact(metal))), metal, b.coefficient(i, metal) == -1
	}
	return "", nil, "", false
}

// freeMetal shows the share of the metal outside the EDTA complex that is free.
func (b *builder) freeMetal(w stage) working.Symbol {
	m := working.Symbol{Letter: "α", Of: w.from, Meaning: "the share of {" + w.from + "} that is free, by the exact balances", Value: working.Figures(4).Number(b.share(w.from), "1")}
	b.add(working.Step{Say: working.P("The share of the metal outside the EDTA complex that is free {" + w.from + "}; ammonia, hydroxide and others hold the rest"), Quantity: m})
	return m
}

// held says whether a species is the product of a stage, which does not count
// among the forms that its metal takes beside it.
func (b *builder) held(species string) bool {
	if b.redox() {
		return false
	}
	for _, w := range b.ways {
		if w.to == species {
			return true
		}
	}
	return false
}
