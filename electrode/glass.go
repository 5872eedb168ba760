package electrode

import (
	"errors"
	"fmt"
	"math"

	"meniscus/unit"
)

// A BufferPoint is the reading of a glass electrode in a buffer of known pH.
type BufferPoint struct {
	PH    float64
	Reads unit.Potential
}

// A Glass is a calibrated glass electrode, E = Zero - S pH, where S is Slope
// times the Nernst slope at Temperature.
type Glass struct {
	Slope       float64          // fraction of the Nernst slope
	Zero        unit.Potential   // E0', the potential at pH 0
	Temperature unit.Temperature // of the buffers
	Residual    unit.Potential   // standard deviation about the line; 0 for two buffers
	Warnings    []string         // the values stand, but the chemist should know
}

// The slopes between which a glass electrode is plausible, as fractions of the
// Nernst slope (common practice, from memory).
const minSlope, maxSlope = 0.95, 1.02

// CalibrateGlass puts a straight line through the readings in two buffers, or
// by least squares through more, at the temperature t of the buffers. A slope
// outside 95 to 102 % of RT ln 10/F is a warning. It is an error if there are
// not two different pH, or a number is not finite.
func CalibrateGlass(points []BufferPoint, t unit.Temperature) (Glass, error) {
	if !(t > 0) || math.IsInf(float64(t), 0) {
		return Glass{}, fmt.Errorf("glass electrode: %v K is not a temperature above 0 K", float64(t))
	}
	n := float64(len(points))
	var meanPH, meanE float64
	for i, p := range points {
		if math.IsNaN(p.PH-p.PH) || math.IsNaN(float64(p.Reads-p.Reads)) {
			return Glass{}, fmt.Errorf("glass electrode, buffer %d: pH %v reading %v V is not finite", i+1, p.PH, float64(p.Reads))
		}
		meanPH += p.PH / n
		meanE += float64(p.Reads) / n
	}
	var xx, xy float64
	for _, p := range points {
		xx += (p.PH - meanPH) * (p.PH - meanPH)
		xy += (p.PH - meanPH) * (float64(p.Reads) - meanE)
	}
	if !(xx > 1e-6) {
		return Glass{}, errors.New("glass electrode: two buffers of different pH are needed")
	}
	g := Glass{Temperature: t, Slope: -xy / xx / float64(NernstSlope(1, t))}
	g.Zero = unit.Potential(meanE - xy/xx*meanPH)
	g.Residual = g.residual(points)
	g.doubt()
	return g, nil
}

func (g *Glass) residual(points []BufferPoint) unit.Potential {
	if len(points) < 3 {
		return 0
	}
	ss := 0.0
	for _, p := range points {
		d := float64(p.Reads - g.Potential(p.PH))
		ss += d * d
	}
	return unit.Potential(math.Sqrt(ss / float64(len(points)-2)))
}

func (g *Glass) doubt() {
	switch {
	case g.Slope < 0:
		g.Warnings = append(g.Warnings, "potential rises with pH: the leads or the sign are reversed, or the buffers exchanged")
	case g.Slope < minSlope || g.Slope > maxSlope:
		g.Warnings = append(g.Warnings, fmt.Sprintf("slope %.1f %% of the Nernst slope is outside 95 to 102 %%: check buffers, temperature and electrode", g.Slope*100))
	}
}

// Potential returns the reading expected at pH, at the temperature of the
// calibration.
func (g *Glass) Potential(pH float64) unit.Potential {
	return g.Zero - unit.Potential(g.Slope*pH)*NernstSlope(1, g.Temperature)
}

// PH returns the pH that reads e, at the temperature of the calibration.
func (g *Glass) PH(e unit.Potential) float64 {
	return float64(g.Zero-e) / (g.Slope * float64(NernstSlope(1, g.Temperature)))
}
