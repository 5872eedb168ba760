package chem

import (
	_ "embed"
	"fmt"
	"maps"
	"math"
	"strconv"
	"strings"

	"meniscus/unit"
)

//go:embed atomic_weights.txt
var weightsText string

// A Weight is the standard atomic weight of one element.
type Weight struct {
	Symbol, Name string
	Z            int
	Value        float64 // g/mol; 0 for elements without a standard atomic weight
	HalfWidth    float64 // g/mol: the number behind ± or in parentheses
	Low, High    float64 // g/mol: the interval found in nature; 0, 0 where none is stated
}

// Weights holds atomic weights by symbol.
type Weights map[string]Weight

var standardWeights, errWeights = parseWeights(weightsText)

// StandardWeights returns a copy of the standard atomic weights of 2021
// (CIAAW; the source is named in atomic_weights.txt), to look up or to change.
func StandardWeights() Weights { return maps.Clone(standardWeights) }

func parseWeights(text string) (Weights, error) {
	w := Weights{}
	for i, line := range strings.Split(text, "\n") {
		f := strings.Fields(line)
		if len(f) == 0 || f[0] == "#" {
			continue
		}
		if len(f) != 5 && len(f) != 7 {
			return nil, fmt.Errorf("atomic weights, line %d: %d columns", i+1, len(f))
		}
		z, err := strconv.Atoi(f[1])
		if err != nil {
			return nil, fmt.Errorf("atomic weights, line %d: %w", i+1, err)
		}
		var numbers [4]float64
		for j, s := range f[3:] {
			if s == "-" {
				continue
			}
			if numbers[j], err = strconv.ParseFloat(s, 64); err != nil {
				return nil, fmt.Errorf("atomic weights, line %d: %w", i+1, err)
			}
		}
		w[f[0]] = Weight{f[0], f[2], z, numbers[0], numbers[1], numbers[2], numbers[3]}
	}
	return w, nil
}

// StdUnc returns the standard uncertainty of the weight in g/mol. The stated
// number is taken as the half-width of a rectangular distribution, as
// Eurachem/CITAC CG 4 (QUAM:2012), example A2, does: u = HalfWidth/sqrt(3).
func (w Weight) StdUnc() float64 { return w.HalfWidth / math.Sqrt(3) }

// A MassTerm is what one element adds to a molar mass.
type MassTerm struct {
	Count  Ratio
	Weight Weight
	Mass   unit.MolarMass // Count times Weight.Value
	StdUnc unit.MolarMass // Count times Weight.StdUnc(): all atoms of an element err together
}

// A MolarMass is a molar mass and the steps that lead to it.
type MolarMass struct {
	Value  unit.MolarMass // g/mol
	StdUnc unit.MolarMass // g/mol, one standard uncertainty
	Terms  []MassTerm     // by symbol
}

// A WeightError says that a species has no molar mass.
type WeightError struct {
	Species Species
	Symbol  string // the element without a weight, "" if the species has no elements
}

func (e *WeightError) Error() string {
	if e.Symbol == "" {
		return "molar mass of " + e.Species.Name + ": it is not made of element symbols"
	}
	return "molar mass of " + e.Species.Name + ": " + e.Symbol + " has no standard atomic weight"
}

// MolarMass returns the molar mass by the standard atomic weights. The mass of
// electrons gained or lost (0.00055 g/mol each) is neglected. The error is a
// *WeightError, for labels, the electron and elements without a weight.
func (s Species) MolarMass() (MolarMass, error) {
	if errWeights != nil {
		return MolarMass{}, errWeights
	}
	return standardWeights.MolarMass(s)
}

// MolarMass returns the molar mass by the weights w. Uncertainties add up
// linearly over the atoms of one element, whose weight is the same number, and
// in quadrature over elements (QUAM:2012, example A2).
func (w Weights) MolarMass(s Species) (MolarMass, error) {
	if len(s.Elements) == 0 {
		return MolarMass{}, &WeightError{Species: s}
	}
	var m MolarMass
	variance := 0.0
	for _, e := range s.Elements {
		weight := w[e.Symbol]
		if weight.Value == 0 {
			return MolarMass{}, &WeightError{s, e.Symbol}
		}
		n := e.Count.Float()
		t := MassTerm{e.Count, weight, unit.MolarMass(n * weight.Value), unit.MolarMass(n * weight.StdUnc())}
		m.Terms = append(m.Terms, t)
		m.Value += t.Mass
		variance += float64(t.StdUnc * t.StdUnc)
	}
	m.StdUnc = unit.MolarMass(math.Sqrt(variance))
	return m, nil
}
