package report

import (
	"fmt"
	"math"

	"meniscus/assay"
)

// A ledger is the sheet of the working: what, value, unit, how. Numbers that
// were put in are blue; all others are formulas over them.
type ledger struct {
	*sheetRows
	budget map[budgetRef]string

	flask   string // cell of the volume in the flask, and that volume, mL
	flaskML float64
}

// working has the arithmetic as formulas, run by run, then over the runs.
func (b *workbook) working(d Document, budget map[budgetRef]string) {
	l := &ledger{sheetRows: b.sheet("Working", 46, 20, 12, 60), budget: budget}
	l.styled(b.bold, "Working: change a blue number, and what follows from it changes")
	cells := map[string][]string{} // values of the runs by quantity
	for i, e := range d.Evaluations {
		if e.Recommended < 0 || d.blankRun(i) {
			continue
		}
		if d.Brief {
			l.briefRun(d.runName(i), e, cells)
			continue
		}
		l.put()
		if name := d.runLabel(i); name != "" {
			l.styled(b.bold, "Run "+name)
		}
		l.run(i, e, cells)
	}
	if q := d.Determination; q != nil {
		for _, m := range q.Means {
			l.mean(m, cells[m.Name+"\x00"+m.Unit])
		}
	}
}

func (d Document) blankRun(i int) bool {
	q := d.Determination
	return q != nil && i < len(q.Runs) && q.Runs[i].Blank
}

// number writes a number that was put in, and returns its cell.
func (l *ledger) number(what string, x float64, unit, how string) string {
	row := l.put(what, x, unit, how)
	at := fmt.Sprintf("B%d", row)
	l.cell(at, x, l.b.input)
	return at
}

// find writes a formula, and returns its cell.
func (l *ledger) find(what, unit, how, format string, args ...any) string {
	row := l.put(what, formulaCell(fmt.Sprintf(format, args...)), unit, how)
	return fmt.Sprintf("B%d", row)
}

func note(cells map[string][]string, r assay.Result, at string) {
	key := r.Name + "\x00" + r.Unit
	cells[key] = append(cells[key], at)
}

func (l *ledger) briefRun(name string, e *assay.Evaluation, cells map[string][]string) {
	if p := e.EquivalencePoints; len(p) == 1 {
		note(cells, assay.Result{Name: assay.EndPoint, Unit: "mL"}, l.number("V_e of run "+name, fifteen(inMillilitres(p[0].Volume)), "mL", ""))
	}
	for _, r := range append(append([]assay.Result{}, e.Concentrations...), e.Contents...) {
		note(cells, r, l.number(symbol(r)+" of run "+name, r.Value, unitText(r), ""))
	}
}

// run goes from end points to concentrations and contents.
func (l *ledger) run(i int, e *assay.Evaluation, cells map[string][]string) {
	ends := map[int]string{}
	l.flask = ""
	for _, p := range e.EquivalencePoints {
		name := "V_e"
		if len(e.EquivalencePoints) > 1 {
			name = fmt.Sprintf("V_e,%d", p.Order)
		}
		ends[p.Order] = l.number(name, fifteen(inMillilitres(p.Volume)), "mL", "end point by "+inSentence(e.Methods[e.Recommended].Title))
		if len(e.EquivalencePoints) == 1 {
			note(cells, assay.Result{Name: assay.EndPoint, Unit: "mL"}, ends[p.Order])
		}
	}
	found := map[string]string{}
	for _, r := range e.Concentrations {
		at := l.concentration(e, r, ends)
		found[r.Name] = at
		note(cells, r, at)
		l.uncertainty(refOf(i, r), r)
	}
	for _, r := range e.Contents {
		at := l.content(e, r, found)
		note(cells, r, at)
		l.uncertainty(refOf(i, r), r)
	}
}

// concentration goes by hand where that gives the number; otherwise the number
// stands as the program found it, and that is said.
func (l *ledger) concentration(e *assay.Evaluation, r assay.Result, ends map[int]string) string {
	target, p := sought(e, r.Name)
	blank := e.Setup.Blank.Float() * 1e3
	h, ok := findHand(e.Setup, r, target, inMillilitres(p.Volume)-blank)
	if !ok {
		return l.number(symbol(r), r.Value, r.Unit, "through the stoichiometry of all that is in the flask: no formula of one line gives it")
	}
	name, known := formula(r.Name), formula(h.known.Species)
	net := ends[p.Order]
	if e.Setup.Blank.Float() != 0 {
		b := l.number("blank", blank, "mL", "to be subtracted")
		net = l.find("V_e less the blank", "mL", "V_e − blank", "%s-%s", net, b)
	}
	c := l.number("c("+known+")", h.known.Conc.Float(), "mol/L", "from the setup")
	flaskWords := "volume of the flask"
	v, over := net, ""
	if target.InBurette {
		v, over = l.number(flaskWords, h.volume, "mL", "from the setup"), net
	}
	n := l.find("n("+known+")", "mmol", "concentration × volume", "%s*%s", c, v)
	a := l.number(name+" in the ratio", float64(h.analyte), "", "of the reaction")
	k := l.number(known+" in the ratio", float64(h.titrated), "", "of the reaction")
	amount := l.find("n("+name+")", "mmol", "amount × ratio", "%s*%s/%s", n, a, k)
	if !target.InBurette {
		over = l.number(flaskWords, h.sought, "mL", "from the setup")
		l.flask, l.flaskML = over, h.sought
	}
	return l.find(symbol(r), r.Unit, "amount over volume", "%s/%s", amount, over)
}

// content goes from a concentration by amount, aliquot, ratio, molar mass and
// basis.
func (l *ledger) content(e *assay.Evaluation, r assay.Result, found map[string]string) string {
	w := r.Working
	if w == nil || found[w.Titrated] == "" {
		return l.number(symbol(r), r.Value, unitText(r), "as the program found it")
	}
	c := found[w.Titrated]
	value := math.NaN()
	for _, q := range e.Concentrations {
		if q.Name == w.Titrated {
			value = q.Value
		}
	}
	v, size := l.flask, fifteen(w.Amount/value*1e3)
	if v == "" || math.Abs(size/l.flaskML-1) > 1e-12 {
		v = l.number("volume the "+formula(w.Titrated)+" was in", size, "mL", "from the setup")
	}
	n := l.find("n("+formula(w.Titrated)+") in the flask", "mmol", "concentration × volume", "%s*%s", c, v)
	if s := e.Setup.Sample; w.Factor != 1 && s != nil {
		whole := l.number("sample made up to", s.MadeUpTo.Float()*1e3, "mL", "from the setup")
		part := l.number("aliquot", s.Aliquot.Float()*1e3, "mL", "from the setup")
		factor := l.find("aliquot factor", "", "made up to / aliquot", "%s/%s", whole, part)
		n = l.find("n("+formula(w.Titrated)+") in the sample", "mmol", "amount × factor", "%s*%s", n, factor)
	}
	if w.Analyte != w.Titrated {
		a := l.number(formula(w.Analyte)+" in the ratio", w.Ratio[0], "", "from the setup")
		k := l.number(formula(w.Titrated)+" in the ratio", w.Ratio[1], "", "from the setup")
		n = l.find("n("+formula(w.Analyte)+")", "mmol", "amount × ratio", "%s*%s/%s", n, a, k)
	}
	if w.Per != 1 {
		per := l.number(formula(w.Analyte)+" in one "+formula(w.Reported), w.Per, "", typeset(w.Counted))
		n = l.find("n("+formula(w.Reported)+")", "mmol", "amount / number in one", "%s/%s", n, per)
	}
	whole := l.find("in the sample", "mol", "amount / 1000", "%s/1000", n)
	if w.MolarMass != 0 {
		m := l.number("molar mass of "+formula(w.Reported), w.MolarMass, "g/mol", "CIAAW 2021")
		whole = l.find("m("+formula(w.Reported)+") in the sample", "g", "amount × molar mass", "%s*%s", whole, m)
	}
	return l.over(r, w, whole)
}

// over divides by the sample, and by the claim or the dry share.
func (l *ledger) over(r assay.Result, w *assay.Working, whole string) string {
	size, unit := fifteen(w.Over), w.OverText
	if unit == "mL" {
		unit = "L"
	}
	over := l.number("sample", size, unit, "from the setup")
	scale := l.number(unitText(r)+" in the base unit", w.Report.Scale, "", "100 for a percentage, 1000 for thousandths")
	at := l.find("of the sample", "", "what is in it over its size", "%s/%s*%s", whole, over, scale)
	if w.Claim != 0 {
		claim := l.number("label claim", w.Claim, "", "from the setup, in base units")
		at = l.find("of the claim", unitText(r), "over the claim", "%s/%s", at, claim)
	}
	if w.Drying > 0 {
		dry := l.number("loss on drying", w.Drying, "", "from the setup, as a fraction")
		at = l.find("of the dry substance", unitText(r), "over what drying leaves", "%s/(1-%s)", at, dry)
	}
	return l.find(symbol(r), unitText(r), "", "%s", at)
}

// uncertainty multiplies what the budget gives by k.
func (l *ledger) uncertainty(ref budgetRef, r assay.Result) {
	together, ok := l.budget[ref]
	if !ok {
		l.put("u of "+symbol(r), "–", "", "no uncertainty is known")
		return
	}
	u := l.find("u of "+symbol(r), unitText(r), "from the sheet Budget, at the numbers that were read", "%s", together)
	k := l.number("k", r.Coverage, "", "for 95 %, "+freedomWords(r.Freedom))
	l.find("U of "+symbol(r), unitText(r), "k × u", "%s*%s", k, u)
}

func freedomWords(nu float64) string {
	if math.IsInf(nu, 0) {
		return "degrees of freedom not limited"
	}
	return degrees(nu)
}

// mean sums up the values of the runs.
func (l *ledger) mean(m assay.Mean, at []string) {
	l.put()
	l.styled(l.b.bold, "Mean of the runs: "+symbol(m.Result))
	if len(at) != len(m.Replicates.Values) {
		l.put("the values of the runs are not all on this sheet", m.Value, unitText(m.Result), "as the program found it")
		return
	}
	unit := unitText(m.Result)
	first := l.row + 1
	for i, cell := range at {
		l.find("run "+m.Runs[i], unit, "", "%s", cell)
	}
	values := fmt.Sprintf("B%d:B%d", first, l.row)
	n := l.find("n", "", "how many", "COUNT(%s)", values)
	l.find("mean", unit, "", "AVERAGE(%s)", values)
	s := l.find("s", unit, "standard deviation of one", "STDEV(%s)", values)
	u := l.find("s of the mean", unit, "s / √n", "%s/SQRT(%s)", s, n)
	t := l.find("t", "", "Student's t for 95 %, n − 1 degrees of freedom", "TINV(0.05,%s-1)", n)
	l.find("half 95 % interval by the scatter alone", unit, "t × s / √n", "%s*%s", t, u)
	l.uncertainty(refOf(-1, m.Result), m.Result)
}
