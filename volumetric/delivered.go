package volumetric

import (
	"fmt"
	"math"

	"meniscus/unit"
)

// Delivery says how a volume was delivered or held, for its uncertainty. Zero
// fields contribute nothing.
type Delivery struct {
	Calibration unit.Volume // standard uncertainty from the limit or the certificate, of one filling
	Reading     unit.Volume // standard uncertainty of one reading of the scale, or of one adjustment to a mark
	Readings    int         // of one filling: 2 for a burette (start and end), 1 for a mark
	Fillings    int         // 0 is 1; each has the same calibration error, and readings of its own
	Drop        unit.Volume // standard uncertainty of the last drop, at the end point

	// Temperature is the standard uncertainty of the temperature of the liquid
	// against that of the calibration, or against that used to correct the
	// volume, in K; Expansion is per kelvin, 0 for WaterExpansion.
	Temperature float64
	Expansion   float64
}

// Shares are the contributions to the standard uncertainty of a volume.
type Shares struct {
	Calibration, Reading, Drop, Temperature unit.Volume
	Total                                   unit.Volume // root of the sum of squares
}

// Uncertainty returns the contributions to the standard uncertainty of the
// volume v. A negative field is an error.
func (d Delivery) Uncertainty(v unit.Volume) (Shares, error) {
	for _, x := range []float64{
		float64(v), float64(d.Calibration), float64(d.Reading), float64(d.Readings), float64(d.Fillings),
		float64(d.Drop), d.Temperature, d.Expansion,
	} {
		if !(x >= 0) || math.IsInf(x, 1) {
			return Shares{}, fmt.Errorf("uncertainty of a volume: %v is not a number from 0 up", x)
		}
	}
	fillings := float64(max(d.Fillings, 1))
	expansion := d.Expansion
	if expansion == 0 {
		expansion = WaterExpansion
	}
	s := Shares{
		Calibration: d.Calibration * unit.Volume(fillings), // the same glass each time: errors add
		Reading:     d.Reading * unit.Volume(math.Sqrt(float64(d.Readings)*fillings)),
		Drop:        d.Drop,
		Temperature: v * unit.Volume(expansion*d.Temperature),
	}
	s.Total = unit.Volume(math.Hypot(
		math.Hypot(float64(s.Calibration), float64(s.Reading)),
		math.Hypot(float64(s.Drop), float64(s.Temperature))))
	return s, nil
}
