package solution

import (
	"fmt"
	"math"

	"meniscus/chem"
	"meniscus/uncertainty"
	"meniscus/unit"
)

// A Standardisation is a weighed standard and the titrant that it took.
type Standardisation struct {
	Mass      unit.Mass
	MassU     unit.Mass // standard uncertainty; 0 takes BalanceLinearity twice
	Purity    float64   // 0 is 1
	PurityU   float64
	MolarMass chem.MolarMass
	PerUnit   float64 // of the titrant, that one formula unit takes
	Density   float64 // of the crystal, g/mL; 0 leaves buoyancy out of the budget

	MadeUp, MadeUpU   unit.Volume // flask for the standard; 0 if all of it was titrated
	Aliquot, AliquotU unit.Volume
	Volume, VolumeU   unit.Volume // of titrant, as read
	Blank, BlankU     unit.Volume // subtracted
	Repeatability     float64     // relative standard uncertainty of the whole procedure
}

// Amount returns the amount of the standard in what was titrated, in mol.
func (s Standardisation) Amount() unit.Amount {
	n := float64(s.Mass) / float64(s.MolarMass.Value)
	if s.Purity > 0 {
		n *= s.Purity
	}
	if s.MadeUp > 0 {
		n *= float64(s.Aliquot) / float64(s.MadeUp)
	}
	return unit.Amount(n)
}

// Concentration returns the concentration of the titrant.
func (s Standardisation) Concentration() (*uncertainty.Budget, error) {
	net := s.Volume - s.Blank
	switch {
	case !(s.Mass > 0) || !(s.MolarMass.Value > 0) || !(s.PerUnit > 0):
		return nil, fmt.Errorf("standardisation: mass, molar mass and ratio must be above 0")
	case !(net > 0) || math.IsInf(float64(net), 0):
		return nil, fmt.Errorf("standardisation: %g mL less the blank of %g mL leaves no titrant", s.Volume.Millilitres(), s.Blank.Millilitres())
	case (s.MadeUp > 0) != (s.Aliquot > 0):
		return nil, fmt.Errorf("standardisation: an aliquot needs the volume that the standard was made up to, and the reverse")
	case s.Aliquot > s.MadeUp:
		return nil, fmt.Errorf("standardisation: an aliquot of %g mL is more than the %g mL made up", s.Aliquot.Millilitres(), s.MadeUp.Millilitres())
	}
	equations := "c = R * n * m * B * P / (M * (V - V_blank))"
	inputs := append(weighedInputs(s.Mass, s.MassU, s.Purity, s.PurityU, s.MolarMass, s.PerUnit, s.Density),
		input("V", "L", "titrant", float64(s.Volume), float64(s.VolumeU)),
		input("V_blank", "L", "blank", float64(s.Blank), float64(s.BlankU)),
		input("R", "1", "repeatability", 1, s.Repeatability))
	if s.MadeUp > 0 {
		equations = "c = R * n * m * B * P * V_aliquot / (V_flask * M * (V - V_blank))"
		inputs = append(inputs,
			input("V_flask", "L", "flask of the standard", float64(s.MadeUp), float64(s.MadeUpU)),
			input("V_aliquot", "L", "pipette", float64(s.Aliquot), float64(s.AliquotU)))
	}
	m := uncertainty.Model{Title: "standardisation", Measurand: "c", Unit: "mol/L", Equations: equations, Inputs: inputs}
	return m.Propagate()
}
