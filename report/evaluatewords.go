package report

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"meniscus/assay"
	"meniscus/chem"
	"meniscus/curve"
	"meniscus/fit"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/uncertainty"
)

// clean takes out characters that would move a terminal's cursor or hide text.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == unicode.ReplacementChar, unicode.In(r, unicode.Cc, unicode.Cf, unicode.Co):
			return -1
		}
		return r
	}, s)
}

// formula typesets a species; a name that is none stands as it is, cleaned.
func formula(name string) string { return pretty(clean(name)) }

// formulas finds what may be a species inside a sentence: with a charge, or
// with a digit in it.
var formulas = regexp.MustCompile(`[A-Z(\[][A-Za-z0-9()\[\]·]*\^[0-9]*[+-]|\be\^-|\bE0'|\b[A-Z][A-Za-z]*[0-9][A-Za-z0-9()]*`)

// typeset writes the formulas in a sentence with raised charges and lowered
// counts.
func typeset(s string) string {
	return formulas.ReplaceAllStringFunc(clean(s), func(x string) string {
		switch {
		case x == "E0'":
			return "E°′"
		case x == "e^-":
			return "e⁻"
		case !strings.Contains(x, "^"):
			return substance(x)
		case x[0] == '(' && strings.Count(x, "(") > strings.Count(x, ")"):
			return "(" + formula(x[1:])
		}
		return formula(x)
	})
}

// substance typesets a word that is a compound of two elements or more; V0 and
// A4 are none.
func substance(word string) string {
	sp, err := chem.ParseSpecies(word)
	if err != nil || len(sp.Elements) < 2 {
		return word
	}
	return sp.Unicode()
}

// equation typesets a reaction as written.
func equation(s string) string { return strings.ReplaceAll(typesetReaction(s), " = ", " ⇌ ") }

// rounded rounds u to two significant figures and x to the same place, with a
// true minus sign. Without an uncertainty x has six significant figures.
func rounded(x, u float64) (xText, uText string) {
	if !(u > 0) || math.IsInf(u, 0) || math.IsNaN(x) || math.IsInf(x, 0) {
		return plain(x, 6), ""
	}
	xText, uText = uncertainty.Round(x, u)
	return minus(xText), uText
}

// plain writes x with that many significant figures; a dash where there is no
// number.
func plain(x float64, figures int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "–"
	}
	return minus(strconv.FormatFloat(x, 'g', figures, 64))
}

// twoFigures writes an uncertainty or a noise with two significant figures, as
// a plain decimal.
func twoFigures(u float64) string {
	if !(u > 0) || math.IsInf(u, 0) {
		return plain(u, 2)
	}
	_, text := uncertainty.Round(u, u)
	return minus(text)
}

func minus(s string) string { return strings.ReplaceAll(s, "-", "−") }

// plusMinus is "25.0012 ± 0.0034".
func plusMinus(x, u float64) string {
	a, b := rounded(x, u)
	if b == "" {
		return a
	}
	return a + " ± " + b
}

// symbol is what a result is called: c(Fe²⁺), w(Fe).
func symbol(r assay.Result) string {
	if r.Name == assay.EndPoint {
		return r.Name
	}
	if r.Unit == "mol/L" {
		return "c(" + formula(r.Name) + ")"
	}
	if r.Working != nil {
		return contentSymbol(r)
	}
	if strings.HasPrefix(r.Unit, "%") {
		return "w(" + formula(strings.TrimSpace(strings.Trim(r.Name, "% "))) + ")"
	}
	return typeset(r.Name)
}

// unitText is the unit as it stands after a number.
func unitText(r assay.Result) string {
	return strings.Replace(r.Unit, "% w/w", "%", 1)
}

// over is a symbol over its unit, for the head of a column: "u/mL", "u/(mol/L)".
func over(symbol, unit string) string {
	if strings.Contains(unit, "/") {
		unit = "(" + unit + ")"
	}
	return symbol + "/" + unit
}

// expanded is "0.05000 ± 0.00012 mol/L".
func expanded(r assay.Result) string { return plusMinus(r.Value, r.Expanded()) + " " + unitText(r) }

// interval says what the ± of expanded is: "k = 2, 95 %".
func interval(r assay.Result) string {
	if !(r.Expanded() > 0) {
		return "no uncertainty known"
	}
	text := fmt.Sprintf("k = %s, 95 %%", strconv.FormatFloat(math.Round(r.Coverage*100)/100, 'f', -1, 64))
	if r.Freedom < 200 {
		text += ", " + degrees(r.Freedom)
	}
	return text
}

// methodTitle is the title of a method inside a sentence.
func methodTitle(e *assay.Evaluation, name string) string {
	for _, m := range e.Methods {
		if m.Name == name {
			return inSentence(m.Title)
		}
	}
	return name
}

func inSentence(title string) string {
	if title == "" || strings.HasPrefix(title, "Gran") {
		return title
	}
	return strings.ToLower(title[:1]) + title[1:]
}

// rms is the root mean square of the residuals over the standard deviation
// each should have: near 1 where model and noise are right.
func rms(f *fit.Result) float64 {
	sum, n := 0.0, 0
	for _, q := range f.Residuals {
		if x := q.Reduced; !math.IsNaN(x) && !math.IsInf(x, 0) {
			sum, n = sum+x*x, n+1
		}
	}
	return math.Sqrt(sum / float64(n))
}

// valueUnit is what stands after a reading: " mV", or "" for pH and pIon.
func valueUnit(k curve.Kind) string {
	if k == curve.Potential {
		return " mV"
	}
	return ""
}

// residualWords sums up the fit's residuals.
func residualWords(f *fit.Result) string {
	scale, _ := shown(f.Kind)
	unit := valueUnit(f.Kind)
	how := "as the setup states"
	if f.Estimated {
		how = "estimated from the residuals"
	}
	return fmt.Sprintf("%d readings, %d degrees of freedom. Residuals are %s times what the noise makes them, as root mean square; noise of a reading %s%s, %s; of a volume %s mL. Probability of as few changes of sign by chance: %s %%.%s",
		f.Points, f.Freedom, twoFigures(rms(f)), twoFigures(f.Noise.Value*scale), unit, how, twoFigures(f.Noise.Volume*1e3), twoFigures(100*f.RunsP), slopeNote(f))
}

// slopeNote warns that fitted potentials stand before the fitted slope.
func slopeNote(f *fit.Result) string {
	potential, slope := false, false
	for _, q := range f.Estimates {
		potential = potential || q.Kind == titration.CouplePotential
		slope = slope || q.Kind == titration.SlopeFraction
	}
	if potential && slope {
		return " The potentials here are the model's, before the electrode's slope; what the electrode shows is under formal potentials."
	}
	return ""
}

// parameterText is a row of the table of parameters; litres become mL.
func parameterText(q fit.Estimate) (name, value, u, unit string) {
	x, ux := q.Shown(q.Value, q.StdUnc)
	unit = q.Unit
	switch unit {
	case "L":
		x, ux, unit = x*1e3, ux*1e3, "mL"
	case "":
		unit = "1"
	}
	value, u = rounded(x, ux)
	return typeset(q.Name), value, u, unit
}

// doubts joins what to doubt about a run: its own warnings and those of the
// recommended method, each once.
func doubts(e *assay.Evaluation) []string {
	list := both(e.Warnings)
	if e.Recommended >= 0 {
		list = both(list, e.Methods[e.Recommended].Warnings)
		for _, p := range e.EquivalencePoints {
			list = both(list, p.Warnings)
		}
	}
	return once(list)
}

func once(list []string) []string {
	seen := map[string]bool{}
	var out []string
	for _, s := range list {
		if s != "" && !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	return out
}

// used lists what the evaluation took from the setup, as pairs of a name and
// what it is.
func used(s *setup.Setup) [][2]string {
	if s == nil {
		return nil
	}
	var list [][2]string
	add := func(name, text string) { list = append(list, [2]string{name, text}) }
	for _, r := range s.Reactions {
		text := r.Kind + " " + plain(r.Value, 10)
		if r.Unit != "" {
			text += " " + r.Unit
		}
		if r.Medium != "" {
			text += " in " + r.Medium
		}
		source := r.Source
		if source == "" {
			source = "the setup file"
		}
		add(equation(r.Equation), text+"; from "+source)
	}
	if e := s.Electrode; e.Indicator != "" {
		add("electrode", e.Indicator+" against "+referenceWords(e))
	}
	if s.Temperature > 0 {
		add("temperature", plain(math.Round(s.Temperature.Celsius()*1e6)/1e6, 6)+" °C")
	}
	if v := s.Flask.Volume; v.Float() > 0 {
		add("volume in the flask", quantity(v, 1e3)+" mL")
	}
	for _, c := range s.Burette.Contents {
		add("titrant", formula(c.Species)+", "+quantity(c.Conc, 1)+" mol/L")
	}
	if b := s.Blank; b.Float() != 0 || b.U > 0 {
		add("blank", quantity(b, 1e3)+" mL")
	}
	return list
}

func referenceWords(e setup.Electrode) string {
	text := e.Reference
	if text == "" {
		return "a reference that is not named"
	}
	if text == "SHE" {
		return "the standard hydrogen electrode"
	}
	return text + ", " + plusMinus(e.ReferenceV, e.ReferenceU) + " V against the standard hydrogen electrode"
}

// quantity is a value of the setup with its standard uncertainty, times scale.
func quantity(v setup.Value, scale float64) string {
	if v.U > 0 {
		return plusMinus(v.Float()*scale, v.U*scale)
	}
	return plain(v.Float()*scale, 10)
}

// badCellWords is "row 7, column E (mV): "34O": reason".
func badCellWords(b curve.BadCell) string {
	text := b.String()
	if b.Kept {
		text += " (kept as found)"
	}
	return text
}

// typesetReaction typesets a reaction, or leaves it as it stands.
func typesetReaction(s string) string {
	r, err := chem.ParseReaction(s)
	if err != nil {
		return typeset(s)
	}
	return r.Unicode()
}

// A group is what several methods say alike.
type group struct{ titles, text string }

// refusals lists why methods refuse, each reason once.
func refusals(e *assay.Evaluation) []group {
	var list []group
	for _, m := range e.Methods {
		if len(m.Points) == 0 {
			list = addTo(list, m.Title, m.Refused)
		}
	}
	return list
}

// methodWarnings lists those of methods other than the recommended one, whose
// warnings stand under the result.
func methodWarnings(e *assay.Evaluation) []group {
	var list []group
	for i, m := range e.Methods {
		if i == e.Recommended {
			continue
		}
		texts := m.Warnings
		for _, p := range m.Points {
			texts = both(texts, p.Warnings)
		}
		for _, w := range once(texts) {
			list = addTo(list, m.Title, w)
		}
	}
	return list
}

func addTo(list []group, title, text string) []group {
	for i := range list {
		if list[i].text == text {
			list[i].titles += "; " + inSentence(title)
			return list
		}
	}
	return append(list, group{title, text})
}

// bare is a value of the setup for use in a formula: rounded to its
// uncertainty, which is left out.
func bare(v setup.Value, scale float64) string {
	if v.U > 0 {
		x, _ := rounded(v.Float()*scale, v.U*scale)
		return x
	}
	return plain(v.Float()*scale, 10)
}
