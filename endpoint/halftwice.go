package endpoint

import (
	"fmt"
	"math"

	"meniscus/curve"
	"meniscus/unit"
)

// A Landmark is the reading at a volume that matters, such as half or twice
// the end point.
type Landmark struct {
	Volume   unit.Volume
	Value    float64 // V or pH
	StdUnc   float64 // one standard uncertainty, V or pH, that of V_e included
	Points   int     // readings that took part
	Refused  string  // why there is no value; "" when there is
	Warnings []string
}

// reachLog is how far, in decades of the ratio, readings may be from the
// landmark: from 0.24 to 0.76 of V_e at the half, from 1.32 to 4.2 at twice.
// nearLog is how far the nearest readings on either side may be, and past how
// little extrapolation is let through, with a warning.
const (
	reachLog  = 0.5
	nearLog   = 0.3
	beyondLog = 0.1
)

// HalfTwice reads the curve at half and at twice the end point ve, whose
// standard uncertainty is uve. Half and twice is where, of two couples with
// one species in either form, the titrand's and the titrant's ratio is one.
//
// The readings around are described by a straight line, or a parabola where
// there are enough to tell, in log10(V/(V_e-V)) and in log10(V/V_e-1): in
// these the curve is straight where the Nernst equation holds, and the
// landmark is at zero, where the line's error is least. In V itself it is
// bent, most of all at the ends of the window.
func HalfTwice(c *curve.Curve, ve, uve unit.Volume, opt Options) (half, twice Landmark) {
	half.Volume, twice.Volume = ve/2, 2*ve
	s, why := prepare(c, opt)
	if why == "" && !(ve > 0 && float64(ve) < maxVolume && uve >= 0 && !math.IsInf(float64(uve), 0)) {
		why = "the end point is not a positive volume"
	}
	if why != "" {
		half.Refused, twice.Refused = why, why
		return half, twice
	}
	s.landmark(&half, func(v, ve float64) float64 { return math.Log10(v / (ve - v)) }, float64(ve), float64(uve))
	s.landmark(&twice, func(v, ve float64) float64 { return math.Log10(v/ve - 1) }, float64(ve), float64(uve))
	return half, twice
}

// landmark fits the readings around the zero of x.
func (s *series) landmark(m *Landmark, x func(v, ve float64) float64, ve, uve float64) {
	m.Warnings = s.warnings
	f, why := s.aroundZero(x, ve)
	if why != "" {
		m.Refused = fmt.Sprintf("at %s %s", ml(float64(m.Volume)), why)
		return
	}
	m.Value, m.Points = s.dir*f.value, f.points*s.group
	if f.beyond {
		m.Warnings = append(m.Warnings, "extrapolated a little beyond the last reading")
	}
	moved := f.slope * uve / (float64(m.Volume) * math.Ln10) // if the fit fails at ve+uve
	if g, why := s.aroundZero(x, ve+uve); why == "" && g.points == f.points {
		moved = g.value - f.value
	}
	m.StdUnc = math.Hypot(f.u, moved)
}

// A zeroFit is the reading where x is zero.
type zeroFit struct {
	value, u, slope float64
	points          int
	beyond          bool
}

func (s *series) aroundZero(x func(v, ve float64) float64, ve float64) (zeroFit, string) {
	var xs, ys, ws []float64
	below, above := math.Inf(-1), math.Inf(1)
	for i, v := range s.v {
		t := x(v, ve)
		if math.IsNaN(t) || math.Abs(t) > reachLog {
			continue
		}
		dt := x(v+1e-4*v, ve) - t
		xs, ys = append(xs, t), append(ys, s.y[i])
		ws = append(ws, math.Abs(dt)/(1e-4*v)) // decades per litre
		if t <= 0 {
			below = max(below, t)
		}
		if t >= 0 {
			above = min(above, t)
		}
	}
	f := zeroFit{points: len(xs)}
	f.beyond = math.IsInf(below, 0) != math.IsInf(above, 0) && max(below, -above) > -beyondLog
	switch {
	case len(xs) < 2:
		return f, "there are no readings around"
	case !f.beyond && (math.IsInf(below, 0) || math.IsInf(above, 0)):
		return f, "there are readings on one side only"
	case !f.beyond && (below < -nearLog || above > nearLog):
		return f, "the nearest readings are too far away"
	}
	ok := f.fit(s, xs, ys, ws)
	if !ok {
		return f, "the readings around carry no straight line"
	}
	return f, ""
}

// fit is the weighted straight line, and with seven readings or more the
// parabola if its bend stands out.
func (f *zeroFit) fit(s *series, xs, ys, ws []float64) bool {
	slope := (ys[len(ys)-1] - ys[0]) / (xs[len(xs)-1] - xs[0])
	var a [3][3]float64
	var r [3]float64
	for i := range xs {
		w := 1 / max(s.noise*s.noise+math.Pow(slope*ws[i]*s.noiseV, 2), 1e-24)
		g := [3]float64{1, xs[i], xs[i] * xs[i]}
		for p := range g {
			r[p] += w * g[p] * ys[i]
			for q := range g {
				a[p][q] += w * g[p] * g[q]
			}
		}
	}
	if len(xs) >= 7 {
		if inv, ok := invert3(a); ok {
			p := [3]float64{}
			for i := range p {
				for j := range p {
					p[i] += inv[i][j] * r[j]
				}
			}
			if math.Abs(p[2]) > 3*math.Sqrt(inv[2][2]) {
				f.value, f.slope, f.u = p[0], p[1], math.Sqrt(inv[0][0])
				return !math.IsNaN(f.value)
			}
		}
	}
	det := a[0][0]*a[1][1] - a[0][1]*a[0][1]
	if !(det > 1e-12*a[0][0]*a[1][1]) {
		return false
	}
	f.value = (r[0]*a[1][1] - r[1]*a[0][1]) / det
	f.slope = (r[1]*a[0][0] - r[0]*a[0][1]) / det
	f.u = math.Sqrt(a[1][1] / det)
	return !math.IsNaN(f.value) && !math.IsInf(f.value, 0) && !math.IsNaN(f.u)
}
