package figure

import (
	"math"
	"strings"
)

// Lengths of the graduations of the volume scale, in ems, as on a burette:
// longest at the numbers.
const (
	longMark  = 0.85
	midMark   = 0.58
	shortMark = 0.36
)

// fitScale chooses the numbers of the volume scale so that they stand clear of
// each other over width points.
func (d *drawing) fitScale(x Interval, width float64) Ticks {
	for most := int(width / (3 * d.em)); most > 1; most-- {
		t := NiceTicks(x.Low, x.High, most)
		if d.widestNumber(t)+0.8*d.em <= t.Step/(x.High-x.Low)*width {
			return t
		}
	}
	return NiceTicks(x.Low, x.High, 1)
}

// graduation is the finest division of a scale: a tenth of the step.
func graduation(t Ticks) float64 { return t.Step / 10 }

// drawScale draws the volume axis as the scale of a burette.
func (d *drawing) drawScale() {
	b := d.main.Box
	d.add("scale", segment(b.Left, b.Bottom, b.Right, b.Bottom, d.line(Ink)))
	if d.scale.Step == 0 {
		return
	}
	var long, mid, short [][]Point
	g := graduation(d.scale)
	fine := g / (d.main.X.High - d.main.X.Low) * (b.Right - b.Left)
	half := 5 // of the ten divisions of a step, which get the middle length
	if d.leading() == 5 {
		half = 2
	}
	first, last := math.Ceil(d.main.X.Low/g-1e-6), math.Floor(d.main.X.High/g+1e-6)
	for k := first; k <= last; k++ {
		x := d.main.At(k*g, 0).X
		i := int(math.Mod(k, 10))
		switch {
		case i == 0:
			long = append(long, []Point{{x, b.Bottom}, {x, b.Bottom + longMark*d.em}})
		case i%half == 0:
			mid = append(mid, []Point{{x, b.Bottom}, {x, b.Bottom + midMark*d.em}})
		case fine > 0.22*d.em:
			short = append(short, []Point{{x, b.Bottom}, {x, b.Bottom + shortMark*d.em}})
		}
	}
	d.add("scale", Path{Lines: short, Stroke: d.hair(Muted)}, Path{Lines: mid, Stroke: d.hair(Ink)}, Path{Lines: long, Stroke: d.line(Ink)})
	d.scaleNumbers()
}

func (d *drawing) leading() int {
	lead := d.scale.Step / math.Pow(10, math.Floor(math.Log10(d.scale.Step)*(1+1e-15)+1e-9))
	return int(math.Round(lead))
}

func (d *drawing) scaleNumbers() {
	b := d.main.Box
	d.top = b.Bottom + (longMark+1.05)*d.em
	for _, v := range d.scale.Values {
		x := d.main.At(v, 0).X
		t := d.label(Point{x, d.top}, d.number(v, d.scale), Middle, Ink, 0.92)
		if over := t.Bounds().Right - d.fig.Width; over > 0 { // a wide number at the end of the scale
			t.At.X -= over
		}
		d.add("scale", t)
	}
	d.top += 0.3 * d.em
}

// scaleWords writes what the scale measures under it, at its end.
func (d *drawing) scaleWords() {
	for _, line := range wrap(or(d.XLabel, "volume added"), Sans, d.em, d.fig.Width-2*d.margin) {
		d.top += 1.2 * d.em
		x := d.main.Box.Right
		if d.width(line, 1) > x-d.margin {
			x = d.fig.Width - d.margin
		}
		d.add("axes", d.label(Point{x, d.top}, line, End, Ink, 1))
	}
	d.top += 0.35 * d.em
}

// drawBand draws the colours of the solution as a thin band under the numbers,
// with the words where there is room.
func (d *drawing) drawBand() {
	swatches := d.swatches()
	if len(swatches) == 0 {
		return
	}
	top, bottom := d.top+0.2*d.em, d.top+0.75*d.em
	for _, s := range swatches {
		p := bar(Box{d.main.At(s.From, 0).X, top, d.main.At(s.To, 0).X, bottom}, Paint{Own: s.Colour, IsOwn: true})
		p.Tip = s.Words
		d.add("band", p)
	}
	frame := bar(Box{d.main.At(swatches[0].From, 0).X, top, d.main.At(swatches[len(swatches)-1].To, 0).X, bottom}, Paint{})
	frame.Stroke = d.hair(Muted)
	d.add("band", frame)
	d.top = bottom
	d.bandWords(swatches)
}

func (d *drawing) bandWords(swatches []Swatch) {
	row := placer{bounds: Box{d.main.Box.Left - d.em, d.top, d.fig.Width, d.top + 2*d.em}, gapX: 0.4 * d.em}
	base := d.top + d.em
	any := false
	for _, s := range sameWords(swatches) {
		x0, x1 := d.main.At(s.From, 0).X, d.main.At(s.To, 0).X
		centred := d.label(Point{(x0 + x1) / 2, base}, Plain(s.Words), Middle, Muted, 0.85)
		after := d.label(Point{x0, base}, Plain(s.Words), Start, Muted, 0.85)
		before := d.label(Point{x1, base}, Plain(s.Words), End, Muted, 0.85)
		if t, ok := row.first([]Text{centred, after, before}); ok {
			any = true
			d.add("band", t)
		}
	}
	if any {
		d.top += 1.15 * d.em
	}
}

// swatches returns the band cut to the scale, without what cannot be drawn.
func (d *drawing) swatches() []Swatch {
	var out []Swatch
	for _, s := range d.Band {
		s.From, s.To = max(s.From, d.main.X.Low), min(s.To, d.main.X.High)
		if s.From < s.To { // false for NaN
			out = append(out, s)
		}
	}
	return out
}

// sameWords joins neighbours that have the same words.
func sameWords(in []Swatch) []Swatch {
	var out []Swatch
	for _, s := range in {
		if n := len(out); n > 0 && out[n-1].Words == s.Words {
			out[n-1].To = s.To
			continue
		}
		if strings.TrimSpace(s.Words) != "" {
			out = append(out, s)
		}
	}
	return out
}
