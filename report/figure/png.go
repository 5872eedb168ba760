package figure

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	ximage "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// PNGOptions say how a figure is written as PNG.
type PNGOptions struct {
	Theme Theme
	Scale float64 // pixels a point; 2 where it is zero
}

// mostPixels bounds the size of a picture: 400 MB of memory.
const mostPixels = 1e8

// PNG writes the figure as a picture. A scale that is negative or gives more
// than 1e8 pixels is an error.
func PNG(w io.Writer, f Figure, opt PNGOptions) error {
	img, err := Raster(f, opt)
	if err != nil {
		return err
	}
	if err := png.Encode(w, img); err != nil {
		return fmt.Errorf("writing the figure as PNG: %w", err)
	}
	return nil
}

// Raster paints the figure; see [PNG].
func Raster(f Figure, opt PNGOptions) (*image.RGBA, error) {
	scale := opt.Scale
	if scale == 0 {
		scale = 2
	}
	wide, high := math.Ceil(f.Width*scale), math.Ceil(f.Height*scale)
	if !(wide >= 1 && high >= 1 && wide*high <= mostPixels) {
		return nil, fmt.Errorf("painting the figure: %g by %g pixels; it must be at least one and at most %g in all", wide, high, mostPixels)
	}
	fonts, err := parsed()
	if err != nil {
		return nil, fmt.Errorf("painting the figure: %w", err)
	}
	c := &canvas{
		img:   image.NewRGBA(image.Rect(0, 0, int(wide), int(high))),
		z:     vector.NewRasterizer(0, 0),
		scale: scale, theme: opt.Theme, fonts: fonts,
	}
	draw.Draw(c.img, c.img.Bounds(), image.NewUniform(c.rgba(opt.Theme.Colour(Paper))), image.Point{}, draw.Src)
	for _, l := range f.Layers {
		for _, m := range l.Marks {
			c.mark(m)
		}
	}
	return c.img, nil
}

type canvas struct {
	img   *image.RGBA
	z     *vector.Rasterizer
	scale float64
	theme Theme
	fonts *[faceCount]*sfnt.Font
	buf   sfnt.Buffer
}

func (c *canvas) rgba(v RGB) color.RGBA { return color.RGBA{v.R, v.G, v.B, 255} }

func (c *canvas) pixel(p Point) Point { return Point{p.X * c.scale, p.Y * c.scale} }

func (c *canvas) mark(m Mark) {
	switch m := m.(type) {
	case Path:
		c.path(m)
	case Circle:
		c.circle(m)
	case Text:
		c.text(m)
	}
}

func (c *canvas) path(p Path) {
	var fill, stroke outline
	for _, line := range p.Lines {
		mapped := make([]Point, len(line))
		for i, q := range line {
			mapped[i] = c.pixel(q)
		}
		fill.polygon(mapped)
		for _, part := range dashes(mapped, c.dash(p.Stroke)) {
			stroke.stroke(part, p.Closed && len(p.Stroke.Dash) == 0, p.Stroke.Width*c.scale)
		}
	}
	c.paint(&fill, p.Fill)
	c.paint(&stroke, p.Stroke.Paint)
}

func (c *canvas) dash(s Stroke) []float64 {
	out := make([]float64, len(s.Dash))
	for i, v := range s.Dash {
		out[i] = v * c.scale
	}
	return out
}

func (c *canvas) circle(m Circle) {
	var fill, ring outline
	at, half := c.pixel(m.Centre), m.Stroke.Width/2
	fill.disc(at, m.Radius*c.scale, 1)
	ring.disc(at, (m.Radius+half)*c.scale, 1)
	ring.disc(at, max(m.Radius-half, 0)*c.scale, -1)
	c.paint(&fill, m.Fill)
	c.paint(&ring, m.Stroke.Paint)
}

// paint fills the outline; only the pixels about it are touched.
func (c *canvas) paint(o *outline, p Paint) {
	rgb, ok := p.colour(c.theme)
	if !ok || len(o.ops) == 0 {
		return
	}
	bounds := Box{0, 0, float64(c.img.Rect.Dx()), float64(c.img.Rect.Dy())}
	left, top := math.Floor(max(o.box.Left, bounds.Left)), math.Floor(max(o.box.Top, bounds.Top))
	right, bottom := math.Ceil(min(o.box.Right, bounds.Right)), math.Ceil(min(o.box.Bottom, bounds.Bottom))
	if !(left < right && top < bottom) {
		return
	}
	r := image.Rect(int(left), int(top), int(right), int(bottom))
	c.z.Reset(r.Dx(), r.Dy())
	o.replay(c.z, Point{left, top})
	c.z.Draw(c.img, r, image.NewUniform(c.rgba(rgb)), image.Point{})
}

// text fills the outlines of the glyphs, without hinting or kerning.
func (c *canvas) text(t Text) {
	var o outline
	f := c.fonts[t.Face.known()]
	x := -anchorShift(t.Anchor) * Width(t.Runs, t.Face, t.Size)
	for _, run := range t.Runs {
		size, drop := run.Shift.scale()
		for _, r := range run.Text {
			i, err := glyphIndex(f, &c.buf, r)
			if err != nil {
				continue
			}
			at := func(p fixed.Point26_6) Point {
				k := size * t.Size / emUnits / 64
				return c.pixel(t.turn(x+float64(p.X)*k, drop*t.Size+float64(p.Y)*k))
			}
			c.glyph(&o, f, i, at)
			if adv, err := f.GlyphAdvance(&c.buf, i, fixed.I(emUnits), ximage.HintingNone); err == nil {
				x += float64(adv) / 64 / emUnits * size * t.Size
			}
		}
	}
	c.paint(&o, t.Paint)
}

// turn maps a position along the text to the figure.
func (t Text) turn(x, y float64) Point {
	if t.Turned {
		return Point{t.At.X + y, t.At.Y - x}
	}
	return Point{t.At.X + x, t.At.Y + y}
}

func (c *canvas) glyph(o *outline, f *sfnt.Font, i sfnt.GlyphIndex, at func(fixed.Point26_6) Point) {
	segments, err := f.LoadGlyph(&c.buf, i, fixed.I(emUnits), nil)
	if err != nil {
		return // a glyph without an outline, such as a colour picture
	}
	for _, s := range segments {
		a := s.Args
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			o.op('M', at(a[0]))
		case sfnt.SegmentOpLineTo:
			o.op('L', at(a[0]))
		case sfnt.SegmentOpQuadTo:
			o.op('Q', at(a[0]), at(a[1]))
		case sfnt.SegmentOpCubeTo:
			o.op('C', at(a[0]), at(a[1]), at(a[2]))
		}
	}
}
