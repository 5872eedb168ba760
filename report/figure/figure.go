// Package figure draws titration curves: a small scene of paths, circles and
// text in points, and writers that turn it into SVG, PNG, PDF or a sketch for
// a terminal.
//
// [Draw] turns the data of a [Curve] into a [Figure]; [SVG], [PNG] and [PDF]
// write it, [Place] puts it on a page of a larger PDF, and [Sketch] draws the
// same data with characters. Positions are in points (1/72 inch; one unit of an
// SVG), x to the right and y down, the origin in the top left corner.
//
// A figure names roles (ink, accent, warning), not colours; a [Theme] resolves
// them when it is written. Colour is never the only sign: readings are open
// circles, readings left out are crossed, the model is a line, end points are
// ticks with words.
package figure

// A Point is a position in points.
type Point struct{ X, Y float64 }

// A Box is an upright rectangle in points; Left <= Right, Top <= Bottom.
type Box struct{ Left, Top, Right, Bottom float64 }

// overlaps says whether the two have an inner point in common.
func (b Box) overlaps(c Box) bool {
	return b.Left < c.Right && c.Left < b.Right && b.Top < c.Bottom && c.Top < b.Bottom
}

// within says whether b lies inside c, give or take slack.
func (b Box) within(c Box, slack float64) bool {
	return b.Left >= c.Left-slack && b.Right <= c.Right+slack && b.Top >= c.Top-slack && b.Bottom <= c.Bottom+slack
}

// grow returns b with d added on every side.
func (b Box) grow(d float64) Box { return Box{b.Left - d, b.Top - d, b.Right + d, b.Bottom + d} }

// A Figure is a finished drawing.
type Figure struct {
	Width, Height float64 // points
	Title, Desc   string  // for readers who do not see it
	Layers        []Layer // painted in this order
	Panels        []Panel // where the data went, from top to bottom
}

// A Layer is a named part of a figure: "readings", "model", "scale".
type Layer struct {
	Name  string
	Marks []Mark
}

// A Panel tells where the numbers of one plot went: X.Low is at Box.Left,
// X.High at Box.Right, Y.Low at Box.Bottom and Y.High at Box.Top, linear in
// between.
type Panel struct {
	Name string // "curve", "residuals", "derivative"
	Box  Box
	X, Y Interval
}

// An Interval is a range of data values, in the units of the data.
type Interval struct{ Low, High float64 }

// holds says whether v lies in the interval; false for NaN.
func (i Interval) holds(v float64) bool { return v >= i.Low && v <= i.High }

// At returns the position of the data point (x, y), which may lie outside the
// box.
func (p Panel) At(x, y float64) Point {
	return Point{
		p.Box.Left + (x-p.X.Low)/(p.X.High-p.X.Low)*(p.Box.Right-p.Box.Left),
		p.Box.Bottom - (y-p.Y.Low)/(p.Y.High-p.Y.Low)*(p.Box.Bottom-p.Box.Top),
	}
}

// A Mark is something drawn: a [Path], a [Circle] or a [Text].
type Mark interface {
	// Bounds is the smallest upright box around the mark, without the width
	// of its stroke.
	Bounds() Box
}

// A Path is one or more polylines, stroked, filled or both.
type Path struct {
	Lines  [][]Point
	Closed bool
	Stroke Stroke
	Fill   Paint
	Tip    string // shown by a pointer that rests on it and read aloud; may be empty
}

// A Circle is drawn open unless it has a fill.
type Circle struct {
	Centre Point
	Radius float64
	Stroke Stroke
	Fill   Paint
}

// A Stroke is a line along an outline. A zero Width draws nothing.
type Stroke struct {
	Paint Paint
	Width float64   // points
	Dash  []float64 // lengths on and off, points; empty for a solid line
}

// An Anchor says which end of a line of text stands at its point.
type Anchor uint8

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// A Text is one line of text.
type Text struct {
	At     Point // on the base line, at the end named by Anchor
	Runs   []Run
	Size   float64 // points
	Anchor Anchor
	Turned bool // reads upwards: turned by 90 degrees about At
	Face   Face
	Paint  Paint
}

// Bounds returns the box around all lines.
func (p Path) Bounds() Box { return around(p.Lines...) }

// Bounds returns the box around the circle.
func (c Circle) Bounds() Box {
	return Box{c.Centre.X, c.Centre.Y, c.Centre.X, c.Centre.Y}.grow(c.Radius)
}

// Bounds returns the box around the text as its font measures it, from the
// ascent of the capitals to the depth of the descenders.
func (t Text) Bounds() Box {
	w := Width(t.Runs, t.Face, t.Size)
	x := t.At.X - anchorShift(t.Anchor)*w
	up, down := reach(t.Runs, t.Size)
	if !t.Turned {
		return Box{x, t.At.Y - up, x + w, t.At.Y + down}
	}
	y := t.At.Y + anchorShift(t.Anchor)*w
	return Box{t.At.X - up, y - w, t.At.X + down, y}
}

// anchorShift is the share of the width that lies before the anchor.
func anchorShift(a Anchor) float64 {
	switch a {
	case Middle:
		return 0.5
	case End:
		return 1
	}
	return 0
}

func around(lines ...[]Point) Box {
	var b Box
	first := true
	for _, line := range lines {
		for _, p := range line {
			if first {
				b = Box{p.X, p.Y, p.X, p.Y}
				first = false
			}
			b = Box{min(b.Left, p.X), min(b.Top, p.Y), max(b.Right, p.X), max(b.Bottom, p.Y)}
		}
	}
	return b
}

// segment is a path of one straight line.
func segment(x0, y0, x1, y1 float64, s Stroke) Path {
	return Path{Lines: [][]Point{{{x0, y0}, {x1, y1}}}, Stroke: s}
}

// bar is a filled upright rectangle.
func bar(b Box, fill Paint) Path {
	return Path{Lines: [][]Point{{
		{b.Left, b.Top},
		{b.Right, b.Top},
		{b.Right, b.Bottom},
		{b.Left, b.Bottom},
	}}, Closed: true, Fill: fill}
}

// cross is a diagonal cross with arms of length r.
func cross(c Point, r float64, s Stroke) Path {
	d := r * 0.7071 // 1/sqrt 2: the arms end on the circle of radius r
	return Path{Lines: [][]Point{
		{{c.X - d, c.Y - d}, {c.X + d, c.Y + d}},
		{{c.X - d, c.Y + d}, {c.X + d, c.Y - d}},
	}, Stroke: s}
}
