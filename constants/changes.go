package constants

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"meniscus/chem"
)

// A ColourChange says where an indicator that follows a particle changes. One
// of its ways is given: a complex (LogK with PKa, or ByPH), a least
// concentration, a solid, or adsorption.
type ColourChange struct {
	Indicator string
	Particle  string
	LogK      Optional
	PKa       []float64
	ByPH      [][2]float64 // pH and pM of the change
	Least     float64      // mol/L
	Solid     string       // that brings the colour, the indicator being Least mol/L
	Adsorbs   bool         // not computed
	Flask     []string     // one of these, any if empty
	Burette   []string
	PH        [2]float64 // in which it serves; 0 and 0 if not limited
	Colours   [2]Shade   // without the particle and with it
	Source    Source
	Note      string
}

const changeColumns = "indicator | particle | log K | pKa | pM | c (mol/L) | solid | adsorbs | flask | burette | pH | " +
	"colour 1 | swatch 1 | colour 2 | swatch 2 | source | note"

// ColourChanges returns the changes, in the order of the table.
func ColourChanges() ([]ColourChange, error) {
	h, err := practice()
	return slices.Clone(h.changes), err
}

// Serves says whether the indicator is used at a pH; where that is not known,
// it is.
func (c ColourChange) Serves(ph float64) bool {
	return math.IsNaN(ph) || c.PH[0] == c.PH[1] || ph >= c.PH[0]-0.05 && ph <= c.PH[1]+0.05
}

// LogConditional is log10 of the conditional constant with the metal at a pH,
// the pM at which half of the indicator holds it; NaN where nothing is known.
//
// log K' = log K - log(1 + [H]/Ka,n + [H]^2/(Ka,n Ka,n-1) + ...), textbook relation.
func (c ColourChange) LogConditional(ph float64) float64 {
	if c.LogK.Known {
		alpha, term := 1.0, 1.0
		for _, pka := range slices.Backward(c.PKa) {
			term *= math.Pow(10, pka-ph)
			alpha += term
		}
		return c.LogK.Value - math.Log10(alpha)
	}
	for i := 1; i < len(c.ByPH); i++ {
		a, b := c.ByPH[i-1], c.ByPH[i]
		if ph >= a[0] && ph <= b[0] {
			return a[1] + (b[1]-a[1])*(ph-a[0])/(b[0]-a[0])
		}
	}
	return math.NaN()
}

func (h *habits) change(r record, s Source) error {
	c := ColourChange{
		Indicator: r.get("indicator"), Adsorbs: r.get("adsorbs") == "yes", Source: s, Note: r.get("note"),
		Colours: [2]Shade{{r.get("colour 1"), r.get("swatch 1")}, {r.get("colour 2"), r.get("swatch 2")}},
	}
	sp, err := chem.ParseSpecies(r.get("particle"))
	if err != nil {
		return r.fail("%v", err)
	}
	c.Particle = sp.Name
	if c.Solid = r.get("solid"); c.Solid != "" {
		if sp, err = chem.ParseSpecies(c.Solid); err != nil {
			return r.fail("%v", err)
		}
		c.Solid = sp.Name
	}
	if c.LogK, err = r.number("log K"); err != nil {
		return err
	}
	least, err := r.number("c (mol/L)")
	if err != nil {
		return err
	}
	c.Least = least.Value
	if c.Flask, err = speciesList(r, "flask"); err != nil {
		return err
	}
	if c.Burette, err = speciesList(r, "burette"); err != nil {
		return err
	}
	if err := c.numbers(r); err != nil {
		return err
	}
	ways := 0
	for _, given := range []bool{c.LogK.Known, len(c.ByPH) > 0, c.Least > 0, c.Adsorbs} {
		if given {
			ways++
		}
	}
	if ways != 1 || !isSwatch(c.Colours[0].Swatch) || !isSwatch(c.Colours[1].Swatch) {
		return r.fail("an indicator needs one of log K, pM, c or adsorbs, and two colours")
	}
	h.changes = append(h.changes, c)
	return nil
}

// numbers reads the columns that hold several.
func (c *ColourChange) numbers(r record) error {
	var err error
	if c.PKa, err = floats(r, "pKa", ";"); err != nil {
		return err
	}
	for _, f := range splitFlags(r.get("pM")) {
		x, err1 := strconv.ParseFloat(f.key, 64)
		y, err2 := strconv.ParseFloat(f.why, 64)
		if n := len(c.ByPH); err1 != nil || err2 != nil || n > 0 && x <= c.ByPH[n-1][0] {
			return r.fail("pM reads pH: pM with rising pH, found %q", f.key+": "+f.why)
		}
		c.ByPH = append(c.ByPH, [2]float64{x, y})
	}
	span, err := floats(r, "pH", " to ")
	if err != nil || len(span) != 0 && len(span) != 2 {
		return r.fail("pH reads 6.5 to 10, found %q", r.get("pH"))
	}
	copy(c.PH[:], span)
	return nil
}

func floats(r record, column, between string) ([]float64, error) {
	var list []float64
	for part := range strings.SplitSeq(r.get(column), between) {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		x, err := strconv.ParseFloat(part, 64)
		if err != nil {
			return nil, r.fail("%s: %q is no number", column, part)
		}
		list = append(list, x)
	}
	return list, nil
}
