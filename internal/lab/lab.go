// Package lab makes simulated readings for tests. It solves each titration by
// bisection of one scalar balance and shares nothing with the engine but
// quantities, so that agreement with the engine means something. It is not
// part of the program.
package lab

import (
	"math"
	"math/rand/v2"

	"meniscus/curve"
	"meniscus/unit"
)

// A Sample is what is titrated: its noise-free response at any volume added.
type Sample interface {
	// At returns the ideal reading (V, or pH) after v litres of titrant.
	At(v float64) float64
	// Kind says what At returns.
	Kind() curve.Kind
}

// A Bench is how readings are taken. The zero value is perfect.
type Bench struct {
	Offset      float64 // added to each reading, V or pH
	SlopeError  float64 // relative: -0.02 is an electrode of 98 %; about 0 V, or pH 7
	Noise       float64 // standard deviation of a reading, V or pH
	VolumeNoise float64 // standard deviation of a volume, L
	Lag         float64 // part of the last step that a reading still misses, 0 to 1
	Resolution  float64 // readings are rounded to it, V or pH; 0 not at all
	VolumeStep  float64 // volumes are rounded to it, L; 0 not at all
	Interval    float64 // s between readings; 0: times are not recorded
	Drift       float64 // of the reading from the first to the last one, V or pH
	Blank       float64 // L that are written down and do not titrate
}

// Run titrates s: the titrant is dispensed to each of volumes (L), and what is
// written down is the volume and reading with their errors. The same seed
// gives the same curve.
func (b Bench) Run(s Sample, volumes []float64, seed uint64) curve.Curve {
	rng := rand.New(rand.NewPCG(seed, 0x6d656e697363))
	c := curve.Curve{Kind: s.Kind(), Readings: make([]curve.Reading, len(volumes))}
	var last float64
	for i, v := range volumes {
		y := b.Ideal(s, v-b.Blank) + b.Drift*(float64(i)/float64(max(len(volumes)-1, 1))-0.5)
		if i > 0 {
			y -= b.Lag * (y - last)
		}
		last = y
		time := math.NaN()
		if b.Interval > 0 {
			time = float64(i) * b.Interval
		}
		c.Readings[i] = curve.Reading{
			Row:    i + 1,
			Volume: unit.Volume(roundTo(v+b.VolumeNoise*rng.NormFloat64(), b.VolumeStep)),
			Value:  roundTo(y+b.Noise*rng.NormFloat64(), b.Resolution),
			Time:   time,
		}
	}
	return c
}

// Ideal returns what the electrode shows without noise, lag and rounding.
func (b Bench) Ideal(s Sample, v float64) float64 {
	var about float64
	if s.Kind() == curve.PH {
		about = 7
	}
	return about + (1+b.SlopeError)*(s.At(v)-about) + b.Offset
}

func roundTo(x, step float64) float64 {
	if step <= 0 {
		return x
	}
	return math.Round(x/step) * step
}

// A Plan is a schedule of volumes: coarse steps, fine ones within Around of
// the end point that is expected, and coarse ones again. All in litres.
type Plan struct {
	Expected, Around, Fine, Coarse, First, Last float64
}

// DefaultPlan is the usual one for an end point near expected litres: steps of
// 1 mL, and of 0.1 mL within 1 mL of it, from 1 mL to twice its volume.
func DefaultPlan(expected float64) Plan {
	return Plan{Expected: expected, Around: 1e-3, Fine: 1e-4, Coarse: 1e-3, First: 1e-3, Last: 2 * expected}
}

// Volumes lists the schedule.
func (p Plan) Volumes() []float64 {
	var out []float64
	grid := func(from, to, step float64) {
		n := int(math.Floor((to-from)/step + 1e-6))
		for i := 0; i <= n; i++ {
			out = append(out, from+float64(i)*step)
		}
	}
	grid(p.First, p.Expected-p.Around-0.5*p.Fine, p.Coarse)
	grid(p.Expected-p.Around, p.Expected+p.Around, p.Fine)
	grid(p.Expected+p.Around+p.Coarse, p.Last, p.Coarse)
	return out
}

// bisect returns where the rising function f crosses zero between lo and hi,
// to the last bit that float64 can tell.
func bisect(f func(float64) float64, lo, hi float64) float64 {
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2
}

// NernstSlope is RT ln 10/F at 25 °C, V.
const NernstSlope = math.Ln10 * unit.GasConstant * 298.15 / unit.Faraday

// nernst returns RT ln 10/F in volts at t; 0 is 25 °C.
func nernst(t unit.Temperature) float64 {
	if t == 0 {
		t = unit.Celsius(25)
	}
	return math.Ln10 * unit.GasConstant * float64(t) / unit.Faraday
}
