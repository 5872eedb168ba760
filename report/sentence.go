package report

import (
	"fmt"

	"meniscus/assay"
)

// Sentence says what a document comes to: its first content, or else its first
// concentration or end point, with the uncertainty, the method, and how many
// doubts there are.
func Sentence(d Document) string {
	if q := d.Determination; q != nil && len(q.Means) > 0 {
		m := firstMean(q)
		return fmt.Sprintf("Mean of %d runs: %s%s.", len(m.Runs), told(m.Result), doubtCount(d))
	}
	for i, e := range d.Evaluations {
		if e.Recommended < 0 || d.blankRun(i) {
			continue
		}
		what := ""
		switch {
		case len(e.Contents) > 0:
			what = told(e.Contents[0])
		case len(e.Concentrations) > 0:
			what = told(e.Concentrations[0])
		case len(e.EquivalencePoints) > 0:
			what = typeset(pointWords(e, e.EquivalencePoints[0]))
		default:
			continue
		}
		if len(d.Evaluations) > 1 {
			what = "Run " + clean(d.runName(i)) + ": " + what
		}
		m := e.Methods[e.Recommended]
		by := ", by " + inSentence(m.Title)
		if len(m.Points) > 0 {
			by += fmt.Sprintf(" of %d readings", m.Points[0].Points)
		}
		if len(d.Evaluations) > 1 {
			by += "; the other runs stand below"
		}
		return what + by + doubtCount(d) + "."
	}
	return "No result: every method refuses, and says why."
}

// firstMean is that of a content, where there is one.
func firstMean(q *assay.Determination) assay.Mean {
	for _, m := range q.Means {
		for _, run := range q.Runs {
			for _, c := range run.Evaluation.Contents {
				if c.Name == m.Name && c.Unit == m.Unit {
					return m
				}
			}
		}
	}
	return q.Means[0]
}

func told(r assay.Result) string {
	return fmt.Sprintf("%s = %s (%s)", symbol(r), expanded(r), interval(r))
}

func doubtCount(d Document) string {
	n := 0
	for _, e := range d.Evaluations {
		n += len(doubts(e)) + len(pageFindings(e))
	}
	switch n {
	case 0:
		return ""
	case 1:
		return "; one doubt stands beside it"
	}
	return fmt.Sprintf("; %d doubts stand beside it", n)
}
