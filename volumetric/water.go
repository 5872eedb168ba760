package volumetric

import (
	"fmt"
	"math"

	"meniscus/unit"
)

// Reference is the temperature at which volumetric ware is calibrated, 20 °C
// (ISO 4787, from memory).
const Reference = unit.Temperature(293.15)

// WaterExpansion is the coefficient of volume expansion of water and dilute
// solutions that guides use near room temperature, per kelvin (EURACHEM/CITAC
// QUAM:2012, appendix A1). Water's own grows with temperature: 2.1e-4 at 20 °C,
// 2.6e-4 at 25 °C.
const WaterExpansion = 2.1e-4

// waterLow and waterHigh bound the density formula, in °C.
const waterLow, waterHigh = 0, 40

// WaterDensity returns the density of air-free water of natural isotopic
// composition at t and 101325 Pa in g/L, which is kg/m³ (Tanaka et al.,
// Metrologia 38 (2001) 301, equation 1, from memory; standard uncertainty
// below 0.001 g/L). Outside 0 to 40 °C it is an error.
func WaterDensity(t unit.Temperature) (float64, error) {
	const (
		a1 = -3.983035 // °C
		a2 = 301.797   // °C
		a3 = 522528.9  // °C²
		a4 = 69.34881  // °C
		a5 = 999.97495 // g/L
	)
	c := t.Celsius()
	// Celsius to kelvin and back leaves 1e-13 °C.
	if !(c >= waterLow-1e-9 && c <= waterHigh+1e-9) {
		return 0, fmt.Errorf("density of water at %.4g °C: the formula holds from %d to %d °C", c, waterLow, waterHigh)
	}
	return a5 * (1 - (c+a1)*(c+a1)*(c+a2)/(a3*(c+a4))), nil
}

// AirDensity returns the density of air in g/L at t, pressure in hPa and
// relative humidity in percent (simplified formula of CIPM-2007 in OIML R 111,
// from memory; within 2e-4 of it for 900 to 1100 hPa, 10 to 30 °C, humidity
// below 80 %).
func AirDensity(t unit.Temperature, hPa, humidity float64) float64 {
	return (0.34848*hPa - 0.009*humidity*math.Exp(0.061*t.Celsius())) / float64(t)
}

// Densities that are used where nothing else is known, in g/L.
const (
	StandardAir    = 1.2  // convention of OIML R 111
	WeightsDensity = 8000 // of the weights a balance is adjusted with, by convention
)

// VolumeAtReference returns the volume at 20 °C of water or a dilute solution
// that takes up v at t, by the density of water. An error outside 0 to 40 °C.
func VolumeAtReference(v unit.Volume, t unit.Temperature) (unit.Volume, error) {
	at, err := WaterDensity(t)
	if err != nil {
		return 0, err
	}
	reference, err := WaterDensity(Reference)
	if err != nil {
		return 0, err
	}
	return v * unit.Volume(at/reference), nil
}

// VolumeByCoefficient is VolumeAtReference with one coefficient of expansion
// per kelvin, such as WaterExpansion, to first order as guides use it.
func VolumeByCoefficient(v unit.Volume, t unit.Temperature, expansion float64) unit.Volume {
	return v * unit.Volume(1-expansion*float64(t-Reference))
}
