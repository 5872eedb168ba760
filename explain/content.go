package explain

import (
	"fmt"
	"math"

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
	for i, c := range e.Concentrations {
		b.out = nil
		b.concentrationOf(e, c, i)
		list = append(list, working.Section{Kind: Concentration, Title: "Concentration of " + c.Name, Blocks: b.out})
	}
	for i, c := range e.Contents {
		if c.Working == nil {
			continue
		}
		b.out = nil
		b.content(e.Setup, c, i)
		list = append(list, working.Section{Kind: ContentOf, Title: "Content of " + c.Working.Reported + ", in " + c.Unit, Blocks: b.out})
	}
	return list
}

// A way to a number: a volume that counts, in words.
type netVolume struct {
	say  string
	expr working.Expr
}

// volumes are those that an amount can follow from: the end point less the
// blank, what lies between two end points, and what is left of the first when
// the second stage has taken its share.
func (b *builder) volumes(e *assay.Evaluation) []netVolume {
	var ends []working.Symbol
	for i, p := range e.EquivalencePoints {
		v, _ := uncertain(p.Volume, p.StdUnc)
		if p.StdUnc == 0 {
			v = working.Shortest(round9(p.Volume.Millilitres()), "mL")
		}
		ends = append(ends, working.Symbol{Letter: "V", Sub: fmt.Sprintf("end%d", i+1), Meaning: fmt.Sprintf("the volume of titrant at end point %d", i+1), Value: v})
	}
	if len(ends) == 0 {
		return nil
	}
	net := func(i int) working.Expr {
		if x := e.Setup.Blank.Float(); x != 0 {
			return working.Less(ends[i], volumeAs("blank", "the volume that a titration without the analyte takes", x))
		}
		return ends[i]
	}
	list := []netVolume{{"What was added up to the end point, the blank taken off if there is one:", net(0)}}
	for i := 1; i < len(ends); i++ {
		list = append(list, netVolume{"What was added between two end points:", working.Less(ends[i], ends[i-1])},
			netVolume{"What was added up to the last end point, the blank taken off if there is one:", net(i)})
	}
	if len(ends) > 1 {
		list = append(list, netVolume{
			"The second stage takes as much as lies between the end points, and so did the first of the same species; what is left belongs to the other:",
			working.Less(working.Times(working.Count(2), ends[0]), ends[1]),
		})
	}
	return list
}

// simple finds the ratio of small whole numbers.
func simple(x float64) (p, q float64, ok bool) {
	for q = 1; q <= 10; q++ {
		if p = math.Round(x * q); p >= 1 && p <= 12 && math.Abs(p/q/x-1) < ratioTrust {
			return p, q, true
		}
	}
	return 0, 0, false
}

// ratioTrust is how close to a ratio of whole numbers the exact balances must
// come, so that the reaction may be said to run by it.
const ratioTrust = 1e-4

func (b *builder) concentrationOf(e *assay.Evaluation, c assay.Result, k int) {
	s := e.Setup
	volume := s.Flask.Volume
	for _, x := range s.Flask.Contents {
		if x.Species == c.Name && x.Volume.Float() > 0 {
			volume = x.Volume
		}
	}
	value := working.Symbol{Letter: "c", Of: c.Name, Meaning: "the concentration of {" + c.Name + "} that was sought", Value: working.Figures(5).Number(c.Value, c.Unit)}
	if len(s.Burette.Contents) > 0 && volume.Float() > 0 && !b.inBurette(s, c.Name) && (b.direct(e, c, k, value, volume) || b.back(e, c, k, value, volume)) || b.inBurette(s, c.Name) && b.titre(e, c, k) {
		b.add(working.P("Its standard uncertainty is @, from all parts together.", working.Figures(2).Number(c.StdUnc, c.Unit)))
		return
	}
	b.out = nil
	b.add(working.Step{Say: working.P("No short way by whole numbers leads here; the concentration is the one that puts the equivalence points of all balances and equilibria at the end points found:"), Quantity: value},
		working.P("Its standard uncertainty is @.", working.Figures(2).Number(c.StdUnc, c.Unit)))
}

func (b *builder) inBurette(s *setup.Setup, species string) bool {
	for _, f := range s.Find {
		if f.Species == species && f.InBurette {
			return true
		}
	}
	return false
}

// direct goes from the volume by the titrant's concentration and the ratio.
func (b *builder) direct(e *assay.Evaluation, c assay.Result, k int, value working.Symbol, volume setup.Value) bool {
	n := c.Value * volume.Float() * 1e3 // mmol
	titrant := e.Setup.Burette.Contents[0]
	for _, way := range b.volumes(e) {
		mL, err := working.Eval(way.expr)
		if err != nil || !(mL > 0) {
			continue
		}
		p, q, ok := simple(n / (titrant.Conc.Float() * mL))
		if !ok {
			continue
		}
		nt := b.titrantAmount(way, titrant, k)
		na := b.step(working.P(fmt.Sprintf("By the reaction %g {%s} stand for %g {%s}:", p, c.Name, q, titrant.Species)), amount(c.Name, "", "the amount of {"+c.Name+"}"),
			working.Times(nt, working.Over(working.Count(p), working.Count(q))), working.Figures(5), "mmol")
		b.step(working.P("In the volume it was in:"), value, working.Over(na, portionVolume(c.Name, volume)), working.Figures(5), c.Unit)
		return true
	}
	return false
}

// titre finds the concentration in the burette from what is known in the flask.
func (b *builder) titre(e *assay.Evaluation, c assay.Result, k int) bool {
	for _, x := range e.Setup.Flask.Contents {
		volume := e.Setup.Flask.Volume
		if x.Volume.Float() > 0 {
			volume = x.Volume
		}
		for _, way := range b.volumes(e) {
			mL, err := working.Eval(way.expr)
			if err != nil || !(mL > 0) || x.Trace {
				continue
			}
			p, q, ok := simple(c.Value * mL / (x.Conc.Float() * volume.Float() * 1e3))
			if !ok {
				continue
			}
			nx := b.step(working.P("In the flask there was"), amount(x.Species, "0", "the amount of {"+x.Species+"} in the flask"),
				working.Times(working.Symbol{Letter: "c", Of: x.Species, Meaning: "the concentration of {" + x.Species + "}", Value: concentrationOf(x)}, portionVolume(x.Species, volume)), working.Figures(5), "mmol")
			nt := b.step(working.P(fmt.Sprintf("By the reaction %g {%s} stand for %g {%s}:", p, c.Name, q, x.Species)), amount(c.Name, "", "the amount of {"+c.Name+"} that it takes"),
				working.Times(nx, working.Over(working.Count(p), working.Count(q))), working.Figures(5), "mmol")
			used := b.step(working.P(way.say), working.Symbol{Letter: "V", Sub: fmt.Sprintf("net%d", k+1), Meaning: "the volume of titrant that counts here"}, way.expr, working.Figures(6), "mL")
			b.step(working.P("It was in that volume:"), working.Symbol{Letter: "c", Sub: "t", Of: c.Name, Meaning: "the concentration of {" + c.Name + "} in the burette"}, working.Over(nt, used), working.Figures(5), c.Unit)
			return true
		}
	}
	return false
}

func (b *builder) titrantAmount(way netVolume, titrant setup.Content, k int) working.Symbol {
	used := b.step(working.P(way.say), working.Symbol{Letter: "V", Sub: fmt.Sprintf("net%d", k+1), Meaning: "the volume of titrant that counts here"}, way.expr, working.Figures(6), "mL")
	ct := working.Symbol{Letter: "c", Sub: "t", Of: titrant.Species, Meaning: "the concentration of {" + titrant.Species + "} in the burette", Value: concentrationOf(titrant)}
	return b.step(working.P("It holds"), amount(titrant.Species, fmt.Sprintf("net%d", k+1), "the amount of {"+titrant.Species+"} in that volume"), working.Times(ct, used), working.Figures(5), "mmol")
}

func portionVolume(species string, v setup.Value) working.Symbol {
	return working.Symbol{Letter: "V", Of: species, Meaning: "the volume that {" + species + "} was in", Value: working.Said(v.Float()*1e3, inMillilitres(v), "mL")}
}

// back takes the remainder that the titrant found from the excess put in.
func (b *builder) back(e *assay.Evaluation, c assay.Result, k int, value working.Symbol, volume setup.Value) bool {
	n, titrant := c.Value*volume.Float()*1e3, e.Setup.Burette.Contents[0]
	for _, x := range e.Setup.Flask.Contents {
		if x.Species == c.Name || x.Volume.Float() == 0 || x.Trace {
			continue
		}
		for _, way := range b.volumes(e) {
			mL, err := working.Eval(way.expr)
			excess, remainder := x.Conc.Float()*x.Volume.Float()*1e3, titrant.Conc.Float()*mL
			if err != nil || !(mL > 0) || !(excess > remainder) {
				continue
			}
			p, q, ok := simple(n / (excess - remainder))
			if !ok {
				continue
			}
			put := b.step(working.P("What was put in, more than enough:"), amount(x.Species, "0", "the amount of {"+x.Species+"} that was put in"),
				working.Times(working.Symbol{Letter: "c", Of: x.Species, Meaning: "the concentration of {" + x.Species + "}", Value: concentrationOf(x)}, portionVolume(x.Species, x.Volume)), working.Figures(5), "mmol")
			nt := b.titrantAmount(way, titrant, k)
			used := b.step(working.P(fmt.Sprintf("One {%s} of the remainder takes one {%s}, so what was used up is excess minus remainder:", x.Species, titrant.Species)),
				amount(x.Species, "used", "the amount of {"+x.Species+"} that {"+c.Name+"} used up"), working.Less(put, nt), working.Figures(5), "mmol")
			na := b.step(working.P(fmt.Sprintf("By the reaction %g {%s} stand for %g {%s}:", p, c.Name, q, x.Species)), amount(c.Name, "", "the amount of {"+c.Name+"}"),
				working.Times(used, working.Over(working.Count(p), working.Count(q))), working.Figures(5), "mmol")
			b.step(working.P("In the volume it was in:"), value, working.Over(na, portionVolume(c.Name, volume)), working.Figures(5), c.Unit)
			return true
		}
	}
	return false
}

// content goes from the amount in the flask to what is reported.
func (b *builder) content(s *setup.Setup, r assay.Result, k int) {
	w := r.Working
	tag := fmt.Sprint(k + 1)
	n := working.Symbol{Letter: "n", Sub: "flask" + tag, Of: w.Titrated, Meaning: "the amount of {" + w.Titrated + "} in the flask", Value: working.Figures(5).Number(w.Amount*1e3, "mmol")}
	b.add(working.Step{Say: working.P("In the flask, from the concentration and the volume:"), Quantity: n})
	var whole working.Expr = n
	if w.Factor != 1 {
		f := b.step(working.P("What was made up, over the aliquot of it:"), working.Symbol{Letter: "f", Sub: tag, Meaning: "how many aliquots the whole is"},
			working.Over(volumeAs("whole", "the volume that the sample was made up to", s.Sample.MadeUpTo.Float()), volumeAs("aliquot", "the volume of the aliquot", s.Sample.Aliquot.Float())), working.Figures(5), "1")
		whole = working.Times(n, f)
		n = b.step(working.P("In all of the sample:"), amount(w.Titrated, "all"+tag, "the amount of {"+w.Titrated+"} in the sample"), whole, working.Figures(5), "mmol")
	}
	if w.Ratio[0] != w.Ratio[1] || w.Analyte != w.Titrated {
		n = b.step(working.P(fmt.Sprintf("It was found indirectly: %g {%s} stand for %g {%s}:", w.Ratio[0], w.Analyte, w.Ratio[1], w.Titrated)), amount(w.Analyte, "analyte"+tag, "the amount of {"+w.Analyte+"} in the sample"),
			working.Times(n, working.Over(working.Count(w.Ratio[0]), working.Count(w.Ratio[1]))), working.Figures(5), "mmol")
	}
	if w.Per != 1 || w.Reported != w.Analyte {
		n = b.step(working.P(fmt.Sprintf("One {%s} counts for %g {%s}:", w.Reported, w.Per, w.Analyte)), amount(w.Reported, "reported"+tag, "the amount of {"+w.Reported+"} in the sample"),
			working.Over(n, working.Count(w.Per)), working.Figures(5), "mmol")
	}
	b.overSample(r, n, tag)
}

// overSample divides the amount, or the mass, by the sample, and goes on to the
// basis that was asked for.
func (b *builder) overSample(r assay.Result, n working.Symbol, tag string) {
	w := r.Working
	whole, unitName := n, "mmol"
	if w.MolarMass > 0 {
		m := working.Symbol{Letter: "M", Of: w.Reported, Meaning: "the molar mass of {" + w.Reported + "}", Value: working.Figures(6).Number(w.MolarMass, "g/mol")}
		whole, unitName = b.step(working.P("As a mass:"), working.Symbol{Letter: "m", Sub: tag, Of: w.Reported, Meaning: "the mass of {" + w.Reported + "} in the sample"}, working.Times(n, m), working.Figures(5), "mg"), "mg"
	}
	over, overUnit := w.Over, w.OverText
	if overUnit == "tablets" {
		overUnit = "tablet"
	}
	if overUnit == "mL" {
		over *= 1e3
	}
	sample := working.Symbol{Letter: "q", Sub: tag, Meaning: "the sample that this was in", Value: working.Shortest(round9(over), overUnit)}
	per := b.step(working.P("Over the sample:"), working.Symbol{Letter: "w", Sub: "sample" + tag, Of: w.Reported, Meaning: "what is in one unit of sample"}, working.Over(whole, sample), working.Figures(5), unitName+"/"+overUnit)
	formula := working.Product{per}
	if w.Drying > 0 {
		dry := working.Symbol{Letter: "d", Meaning: "the loss on drying, as a share", Value: working.Shortest(round9(w.Drying), "1")}
		formula = append(formula, working.Over(working.Count(1), working.Less(working.Count(1), dry)))
	}
	// the factor between the unit of the step and the unit of the report, label claim included
	x, err := working.Eval(formula)
	if err != nil || x == 0 {
		b.err = err
		return
	}
	say := working.P("In the unit of the report:")
	if w.Claim > 0 {
		say = append(working.P("In the unit of the report; the label claims "), working.Text(fmt.Sprintf("%.6g in grams, grams per litre or as a share:", w.Claim)))
	}
	k := working.Symbol{Letter: "k", Sub: "unit" + tag, Meaning: "the factor between the two units, with the label claim if that is the basis", Value: working.Figures(6).Number(r.Value/x, r.Unit+" per "+unitName+"/"+overUnit)}
	b.step(say, working.Symbol{Letter: "w", Sub: tag, Of: w.Reported, Meaning: "the content"}, append(formula, k), working.Figures(4), r.Unit)
	b.add(working.P("Its standard uncertainty is @.", working.Figures(2).Number(r.StdUnc, r.Unit)))
}
