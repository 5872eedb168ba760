package setup

import (
	"fmt"
	"math"
	"strings"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/equilibrium"
)

// largestIonic is the ionic strength, mol/L, above which no model here can
// convert a constant.
const largestIonic = 1

// thermodynamic turns constants that hold at an ionic strength, products of
// concentrations, into constants of activities, with the model of the titration:
// log K = log K(I) + sum of coefficient times log gamma(I). Under ideal they
// stay as they are.
func (r *reader) thermodynamic(a equilibrium.Activity) error {
	if a.Model == equilibrium.Ideal {
		return nil
	}
	var converted, kept []string
	for i := range r.s.Reactions {
		rx := &r.s.Reactions[i]
		switch {
		case rx.ionic == 0:
		case rx.ionic <= largestIonic:
			for _, t := range rx.parsed.Terms {
				rx.lnK += t.Coefficient.Float() * math.Ln10 * logGamma(a, t.Species, rx.ionic)
			}
			converted = append(converted, fmt.Sprintf("%s (I = %g mol/L)", rx.Equation, rx.ionic))
		case !rx.FromTable:
			return r.fail([]any{"chemistry", i, "ionic strength"}, "%g mol/L is above %d mol/L, where the activity model cannot convert the constant of %s; give one for a lower ionic strength, or use activity: ideal", rx.ionic, largestIonic, rx.Equation)
		default:
			kept = append(kept, fmt.Sprintf("%s (I = %g mol/L)", rx.Equation, rx.ionic))
		}
	}
	if len(converted) > 0 {
		r.s.Notes = append(r.s.Notes, "converted to infinite dilution with the activity model: "+strings.Join(converted, "; "))
	}
	if len(kept) > 0 {
		r.s.Warnings = append(r.s.Warnings, "the constant holds at an ionic strength from which the activity model cannot convert it, and is used as it is: "+strings.Join(kept, "; "))
	}
	return nil
}

// logGamma returns log10 gamma by the models of equilibrium.Activity, whose
// documentation names the sources; an ion without a size takes 4.5 angstrom.
func logGamma(a equilibrium.Activity, sp chem.Species, ionic float64) float64 {
	if sp.Charge == 0 || sp.Name == chem.Electron || sp.Phase == chem.Solid {
		return 0
	}
	z2, root := float64(sp.Charge*sp.Charge), math.Sqrt(ionic)
	if a.Model == equilibrium.Davies {
		return -a.A * z2 * (root/(1+root) - 0.3*ionic)
	}
	size, ok, err := constants.Size(sp.Name)
	if err != nil || !ok {
		size = 4.5
	}
	return -a.A * z2 * root / (1 + a.B*size*root)
}
