package explain

import (
	"fmt"
	"math"
	"strings"

	"meniscus/assay"
	"meniscus/setup"
	"meniscus/working"
)

// Content works out concentrations and contents from end points that are known.
func Content(e *assay.Evaluation) (*working.Document, error) {
	d := &working.Document{Title: e.Setup.Title, Lead: working.P("From the volume at the end point to the result; numbers are carried unrounded.")}
	if d.Title == "" {
		d.Title = "A content, worked out"
	}
	b := &builder{s: e.Setup, t: e.Setup.Titration}
	d.Sections = b.results(e)
	caution, err := cautions(e.Setup)
	if err != nil {
		return nil, err
	}
	if len(caution) > 0 {
		d.Sections = append(d.Sections, working.Section{Kind: Cautions, Title: "Cautions", Blocks: caution})
	}
	d.Explain()
	return d, b.err
}

// results are the sections from the end points to each content.
func (b *builder) results(e *assay.Evaluation) []working.Section {
	var list []working.Section
	r := &resulter{builder: b, e: e, flask: map[string]working.Symbol{}, sample: map[string]working.Symbol{}, mass: map[string]working.Symbol{}}
	for _, c := range e.Concentrations {
		b.out = nil
		r.concentration(c)
		list = append(list, working.Section{Kind: Concentration, Title: "Concentration of " + chemTitle(c.Name), Blocks: b.out})
	}
	for i, c := range e.Contents {
		if c.Working == nil {
			continue
		}
		b.out = nil
		r.tag = ""
		if len(e.Contents) > 1 {
			r.tag = fmt.Sprint(i + 1)
		}
		r.content(c)
		list = append(list, working.Section{Kind: ContentOf, Title: "Content of " + chemTitle(c.Working.Reported) + ", in " + c.Unit, Blocks: b.out})
	}
	return list
}

// chemTitle is a species as a title shows it.
func chemTitle(species string) string { return working.P("{" + species + "}").String() }

// A resulter works from the end points of one evaluation to its results.
type resulter struct {
	*builder
	e      *assay.Evaluation
	flask  map[string]working.Symbol // amounts in the flask, by species, once found
	sample map[string]working.Symbol // amounts in the whole sample, by species
	mass   map[string]working.Symbol // masses in it
	staged bool                      // whether the reactions of the end points were shown
	tag    string                    // tells several contents apart
}

// concentration goes by the amount in the flask, or for a titrant by what the
// flask holds.
func (r *resulter) concentration(c assay.Result) {
	s := r.e.Setup
	if r.inBurette(c.Name) {
		if !r.titre(c) {
			r.noShortWay(c)
		}
		r.uncertainty("concentration of {"+c.Name+"}", c)
		return
	}
	volume := s.Flask.Volume
	for _, x := range s.Flask.Contents {
		if holds(x, c.Name) && x.Volume.Float() > 0 {
			volume = x.Volume
		}
	}
	n, ok := r.amountBy(c.Way, c.Name, c.Value*volume.Float()*1e3)
	if !ok {
		r.noShortWay(c)
	} else {
		r.flask[c.Name] = n
		value := working.Symbol{Letter: "c", Of: c.Name, Meaning: "the concentration of {" + c.Name + "} that was sought"}
		r.step(working.P("Over the volume that it was in:"), value, working.Over(n, portionVolume(c.Name, volume)), working.Figures(5), c.Unit)
	}
	r.uncertainty("concentration of {"+c.Name+"}", c)
}

func holds(c setup.Content, species string) bool {
	for _, ion := range c.Ions {
		if ion.Species.Name == species {
			return true
		}
	}
	return c.Species == species
}

func (r *resulter) noShortWay(c assay.Result) {
	value := working.Symbol{Letter: "c", Of: c.Name, Meaning: "the concentration of {" + c.Name + "} that was sought", Value: working.Figures(5).Number(c.Value, c.Unit)}
	r.add(working.Step{Say: working.P("No way by whole numbers leads here; the concentration is the one that puts the equivalence points of all balances and equilibria at the end points found:"), Quantity: value})
}

func (r *resulter) inBurette(species string) bool {
	for _, f := range r.e.Setup.Find {
		if f.Species == species && f.InBurette {
			return true
		}
	}
	return false
}

// uncertainty closes a section: the result, rounded by its uncertainty.
func (r *resulter) uncertainty(what string, c assay.Result) {
	if !(c.StdUnc > 0) || math.IsInf(c.StdUnc, 0) {
		r.add(working.P("The "+what+" is @. The setup states no uncertainties, so none is given.", working.Figures(5).Number(c.Value, c.Unit)))
		return
	}
	for _, p := range r.e.EquivalencePoints {
		if p.StdUnc == 0 {
			r.add(working.P("The "+what+" is @. For the end point no uncertainty is stated; from the rest alone comes a standard uncertainty of @.",
				working.Figures(5).Number(c.Value, c.Unit), working.Figures(2).Number(c.StdUnc, c.Unit)))
			return
		}
	}
	value, u := rounded(c.Value, c.StdUnc, c.Unit)
	r.add(working.P("The "+what+" is @, with a standard uncertainty of @.", value, u))
}

// rounded shows a value to the second figure of its uncertainty.
func rounded(x, u float64, unitName string) (value, stdUnc working.Number) {
	places := 1 - int(math.Floor(math.Log10(u)))
	if places >= 0 {
		return working.Decimals(places).Number(x, unitName), working.Decimals(places).Number(u, unitName)
	}
	figures := int(math.Floor(math.Log10(math.Abs(x)))) + 1 + places
	return working.Figures(max(figures, 1)).Number(x, unitName), working.Figures(2).Number(u, unitName)
}

// amountBy goes from the end points to an amount in the flask, mmol. ok is
// false where the way has no whole numbers or leads elsewhere.
func (r *resulter) amountBy(w *assay.Way, species string, want float64) (n working.Symbol, ok bool) {
	if w == nil || len(w.PerMole) == 0 {
		return n, false
	}
	var per []fraction
	for _, x := range w.PerMole {
		f, ok := fractionOf(x)
		if !ok {
			return n, false
		}
		per = append(per, f)
	}
	for _, q := range w.Reagents {
		if _, ok := fractionOf(q.PerMole); !ok {
			return n, false
		}
	}
	before := len(r.out)
	switch x := reagentOf(w); {
	case len(per) == 1 && len(w.Reagents) == 0:
		n = r.direct(w, species, per[0])
	case len(per) == 1 && x != nil && x.PerMole > 0 && per[0].p < 0:
		n = r.back(w, *x, species)
	default:
		n = r.shares(w, species, per)
	}
	if math.Abs(n.Value.Value/want-1) > wayTrust {
		r.out = r.out[:before]
		return working.Symbol{}, false
	}
	return n, true
}

// wayTrust is how close the steps must come to the result of the evaluation,
// relative: both follow from the same stoichiometry.
const wayTrust = 1e-6

func reagentOf(w *assay.Way) *assay.Reagent {
	if len(w.Reagents) != 1 {
		return nil
	}
	return &w.Reagents[0]
}

// direct goes from the volume by the titrant's concentration and the ratio.
func (r *resulter) direct(w *assay.Way, species string, per fraction) working.Symbol {
	nt := r.titrantAmount(w, r.net(w, []fraction{{1, 1}}, "What was added up to the end point, the blank taken off:"))
	return r.byReaction(species, w.Titrant.Species, per, nt, working.Symbol{Letter: "n", Of: species, Meaning: "the amount of {" + species + "} in the flask"})
}

// byReaction turns an amount of one species into that of another.
func (r *resulter) byReaction(species, other string, per fraction, n working.Symbol, q working.Symbol) working.Symbol {
	verb := "react"
	if per.p == 1 {
		verb = "reacts"
	}
	say := fmt.Sprintf("%g mol of {%s} %s with %g mol of {%s}", per.p, species, verb, per.q, other)
	if r.t == nil {
		say = "By the ratio that the setup states " + say
	} else if eq := r.overall(species, other, per.q/per.p); eq != "" {
		r.add(working.Reaction{Say: working.P("The reaction:"), Equation: eq})
	}
	return r.step(working.P(say+":"), q, per.times(n), working.Figures(5), "mmol")
}

// back takes the remainder that the titrant found from the excess put in.
func (r *resulter) back(w *assay.Way, x assay.Reagent, species string) working.Symbol {
	put := r.putIn(x, "What was put in, more than enough:")
	nt := r.titrantAmount(w, r.net(w, []fraction{{1, 1}}, "What was added up to the end point, the blank taken off:"))
	back, _ := fractionOf(-w.PerMole[0] / x.PerMole)
	left := r.byReaction(x.Species, w.Titrant.Species, back, nt, amount(x.Species, "left", "the amount of {"+x.Species+"} that was left over"))
	used := r.step(working.P("What was put in less what was left has reacted:"), amount(x.Species, "used", "the amount of {"+x.Species+"} that reacted with {"+species+"}"),
		working.Less(put, left), working.Figures(5), "mmol")
	per, _ := fractionOf(x.PerMole)
	return r.byReaction(species, x.Species, per, used, amount(species, "", "the amount of {"+species+"} in the flask"))
}

// putIn is the amount of a reagent in the flask.
func (r *resulter) putIn(x assay.Reagent, say string) working.Symbol {
	volume := x.Content.Volume
	if volume.Float() == 0 {
		volume = r.e.Setup.Flask.Volume
	}
	c := r.ofIon(x, working.Symbol{Letter: "c", Of: x.Species, Meaning: "the concentration of {" + x.Species + "}"})
	return r.step(working.P(say), amount(x.Species, "0", "the amount of {"+x.Species+"} put into the flask"), working.Times(c, portionVolume(x.Species, volume)), working.Figures(5), "mmol")
}

// ofIon gives a concentration its value: that of the entry, or by its formula.
func (r *resulter) ofIon(x assay.Reagent, q working.Symbol) working.Symbol {
	if x.Ions == 1 {
		return q.With(concentrationOf(x.Content))
	}
	salt := working.Symbol{Letter: "c", Sub: "salt", Of: x.Content.Species, Meaning: "the concentration of {" + x.Content.Species + "} as stated", Value: concentrationOf(x.Content)}
	return r.step(working.P(fmt.Sprintf("1 mol of {%s} gives %g mol of {%s}:", x.Content.Species, x.Ions, x.Species)), q, working.Times(working.Count(x.Ions), salt), working.Figures(5), "mol/L")
}

// shares is the general case: whole numbers times the volumes of several end
// points, and what else in the flask counts.
func (r *resulter) shares(w *assay.Way, species string, per []fraction) working.Symbol {
	whole := 1.0
	for _, f := range per {
		whole = f.q * whole / gcd(f.q, whole)
	}
	times := make([]fraction, len(per))
	for i, f := range per {
		times[i] = fraction{f.p * whole / f.q, 1}
	}
	if len(per) > 1 {
		r.stages(w)
	}
	nt := r.titrantAmount(w, r.net(w, times, shareWords(times, species)))
	n := amount(species, "", "the amount of {"+species+"} in the flask")
	var sum working.Expr = nt
	if whole != 1 {
		sum = working.Over(nt, working.Count(whole))
	}
	say := fmt.Sprintf("1 mol of {%s} takes %g mol of {%s}", species, whole, w.Titrant.Species)
	for _, x := range w.Reagents {
		put := r.putIn(x, "What else stands in the flask and counts:")
		f, _ := fractionOf(math.Abs(x.PerMole))
		if x.PerMole < 0 {
			sum = working.Less(sum, f.times(put))
			say += fmt.Sprintf(", and %g mol of {%s} takes as much as %g mol of {%s}", f.q, x.Species, f.p, species)
		} else {
			sum = working.Add(sum, f.times(put))
			say += fmt.Sprintf(", and %g mol of {%s} spares what %g mol of {%s} would take", f.q, x.Species, f.p, species)
		}
	}
	say += ":"
	return r.step(working.P(say), n, sum, working.Figures(5), "mmol")
}

// stages shows once which reaction ends at each end point.
func (r *resulter) stages(w *assay.Way) {
	if r.staged {
		return
	}
	r.staged = true
	for _, p := range w.Points {
		eq := r.overall(p.Species, w.Titrant.Species, 1)
		for _, f := range r.e.Setup.Find { // an ion pair, say, stands for what is sought
			if eq == "" && related(p.Species, f.Species) {
				eq = r.overall(f.Species, w.Titrant.Species, 1)
			}
		}
		if eq != "" {
			r.add(working.Reaction{Say: working.P(fmt.Sprintf("The reaction that ends at end point %d:", p.Order)), Equation: eq})
		}
	}
}

// shareWords says why these multiples of the volumes of the end points count.
func shareWords(times []fraction, species string) string {
	if len(times) == 2 {
		switch p, q := times[0].p, times[1].p; {
		case p == 1 && q == 0:
			return "What was added up to the first end point, the blank taken off:"
		case p == 0 && q == 1:
			return "What was added up to the second end point, the blank taken off:"
		case p == -1 && q == 1:
			return "{" + species + "} takes what was added between the two end points:"
		case p == 2 && q == -1:
			return "What lies between the end points is the second stage of the other species, whose first stage took as much; the rest of the first volume belongs to {" + species + "}:"
		}
	}
	return "By the reactions up to each end point {" + species + "} has this share of the volumes:"
}

// net is the volume that counts: multiples of the end points, less the blank as
// many times. A single end point without a blank is that volume itself.
func (r *resulter) net(w *assay.Way, times []fraction, say string) working.Symbol {
	var sum working.Sum
	total, places := 0.0, 2
	for i, f := range times {
		total += f.p
		end := r.end(w.Points[i], len(r.e.EquivalencePoints))
		if f.p == 0 {
			continue
		}
		var e working.Expr = end
		if k := math.Abs(f.p); k != 1 {
			e = working.Times(working.Count(k), end)
		}
		sum, places = append(sum, working.Term{Expr: e, Minus: f.p < 0}), max(places, written(end.Value))
	}
	if blank := r.e.Setup.Blank; blank.Float() != 0 && total != 0 {
		none := working.Symbol{Letter: "V", Sub: "blank", Meaning: "the volume that a titration without the analyte takes", Value: working.Said(blank.Float()*1e3, inMillilitres(blank), "mL")}
		var e working.Expr = none
		places = max(places, written(none.Value))
		if k := math.Abs(total); k != 1 {
			e = working.Times(working.Count(k), e)
		}
		sum = append(sum, working.Term{Expr: e, Minus: total > 0})
	}
	if end, ok := sum[0].Expr.(working.Symbol); ok && len(sum) == 1 && !sum[0].Minus {
		return end
	}
	if sum[0].Minus { // begin with what is added, not with what is taken off
		for i := range sum {
			if !sum[i].Minus {
				sum[0], sum[i] = sum[i], sum[0]
				break
			}
		}
	}
	q := working.Symbol{Letter: "V", Sub: "net", Of: r.netOf(w), Meaning: "the volume of titrant that counts here"}
	return r.step(working.P(say), q, sum, working.Decimals(places), "mL")
}

// written is how many places after the point a number is shown to.
func written(n working.Number) int {
	_, after, _ := strings.Cut(n.Text, ".")
	return len(after)
}

// netOf tells the volumes of several results apart by what they are for.
func (r *resulter) netOf(w *assay.Way) string {
	if len(r.e.Concentrations) < 2 {
		return ""
	}
	for _, c := range r.e.Concentrations {
		if c.Way == w {
			return c.Name
		}
	}
	return ""
}

// end is the volume at an end point.
func (r *resulter) end(p assay.Point, of int) working.Symbol {
	q := working.Symbol{Letter: "V", Sub: "end", Meaning: "the volume of titrant at the end point"}
	if of > 1 {
		q.Sub, q.Meaning = fmt.Sprintf("end%d", p.Order), fmt.Sprintf("the volume of titrant at end point %d", p.Order)
	}
	if p.StdUnc > 0 {
		q.Value, _ = uncertain(p.Volume, p.StdUnc)
		return q
	}
	q.Value = atLeastTwo(round9(p.Volume.Millilitres()), "mL")
	return q
}

func (r *resulter) titrantAmount(w *assay.Way, volume working.Symbol) working.Symbol {
	t := w.Titrant
	ct := r.ofIon(t, working.Symbol{Letter: "c", Sub: "t", Of: t.Species, Meaning: "the concentration of {" + t.Species + "} in the burette"})
	q := amount(t.Species, "t", "the amount of {"+t.Species+"} in that volume")
	if of := r.netOf(w); of != "" {
		q.Sub, q.Meaning = "t,"+chemTitle(of), "the amount of {"+t.Species+"} that {"+of+"} took"
	}
	return r.step(working.P("The titrant in that volume:"), q, working.Times(ct, volume), working.Figures(5), "mmol")
}

func portionVolume(species string, v setup.Value) working.Symbol {
	return working.Symbol{Letter: "V", Of: species, Meaning: "the volume that {" + species + "} was in", Value: working.Said(v.Float()*1e3, inMillilitres(v), "mL")}
}

// titre finds the concentration in the burette from what is known in the flask.
func (r *resulter) titre(c assay.Result) bool {
	w := c.Way
	if w == nil || len(w.Points) != 1 || w.PerMole != nil {
		return false
	}
	for _, x := range w.Reagents {
		if _, ok := fractionOf(math.Abs(x.PerMole)); !ok {
			return false
		}
	}
	before := len(r.out)
	var sum working.Expr
	for i, x := range w.Reagents {
		put := r.putIn(x, "In the flask there was:")
		f, _ := fractionOf(math.Abs(x.PerMole))
		if len(w.Reagents) == 1 {
			n := r.byReaction(c.Name, x.Species, f, put, amount(c.Name, "", "the amount of {"+c.Name+"} that it takes"))
			sum = n
			break
		}
		if i == 0 {
			sum = f.times(put)
		} else if x.PerMole < 0 {
			sum = working.Less(sum, f.times(put))
		} else {
			sum = working.Add(sum, f.times(put))
		}
	}
	net := r.net(w, []fraction{{1, 1}}, "What was added up to the end point, the blank taken off:")
	q := r.step(working.P("It was in that volume of titrant:"), working.Symbol{Letter: "c", Sub: "t", Of: c.Name, Meaning: "the concentration of {" + c.Name + "} in the burette"}, working.Over(sum, net), working.Figures(5), c.Unit)
	if math.Abs(q.Value.Value/c.Value-1) > wayTrust {
		r.out = r.out[:before]
		return false
	}
	return true
}
