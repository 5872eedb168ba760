package figure

import "math"

// lane is the room kept between the lowest value and the scale, for landmarks
// and their words, in ems; bare is the same without landmarks.
const (
	lane     = 3.0
	bare     = 0.9
	headroom = 0.9
)

// layMain decides where the main plot stands and what its axes cover. Height
// is that of the plot in points.
func (d *drawing) layMain(height float64) {
	d.axisWords(or(d.YLabel, "value"))
	x, y := volumeSpan(d.rs, d.lines(), d.Landmarks), valueSpan(d.rs, d.lines())
	below := d.room(x, height)
	perPoint := (y.High - y.Low) / (height - (below+headroom)*d.em)
	y = Interval{y.Low - below*d.em*perPoint, y.High + headroom*d.em*perPoint}
	ticks := NiceTicks(y.Low, y.High, int(height/(2.6*d.em)))
	left := d.margin + d.widestNumber(ticks) + 0.75*d.em
	if len(d.slope)+len(d.residualPoints()) > 0 {
		left = max(left, d.margin+4.2*d.em) // room for the numbers of the panels below
	}
	left = min(left, 0.4*d.fig.Width)
	box := Box{left, d.top, d.fig.Width - d.margin - 0.9*d.em, d.top + height}
	d.scale = d.fitScale(x, box.Right-box.Left)
	if g := graduation(d.scale); g > 0 {
		x.High = g * math.Ceil(x.High/g-1e-6)
		x.Low = g * math.Floor(x.Low/g+1e-6)
	}
	half := 0.5*d.widestNumber(d.scale) + 0.2*d.em
	box.Left, box.Right = max(box.Left, half), min(box.Right, d.fig.Width-half)
	d.scale = d.fitScale(x, box.Right-box.Left)
	d.main = Panel{"curve", box, x, y}
	d.top = box.Bottom
	d.place = placer{bounds: Box{box.Left + 0.3*d.em, box.Top - 0.2*d.em, d.fig.Width - 0.5*d.margin, box.Bottom}, gapX: 0.3 * d.em, gapY: 0.18 * d.em}
}

// room is what to keep free between the lowest value and the scale, in ems.
func (d *drawing) room(x Interval, height float64) float64 {
	if len(d.Landmarks)+len(d.Methods) == 0 {
		return bare
	}
	guess := Panel{X: x, Y: Interval{0, 1}, Box: Box{d.margin + 3.5*d.em, 0, d.fig.Width - d.margin - d.em, height}}
	rows := d.planWords(guess)
	return min(lane+float64(rows-1)*rowHeight, 0.45*height/d.em)
}

// widestNumber is the width of the widest number of an axis, points.
func (d *drawing) widestNumber(t Ticks) float64 {
	widest := 0.0
	for _, v := range t.Values {
		widest = max(widest, d.width(d.number(v, t), 0.92))
	}
	return widest
}

// axisWords writes the words of a vertical axis above it, where they can be
// read without turning the head.
func (d *drawing) axisWords(runs []Run) {
	for _, line := range wrap(runs, Sans, d.em, d.fig.Width-2*d.margin) {
		d.top += d.em
		d.add("axes", d.label(Point{d.margin, d.top}, line, Start, Ink, 1))
		d.top += 0.25 * d.em
	}
	d.top += 0.45 * d.em
}

func (d *drawing) width(runs []Run, scale float64) float64 { return Width(runs, Sans, scale*d.em) }

func (d *drawing) number(v float64, t Ticks) []Run { return Number(v, t.Decimals, d.Comma) }

// emptyMain draws the frame and says that it is empty.
func (d *drawing) emptyMain() {
	d.scale = Ticks{}
	b := d.main.Box
	d.fig.Panels = append(d.fig.Panels, d.main)
	d.add("axes", segment(b.Left, b.Top, b.Left, b.Bottom, d.line(Ink)), segment(b.Left, b.Bottom, b.Right, b.Bottom, d.line(Ink)))
	t := d.label(Point{(b.Left + b.Right) / 2, (b.Top + b.Bottom) / 2}, Plain("No readings to draw yet."), Middle, Muted, 1.15)
	t.Face = Serif
	d.add("labels", t)
	d.scaleWords()
}

// drawMain draws the plot with everything in it.
func (d *drawing) drawMain() {
	d.fig.Panels = append(d.fig.Panels, d.main)
	d.valueAxis(d.main, int((d.main.Box.Bottom-d.main.Box.Top)/(2.6*d.em)))
	d.drawScale()
	d.drawBand()
	d.scaleWords()
	d.drawOverlays()
	d.drawModel()
	d.drawReadings()
	d.drawLandmarks()
	d.nameReadings()
	d.nameModel()
}

// valueAxis draws a vertical axis with numbers and faint guides.
func (d *drawing) valueAxis(p Panel, most int) {
	b := p.Box
	d.add("axes", segment(b.Left, b.Top, b.Left, b.Bottom, d.line(Ink)))
	var guides, ticks [][]Point
	t := NiceTicks(p.Y.Low, p.Y.High, most)
	for _, v := range t.Values {
		y := p.At(p.X.Low, v).Y
		ticks = append(ticks, []Point{{b.Left - 0.35*d.em, y}, {b.Left, y}})
		if y < b.Bottom-0.2*d.em {
			guides = append(guides, []Point{{b.Left, y}, {b.Right, y}})
		}
		d.add("axes", d.label(Point{b.Left - 0.6*d.em, y + 0.33*d.em}, d.number(v, t), End, Ink, 0.92))
	}
	d.add("axes", Path{Lines: ticks, Stroke: d.line(Ink)})
	if len(guides) > 0 {
		d.add("grid", Path{Lines: guides, Stroke: d.hair(Faint)})
	}
}

// drawModel draws the model as a line and remembers it for the labels.
func (d *drawing) drawModel() {
	lines := d.project(d.main, d.model)
	d.place.lines = append(d.place.lines, lines...)
	if len(lines) > 0 {
		d.add("model", Path{Lines: lines, Stroke: Stroke{Paint{Role: Accent}, 0.13 * d.em, nil}})
	}
}

// drawOverlays draws the curves beside the model, each in its pattern.
func (d *drawing) drawOverlays() {
	for i, o := range d.Overlays {
		var pattern []float64
		for _, x := range Patterns[o.Kind%len(Patterns)] {
			pattern = append(pattern, x*d.em/3)
		}
		role := Ink
		if o.Kind == 0 {
			role = Accent
		}
		if lines := d.project(d.main, d.others[i]); len(lines) > 0 {
			d.add("overlays", Path{Lines: lines, Stroke: Stroke{Paint{Role: role}, 0.11 * d.em, pattern}})
		}
	}
}

// project maps lines of data into the panel; what lies above or below is cut.
func (d *drawing) project(p Panel, data [][]Point) [][]Point {
	var out [][]Point
	for _, line := range data {
		for _, part := range clip(line, p.Y.Low, p.Y.High) {
			mapped := make([]Point, len(part))
			for i, q := range part {
				mapped[i] = p.At(q.X, q.Y)
			}
			out = append(out, thin(mapped, 0.03))
		}
	}
	return out
}

// radius of an open circle, in ems.
const radius = 0.26

// drawReadings draws open circles, with a cross through those left out.
func (d *drawing) drawReadings() {
	beyond := 0
	for _, r := range d.rs {
		y := d.onScale(r.y)
		if y != r.y {
			beyond++
		}
		d.ring("readings", d.main.At(r.x, y), r.out)
	}
	if beyond > 0 {
		d.note(Muted, "%s left out %s off the scale, drawn at the edge.", count(beyond, "reading"), liesLie(beyond))
	}
}

func liesLie(n int) string {
	if n == 1 {
		return "lies"
	}
	return "lie"
}

// ring draws one reading and keeps labels off it.
func (d *drawing) ring(layer string, at Point, out bool) {
	if d.hidden(layer, at, out) {
		return
	}
	c := Circle{Centre: at, Radius: radius * d.em, Stroke: Stroke{Paint{Role: Ink}, 0.075 * d.em, nil}}
	d.add(layer, c)
	room := c.Radius
	if out {
		room = 1.5 * c.Radius
		d.add(layer, cross(at, 1.8*c.Radius, Stroke{Paint{Role: Ink}, 0.09 * d.em, nil}))
	}
	if layer == "readings" {
		d.place.take(Box{at.X, at.Y, at.X, at.Y}.grow(room))
	}
}

// many readings are drawn on a grid: a circle that would lie on another one of
// its kind, within a tenth of an em, is not drawn again.
const many = 1000

// A place is a cell of that grid.
type place struct {
	layer string
	x, y  int
	out   bool
}

func (d *drawing) hidden(layer string, at Point, out bool) bool {
	if len(d.rs) <= many {
		return false
	}
	if d.seen == nil {
		d.seen = map[place]bool{}
	}
	key := place{layer, int(at.X * 10 / d.em), int(at.Y * 10 / d.em), out}
	hidden := d.seen[key]
	d.seen[key] = true
	return hidden
}
