package volumetric

import (
	"errors"
	"fmt"
	"math"

	"meniscus/uncertainty"
	"meniscus/unit"
)

// Expansion of glass by volume, per kelvin (ISO 4787, from memory).
const (
	Borosilicate = 9.9e-6
	SodaLime     = 27e-6
)

// ZFactor returns the volume of water at t that balances one gram of weights
// of density weights in air of density air (both g/L), in L/g:
// Z = (1 - air/weights)/(water - air) (ISO 8655-6, from memory). Times 1000 it
// is the Z in mL/g of the printed tables.
func ZFactor(t unit.Temperature, air, weights float64) (float64, error) {
	water, err := WaterDensity(t)
	if err != nil {
		return 0, err
	}
	return (1 - air/weights) / (water - air), nil
}

// Buoyancy returns the factor that turns the reading of a balance for a body
// of density body into its mass; densities in g/L (from the balance of forces).
func Buoyancy(body, air, weights float64) float64 {
	return (1 - air/weights) / (1 - air/body)
}

// A Weighing is one portion of water that a piece of ware delivered or held.
type Weighing struct {
	Reading     unit.Mass // of the balance, difference of full and empty
	Temperature unit.Temperature
}

// Conditions of a calibration by weighing. The zero value has the standard
// densities and borosilicate glass.
type Conditions struct {
	Air     float64 // density, g/L; 0 is StandardAir
	Weights float64 // density, g/L; 0 is WeightsDensity
	Glass   float64 // expansion per kelvin; 0 is Borosilicate
}

func (c Conditions) filled() Conditions {
	fill := func(x *float64, otherwise float64) {
		if *x == 0 {
			*x = otherwise
		}
	}
	fill(&c.Air, StandardAir)
	fill(&c.Weights, WeightsDensity)
	fill(&c.Glass, Borosilicate)
	return c
}

// A Calibration is what weighings of water say of a piece of ware.
type Calibration struct {
	Volume  uncertainty.Value // mean at 20 °C in L; standard uncertainty of the mean, n-1 degrees of freedom
	SD      unit.Volume       // of one portion
	Volumes []unit.Volume     // of each portion at 20 °C
}

// Calibrate returns the volume at 20 °C from weighings of water. The
// uncertainty is the scatter alone (Type A): balance, thermometer and air
// density belong to the caller's budget. It is an error if there are fewer
// than two weighings, a reading is not above 0, or a temperature is outside 0
// to 40 °C.
func Calibrate(weighings []Weighing, conditions Conditions) (Calibration, error) {
	if len(weighings) < 2 {
		return Calibration{}, errors.New("calibration by weighing: at least two weighings are needed")
	}
	c := conditions.filled()
	cal := Calibration{Volumes: make([]unit.Volume, len(weighings))}
	litres := make([]float64, len(weighings))
	for i, w := range weighings {
		if !(w.Reading > 0) || math.IsInf(float64(w.Reading), 1) {
			return Calibration{}, fmt.Errorf("calibration by weighing, portion %d: reading %v g is not above 0", i+1, float64(w.Reading))
		}
		z, err := ZFactor(w.Temperature, c.Air, c.Weights)
		if err != nil {
			return Calibration{}, fmt.Errorf("calibration by weighing, portion %d: %w", i+1, err)
		}
		litres[i] = float64(w.Reading) * z * (1 - c.Glass*float64(w.Temperature-Reference))
		cal.Volumes[i] = unit.Volume(litres[i])
	}
	mean, sd := uncertainty.MeanSD(litres)
	n := float64(len(litres))
	cal.SD = unit.Volume(sd)
	cal.Volume = uncertainty.Value{X: mean, U: sd / math.Sqrt(n), DoF: n - 1}
	return cal, nil
}
