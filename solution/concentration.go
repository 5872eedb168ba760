package solution

import (
	"fmt"
	"math"

	"meniscus/chem"
	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/volumetric"
)

// BalanceLinearity is the half-width, in g, that one reading of an analytical
// balance may be off by; a mass by difference has it twice (the balance of
// QUAM:2012, example A2).
const BalanceLinearity = 0.00015

// byDifference is the standard uncertainty of a mass by difference, g: two
// rectangular readings.
var byDifference = BalanceLinearity * math.Sqrt(2.0/3)

// A Weighed is a solution as it was made.
type Weighed struct {
	Mass      unit.Mass
	MassU     unit.Mass // standard uncertainty; 0 takes BalanceLinearity twice
	Purity    float64   // mass fraction; 0 is 1
	PurityU   float64   // standard uncertainty
	MolarMass chem.MolarMass
	PerUnit   float64 // of the species, in one formula unit; 0 is 1
	Density   float64 // of the crystal, g/mL; 0 leaves buoyancy out of the budget
	Volume    unit.Volume
	VolumeU   unit.Volume // standard uncertainty of the flask's mark; 0 takes class A
	Fill      unit.Volume // standard deviation of filling; 0 takes 0.02 % of the volume
	Warm      float64     // half-width of the temperature about 20 °C in K; 0 takes 4
}

// Concentration returns the concentration of a solution by what was really
// weighed. Buoyancy is not corrected: what the correction would be counts as
// a half-width.
func (w Weighed) Concentration() (*uncertainty.Budget, error) {
	if !(w.Mass > 0) || !(w.Volume > 0) || !(w.MolarMass.Value > 0) {
		return nil, fmt.Errorf("concentration of a solution: mass, volume and molar mass must be above 0")
	}
	if w.VolumeU == 0 {
		limit, err := volumetric.FindLimit(volumetric.Flask, w.Volume, 0, "A", "")
		if err != nil {
			return nil, fmt.Errorf("flask: %w", err)
		}
		if w.VolumeU, err = limit.StdUnc(""); err != nil {
			return nil, err
		}
	}
	if w.Fill == 0 {
		w.Fill = fill * w.Volume
	}
	if w.Warm == 0 {
		w.Warm = 4
	}
	v := float64(w.Volume)
	m := uncertainty.Model{
		Title: "concentration by mass", Measurand: "c", Unit: "mol/L",
		Equations: "c = n * m * B * P / (M * V)\nV = V_flask + V_fill + V_T",
		Inputs: append(weighedInputs(w.Mass, w.MassU, w.Purity, w.PurityU, w.MolarMass, w.PerUnit, w.Density),
			input("V_flask", "L", "mark of the flask, class A", v, float64(w.VolumeU)),
			input("V_fill", "L", "filling to the mark", 0, float64(w.Fill)),
			uncertainty.Input{
				Name: "V_T", Unit: "L", Note: "temperature",
				Stated: uncertainty.Stated{Shape: uncertainty.Rectangular, Width: v * w.Warm * volumetric.WaterExpansion},
			}),
	}
	return m.Propagate()
}

// Together is the solution of several flasks that were made alike and poured
// together: one flask filled again and again, so that its mark is off by the same
// each time, while masses and fillings differ. list must not be empty.
func Together(list []Weighed) Weighed {
	all := list[0]
	n := float64(len(list))
	var mass, square float64
	for _, w := range list {
		mass += float64(w.Mass)
		u := float64(w.MassU)
		if u == 0 {
			u = byDifference
		}
		square += u * u
	}
	all.Mass, all.MassU = unit.Mass(mass/n), unit.Mass(math.Sqrt(square)/n)
	if all.Fill == 0 {
		all.Fill = fill * all.Volume
	}
	all.Fill /= unit.Volume(math.Sqrt(n))
	return all
}

func input(name, unit, note string, x, u float64) uncertainty.Input {
	return uncertainty.Input{Name: name, Unit: unit, Note: note, X: x, Stated: uncertainty.Stated{Width: u}}
}

func weighedInputs(mass, massU unit.Mass, purity, purityU float64, molar chem.MolarMass, perUnit, density float64) []uncertainty.Input {
	if massU == 0 {
		massU = unit.Mass(byDifference)
	}
	if purity == 0 {
		purity = 1
	}
	if perUnit == 0 {
		perUnit = 1
	}
	buoyancy := uncertainty.Input{Name: "B", Unit: "1", Note: "buoyancy, not corrected", X: 1}
	if density > 0 {
		off := volumetric.Buoyancy(1000*density, volumetric.StandardAir, volumetric.WeightsDensity) - 1
		buoyancy.Stated = uncertainty.Stated{Shape: uncertainty.Rectangular, Width: math.Abs(off)}
	}
	return []uncertainty.Input{
		input("n", "1", "ratio", perUnit, 0),
		input("m", "g", "mass", float64(mass), float64(massU)),
		buoyancy,
		input("P", "1", "purity", purity, purityU),
		input("M", "g/mol", "molar mass", float64(molar.Value), float64(molar.StdUnc)),
	}
}
