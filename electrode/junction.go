package electrode

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"meniscus/unit"
)

// junctionSteps are the standard uncertainties of the liquid-junction
// potential against a KCl bridge by the concentration of strong acid: common
// practice, 2 to 10 mV, from memory. Hydrogen ions, five times as mobile as
// the rest, make the junction; so does hydroxide, about half as much.
var junctionSteps = []struct {
	upTo       float64 // mol/L
	millivolts float64
	words      string
}{
	{0.01, 2, "near neutral or dilute"},
	{0.1, 3, "up to 0.1 mol/L strong acid or 0.2 mol/L base"},
	{1, 5, "up to 1 mol/L strong acid or 2 mol/L base"},
	{4, 7, "up to 4 mol/L strong acid or 8 mol/L base"},
}

const (
	strongestJunction = 10 // mV, above the last step
	unknownJunction   = 5  // mV, where the medium says nothing
)

// mediumParts weighs what a medium contains by how much strong acid it makes
// at the junction; perNormal is the mol/L in one equivalent per litre.
var mediumParts = []struct {
	names             string
	weight, perNormal float64
}{
	{"h2so4 sulfuric sulphuric", 1, 0.5},
	{"hcl hydrochloric", 1, 1},
	{"hclo4 perchloric", 1, 1},
	{"hno3 nitric", 1, 1},
	{"hbr hydrobromic", 1, 1},
	{"h3po4 phosphoric", 0.1, 1. / 3},
	{"ch3cooh acetic", 0.01, 1},
	{"naoh koh hydroxide", 0.5, 1},
	{"kcl nacl nano3 kno3 na2so4 k2so4 buffer water neutral", 0, 1},
}

var (
	mediumSplit = regexp.MustCompile(`\s*(?:\+|;|,\s|\band\b|\bwith\b)\s*`)
	mediumConc  = regexp.MustCompile(`([0-9]*\.?[0-9]+)\s*(mol/l|mol/dm3|mmol/l|molar|mm|m|n)(?:[^a-z0-9/]|$)`)
)

// JunctionUncertainty returns a standard uncertainty for the liquid-junction
// potential between a solution such as "1 M H2SO4 + 0.5 M H3PO4" and a KCl
// bridge, 2 to 10 mV by strength of acid, and how it was chosen. A medium that
// cannot be read gives 5 mV and a note that says so. A shift of this size
// belongs in the budget of a formal potential; it does not move an end point.
func JunctionUncertainty(medium string) (u unit.Potential, note string) {
	s := normal(medium)
	acid, read := 0.0, false
	for _, part := range mediumSplit.Split(s, -1) {
		c, ok := acidity(part)
		acid, read = acid+c, read || ok
	}
	mv, words := float64(unknownJunction), fmt.Sprintf("medium %q not recognised, a middling value", medium)
	if read {
		mv, words = junctionStep(acid)
	}
	note = fmt.Sprintf("junction potential: %g mV by common practice (%s)", mv, words)
	if strings.Contains(s, "clo4") || strings.Contains(s, "perchlor") {
		note += "; perchlorate precipitates KClO4 in a KCl bridge, use one of NaCl or NH4NO3"
	}
	return unit.Potential(mv) * unit.Millivolt, note
}

func junctionStep(acid float64) (millivolts float64, words string) {
	for _, step := range junctionSteps {
		if acid <= step.upTo {
			return step.millivolts, step.words
		}
	}
	return strongestJunction, "above 4 mol/L strong acid"
}

// acidity reads one part of a medium, in mol/L of strong acid.
func acidity(part string) (c float64, ok bool) {
	list := plainWords.FindAllString(part, -1)
	for _, row := range mediumParts {
		for _, name := range strings.Fields(row.names) {
			if !containsAll(list, []string{name}) {
				continue
			}
			m := mediumConc.FindStringSubmatch(part)
			if m == nil {
				if strings.Contains(part, "conc") {
					return row.weight * 10, true
				}
				return 0, row.weight == 0
			}
			v, err := strconv.ParseFloat(m[1], 64)
			if err != nil {
				return 0, false
			}
			return row.weight * v * factor(m[2], row.perNormal), true
		}
	}
	return 0, false
}

func factor(unitName string, perNormal float64) float64 {
	switch unitName {
	case "n":
		return perNormal
	case "mm", "mmol/l":
		return 1e-3
	}
	return 1
}
