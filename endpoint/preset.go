package endpoint

import (
	"fmt"
	"math"

	"meniscus/curve"
	"meniscus/unit"
)

// preset takes the volume at which the curve passes each value of
// Options.Preset, by the straight line between the two readings on either side
// of it. The bias of an agreed value against the equivalence point is not in
// the uncertainty.
func preset(c *curve.Curve, opt Options) Result {
	const name = "preset"
	if len(opt.Preset) == 0 {
		return refused(name, "no value was given to stop at")
	}
	s, why := prepare(c, opt)
	if why != "" {
		return refused(name, why)
	}
	r := Result{Method: name, Warnings: s.warnings, Detail: s.detail()}
	for k, value := range opt.Preset {
		p, why := s.crossing(value)
		switch {
		case why == "":
			p.Order = k + 1
			r.Points = append(r.Points, p)
		case len(opt.Preset) == 1:
			r.Refused = why
		default:
			r.Warnings = append(r.Warnings, why)
		}
	}
	if len(r.Points) == 0 && r.Refused == "" {
		r.Refused = "none of the values is passed: " + r.Warnings[len(r.Warnings)-1]
	}
	sortByVolume(r.Points)
	return r
}

// crossing finds where the readings pass value upwards, in their own turn.
func (s *series) crossing(value float64) (EndPoint, string) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return EndPoint{}, "a value to stop at is not a number"
	}
	level := s.dir * value
	first, n := -1, 0
	var last int
	for i := range len(s.v) - 1 {
		if a, b := s.y[i], s.y[i+1]; a <= level && level < b || i == len(s.v)-2 && a < level && level == b {
			if first < 0 {
				first = i
			}
			last = i
			n++
		}
	}
	if n == 0 {
		return EndPoint{}, fmt.Sprintf("the readings do not pass %.6g; they go from %.6g to %.6g", value, s.dir*s.y[0], s.dir*s.y[len(s.y)-1])
	}
	at := func(i int) float64 {
		return s.v[i] + (s.v[i+1]-s.v[i])*(level-s.y[i])/(s.y[i+1]-s.y[i])
	}
	i := (first + last) / 2
	v := 0.5 * (at(first) + at(last))
	p := s.endPoint(0, v, s.crossingUnc(i, v), 2, nil)
	p.Value = value
	if n > 1 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("the readings pass %.6g %d times, from %s to %s; the middle was taken", value, n, ml(at(first)), ml(at(last))))
		p.StdUnc = unit.Volume(math.Hypot(float64(p.StdUnc), (at(last)-at(first))/math.Sqrt(12)))
	}
	return p, ""
}

// crossingUnc combines the noise of the two readings, carried by the weights of
// the interpolation, with what the curve does between them, which is not known.
//
// Let p be the part of the rise that the flatter of the two neighbouring
// intervals does not explain. A slope that changes smoothly by that part takes
// the curve at most p h/8 from its chord; a step of that part that may be
// anywhere in the interval takes it p h/√12 away, and the value lies in the step
// with a chance that grows with p. Over intervals of simulated titrations of
// all kinds the root mean square of what the chord is off by follows
// h hypot(p/8, p²/√12) to 20 %.
func (s *series) crossingUnc(i int, v float64) float64 {
	h, rise := s.v[i+1]-s.v[i], s.y[i+1]-s.y[i]
	if !(rise > 0) { // among several crossings
		return h
	}
	f := min(max((v-s.v[i])/h, 0), 1)
	u := math.Hypot(f, 1-f) * math.Hypot(s.noise*h/rise, s.noiseV)
	flat := math.Inf(1)
	for _, k := range [2]int{i - 1, i + 1} {
		if k >= 0 && k+1 < len(s.v) {
			flat = min(flat, (s.y[k+1]-s.y[k])/(s.v[k+1]-s.v[k]))
		}
	}
	p := min(max(1-flat*h/rise, 0), 1)
	if math.IsInf(flat, 1) {
		p = 1
	}
	return math.Hypot(u, h*math.Hypot(p/8, p*p/math.Sqrt(12)))
}
