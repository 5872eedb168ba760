package electrode

import (
	"fmt"
	"math"
	"strings"

	"meniscus/unit"
)

// A CheckSolution has a known redox potential, to test an electrode with.
type CheckSolution struct {
	Name        string
	Composition string
	Table       []Point        // against SHE, ascending; one row where only that is known
	Tolerance   unit.Potential // half-width within which electrodes in order agree
	Source      string
	Origin      Origin
	Note        string // what else is said of it, or ""
}

// CheckSolutions lists the check solutions in the order users are shown them.
// The slice is shared: do not change it.
var CheckSolutions = []CheckSolution{
	{
		Name:        "ferrous-ferric",
		Composition: "per litre 39.21 g (NH4)2Fe(SO4)2·6H2O, 48.22 g NH4Fe(SO4)2·12H2O, 56.2 mL concentrated H2SO4",
		Table:       []Point{{25, 675}}, Tolerance: 0.010,
		Source: "T. S. Light, Anal. Chem. 44 (1972) 1038; ASTM D1498", Origin: Memory,
		Note: "procedures allow 10 to 30 mV",
	},
	{
		Name: "quinhydrone, pH 4", Composition: "buffer of pH 4.00 saturated with quinhydrone, fresh",
		Table: []Point{{20, 470}, {25, 462}, {30, 454}}, Tolerance: 0.010,
		Source: "ASTM D1498", Origin: Memory,
	},
	{
		Name: "quinhydrone, pH 7", Composition: "buffer of pH 7.00 saturated with quinhydrone, fresh",
		Table: []Point{{20, 295}, {25, 285}, {30, 275}}, Tolerance: 0.010,
		Source: "ASTM D1498", Origin: Memory,
	},
	{
		Name: "hexacyanoferrate", Composition: "K4Fe(CN)6, K3Fe(CN)6 and KCl",
		Table: []Point{{10, 461}, {25, 428}, {40, 395}}, Tolerance: 0.010,
		Source: "Field determination of Eh, CRC/Taylor & Francis: 428 mV - 2.2 mV/K (t - 25 °C)", Origin: Read,
		Note: "Nordstrom (1977, from memory) has 430.3 mV and -2.5 mV/K",
	},
}

// Reading returns what a noble-metal electrode against ref should read in c at
// t, the standard uncertainty that ref brings, and a note where a chemist
// should know more, as Reference.Potential does. Tolerance is not part of u.
func (c CheckSolution) Reading(ref Reference, t unit.Temperature) (e, u unit.Potential, note string) {
	eRef, u, note := ref.Potential(t)
	notes := make([]string, 0, 3)
	for _, s := range []string{note, c.Note, c.outside(t.Celsius())} {
		if s != "" {
			notes = append(notes, s)
		}
	}
	mv := c.Table[0].Millivolts
	if len(c.Table) > 1 {
		mv = interpolate(c.Table, t.Celsius())
	}
	return unit.Potential(mv*1e-3) - eRef, u, strings.Join(notes, "; ")
}

func (c CheckSolution) outside(celsius float64) string {
	lo, hi := c.Table[0].Celsius, c.Table[len(c.Table)-1].Celsius
	switch {
	case math.Max(lo-celsius, celsius-hi) < 1e-6:
		return ""
	case lo == hi:
		return fmt.Sprintf("%s: known at %g °C only, used unchanged at %.4g °C", c.Name, lo, celsius)
	}
	return fmt.Sprintf("%s: %.4g °C is outside %g to %g °C, extrapolated", c.Name, celsius, lo, hi)
}
