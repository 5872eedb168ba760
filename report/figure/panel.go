package figure

import (
	"math"
)

// residualPoints returns the readings that have a residual.
func (d *drawing) residualPoints() []reading {
	var out []reading
	for _, r := range d.rs {
		if !math.IsNaN(r.residual) {
			out = append(out, r)
		}
	}
	return out
}

// drawPanels draws the panels under the scale, on the same volume axis.
func (d *drawing) drawPanels(height float64) {
	if rs := d.residualPoints(); len(rs) > 0 {
		d.residuals(rs, height)
	}
	if len(d.slope) > 0 {
		d.derivative(height)
	}
}

// below makes the next panel down.
func (d *drawing) below(name string, words []Run, y Interval, height float64) Panel {
	d.top += 0.8 * d.em
	d.axisWords(words)
	p := Panel{name, Box{d.main.Box.Left, d.top, d.main.Box.Right, d.top + height}, d.main.X, y}
	d.top += height + 0.3*d.em
	d.fig.Panels = append(d.fig.Panels, p)
	var guides [][]Point
	for _, v := range d.scale.Values {
		x := p.At(v, 0).X
		if x > p.Box.Left+0.2*d.em {
			guides = append(guides, []Point{{x, p.Box.Top}, {x, p.Box.Bottom}})
		}
	}
	d.add("grid", Path{Lines: guides, Stroke: d.hair(Faint)})
	d.valueAxis(p, panelTicks(height/d.em))
	return p
}

// panelTicks is how many numbers a panel has room for, by its height in ems.
func panelTicks(ems float64) int { return max(3, int(ems/1.7)) }

// residuals draws reading less model about a zero line. A residual of a reading
// left out may lie beyond the panel: it is drawn at the edge.
func (d *drawing) residuals(rs []reading, height float64) {
	most, all := 0.0, 0.0
	for _, r := range rs {
		all = max(all, math.Abs(r.residual))
		if !r.out {
			most = max(most, math.Abs(r.residual))
		}
	}
	if most == 0 {
		most = all
	}
	if most < 1e-200 {
		most = 1
	}
	high := 1.25 * most
	if t := NiceTicks(-high, high, panelTicks(height/d.em)); len(t.Values) < 3 {
		high = max(high, 1.08*t.Step) // a number on both sides of the zero
	}
	y := Interval{-high, high}
	p := d.below("residuals", or(d.ResidualLabel, "reading − model"), y, height)
	zero := p.At(p.X.Low, 0).Y
	d.add("axes", segment(p.Box.Left, zero, p.Box.Right, zero, Stroke{Paint{Role: Accent}, 0.085 * d.em, nil}))
	beyond := 0
	for _, r := range rs {
		v := min(max(r.residual, y.Low), y.High)
		if v != r.residual {
			beyond++
		}
		d.ring("residuals", p.At(r.x, v), r.out)
	}
	if beyond > 0 {
		d.note(Muted, "%s left out %s beyond the panel of residuals, drawn at its edge.", count(beyond, "reading"), liesLie(beyond))
	}
}

// derivative draws the slope of the curve as a line.
func (d *drawing) derivative(height float64) {
	var s span
	s.addLines(d.slope, ofY)
	s.add(0)
	in := s.interval()
	pad := 0.06 * (in.High - in.Low)
	p := d.below("derivative", or(d.DerivativeLabel, "slope"), Interval{in.Low - pad, in.High + pad}, height)
	var inside [][]Point
	for _, line := range d.slope {
		inside = append(inside, clipAcross(line, p.X)...)
	}
	lines := d.project(p, inside)
	zero := p.At(p.X.Low, 0).Y
	d.add("axes", segment(p.Box.Left, zero, p.Box.Right, zero, d.hair(Muted)))
	d.add("derivative", Path{Lines: lines, Stroke: Stroke{Paint{Role: Ink}, 0.1 * d.em, nil}})
}

// clipAcross keeps the parts of the line between two volumes.
func clipAcross(line []Point, x Interval) [][]Point {
	parts := clip(transposed(line), x.Low, x.High)
	for i := range parts {
		parts[i] = transposed(parts[i])
	}
	return parts
}

func transposed(line []Point) []Point {
	out := make([]Point, len(line))
	for i, p := range line {
		out[i] = Point{p.Y, p.X}
	}
	return out
}
