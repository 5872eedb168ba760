// Package electrode knows the reference electrodes, check solutions and glass
// electrodes of a titration: potentials against the standard hydrogen
// electrode by temperature, with what is uncertain about them. It knows
// nothing of the solution being titrated.
package electrode

import (
	"fmt"
	"math"
	"strings"

	"meniscus/unit"
)

// A Reference is a reference electrode: its potential against the standard
// hydrogen electrode (SHE), where that comes from and how well it is known.
// References lists those known by name; FindReference also makes one from a
// potential written by the user.
//
// The potential at temperature t is At25 plus the change from 25 °C to t of
// Table, or of PerKelvin if there is no table. Where textbook and table differ
// at 25 °C the textbook value rules and the table is shifted to it.
type Reference struct {
	Name      string         // such as "Ag/AgCl, 3 mol/L KCl"
	At25      unit.Potential // against SHE at 25 °C
	Source    string         // of At25
	Origin    Origin         // of At25
	Table     []Point        // ascending in temperature, or nil
	PerKelvin float64        // V/K, used without a Table; 0 with Fixed false means not known
	Shape     string         // source of Table or PerKelvin, with its origin
	Others    []Other        // what other sources say
	Fixed     bool           // the same at every temperature, by definition or by the user

	stated  bool           // the user gave an uncertainty
	given   unit.Potential // that uncertainty
	user    bool           // a potential the user wrote
	couple  couple
	salt    string  // filling, in lower case
	filling float64 // mol/L, saturated for saturated
}

// Origin says whether a number was read in its source or written from memory.
type Origin string

// The origins.
const (
	Read   Origin = "read"
	Memory Origin = "from memory"
)

// A Point is one row of a table by temperature.
type Point struct{ Celsius, Millivolts float64 }

// An Other is a value for the same electrode from another source.
type Other struct {
	Point
	Source string
	Origin Origin
}

// How the uncertainty of a reference is made up, in V and V/K. Individual
// electrodes of one kind agree to about 1 mV (from memory). Beyond the table,
// and for an electrode whose temperature coefficient is not known, it grows
// with each kelvin: coefficients of the known electrodes lie between -1.0 and
// -0.1 mV/K and change by less than 0.3 mV/K with temperature.
const (
	electrodeScatter = 1e-3
	beyondTable      = 0.3e-3
	noCoefficient    = 0.6e-3
)

// lowEnd and highEnd bound, in °C, the use of PerKelvin.
const lowEnd, highEnd = 10, 40

// Potential returns the potential of r against SHE at t, one standard
// uncertainty, and a note where a chemist should know more: t is outside the
// table, no temperature coefficient is known, or sources differ. A temperature
// that is not above 0 K gives NaN.
//
// The standard uncertainty combines 1 mV between electrodes of one kind with
// the largest departure of another source, taken as the half-width of a
// rectangular distribution (GUM 4.3.7, from memory). SHE has none.
func (r Reference) Potential(t unit.Temperature) (e, u unit.Potential, note string) {
	if !(t > 0) || math.IsInf(float64(t), 0) {
		nan := unit.Potential(math.NaN())
		return nan, nan, fmt.Sprintf("%s: %v K is not a temperature above 0 K", r.Name, float64(t))
	}
	if r.Fixed {
		return r.fixed()
	}
	c := t.Celsius()
	e = unit.Potential(r.at(c))
	rate, remark := r.growth(c)
	notes := make([]string, 0, 2)
	if remark != "" {
		notes = append(notes, r.Name+": "+remark)
	}
	if s := r.differences(); s != "" {
		notes = append(notes, r.Name+": "+s)
	}
	return e, unit.Potential(math.Hypot(r.spread(), rate)), strings.Join(notes, "; ")
}

func (r Reference) fixed() (e, u unit.Potential, note string) {
	switch {
	case r.user && !r.stated:
		note = r.Name + ": used at every temperature; it was given without an uncertainty, 0 is assumed"
	case r.user:
		note = r.Name + ": used at every temperature"
	}
	return r.At25, r.given, note
}

// at returns the potential in V at c °C.
func (r Reference) at(c float64) float64 {
	if len(r.Table) == 0 {
		return float64(r.At25) + r.PerKelvin*(c-25)
	}
	return float64(r.At25) + (interpolate(r.Table, c)-interpolate(r.Table, 25))*1e-3
}

// growth returns what the distance from the table adds to the uncertainty, in
// V, and the remark that goes with it.
func (r Reference) growth(c float64) (float64, string) {
	lo, hi := float64(lowEnd), float64(highEnd)
	if n := len(r.Table); n > 0 {
		lo, hi = r.Table[0].Celsius, r.Table[n-1].Celsius
	} else if r.PerKelvin == 0 {
		if math.Abs(c-25) < 0.05 {
			return 0, ""
		}
		return noCoefficient * math.Abs(c-25), fmt.Sprintf("known at 25 °C only, used unchanged at %.4g °C", c)
	}
	// Celsius to kelvin and back leaves 1e-13 °C.
	beyond := math.Max(lo-c, c-hi)
	if beyond < 1e-6 {
		return 0, ""
	}
	return beyondTable * beyond, fmt.Sprintf("%.4g °C is outside %g to %g °C, extrapolated", c, lo, hi)
}

// spread is the standard uncertainty in V at a temperature of the table.
func (r Reference) spread() float64 {
	worst := 0.0
	for _, o := range r.Others {
		worst = math.Max(worst, math.Abs(o.Millivolts*1e-3-r.at(o.Celsius)))
	}
	return math.Hypot(electrodeScatter, worst/math.Sqrt(3))
}

// differences tells which sources depart by half a millivolt or more.
func (r Reference) differences() string {
	var list []string
	for _, o := range r.Others {
		used := r.at(o.Celsius) * 1e3
		if math.Abs(o.Millivolts-used) >= 0.5 {
			list = append(list, fmt.Sprintf("%s (%s) has %.4g mV at %g °C where %.4g mV is used",
				o.Source, o.Origin, o.Millivolts, o.Celsius, used))
		}
	}
	if list == nil {
		return ""
	}
	return "sources differ: " + strings.Join(list, ", ")
}

// interpolate reads a table of at least two rows by straight lines. Outside it
// the line through the first and last row continues from the nearer of them.
func interpolate(table []Point, c float64) float64 {
	first, last := table[0], table[len(table)-1]
	mean := (last.Millivolts - first.Millivolts) / (last.Celsius - first.Celsius)
	if c <= first.Celsius {
		return first.Millivolts + mean*(c-first.Celsius)
	}
	for i := 1; i < len(table); i++ {
		if a, b := table[i-1], table[i]; c <= b.Celsius {
			return a.Millivolts + (b.Millivolts-a.Millivolts)*(c-a.Celsius)/(b.Celsius-a.Celsius)
		}
	}
	return last.Millivolts + mean*(c-last.Celsius)
}

// Convert returns the potential against to of an electrode that shows e
// against from at t, the standard uncertainty that the two references bring,
// and their notes. Between equal references e is unchanged and u is 0.
func Convert(e unit.Potential, from, to Reference, t unit.Temperature) (v, u unit.Potential, notes []string) {
	if from.Name == to.Name && from.At25 == to.At25 {
		return e, 0, nil
	}
	eFrom, uFrom, noteFrom := from.Potential(t)
	eTo, uTo, noteTo := to.Potential(t)
	for _, n := range []string{noteFrom, noteTo} {
		if n != "" {
			notes = append(notes, n)
		}
	}
	return e + eFrom - eTo, unit.Potential(math.Hypot(float64(uFrom), float64(uTo))), notes
}

// NernstSlope returns RT ln 10/(nF), the change of potential for a tenfold
// change of activity in an n-electron couple at t. R and F follow from the
// defining constants of the SI. It is negative for negative n and infinite for
// n = 0.
func NernstSlope(n int, t unit.Temperature) unit.Potential {
	return unit.Potential(unit.GasConstant * float64(t) * math.Ln10 / (float64(n) * unit.Faraday))
}
