package figure

import "math"

// A span grows over the values it is shown.
type span struct {
	low, high float64
	any       bool
}

func (s *span) add(v float64) {
	if !s.any {
		s.low, s.high, s.any = v, v, true
		return
	}
	s.low, s.high = min(s.low, v), max(s.high, v)
}

func (s *span) addLines(lines [][]Point, of func(Point) float64) {
	for _, line := range lines {
		for _, p := range line {
			s.add(of(p))
		}
	}
}

func ofX(p Point) float64 { return p.X }
func ofY(p Point) float64 { return p.Y }

// interval returns the span, opened where it has no width: equal readings
// still have a place on an axis.
func (s span) interval() Interval {
	if !s.any {
		return Interval{0, 1}
	}
	size := max(math.Abs(s.low), math.Abs(s.high))
	if s.high-s.low > size*1e-9 && s.high-s.low > 1e-200 {
		return Interval{s.low, s.high}
	}
	half := max(size*0.05, 0.5)
	low := s.low - half
	if s.low >= 0 && low < 0 {
		low = 0
	}
	return Interval{low, s.high + half}
}

// volumeSpan is the range of the volume axis: from zero if the data begin near
// it, as a burette does, and as far as a landmark that lies just beyond.
func volumeSpan(rs []reading, lines [][]Point, marks []Landmark) Interval {
	var s span
	for _, r := range rs {
		s.add(r.x)
	}
	s.addLines(lines, ofX)
	in := s.interval()
	if in.Low > 0 && in.Low < 0.35*(in.High-in.Low) {
		in.Low = 0
	}
	reach := in.High + 0.1*(in.High-in.Low)
	for _, m := range marks {
		if s.any && m.Volume <= reach {
			in.High = max(in.High, m.Volume)
		}
	}
	return in
}

// valueSpan is the range of the potential. A reading that was left out may
// widen it by half at most; further off it is drawn at the edge.
func valueSpan(rs []reading, lines [][]Point) Interval {
	var kept, all span
	for _, r := range rs {
		all.add(r.y)
		if !r.out {
			kept.add(r.y)
		}
	}
	kept.addLines(lines, ofY)
	all.addLines(lines, ofY)
	if !kept.any || all.high-all.low <= 1.5*(kept.high-kept.low) {
		kept = all
	}
	return kept.interval()
}

// clip returns the parts of the line whose Y lies within [low, high].
func clip(line []Point, low, high float64) [][]Point {
	var out [][]Point
	var part []Point
	end := func() {
		if len(part) > 1 {
			out = append(out, part)
		}
		part = nil
	}
	for i := 1; i < len(line); i++ {
		a, b, ok := clipSegment(line[i-1], line[i], low, high)
		if !ok {
			end()
			continue
		}
		if len(part) == 0 || part[len(part)-1] != a {
			end()
			part = append(part, a)
		}
		part = append(part, b)
	}
	end()
	return out
}

func clipSegment(a, b Point, low, high float64) (Point, Point, bool) {
	if max(a.Y, b.Y) < low || min(a.Y, b.Y) > high {
		return a, b, false
	}
	cut := func(p, q Point) Point { // p moved along p-q to the edge it is beyond
		edge := min(max(p.Y, low), high)
		if edge == p.Y {
			return p
		}
		return Point{p.X + (q.X-p.X)*(edge-p.Y)/(q.Y-p.Y), edge}
	}
	return cut(a, b), cut(b, a), true
}

// thin leaves out the points of a line that lie within slack of the line
// through the others. It walks once, keeping the directions from the last kept
// point that pass all points since.
func thin(line []Point, slack float64) []Point {
	if len(line) < 3 {
		return line
	}
	out := []Point{line[0]}
	from, last := line[0], line[0]
	low, high, far := math.Inf(-1), math.Inf(1), 0.0
	for _, p := range line[1:] {
		r, angle := math.Hypot(p.X-from.X, p.Y-from.Y), math.Atan2(p.Y-from.Y, p.X-from.X)
		if r > slack && (angle < low || angle > high || r < far-slack) {
			out = append(out, last)
			from = last
			low, high, far = math.Inf(-1), math.Inf(1), 0
			r, angle = math.Hypot(p.X-from.X, p.Y-from.Y), math.Atan2(p.Y-from.Y, p.X-from.X)
		}
		if r > slack {
			open := math.Asin(slack / r)
			low, high, far = max(low, angle-open), min(high, angle+open), max(far, r)
		}
		last = p
	}
	return append(out, last)
}
