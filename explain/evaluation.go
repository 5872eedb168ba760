package explain

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/endpoint"
	"meniscus/unit"
	"meniscus/working"
)

// Evaluation works out how each method got its end point from the readings of a
// run, which one is recommended, and what follows from it.
func Evaluation(e *assay.Evaluation) (*working.Document, error) {
	d := &working.Document{Title: e.Setup.Title, Lead: working.P("How the readings give the end point by each method, and the end point the result. Standard uncertainties u are those of the method on these readings; numbers are carried unrounded.")}
	if d.Title == "" {
		d.Title = "An evaluation, worked out"
	}
	if e.Recommended < 0 {
		d.Lead = working.P("These readings give no end point by any method, and so no result. The reasons are below.")
	}
	b := &builder{s: e.Setup, t: e.Setup.Titration}
	caution, err := cautions(e.Setup)
	if err != nil {
		return nil, err
	}
	d.Sections = append(d.Sections, working.Section{Kind: Choice, Title: "Which method", Blocks: choice(e)})
	for _, m := range e.Methods {
		if len(m.Points) == 0 {
			continue
		}
		b.out = nil
		b.method(e, m)
		d.Sections = append(d.Sections, working.Section{Kind: Method, Title: m.Title, Blocks: b.out})
	}
	d.Sections = append(d.Sections, b.results(e)...)
	if len(caution) > 0 {
		d.Sections = append(d.Sections, working.Section{Kind: Cautions, Title: "Cautions", Blocks: caution})
	}
	d.Explain()
	return d, b.err
}

// choice says which method is recommended and why, and what the others gave.
func choice(e *assay.Evaluation) []working.Block {
	var blocks []working.Block
	if e.Recommended >= 0 {
		blocks = append(blocks, append(working.P("Recommended: "), working.Text(e.Methods[e.Recommended].Title+": "+e.Reason+".")))
	} else {
		blocks = append(blocks, working.P("No method is recommended: every method refuses."))
	}
	table := working.Table{
		Caption: working.P("End points, each with its standard uncertainty; they are never averaged"),
		Head:    []working.Paragraph{working.P("method"), working.P("end point"), working.P("u"), working.P("readings")},
	}
	for _, m := range e.Methods {
		for _, p := range m.Points {
			v, u := uncertain(p.Volume, p.StdUnc)
			table.Rows = append(table.Rows, []working.Paragraph{working.Plain(m.Title), working.P("@", v), working.P("@", u), working.Plain(fmt.Sprint(p.Points))})
		}
	}
	if len(table.Rows) > 0 {
		blocks = append(blocks, table)
	}
	if refused := refusals(e.Methods); len(refused) > 0 {
		blocks = append(blocks, working.P("Methods that refuse:"), refused)
	}
	return blocks
}

// refusals lists why methods give nothing, those with one reason together.
func refusals(methods []assay.Method) working.List {
	var reasons []string
	titles := map[string][]string{}
	for _, m := range methods {
		if len(m.Points) > 0 || m.Refused == "" {
			continue
		}
		if titles[m.Refused] == nil {
			reasons = append(reasons, m.Refused)
		}
		titles[m.Refused] = append(titles[m.Refused], m.Title)
	}
	var list working.List
	for _, reason := range reasons {
		list = append(list, working.Plain(strings.Join(titles[reason], "; ")+": "+reason+"."))
	}
	return list
}

// uncertain shows a volume to the second figure of its uncertainty.
func uncertain(v, u unit.Volume) (value, stdUnc working.Number) {
	x := u.Millilitres()
	if !(x > 0) || math.IsInf(x, 0) {
		return working.Figures(6).Number(v.Millilitres(), "mL"), working.Said(0, "not known", "mL")
	}
	f := working.Decimals(max(0, 1-int(math.Floor(math.Log10(x)))))
	return f.Number(v.Millilitres(), "mL"), f.Number(x, "mL")
}

// endSymbol is the end point that a method gives, with its order where there
// are several.
func endSymbol(m assay.Method, i int) working.Symbol {
	sub, meaning := "e", "the end point by this method"
	if len(m.Points) > 1 {
		sub, meaning = fmt.Sprintf("e%d", i+1), fmt.Sprintf("end point %d by this method", i+1)
	}
	v, _ := uncertain(m.Points[i].Volume, m.Points[i].StdUnc)
	return working.Symbol{Letter: "V", Sub: sub, Meaning: meaning, Value: v}
}

func (b *builder) method(e *assay.Evaluation, m assay.Method) {
	for i, p := range m.Points {
		switch {
		case m.Detail == nil:
			if i == 0 {
				b.regression(e)
			}
			b.fittedEnd(e, m, i)
		case m.Name == "steepest-interval" && i < len(m.Detail.Jumps):
			b.steepest(e.Curve, m, i)
		case m.Name == "second-derivative" && i < len(m.Detail.Jumps):
			b.second(e.Curve.Kind, m, i)
		case i < len(m.Detail.Lines):
			b.line(e.Curve.Kind, m, i)
		case m.Name == "preset":
			b.presetPoint(e.Curve, m, i)
		default:
			b.slopes(e.Curve.Kind, m, i)
			b.add(working.Display{Say: working.P("A parabola is laid through seven readings at a time and its slope taken in the middle. That slope is largest here:"), Expr: working.Relation{Left: bare(endSymbol(m, i)), Sign: "=", Right: endSymbol(m, i).Value}})
		}
		_, u := uncertain(p.Volume, p.StdUnc)
		b.add(working.P("Its standard uncertainty on these readings is @.", u))
		for _, w := range append(slices.Clone(m.Warnings), p.Warnings...) {
			b.add(working.Plain("Warning: " + w + "."))
		}
	}
}

// bare is a symbol that stands on its own, beside a number.
func bare(s working.Symbol) working.Symbol { return s.With(working.Number{}) }

// found adds the end point by a formula; where the formula gives another volume
// than the method, the method does not work this way on these readings, and
// its own is stated without one.
func (b *builder) found(say working.Paragraph, m assay.Method, i int, formula working.Expr) {
	q, want := endSymbol(m, i), m.Points[i].Volume.Millilitres()
	if x, err := working.Eval(formula); err != nil || math.Abs(x-want) > 1e-6*math.Max(want, 1) {
		b.add(working.Step{Say: working.P("The method puts the end point at"), Quantity: q})
		return
	}
	_, u := uncertain(m.Points[i].Volume, m.Points[i].StdUnc)
	b.step(say, q, formula, working.Decimals(decimals(u)), "mL")
}

// decimals are the places after the point of a number as shown.
func decimals(n working.Number) int {
	if !(n.Value > 0) {
		return 3
	}
	return max(0, 1-int(math.Floor(math.Log10(n.Value))))
}

// reading is the quantity on the meter.
func reading(k curve.Kind) (letter, of, unitName, meaning string) {
	switch k {
	case curve.PH:
		return "pH", "", "1", "the pH that was read"
	case curve.Potential:
		return "E", "", "V", "the potential that was read"
	}
	return "y", "", "1", "what was read"
}

func readAt(c *curve.Curve, v float64) (y float64, ok bool) {
	vs, ys := c.Used()
	for i := range vs {
		if math.Abs(vs[i]-v) < 1e-12 {
			return ys[i], true
		}
	}
	return 0, false
}

func volumeAs(sub, meaning string, litres float64) working.Symbol {
	return working.Symbol{Letter: "V", Sub: sub, Meaning: meaning, Value: atLeastTwo(round9(litres*1e3), "mL")}
}

// pair are the two readings an end point lies between.
func (b *builder) pair(c *curve.Curve, from, to float64, i int) (v1, v2, y1, y2 working.Symbol, ok bool) {
	letter, of, u, meaning := reading(c.Kind)
	a, ok1 := readAt(c, from)
	z, ok2 := readAt(c, to)
	tag := func(x string) string {
		if i > 0 {
			return fmt.Sprintf("%s%d", x, i+1)
		}
		return x
	}
	y := func(sub, place string, x float64) working.Symbol {
		return working.Symbol{Letter: letter, Of: of, Sub: tag(sub), Meaning: meaning + " " + place, Value: working.Shortest(round9(x), u)}
	}
	return volumeAs(tag("a"), "the volume before the jump", from), volumeAs(tag("b"), "the volume behind the jump", to), y("a", "before the jump", a), y("b", "behind the jump", z), ok1 && ok2
}

func (b *builder) steepest(c *curve.Curve, m assay.Method, i int) {
	j := m.Detail.Jumps[i]
	v1, v2, y1, y2, ok := b.pair(c, float64(j.From), float64(j.To), i)
	if ok {
		letter, _, u, _ := reading(c.Kind)
		per := u + "/mL"
		if u == "1" {
			per = "1/mL"
		}
		slope := working.Symbol{Letter: "m", Sub: endSymbol(m, i).Sub, Meaning: "the slope between two readings: the change of " + letter + " over that of volume"}
		b.step(working.P("Of all intervals between two readings this one is the steepest:"), slope, working.Over(working.Less(y2, y1), working.Less(v2, v1)), working.Figures(4), per)
	}
	b.found(working.P("The end point is the middle of the interval:"), m, i, working.Over(working.Add(v1, v2), working.Count(2)))
}

// second shows the table of second differences and the line through zero.
func (b *builder) second(k curve.Kind, m assay.Method, i int) {
	rows := m.Detail.Jumps[i].Table
	u := map[bool]string{true: "V/mL²", false: "1/mL²"}[k == curve.Potential]
	at := slices.IndexFunc(rows, func(r endpoint.Row) bool { return r.Volume >= m.Points[i].Volume })
	if at < 1 {
		b.found(nil, m, i, nil)
		return
	}
	table := working.Table{Caption: working.P("Second differences: the change of slope from one interval to the next, over the distance of their middles"), Head: []working.Paragraph{working.P("volume"), working.P("second difference")}}
	for _, r := range rows[max(0, at-3):min(len(rows), at+3)] {
		table.Rows = append(table.Rows, []working.Paragraph{working.P("@", atLeastTwo(round9(r.Volume.Millilitres()), "mL")), working.P("@", working.Figures(4).Number(r.Value*1e-6, u))})
	}
	b.add(table)
	sym := func(sub string, r endpoint.Row, where string) (v, y working.Symbol) {
		sub = endSymbol(m, i).Sub + sub
		return volumeAs(sub, "the volume of the last second difference "+where+" zero", float64(r.Volume)), working.Symbol{Letter: "D", Sub: sub, Meaning: "the second difference there, " + where + " zero", Value: working.Figures(4).Number(r.Value*1e-6, u)}
	}
	v1, d1 := sym("a", rows[at-1], "before")
	v2, d2 := sym("b", rows[at], "behind")
	b.found(working.P("It is zero between two of them, by the straight line:"), m, i,
		working.Add(v1, working.Times(working.Less(v2, v1), working.Over(d1, working.Less(d1, d2)))))
}

// line shows a straight line and where it ends.
func (b *builder) line(k curve.Kind, m assay.Method, i int) {
	l := m.Detail.Lines[i]
	_, _, u, _ := reading(k)
	straight := "A function of the readings that is straight in the volume: "
	if m.Name == "log-plot" {
		straight = "The reading is straight in this function of the volume: "
	}
	b.add(working.Plain(fmt.Sprintf("%s%s. %d readings from %.6g mL to %.6g mL take part; the scatter is %.3g times what the noise makes.", straight, typesetFunction(l.Name), l.Points, l.From*1e3, l.To*1e3, l.Misfit)))
	b.lineTable(k, m, l)
	from := "The slope of the electrode for a factor of ten is assumed to be that of theory, and what that may be wrong by is in the uncertainty:"
	if l.Fitted {
		from = "The slope of the electrode for a factor of ten is found from the readings; theory has @:"
	}
	say := working.Plain(from)
	if l.Fitted {
		say = working.P(from, working.Figures(4).Number(l.Theory, u))
	}
	b.add(working.Step{Say: say, Quantity: working.Symbol{Letter: "S", Sub: endSymbol(m, i).Sub, Meaning: "the change of the reading for a factor of ten", Value: working.Figures(4).Number(l.Slope, u)}})
	if m.Name == "log-plot" {
		b.add(working.Step{Say: working.P("Where the logarithm is zero the volume is half the end point; the reading there:"), Quantity: working.Symbol{Letter: "E", Sub: endSymbol(m, i).Sub, Meaning: "the reading where the logarithm is zero", Value: working.Figures(5).Number(l.Intercept, u)}})
	}
	if !(l.B != 0) || m.Name == "log-plot" || m.Name == "straight-line-pair" {
		b.found(nil, m, i, working.Word("none"))
		return
	}
	a := working.Symbol{Letter: "a", Sub: endSymbol(m, i).Sub, Meaning: "the line at volume zero, relative to the largest value of the function", Value: working.Figures(6).Number(l.A, "1")}
	c := working.Symbol{Letter: "b", Sub: endSymbol(m, i).Sub, Meaning: "the line’s slope per millilitre", Value: working.Figures(6).Number(l.B*1e-3, "1/mL")}
	line := working.Symbol{Letter: "V", Sub: "line", Meaning: "where the line meets zero"}
	if len(m.Points) > 1 {
		line.Sub = fmt.Sprintf("line%d", i+1)
	}
	zero := working.Over(working.Sum{{Expr: a, Minus: true}}, c)
	if x, err := working.Eval(zero); err == nil && math.Abs(x-m.Points[i].Volume.Millilitres()) <= 1e-6 {
		b.found(working.P("The line meets zero at"), m, i, zero)
		return
	}
	b.step(working.P("The line meets zero at"), line, zero, working.Figures(6), "mL")
	b.add(working.P("Slope and end point were found together, with the weights of the readings themselves, which puts it elsewhere than the line as drawn."))
	b.found(nil, m, i, working.Word("none"))
}

// presetPoint is interpolated between the readings either side of the value.
func (b *builder) presetPoint(c *curve.Curve, m assay.Method, i int) {
	vs, _ := c.Used()
	at := slices.IndexFunc(vs, func(v float64) bool { return v >= float64(m.Points[i].Volume) })
	if at < 1 {
		b.found(nil, m, i, working.Word("none"))
		return
	}
	v1, v2, y1, y2, _ := b.pair(c, vs[at-1], vs[at], i)
	_, _, u, _ := reading(c.Kind)
	p := working.Symbol{Letter: "p", Sub: endSymbol(m, i).Sub, Meaning: "the reading that was agreed on", Value: working.Shortest(round9(m.Points[i].Value), u)}
	b.found(working.P("By the straight line between the readings either side of the value agreed on:"), m, i,
		working.Add(v1, working.Times(working.Less(v2, v1), working.Over(working.Less(p, y1), working.Less(y2, y1)))))
}

// typesetFunction shows the name of a straight function with signs as they are
// set: lg for the decadic logarithm, − for minus.
func typesetFunction(name string) string {
	return strings.NewReplacer("log10", "lg", "-", "−").Replace(name)
}

// fewRows are how many readings a table of a straight line shows.
const fewRows = 5

// lineTable shows some of the readings on a straight line, with the line.
func (b *builder) lineTable(k curve.Kind, m assay.Method, l endpoint.Line) {
	if m.Name == "straight-line-pair" || len(l.Table) < 2 {
		return
	}
	_, _, u, _ := reading(k)
	head, caption, show := "function", "Some of the readings: the function, relative to its largest value, and the line", working.Figures(4)
	if m.Name == "log-plot" {
		head, caption, show = "reading", "Some of the readings, and the line", working.Decimals(4)
	} else {
		u = "1"
	}
	table := working.Table{Caption: working.P(caption), Head: []working.Paragraph{working.P("volume"), working.P(head), working.P("line")}}
	last := len(l.Table) - 1
	n := min(fewRows, len(l.Table))
	for i := range n {
		r := l.Table[i*last/(n-1)]
		table.Rows = append(table.Rows, []working.Paragraph{working.P("@", atLeastTwo(round9(r.Volume.Millilitres()), "mL")), working.P("@", show.Number(r.Value, u)), working.P("@", show.Number(r.Fitted, u))})
	}
	b.add(table)
}

// slopes shows the slopes around a jump.
func (b *builder) slopes(k curve.Kind, m assay.Method, i int) {
	if m.Detail == nil || i >= len(m.Detail.Jumps) || len(m.Detail.Jumps[i].Table) == 0 {
		return
	}
	u := map[bool]string{true: "V/mL", false: "1/mL"}[k == curve.Potential]
	rows := m.Detail.Jumps[i].Table
	at := max(slices.IndexFunc(rows, func(r endpoint.Row) bool { return r.Volume >= m.Points[i].Volume }), 0)
	table := working.Table{Caption: working.P("Smoothed slopes around the jump"), Head: []working.Paragraph{working.P("volume"), working.P("slope")}}
	for _, r := range rows[max(0, at-3):min(len(rows), at+3)] {
		table.Rows = append(table.Rows, []working.Paragraph{working.P("@", atLeastTwo(round9(r.Volume.Millilitres()), "mL")), working.P("@", working.Figures(4).Number(r.Value*1e-3, u))})
	}
	b.add(table)
}
