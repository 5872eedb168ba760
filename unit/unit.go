// Package unit has the quantities that a titration mixes up most easily, as
// defined types, and reads and writes them with their units.
//
// It is not a dimensional-analysis engine: it knows the quantities a chemist
// writes into a setup file or a column header, nothing else. One system of
// units is used throughout the program: litre, mole, gram, volt, kelvin. It
// is coherent for chemistry (1 mol/L times 1 L is 1 mol), so the bare float64
// of each type can be used inside a computation without a factor.
package unit

// Defined quantities. The bare number is in the unit named.
type (
	Volume        float64 // litre
	Amount        float64 // mole
	Concentration float64 // mole per litre
	Mass          float64 // gram
	MolarMass     float64 // gram per mole
	Potential     float64 // volt
	Temperature   float64 // kelvin
)

// Units to multiply by: 25*unit.Millilitre.
const (
	Litre      Volume = 1
	Millilitre Volume = 1e-3

	Mole      Amount = 1
	Millimole Amount = 1e-3

	MolePerLitre      Concentration = 1
	MillimolePerLitre Concentration = 1e-3

	Gram      Mass = 1
	Milligram Mass = 1e-3
	Kilogram  Mass = 1e3

	Volt      Potential = 1
	Millivolt Potential = 1e-3

	Kelvin Temperature = 1
)

// ZeroCelsius is 0 °C in kelvin, exact by definition of the Celsius scale
// (SI Brochure, 9th edition, 2.3.1).
const ZeroCelsius = 273.15

// Exact constants of the SI (SI Brochure, 9th edition, table 1): Faraday is
// e times N_A in C/mol, GasConstant is k times N_A in J/(mol K).
const (
	Faraday     = 1.602176634e-19 * 6.02214076e23
	GasConstant = 1.380649e-23 * 6.02214076e23
)

// Celsius returns the temperature that is t degrees Celsius.
func Celsius(t float64) Temperature { return Temperature(t + ZeroCelsius) }

// Celsius returns t in degrees Celsius.
func (t Temperature) Celsius() float64 { return float64(t) - ZeroCelsius }

// Millilitres returns v in millilitres.
func (v Volume) Millilitres() float64 { return float64(v) * 1e3 }

// Millivolts returns e in millivolts.
func (e Potential) Millivolts() float64 { return float64(e) * 1e3 }
