package figure

// A placer keeps labels from covering each other and the curve.
type placer struct {
	bounds Box
	taken  []Box     // labels, poles, circles
	lines  [][]Point // the curve
	gapX   float64   // room to keep beside a label
	gapY   float64   // and above and below it
}

// free says whether the box is inside the bounds and covers nothing.
func (p *placer) free(b Box) bool {
	if !b.within(p.bounds, 0) {
		return false
	}
	wide := Box{b.Left - p.gapX, b.Top - p.gapY, b.Right + p.gapX, b.Bottom + p.gapY}
	for _, t := range p.taken {
		if wide.overlaps(t) {
			return false
		}
	}
	for _, line := range p.lines {
		for i := 1; i < len(line); i++ {
			if crosses(line[i-1], line[i], wide) {
				return false
			}
		}
	}
	return true
}

func (p *placer) take(b Box) { p.taken = append(p.taken, b) }

// first takes the first of the candidates that is free.
func (p *placer) first(candidates []Text) (Text, bool) {
	for _, t := range candidates {
		if b := t.Bounds(); p.free(b) {
			p.take(b)
			return t, true
		}
	}
	return Text{}, false
}

// crosses says whether the segment from a to b has a point in the box
// (Liang and Barsky's way of clipping, from memory).
func crosses(a, b Point, box Box) bool {
	t0, t1 := 0.0, 1.0
	edges := [...][2]float64{
		{a.X - b.X, a.X - box.Left},
		{b.X - a.X, box.Right - a.X},
		{a.Y - b.Y, a.Y - box.Top},
		{b.Y - a.Y, box.Bottom - a.Y},
	}
	for _, e := range edges {
		p, q := e[0], e[1]
		switch {
		case p == 0 && q < 0:
			return false
		case p < 0:
			t0 = max(t0, q/p)
		case p > 0:
			t1 = min(t1, q/p)
		}
	}
	return t0 <= t1
}
