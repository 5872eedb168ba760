package explain

import (
	"fmt"
	"math"
	"strings"

	"meniscus/assay"
	"meniscus/setup"
	"meniscus/unit"
	"meniscus/working"
)

// content goes from the amount in the flask to what is reported.
func (r *resulter) content(c assay.Result) {
	w := c.Working
	q, ok := r.mass[w.Reported]
	switch n, counted := r.sample[w.Reported]; {
	case w.MolarMass > 0 && ok:
		r.add(working.P("The mass of {"+w.Reported+"} in the sample was found above: @.", q.Value))
	case counted:
		r.add(working.P("The amount of {"+w.Reported+"} in the sample was found above: @.", n.Value))
		q = r.inGrams(w, n)
	default:
		q = r.inGrams(w, r.inSample(w))
	}
	r.overSample(c, q)
	r.uncertainty("content of {"+w.Reported+"}", c)
}

// inGrams makes a mass of an amount, where a mass is reported.
func (r *resulter) inGrams(w *assay.Working, n working.Symbol) working.Symbol {
	r.sample[w.Reported] = n
	if w.MolarMass == 0 {
		return n
	}
	m := working.Symbol{Letter: "M", Of: w.Reported, Meaning: "the molar mass of {" + w.Reported + "}", Value: working.Figures(6).Number(w.MolarMass, "g/mol")}
	q := working.Symbol{Letter: "m", Of: w.Reported, Meaning: "the mass of {" + w.Reported + "} in the sample"}
	r.mass[w.Reported] = r.step(working.P("As a mass:"), q, working.Times(n, m), working.Figures(5), "mg")
	return r.mass[w.Reported]
}

// inSample goes from the flask to the amount, in the whole sample, of what is
// reported.
func (r *resulter) inSample(w *assay.Working) working.Symbol {
	s := r.e.Setup
	if n, ok := r.sample[w.Analyte]; ok {
		r.add(working.P("The amount of {"+w.Analyte+"} in the sample was found above: @.", n.Value))
		return r.asReported(w, n)
	}
	n, ok := r.flask[w.Titrated]
	if !ok {
		n, ok = r.amountBy(w.Way, w.Titrated, w.Amount*1e3)
	}
	if !ok {
		n = amount(w.Titrated, "", "the amount of {"+w.Titrated+"} in the flask").With(working.Figures(5).Number(w.Amount*1e3, "mmol"))
		r.add(working.Step{Say: working.P("The amount in the flask, from the concentration found and the volume:"), Quantity: n})
	}
	r.flask[w.Titrated] = n
	of := amount(w.Titrated, "sample", "the amount of {"+w.Titrated+"} from the whole sample")
	if w.Factor != 1 {
		whole := working.Symbol{Letter: "V", Sub: "whole", Meaning: "the volume that the sample was made up to", Value: working.Said(s.Sample.MadeUpTo.Float()*1e3, inMillilitres(s.Sample.MadeUpTo), "mL")}
		part := working.Symbol{Letter: "V", Sub: "aliquot", Meaning: "the volume of it that was taken", Value: working.Said(s.Sample.Aliquot.Float()*1e3, inMillilitres(s.Sample.Aliquot), "mL")}
		n = r.step(working.P("The flask held an aliquot; the whole sample has so many times as much:"), of, working.Times(n, working.Over(whole, part)), working.Figures(5), "mmol")
	}
	if w.Ratio[0] != w.Ratio[1] || w.Analyte != w.Titrated {
		if text := s.Indirect.Text; strings.Contains(text, "=") {
			r.add(working.Reaction{Say: working.P("What was titrated came from the analyte by this reaction:"), Equation: text})
		}
		n = r.step(working.P(fmt.Sprintf("It was found indirectly, %g mol of {%s} for %g mol of {%s}:", w.Ratio[0], w.Analyte, w.Ratio[1], w.Titrated)),
			amount(w.Analyte, "sample", "the amount of {"+w.Analyte+"} in the sample"), lowest(w.Ratio[0], w.Ratio[1]).times(n), working.Figures(5), "mmol")
	}
	r.sample[w.Analyte] = n
	return r.asReported(w, n)
}

// asReported counts the analyte as what is reported.
func (r *resulter) asReported(w *assay.Working, n working.Symbol) working.Symbol {
	if w.Per == 1 && w.Reported == w.Analyte {
		return n
	}
	per, ok := fractionOf(w.Per)
	if !ok {
		per = fraction{w.Per, 1}
	}
	say := fmt.Sprintf("1 mol of {%s} holds %g mol of {%s}:", w.Reported, w.Per, w.Analyte)
	switch {
	case w.Counted != "":
		say = fmt.Sprintf("By charge, %g mol of {%s} count as 1 mol of {%s}:", w.Per, w.Analyte, w.Reported)
	case per.p == 1 && per.q == 1:
		say = fmt.Sprintf("Each {%s} is reported as one {%s}:", w.Analyte, w.Reported)
	}
	return r.step(working.P(say), amount(w.Reported, "sample", "the amount of {"+w.Reported+"} in the sample"), fraction{per.q, per.p}.times(n), working.Figures(5), "mmol")
}

func lowest(p, q float64) fraction {
	if k := gcd(p, q); k > 0 {
		return fraction{p / k, q / k}
	}
	return fraction{p, q}
}

// overSample divides an amount or a mass by the sample, and goes on to the
// label claim or the dry substance where that is the basis.
func (r *resulter) overSample(c assay.Result, q working.Symbol) {
	w := c.Working
	share := working.Symbol{Letter: "w", Sub: r.tag, Of: w.Reported, Meaning: "the content of {" + w.Reported + "}"}
	switch {
	case w.Claim > 0:
		found := share
		found.Sub, found.Meaning = "found"+r.tag, "the content of {"+w.Reported+"} that was found"
		found, say, claim := r.found(w, q, found)
		r.add(working.Plain(say))
		share.Meaning += " as a share of the label claim"
		label := working.Symbol{Letter: "w", Sub: "label" + r.tag, Of: w.Reported, Meaning: "the content that the label claims", Value: claim}
		r.step(working.P("Over what the label claims:"), share, working.Times(working.Said(100, "100", "%"), working.Over(found, label)), working.Figures(5), c.Unit)
	case w.Drying > 0:
		moist := share
		moist.Sub, moist.Meaning = "moist"+r.tag, "the content of {"+w.Reported+"} in the sample as it was weighed"
		moist = r.over(w, q, moist, strings.TrimSuffix(c.Unit, ", dry basis"))
		d := working.Symbol{Letter: "d", Meaning: "the loss on drying, as a share of the sample", Value: working.Said(w.Drying, inUnit(r.e.Setup.Sample.Drying, "%", -2), "1")}
		share.Meaning += " in the dry substance"
		say := append(working.P("Of the sample "), working.Text(r.e.Setup.Sample.Drying.Text+" was lost on drying, and none of the analyte with it:"))
		r.step(say, share, working.Over(moist, working.Less(working.Count(1), d)), working.Figures(5), c.Unit)
	default:
		r.over(w, q, share, c.Unit)
	}
}

// found is the content in the unit of the label claim, with that claim.
func (r *resulter) found(w *assay.Working, q, share working.Symbol) (working.Symbol, string, working.Number) {
	s := r.e.Setup.Sample
	say := "The label claims " + s.Claim.Text + "."
	switch s.Claim.Dimension {
	case unit.DimMass:
		return r.over(w, q, share, "mg per tablet"), say, working.Shortest(round9(w.Claim*1e3), "mg per tablet")
	case unit.DimMassConc:
		return r.over(w, q, share, "g/L"), say, working.Shortest(round9(w.Claim), "g/L")
	}
	return r.over(w, q, share, "% w/w"), say, working.Shortest(round9(w.Claim*100), "% w/w")
}

// over divides by the sample and gives the content in a unit.
func (r *resulter) over(w *assay.Working, q, share working.Symbol, unitName string) working.Symbol {
	s := r.e.Setup.Sample
	say := working.P("Over the sample:")
	mass := working.Symbol{Letter: "m", Sub: "s", Meaning: "the mass of the sample", Value: working.Said(s.Mass.Float(), inUnit(s.Mass, "g", 0), "g")}
	switch w.OverText {
	case "tablets":
		if s.Tablet.Float() == 0 {
			tablets := working.Symbol{Letter: "N", Meaning: "the number of tablets in the sample", Value: working.Shortest(w.Over, "tablets")}
			return r.step(say, share, working.Over(q, tablets), working.Figures(5), unitName)
		}
		tablet := working.Symbol{Letter: "m", Sub: "tablet", Meaning: "the mean mass of one tablet", Value: working.Said(s.Tablet.Float(), inUnit(s.Tablet, "g", 0), "g per tablet")}
		return r.step(working.P("What one tablet holds, in proportion to its mass:"), share, working.Times(q, working.Over(tablet, mass)), working.Figures(5), unitName)
	case "mL":
		v := working.Symbol{Letter: "V", Sub: "s", Meaning: "the volume of the sample", Value: working.Shortest(round9(w.Over*1e3), "mL")}
		for _, x := range []setup.Value{s.Volume, s.Aliquot, r.e.Setup.Flask.Volume} {
			if x.Float() == w.Over {
				v.Value = working.Said(x.Float()*1e3, inMillilitres(x), "mL")
				break
			}
		}
		return r.inReportUnit(say, share, q, v, unitName)
	}
	if unitName == "% w/w" {
		mass.Value = working.Said(s.Mass.Float()*1e3, inUnit(s.Mass, "g", 3), "mg")
		return r.step(say, share, working.Times(working.Said(100, "100", "%"), working.Over(q, mass)), working.Figures(5), unitName)
	}
	return r.inReportUnit(say, share, q, mass, unitName)
}

// beyondMilli are the factors from milligrams or millimoles by gram or
// millilitre to the units of a report; units not listed are the same: mg/g is
// g/kg, and mg/mL is g/L.
var beyondMilli = map[string]working.Number{
	"mg/kg": working.Shortest(1000, "g/kg"), "mmol/kg": working.Shortest(1000, "g/kg"),
	"mg/L": working.Shortest(1000, "mL/L"), "mmol/L": working.Shortest(1000, "mL/L"),
	"g/100 mL": working.Shortest(0.1, "(g/100 mL) per mg/mL"),
}

func (r *resulter) inReportUnit(say working.Paragraph, share, q, sample working.Symbol, unitName string) working.Symbol {
	formula := working.Expr(working.Over(q, sample))
	if k, ok := beyondMilli[unitName]; ok {
		formula = working.Times(k, formula)
	}
	return r.step(say, share, formula, working.Figures(5), unitName)
}

// inUnit are the digits of a value that was written in a unit, the point moved
// by so many places; or the shortest.
func inUnit(v setup.Value, unitName string, shift int) string {
	scaled := v.Float() * math.Pow10(max(shift, 0))
	if text, _, ok := strings.Cut(v.Text, " "+unitName); ok {
		d, err := unit.ParseDecimal(strings.TrimSpace(text))
		if err == nil && math.Abs(d.Shift(shift).Float()-scaled) <= 1e-12*scaled {
			_, decimals, _ := strings.Cut(strings.ReplaceAll(strings.TrimSpace(text), ",", "."), ".")
			return working.Decimals(max(len(decimals)-shift, 0)).Number(scaled, unitName).Text
		}
	}
	return working.Shortest(round9(scaled), unitName).Text
}
