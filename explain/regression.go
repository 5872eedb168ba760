package explain

import (
	"fmt"
	"math"
	"strings"

	"meniscus/assay"
	"meniscus/fit"
	"meniscus/titration"
	"meniscus/working"
)

// regression says what was fitted and how the parameters hang together.
func (b *builder) regression(e *assay.Evaluation) {
	f := e.Fit
	if f == nil {
		return
	}
	b.add(working.Plain(fmt.Sprintf("The model of all balances and equilibria is laid through %d readings, so that the sum of the squared distances, in units of the noise, is least. %d parameters are free, which leaves %d degrees of freedom; the sum over these is %.3g, and near 1 where only noise is left.",
		f.Points, len(f.Estimates), f.Freedom, f.ChiSquare)))
	table := working.Table{Caption: working.P("What was fitted; concentrations are those that the model has in flask or burette, the blank not taken off"), Head: []working.Paragraph{working.P("parameter"), working.P("value"), working.P("u")}}
	for _, x := range f.Estimates {
		u := x.Unit
		if u == "" {
			u = "1"
		}
		value, unc := working.Figures(6).Number(x.Value, u), working.Said(x.StdUnc, "not known", u)
		if x.StdUnc > 0 && !math.IsInf(x.StdUnc, 0) {
			value, unc = rounded(x.Value, x.StdUnc, u)
		}
		table.Rows = append(table.Rows, []working.Paragraph{parameterName(x), working.P("@", value), working.P("@", unc)})
	}
	b.add(table)
	b.correlations(f)
}

// parameterName typesets the name of a parameter: that of a concentration and
// of a couple holds a species.
func parameterName(x fit.Estimate) working.Paragraph {
	_, of, ok := strings.Cut(strings.TrimSuffix(x.Name, ")"), "(")
	switch {
	case ok && (x.Kind == titration.FlaskConcentration || x.Kind == titration.BuretteConcentration):
		return working.P("c({" + of + "})")
	case ok && x.Kind == titration.CouplePotential:
		return working.P("E°′({" + of + "})")
	}
	return working.Plain(x.Name)
}

// correlations lists how far the readings can tell parameters apart.
func (b *builder) correlations(f *fit.Result) {
	n := len(f.Estimates)
	if len(f.Covariance) != n*n {
		return
	}
	table := working.Table{Caption: working.P("Correlations; near 1 or −1 the readings tell the two apart badly"), Head: []working.Paragraph{working.P("parameter"), working.P("with"), working.P("correlation")}}
	for i := range n {
		for j := range i {
			if d := math.Sqrt(f.Covariance[i*n+i] * f.Covariance[j*n+j]); d > 0 {
				table.Rows = append(table.Rows, []working.Paragraph{parameterName(f.Estimates[j]), parameterName(f.Estimates[i]), working.P("@", working.Decimals(3).Number(f.Covariance[i*n+j]/d, "1"))})
			}
		}
	}
	if len(table.Rows) > 0 {
		b.add(table)
	}
}

// fittedEnd is the equivalence volume of the fitted curve, from the fitted
// concentration where that gives it straight.
func (b *builder) fittedEnd(e *assay.Evaluation, m assay.Method, i int) {
	say := working.P("The equivalence volume of the fitted curve:")
	if e.Fit != nil && len(e.Concentrations) == 1 && len(m.Points) == 1 {
		c := e.Concentrations[0]
		if w := c.Way; w != nil && len(w.PerMole) == 1 && len(w.Reagents) == 0 && w.Titrant.Ions == 1 {
			per, ok := fractionOf(1 / w.PerMole[0])
			for _, x := range e.Fit.Estimates {
				if ok && x.Kind == titration.FlaskConcentration && x.Name == "c("+c.Name+")" {
					fitted := working.Symbol{Letter: "c", Sub: "fitted", Of: c.Name, Meaning: "the concentration of {" + c.Name + "} in the flask that was fitted", Value: working.Figures(6).Number(x.Value, "mol/L")}
					ct := working.Symbol{Letter: "c", Sub: "t", Of: w.Titrant.Species, Meaning: "the concentration of {" + w.Titrant.Species + "} in the burette", Value: concentrationOf(w.Titrant.Content)}
					b.found(append(say, working.Text(" where the titrant added is as much as the fitted concentration takes")), m, i, working.Over(per.times(working.Times(fitted, b.flaskVolume())), ct))
					return
				}
			}
		}
	}
	b.add(working.Display{Say: say, Expr: working.Relation{Left: bare(endSymbol(m, i)), Sign: "=", Right: endSymbol(m, i).Value}})
}
