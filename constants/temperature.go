package constants

import (
	"fmt"
	"math"
	"slices"

	"meniscus/chem"
	"meniscus/unit"
)

// LnK returns the natural logarithm of the equilibrium constant of the
// reaction as written, at temperature t (K, above 0), and whether its change
// with temperature is known; if not, the potential, or the logarithm, holds as
// it stands. Potentials are n F E / (R t) with E against SHE, e^- on the left
// at the scale of SHE; a formal potential found at another pH is first brought
// to [H^+] = 1 mol/L. E changes by dE/dT, other constants by van 't Hoff's
// equation with a constant enthalpy. All are textbook relations.
func (row Row) LnK(t unit.Temperature) (lnK float64, changes bool) {
	if row.Kind.Redox() {
		n := -row.Reaction.Coefficient(chem.Electron).Float()
		e := row.Potential() + row.DEDT.Value*float64(t-row.Temperature)
		return n * unit.Faraday * e / (unit.GasConstant * float64(t)), row.DEDT.Known
	}
	lnK = row.Value * math.Ln10
	if row.Kind == PKa || row.Kind == PKsp || row.Kind == PKw {
		lnK = -lnK
	}
	h := row.Enthalpy.Value * 1e3 // J/mol
	return lnK - h/unit.GasConstant*(1/float64(t)-1/float64(row.Temperature)), row.Enthalpy.Known
}

// Potential returns the potential of a redox row in V at the row's
// temperature for [H^+] = 1 mol/L, or unit activity: the value itself unless
// the row says at: pH x, when m H^+ and n e^- on the left add
// (R T ln10 / F)(m/n) x. It is 0 for rows that are no potentials.
func (row Row) Potential() float64 {
	if !row.Kind.Redox() {
		return 0
	}
	n := row.Reaction.Coefficient(chem.Electron).Float()
	m := row.Reaction.Coefficient(chem.Proton).Float()
	step := unit.GasConstant * float64(row.Temperature) * math.Ln10 / unit.Faraday
	return row.Value + step*m/n*row.AtPH.Value
}

// A RangeError reports a temperature outside a table.
type RangeError struct {
	What              string
	Celsius, From, To float64
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("%s at %g °C: the table runs from %g to %g °C", e.What, e.Celsius, e.From, e.To)
}

// WaterPK returns pKw at infinite dilution at temperature t, by straight lines
// in 1/t between the rows of water.txt (0 to 60 °C, 5 °C apart). The lines are
// off by less than 0.001. Beyond the table: *RangeError.
func WaterPK(t unit.Temperature) (float64, error) {
	all, err := load()
	if err != nil {
		return 0, err
	}
	var x, y []float64
	for _, r := range all.rows {
		if r.Kind == PKw && r.Also == "" {
			x, y = append(x, float64(r.Temperature)), append(y, r.Value)
		}
	}
	i, err := bracket("pKw", x, float64(t))
	if err != nil {
		return 0, err
	}
	return between(1/x[i], 1/x[i+1], y[i], y[i+1], 1/float64(t)), nil
}

// DebyeHuckel returns A in (mol/L)^-1/2 and B in (mol/L)^-1/2 per angstrom of
// water at temperature t, by straight lines between the rows of activity.txt
// (0 to 60 °C). Beyond the table: *RangeError.
func DebyeHuckel(t unit.Temperature) (a, b float64, err error) {
	all, err := load()
	if err != nil {
		return 0, 0, err
	}
	x := make([]float64, len(all.debye))
	for i, r := range all.debye {
		x[i] = float64(r.t)
	}
	i, err := bracket("Debye-Hückel constants", x, float64(t))
	if err != nil {
		return 0, 0, err
	}
	p, q := all.debye[i], all.debye[i+1]
	return between(x[i], x[i+1], p.a, q.a, float64(t)), between(x[i], x[i+1], p.b, q.b, float64(t)), nil
}

// bracket returns i with x[i] <= t <= x[i+1].
func bracket(what string, x []float64, t float64) (int, error) {
	last := len(x) - 1
	if !(t >= x[0] && t <= x[last]) {
		return 0, &RangeError{what, t - unit.ZeroCelsius, x[0] - unit.ZeroCelsius, x[last] - unit.ZeroCelsius}
	}
	i, _ := slices.BinarySearch(x, t)
	return max(i-1, 0), nil
}

func between(x0, x1, y0, y1, x float64) float64 {
	return y0 + (y1-y0)*(x-x0)/(x1-x0)
}
