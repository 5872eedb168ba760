package report

import "meniscus/assay"

// A Line is one result of a document in words: what, and how much with its
// expanded uncertainty.
type Line struct{ What, Value, Note string }

// Lines lists the results of a document: the means of several runs, or the
// results of one, the content first.
func Lines(d Document) []Line {
	var list []Line
	if d.Determination != nil {
		for _, m := range d.Determination.Means {
			list = append(list, line(m.Result, "mean of the runs"))
		}
		return list
	}
	for _, e := range d.Evaluations {
		if e.Recommended < 0 {
			list = append(list, Line{What: "result", Value: "every method refuses"})
			continue
		}
		for _, r := range e.Contents {
			list = append(list, line(r, ""))
		}
		for _, r := range e.Concentrations {
			list = append(list, line(r, ""))
		}
		for _, p := range e.EquivalencePoints {
			v, u := rounded(inMillilitres(p.Volume), inMillilitres(p.StdUnc))
			list = append(list, Line{"V_e" + indexWords(len(e.EquivalencePoints), p.Order), v + " mL, u = " + u + " mL", inSentence(e.Methods[e.Recommended].Title)})
		}
		for _, r := range e.FormalPotentials {
			v, u := rounded(r.Value, r.StdUnc)
			list = append(list, Line{"E°′(" + typeset(r.Name) + ")", v + " V, u = " + u + " V", r.From})
		}
	}
	return list
}

func indexWords(n, order int) string {
	if n < 2 {
		return ""
	}
	return "," + string(rune('0'+order%10))
}

func line(r assay.Result, note string) Line {
	return Line{symbol(r), expanded(r), note}
}

// Doubts lists what to doubt about a document, each once.
func Doubts(d Document) []string {
	var list []string
	for _, e := range d.Evaluations {
		list = append(list, typesetAll(doubts(e))...)
	}
	return once(list)
}
