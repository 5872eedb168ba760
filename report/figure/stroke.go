package figure

import (
	"math"

	"golang.org/x/image/vector"
)

// An outline is a set of closed contours, in pixels, for the rasteriser. All
// contours that are to add up turn the same way.
type outline struct {
	ops []outlineOp
	box Box
}

// An outlineOp moves, or draws a line or a curve of degree len(p).
type outlineOp struct {
	kind byte // 'M', 'L', 'Q', 'C'
	p    [3]Point
}

func (o *outline) op(kind byte, p ...Point) {
	var op outlineOp
	op.kind = kind
	copy(op.p[:], p)
	for _, q := range p {
		if len(o.ops) == 0 {
			o.box = Box{q.X, q.Y, q.X, q.Y}
		}
		o.box = Box{min(o.box.Left, q.X), min(o.box.Top, q.Y), max(o.box.Right, q.X), max(o.box.Bottom, q.Y)}
	}
	o.ops = append(o.ops, op)
}

// polygon adds a closed polygon, turned to run clockwise on the screen.
func (o *outline) polygon(points []Point) {
	area := 0.0
	for i, p := range points {
		q := points[(i+1)%len(points)]
		area += p.X*q.Y - q.X*p.Y
	}
	for i := range points {
		p := points[i]
		if area < 0 {
			p = points[len(points)-1-i]
		}
		if i == 0 {
			o.op('M', p)
		} else {
			o.op('L', p)
		}
	}
}

// kappa places the control points of a quarter circle: 4/3 (sqrt 2 - 1).
const kappa = 0.5522847498

// disc adds a circle, clockwise if way is 1 and the other way if it is -1.
func (o *outline) disc(c Point, r, way float64) {
	at := func(x, y float64) Point { return Point{c.X + r*x, c.Y + way*r*y} }
	o.op('M', at(1, 0))
	o.op('C', at(1, kappa), at(kappa, 1), at(0, 1))
	o.op('C', at(-kappa, 1), at(-1, kappa), at(-1, 0))
	o.op('C', at(-1, -kappa), at(-kappa, -1), at(0, -1))
	o.op('C', at(kappa, -1), at(1, -kappa), at(1, 0))
}

// stroke adds the area of a line of the width with butt ends and round joins.
func (o *outline) stroke(line []Point, closed bool, width float64) {
	if closed && len(line) > 1 {
		line = append(line[:len(line):len(line)], line[0])
	}
	half := width / 2
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		length := math.Hypot(b.X-a.X, b.Y-a.Y)
		if length == 0 {
			continue
		}
		dx, dy := (b.X-a.X)/length*half, (b.Y-a.Y)/length*half
		o.polygon([]Point{{a.X - dy, a.Y + dx}, {b.X - dy, b.Y + dx}, {b.X + dy, b.Y - dx}, {a.X + dy, a.Y - dx}})
		if closed || i+1 < len(line) {
			o.disc(b, half, 1)
		}
	}
}

// replay feeds the outline, moved by -from, to the rasteriser.
func (o *outline) replay(z *vector.Rasterizer, from Point) {
	at := func(p Point) (x, y float32) { return float32(p.X - from.X), float32(p.Y - from.Y) }
	for i, op := range o.ops {
		x0, y0 := at(op.p[0])
		x1, y1 := at(op.p[1])
		x2, y2 := at(op.p[2])
		switch op.kind {
		case 'M':
			if i > 0 {
				z.ClosePath()
			}
			z.MoveTo(x0, y0)
		case 'L':
			z.LineTo(x0, y0)
		case 'Q':
			z.QuadTo(x0, y0, x1, y1)
		case 'C':
			z.CubeTo(x0, y0, x1, y1, x2, y2)
		}
	}
	z.ClosePath()
}

// mostDashes bounds how many dashes one line is cut into.
const mostDashes = 10_000

// dashes cuts a line into the parts that a dash pattern draws. A pattern
// without length leaves it whole.
func dashes(line []Point, pattern []float64) [][]Point {
	total := 0.0
	for _, v := range pattern {
		if !(v >= 0) {
			return [][]Point{line}
		}
		total += v
	}
	if !(total > 0) || len(line) < 2 || length(line)/total > mostDashes {
		return [][]Point{line}
	}
	var out [][]Point
	part := []Point{line[0]}
	k, left := 0, pattern[0]
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		rest := math.Hypot(b.X-a.X, b.Y-a.Y)
		for rest > left {
			t := left / rest
			a = Point{a.X + (b.X-a.X)*t, a.Y + (b.Y-a.Y)*t}
			rest -= left
			if k%2 == 0 {
				out = append(out, append(part, a))
			}
			part = []Point{a}
			k++
			left = pattern[k%len(pattern)]
		}
		left -= rest
		part = append(part, b)
	}
	if k%2 == 0 && len(part) > 1 {
		out = append(out, part)
	}
	return out
}

func length(line []Point) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += math.Hypot(line[i].X-line[i-1].X, line[i].Y-line[i-1].Y)
	}
	return sum
}
