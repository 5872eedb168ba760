package figure

import (
	"cmp"
	"math"
	"slices"
)

// A pin is a landmark or end point on its way to the scale.
type pin struct {
	Landmark
	method bool
	x      float64 // points
}

// Heights of the ticks that rise from the scale, and of the rows of their
// words, in ems.
const (
	mainTick   = 1.3
	plainTick  = 0.95
	firstRow   = 1.75
	rowHeight  = 1.35
	mostRows   = 12
	footHeight = 0.5
	minMainBar = 0.16 // least width of the main mark
)

// drawLandmarks draws the ticks on the scale and finds room for their words.
// Words that find none are left to the description; their ticks stay.
func (d *drawing) drawLandmarks() {
	pins := d.pins(d.main)
	for _, p := range pins {
		d.tick(p)
	}
	d.noteBeyond()
	// The pin nearest the side of the words goes lowest, so that no pole passes
	// through the words of another. Those that stand alone go first: they need
	// the row next to the scale.
	right := d.right
	slices.SortStableFunc(pins, func(a, b pin) int {
		if right {
			return cmp.Compare(b.x, a.x)
		}
		return cmp.Compare(a.x, b.x)
	})
	var words []Box
	for _, crowd := range []bool{false, true} {
		for i, p := range pins {
			if d.crowded(pins, i) != crowd {
				continue
			}
			if t, ok := d.flag(p, right, crowd); ok {
				words = append(words, t.Bounds())
			}
		}
	}
	for _, p := range pins {
		d.drop(p, words)
	}
}

// crowded says whether words centred over the i-th pin would stand in the way
// of the pole of another.
func (d *drawing) crowded(pins []pin, i int) bool {
	half := d.width(d.words(pins[i].Landmark), 0.92)/2 + 0.4*d.em
	for j, p := range pins {
		if j != i && math.Abs(p.x-pins[i].x) < half {
			return true
		}
	}
	return false
}

// pins returns what lies on the scale of the panel.
func (d *drawing) pins(on Panel) []pin {
	var out []pin
	for _, m := range d.Methods {
		if on.X.holds(m.Volume) {
			out = append(out, pin{m, true, on.At(m.Volume, 0).X})
		}
	}
	for _, m := range d.Landmarks {
		if on.X.holds(m.Volume) {
			out = append(out, pin{m, false, on.At(m.Volume, 0).X})
		}
	}
	return out
}

// noteBeyond says under the figure what lies beyond the scale.
func (d *drawing) noteBeyond() {
	for _, m := range slices.Concat(d.Methods, d.Landmarks) {
		if drawable(m.Volume) && !d.main.X.holds(m.Volume) {
			d.note(Muted, "%s lies beyond the scale.", String(d.words(m)))
		}
	}
}

// planWords decides on which side of their poles the words of a crowd stand,
// and returns how many rows to keep free for them under the curve. They stand
// where the curve is high and there is room under it; if they would not fit
// there, on the other side, each in a row of its own.
func (d *drawing) planWords(on Panel) (rows int) {
	d.right = d.rises()
	pins := d.pins(on)
	widest, low, high, n := 0.0, math.Inf(1), math.Inf(-1), 0
	for i, p := range pins {
		if d.crowded(pins, i) {
			widest = max(widest, d.width(d.words(p.Landmark), 0.92)+0.8*d.em)
			low, high = min(low, p.x), max(high, p.x)
			n++
		}
	}
	if n == 0 {
		return 1
	}
	after, before := on.Box.Right-high, low-on.Box.Left
	switch {
	case d.right && after < widest && before > after:
		d.right = false
		return n
	case !d.right && before < widest && after > before:
		d.right = true
		return n
	}
	return 1
}

// words are the name and the value of a landmark: "equivalence 24.823 ± 0.012".
func (d *drawing) words(m Landmark) []Run {
	decimals := 2
	u := m.U > 0 && drawable(m.U)
	if u {
		decimals = uncertaintyDecimals(m.U)
	}
	runs := slices.Clone(m.Label)
	if len(runs) > 0 {
		runs = append(runs, Run{Text: " "})
	}
	runs = append(runs, Number(m.Volume, decimals, d.Comma)...)
	if u {
		runs = append(runs, Run{Text: " ± "})
		runs = append(runs, Number(m.U, decimals, d.Comma)...)
	}
	return joined(runs)
}

// uncertaintyDecimals gives the decimals that leave two significant figures of
// u, which is as many as the uncertainty of an uncertainty allows (GUM 7.2.6,
// from memory).
func uncertaintyDecimals(u float64) int {
	n := 1 - int(math.Floor(math.Log10(u)))
	return min(max(n, 0), 6)
}

// tick draws the mark on the scale. The foot of a landmark is as wide as its
// uncertainty; the tick itself is never too thin to see.
func (d *drawing) tick(p pin) {
	height, layer, role, width := plainTick, "landmarks", Ink, 0.11
	if p.Main {
		height, width = mainTick, minMainBar
	}
	if p.method {
		layer, role, width = "methods", Muted, 0.07
	}
	foot, half := d.main.Box.Bottom, width*d.em/2
	mark := bar(Box{p.x - half, foot - height*d.em, p.x + half, foot}, Paint{Role: role})
	mark.Tip = String(d.words(p.Landmark))
	d.add(layer, mark)
	d.place.take(mark.Bounds())
	if p.method || !(p.U > 0) || !drawable(p.U) {
		return
	}
	left, right := d.main.At(p.Volume-p.U, 0).X, d.main.At(p.Volume+p.U, 0).X
	if right-left > 2*half {
		wide := bar(Box{max(left, d.main.Box.Left), foot - footHeight*d.em, min(right, d.main.Box.Right), foot}, Paint{Role: role})
		wide.Tip = mark.Tip
		d.add(layer, wide)
	}
}

// drop draws a dotted guide from the model down to the tick of a landmark, or
// to the words in its way.
func (d *drawing) drop(p pin, words []Box) {
	y, ok := heightAt(d.model, p.Volume)
	if p.method || !ok || y > d.main.Y.High || y < d.main.Y.Low {
		return
	}
	foot := d.main.Box.Bottom - plainTick*d.em
	for _, b := range words {
		if b.Left < p.x && p.x < b.Right {
			foot = min(foot, b.Top-0.2*d.em)
		}
	}
	s := d.hair(Muted)
	s.Dash = []float64{0.12 * d.em, 0.3 * d.em}
	if top := d.main.At(0, y).Y; top < foot {
		d.add("drops", segment(p.x, top, p.x, foot, s))
		d.place.take(Box{p.x - s.Width, top, p.x + s.Width, foot})
	}
}

// heightAt interpolates the lines at x.
func heightAt(lines [][]Point, x float64) (float64, bool) {
	for _, line := range lines {
		for i := 1; i < len(line); i++ {
			a, b := line[i-1], line[i]
			if x >= a.X && x <= b.X && b.X > a.X {
				return a.Y + (b.Y-a.Y)*(x-a.X)/(b.X-a.X), true
			}
		}
	}
	return 0, false
}

// rises says whether the curve is higher at its right end than at its left.
func (d *drawing) rises() bool {
	var first, last Point
	seen := false
	look := func(p Point) {
		if !seen || p.X < first.X {
			first = p
		}
		if !seen || p.X > last.X {
			last = p
		}
		seen = true
	}
	for _, line := range d.model {
		look(line[0])
		look(line[len(line)-1])
	}
	for _, r := range d.rs {
		if !r.out {
			look(Point{r.x, r.y})
		}
	}
	return last.Y >= first.Y
}

// flag writes the words of a pin: over its tick unless that is crowded, or
// beside a pole that rises from it. It returns false where there is no room.
func (d *drawing) flag(p pin, right, crowded bool) (Text, bool) {
	if !crowded {
		if t := d.pinWords(p, 0, Middle); d.hoist(p, t, 0) {
			return t, true
		}
	}
	sides := []Anchor{Start, End}
	if !right {
		sides = []Anchor{End, Start}
	}
	for _, side := range sides {
		for row := range mostRows {
			if t := d.pinWords(p, row, side); d.hoist(p, t, row) {
				return t, true
			}
		}
	}
	return Text{}, false
}

// pinWords are the words of a pin in the row, on one side of its pole.
func (d *drawing) pinWords(p pin, row int, side Anchor) Text {
	at := Point{p.x, d.main.Box.Bottom - (firstRow+float64(row)*rowHeight)*d.em}
	switch side {
	case Start:
		at.X += 0.4 * d.em
	case End:
		at.X -= 0.4 * d.em
	}
	t := d.label(at, d.words(p.Landmark), side, Ink, 0.92)
	if p.Main {
		t.Face = SansBold
	}
	if p.method {
		t.Size, t.Paint.Role = 0.85*d.em, Muted
	}
	return t
}

// hoist takes the place for the words and their pole if both are free.
func (d *drawing) hoist(p pin, t Text, row int) bool {
	b := t.Bounds()
	if !d.place.free(b) {
		return false
	}
	foot := d.main.Box.Bottom - plainTick*d.em
	top := b.Bottom
	if t.Anchor != Middle {
		top = (b.Top + b.Bottom) / 2
	}
	if row > 0 || t.Anchor != Middle {
		if !d.poleFree(Box{p.x - 0.04*d.em, top, p.x + 0.04*d.em, foot}) {
			return false
		}
		d.add(layerOf(p), segment(p.x, top, p.x, foot, d.hair(Muted)))
		if t.Anchor != Middle {
			end := b.Left - 0.12*d.em
			if t.Anchor == End {
				end = b.Right + 0.12*d.em
			}
			d.add(layerOf(p), segment(p.x, top, end, top, d.hair(Muted)))
		}
		d.place.take(Box{p.x - 0.04*d.em, top, p.x + 0.04*d.em, foot})
	}
	d.place.take(b)
	d.add("labels", t)
	return true
}

// poleFree says whether a pole passes no words. It may stand beside other
// poles and ticks: end points often lie closer than a line is wide.
func (d *drawing) poleFree(pole Box) bool {
	for _, t := range d.place.taken {
		words := t.Right-t.Left > 1.2*d.em
		if words && pole.overlaps(t) {
			return false
		}
	}
	return true
}

func layerOf(p pin) string {
	if p.method {
		return "methods"
	}
	return "landmarks"
}
