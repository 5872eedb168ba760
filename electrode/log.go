package electrode

import (
	"errors"
	"fmt"
	"math"

	"meniscus/uncertainty"
	"meniscus/unit"
)

// A Measure is one number of a check, with the limits between which that of an
// electrode in order lies.
type Measure struct {
	Name, Unit       string
	Value, Low, High float64
	Note             string
}

// InOrder says whether the value is within the limits.
func (m Measure) InOrder() bool { return m.Value >= m.Low && m.Value <= m.High }

// zeroLimit is how far a glass electrode's reading at pH 7 may be from 0, with
// the reference electrode it is made to go with (common practice).
const zeroLimit = 30 // mV

// Measures judges a calibrated glass electrode by its slope, 95 to 102 % of
// theory, and by its reading at pH 7.
func (g *Glass) Measures() []Measure {
	note := ""
	if g.Slope < 0 {
		note = "potential rises with pH: the leads or the sign are reversed, or the buffers exchanged"
	}
	return []Measure{
		{"slope of the glass electrode", "%", 100 * g.Slope, 100 * minSlope, 100 * maxSlope, note},
		{"glass electrode at pH 7", "mV", g.Potential(7).Millivolts(), -zeroLimit, zeroLimit, "for a reference electrode that it is made to go with"},
	}
}

// Measure judges the reading of a noble metal in a check solution; a tolerance
// of 0 is that of the solution. ASTM D1498 and laboratory procedures differ
// from 10 to 30 mV (from memory).
func (c CheckSolution) Measure(reads unit.Potential, ref Reference, t unit.Temperature, tolerance unit.Potential) Measure {
	if tolerance == 0 {
		tolerance = c.Tolerance
	}
	e, _, note := c.Reading(ref, t)
	return Measure{c.Name, "mV", reads.Millivolts(), (e - tolerance).Millivolts(), (e + tolerance).Millivolts(), note}
}

// Quinhydrone's standard potential at 25 °C and its change (from memory;
// 0.699 V - 59.2 mV pH is what textbooks print).
const (
	quinhydroneE0  = 0.699    // V
	quinhydronePer = -0.74e-3 // V/K
)

// Quinhydrone judges the readings of a noble metal in two buffers saturated
// with quinhydrone: each by 0.699 V less the Nernst slope times pH, and their
// difference, in which the reference electrode does not appear, by 95 to 102 %
// of the slope.
func Quinhydrone(points []BufferPoint, ref Reference, t unit.Temperature, tolerance unit.Potential) ([]Measure, error) {
	if len(points) != 2 {
		return nil, fmt.Errorf("quinhydrone is read in two buffers, found %d", len(points))
	}
	g, err := CalibrateGlass(points, t) // the same straight line
	if err != nil {
		return nil, fmt.Errorf("quinhydrone: %w", err)
	}
	if tolerance == 0 {
		tolerance = 0.010
	}
	v, _, note := ref.Potential(t)
	s := float64(NernstSlope(1, t))
	var list []Measure
	for _, p := range points {
		e := unit.Potential(quinhydroneE0+quinhydronePer*(t.Celsius()-25)-s*p.PH) - v
		list = append(list, Measure{fmt.Sprintf("quinhydrone at pH %.2f", p.PH), "mV", p.Reads.Millivolts(), (e - tolerance).Millivolts(), (e + tolerance).Millivolts(), note})
	}
	apart := math.Abs(points[1].PH-points[0].PH) * s * 1e3
	list = append(list, Measure{"quinhydrone, difference of the buffers", "mV", apart * g.Slope, minSlope * apart, maxSlope * apart, "the reference electrode is not in it"})
	return list, nil
}

// daysPerMonth of the mean Gregorian year.
const daysPerMonth = 30.436875

// A Trend is a straight line through a number that was checked repeatedly.
type Trend struct {
	N        int
	PerMonth float64
	StdUnc   float64 // of PerMonth, N-2 degrees of freedom
	Now      float64 // on the line, at the last check
	Clear    bool    // PerMonth differs from 0 at 95 %
	Leaves   bool    // a clear trend, or the value now, meets a limit
	In       float64 // days after the last check at which the line meets it; 0 where it is passed
	Earliest float64 // the same with PerMonth at the end of its 95 % interval
	Limit    float64 // the one it meets
}

// TrendOf fits values against days, in order of time. Fewer than three checks,
// or all on one day, are an error.
func TrendOf(days, values []float64, low, high float64) (Trend, error) {
	n := len(days)
	if n < 3 || n != len(values) {
		return Trend{}, errors.New("a trend needs three checks or more")
	}
	md, _ := uncertainty.MeanSD(days)
	mv, _ := uncertainty.MeanSD(values)
	var xx, xy, rr float64
	for i := range days {
		xx += (days[i] - md) * (days[i] - md)
		xy += (days[i] - md) * (values[i] - mv)
	}
	if !(xx > 0) {
		return Trend{}, errors.New("a trend needs checks on different days")
	}
	b := xy / xx
	for i := range days {
		r := values[i] - mv - b*(days[i]-md)
		rr += r * r
	}
	if math.Abs(b)*(days[n-1]-days[0]) < 1e-9*math.Abs(high-low) {
		b, rr = 0, 0 // arithmetic, not a change
	}
	u, last := math.Sqrt(rr/float64(n-2)/xx), days[n-1]
	t := Trend{N: n, PerMonth: b * daysPerMonth, StdUnc: u * daysPerMonth, Now: mv + b*(last-md)}
	half := uncertainty.Coverage(0.95, float64(n-2)) * u
	t.Clear = math.Abs(b) > half
	t.Limit = high
	if b < 0 {
		t.Limit = low
	}
	switch {
	case t.Now < low || t.Now > high:
		t.Leaves = true
		t.Limit = low
		if t.Now > high {
			t.Limit = high
		}
	case t.Clear:
		t.Leaves = true
		t.In = (t.Limit - t.Now) / b
		t.Earliest = (t.Limit - t.Now) / (b + math.Copysign(half, b))
	}
	return t, nil
}
