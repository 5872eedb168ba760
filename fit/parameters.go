package fit

import (
	"meniscus/curve"
	"meniscus/titration"
)

// DefaultParameters returns what a regression of readings of this kind leaves
// free where nobody says otherwise: what is sought; for redox each couple's
// potential, which contains any offset; otherwise an offset of the electrode;
// and, unless it is fixed, the slope.
func DefaultParameters(t *titration.Titration, targets []Target, kind curve.Kind, fixSlope bool) []titration.Parameter {
	var list []titration.Parameter
	for _, x := range targets {
		sought := titration.FlaskConcentration
		if x.InBurette {
			sought = titration.BuretteConcentration
		}
		list = append(list, titration.Parameter{Kind: sought, Index: x.Species, Name: "c(" + x.Name + ")", Unit: "mol/L"})
	}
	if kind == curve.Potential && t.Cell.Sensor == titration.Inert {
		for i, c := range t.Couples {
			list = append(list, titration.Parameter{Kind: titration.CouplePotential, Index: i, Name: "E0'(" + c.Name + ")", Unit: "V"})
		}
	} else {
		u := "V"
		if kind != curve.Potential {
			u = ""
		}
		list = append(list, titration.Parameter{Kind: titration.Offset, Name: "offset", Unit: u})
	}
	if !fixSlope {
		list = append(list, titration.Parameter{Kind: titration.SlopeFraction, Name: "slope"})
	}
	return list
}
