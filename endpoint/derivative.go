package endpoint

import (
	"fmt"
	"math"

	"meniscus/curve"
	"meniscus/unit"
)

// A derivative is a method that looks at the steepest place only.
type derivative struct {
	name    string
	points  int // readings that decide the end point
	locate  func(s *series, l *local) locator
	tabular func(l *local) []Row
}

// find runs a derivative method over each jump of the curve.
func (d derivative) find(c *curve.Curve, opt Options) Result {
	s, why := prepare(c, opt)
	if why != "" {
		return refused(d.name, why)
	}
	r := Result{Method: d.name, Detail: s.detail()}
	jumps, why := s.findJumps()
	if why != "" {
		r.Refused = why
		return r
	}
	r.Warnings = s.warnings
	for k, j := range jumps {
		l := s.around(j, aroundN)
		find := d.locate(s, &l)
		v, ok := find(l.v, l.y)
		if !ok {
			return refused(d.name, fmt.Sprintf("the readings around %s give no end point", ml(s.v[j.at])))
		}
		u, n := l.spread(s, find)
		r.Points = append(r.Points, s.endPoint(k+1, v, u, d.points, append(s.warnSides(j.at), s.warnTies(j.at)...)))
		r.Detail.Jumps = append(r.Detail.Jumps, s.jump(j, &l, n, d.tabular(&l)))
	}
	return r
}

func (s *series) endPoint(order int, v, u float64, points int, warnings []string) EndPoint {
	return EndPoint{
		Order: order, Volume: unit.Volume(v), StdUnc: unit.Volume(u),
		Points: points * s.group, Value: s.valueAt(v), Warnings: warnings,
	}
}

func (s *series) jump(j steep, l *local, n int, table []Row) Jump {
	height := s.dir * (s.y[j.at+1] - s.y[j.at])
	for i := range table {
		table[i].Value *= s.dir
	}
	return Jump{
		From: unit.Volume(s.v[j.at]), To: unit.Volume(s.v[j.at+1]),
		Height: height, Slope: height / (s.v[j.at+1] - s.v[j.at]),
		Narrow: l.narrow, Resamples: n, Table: table,
	}
}

// warnTies says when the steepest interval is so short that the noise of its
// volumes decides its slope.
func (s *series) warnTies(i int) []string {
	h := s.v[i+1] - s.v[i]
	if h < 3*math.Sqrt2*s.noiseV {
		return []string{fmt.Sprintf("the steepest interval, %s, is not much wider than the noise of its volumes", ml(h))}
	}
	if i > 0 && i+2 < len(s.v) && 4*h < min(s.v[i]-s.v[i-1], s.v[i+2]-s.v[i+1]) {
		return []string{fmt.Sprintf("the steepest interval, %s, is much shorter than its neighbours: two readings close together may look steep", ml(h))}
	}
	return nil
}
