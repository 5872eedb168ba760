package explain

import (
	"math"
	"sort"

	"meniscus/chem"
	"meniscus/setup"
	"meniscus/working"
)

// A settling is what stands in the flask once strong acid or base has met what
// was put in with it.
type settling struct {
	conc map[string]float64      // of what changed, mol/L
	sum  map[string]working.Expr // how it follows from what was put in
	done []string                // reactions that ran, in order
}

// settle lets strong base in the flask take the protons of acids there, the
// strongest first, and strong acid meet bases; nil where nothing reacts.
func (b *builder) settle() *settling {
	m := &settling{conc: map[string]float64{}, sum: map[string]working.Expr{}}
	var forms []string
	for _, f := range b.flaskIons() {
		x, text := ionConc(b.s.Flask.Contents, f)
		m.conc[f] = x
		m.sum[f] = working.Symbol{Letter: "c", Sub: "0", Of: f, Meaning: "the concentration of {" + f + "} put into the flask", Value: working.Said(x, text, "mol/L")}
		forms = append(forms, f)
	}
	if m.conc[chem.Proton] > 0 && m.conc["OH^-"] > 0 {
		return nil // left to the exact balances
	}
	for _, strong := range []string{"OH^-", chem.Proton} {
		gives := strong == "OH^-"
		sort.SliceStable(forms, func(i, j int) bool {
			_, _, p, _ := b.acid(forms[i], gives)
			_, _, q, _ := b.acid(forms[j], gives)
			return (p < q) == gives && p != q
		})
		for _, f := range forms {
			b.protolyse(m, f, strong)
		}
	}
	if len(m.done) == 0 {
		return nil
	}
	return m
}

// flaskIons are the ions and molecules put into the flask.
func (b *builder) flaskIons() []string {
	var list []string
	for _, f := range (&builder{s: &setup.Setup{Flask: b.s.Flask}}).targets() {
		list = append(list, f.Species)
	}
	return list
}

// protolyse lets one acid, or base, go through its steps as far as the strong
// base, or acid, lasts.
func (b *builder) protolyse(m *settling, form, strong string) {
	first, steps := form, 0.0
	for form != strong && m.conc[strong] > 0 && m.conc[form] > 0 {
		_, to, _, ok := b.acid(form, strong == "OH^-")
		if !ok || to == strong {
			break
		}
		extent, by := m.conc[form], m.sum[form]
		if m.conc[strong] < extent {
			extent, by = m.conc[strong], m.sum[strong]
		}
		for _, s := range []string{form, strong} {
			if m.conc[s] -= extent; math.Abs(m.conc[s]) < 1e-12*extent {
				m.conc[s], m.sum[s] = 0, nil
			} else {
				m.sum[s] = lessSum(m.sum[s], by)
			}
		}
		m.conc[to] += extent
		if m.sum[to] == nil {
			m.sum[to] = by
		} else {
			m.sum[to] = working.Add(m.sum[to], by)
		}
		form = to
		steps++
	}
	if steps > 0 {
		if eq := b.overall(first, strong, steps); eq != "" {
			m.done = append(m.done, eq)
		}
	}
}

// lessSum takes an expression off a sum; what is taken off twice stands there
// once, twice as much.
func lessSum(from, off working.Expr) working.Expr {
	s := working.Less(from, off)
	n := len(s)
	a, ok1 := s[n-1].Expr.(working.Symbol)
	if n < 2 || !ok1 || !s[n-2].Minus {
		return s
	}
	if z, ok := s[n-2].Expr.(working.Symbol); ok && z.Key() == a.Key() {
		return append(s[:n-2:n-2], working.Term{Expr: working.Times(working.Count(2), a), Minus: true})
	}
	return s
}

// settled is the section of what happens in the flask before the first drop.
func (b *builder) settled() (working.Section, bool) {
	m := b.mix
	if m == nil {
		return working.Section{}, false
	}
	b.out = nil
	for _, eq := range m.done {
		b.add(working.Reaction{Say: working.P("What was put into the flask reacts before the first drop:"), Equation: eq})
	}
	for _, f := range m.changed() {
		c := working.Symbol{Letter: "c", Of: f, Meaning: "the concentration of {" + f + "} in the flask before the first drop"}
		b.step(working.P("Then there is of {"+f+"}:"), c, m.sum[f], working.Figures(5), "mol/L")
	}
	return working.Section{Kind: Settled, Title: "In the flask before the first drop", Blocks: b.out}, b.err == nil
}

// changed are the species whose concentration is not that put in, in order.
func (m *settling) changed() []string {
	var list []string
	for f, e := range m.sum {
		if s, same := e.(working.Symbol); e != nil && m.conc[f] > 0 && (!same || s.Of != f) {
			list = append(list, f)
		}
	}
	sort.Slice(list, func(i, j int) bool {
		return (list[i] == "OH^-") != (list[j] == "OH^-") && list[i] == "OH^-" || list[i] < list[j] && list[j] != "OH^-"
	})
	return list
}

// inFlask is the concentration of a form once the flask has settled.
func (b *builder) inFlask(form string) (x float64, text string) {
	if b.mix != nil {
		if x, ok := b.mix.conc[form]; ok {
			return x, working.Figures(5).Number(x, "mol/L").Text
		}
	}
	return ionConc(b.s.Flask.Contents, form)
}

// carbonDioxide is what CO2 does to the strength of an alkali.
func (b *builder) carbonDioxide() (working.Section, bool) {
	var contents []setup.Content
	for _, list := range [][]setup.Content{b.s.Flask.Contents, b.s.Burette.Contents} {
		oh, _ := ionConc(list, "OH^-")
		if gas, _ := ionConc(list, "CO2"); oh > 2*gas && gas > 0 {
			contents = list
		}
	}
	if contents == nil || !b.glass() {
		return working.Section{}, false
	}
	b.out = nil
	oh, ohText := ionConc(contents, "OH^-")
	gas, gasText := ionConc(contents, "CO2")
	before := working.Symbol{Letter: "c", Sub: "before", Of: "OH^-", Meaning: "the concentration of the alkali before it took up carbon dioxide", Value: working.Said(oh, ohText, "mol/L")}
	taken := working.Symbol{Letter: "c", Sub: "taken", Of: "CO2", Meaning: "the carbon dioxide that the alkali took up, over its volume", Value: working.Said(gas, gasText, "mol/L")}
	two := working.Count(2)
	b.add(working.Reaction{Say: working.P("Carbon dioxide takes two {OH^-} and leaves a carbonate:"), Equation: "CO2 + 2 OH^- = CO3^2- + H2O"})
	left := b.step(working.P("Hydroxide that is left:"), working.Symbol{Letter: "c", Sub: "left", Of: "OH^-", Meaning: "the concentration of {OH^-} that is left"}, working.Less(before, working.Times(two, taken)), working.Figures(5), "mol/L")
	ends := []struct{ sub, name, eq, say string }{
		{"p", "phenolphthalein", "CO3^2- + H^+ = HCO3^-", "Phenolphthalein changes near pH 8.3, where the carbonate has taken one {H^+}:"},
		{"m", "methyl orange", "CO3^2- + 2 H^+ = CO2 + H2O", "Methyl orange changes near pH 4, where the carbonate has taken both:"},
	}
	for i, end := range ends {
		b.add(working.Reaction{Say: working.P(end.say), Equation: end.eq})
		var more working.Expr = taken
		if i == 1 {
			more = working.Times(two, taken)
		}
		found := b.step(working.P("So the titration with acid finds:"), working.Symbol{Letter: "c", Sub: end.sub, Of: "OH^-", Meaning: "the concentration of alkali that a titration to " + end.name + " finds"}, working.Add(left, more), working.Figures(5), "mol/L")
		b.step(working.P("Relative to the alkali before:"), working.Symbol{Letter: "e", Sub: end.sub, Meaning: "the relative error with " + end.name}, working.Times(working.Said(100, "100", "%"), working.Over(working.Less(found, before), before)), working.Decimals(2), "%")
	}
	b.add(working.P("With methyl orange nothing is lost, as the carbonate gives back what the carbon dioxide took. The value to use is that of the indicator, or of the point on the curve, with which the alkali will titrate."))
	return working.Section{Kind: Carbonate, Title: "What carbon dioxide does to the alkali", Blocks: b.out}, b.err == nil
}
