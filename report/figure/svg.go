package figure

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// SVGOptions say how a figure is written as SVG. The zero value gives a
// drawing with its colours in attributes that needs nothing else.
type SVGOptions struct {
	Theme Theme
	// Prefix, if not empty, adds class names, so that the style sheet of a page
	// ([Stylesheet] for the same prefix) can theme the figure: PREFIXs-ink for
	// a stroke in ink, PREFIXf-ink for a fill, and the layer's name
	// (PREFIXreadings) on each group. The attributes stay as what holds
	// without the style sheet.
	Prefix string
	// ID begins the ids inside the drawing; two drawings in one page need
	// different ones. Letters, digits, '-' and '_' are kept. Default "figure".
	ID string
	// Embed puts the fonts into a style element as data. It is for files that
	// stand alone: a page that forbids inline styles must not use it.
	Embed bool
	// Transparent leaves out the ground.
	Transparent bool
}

// SVG writes the figure as a scalable drawing with a title and a description
// for screen readers. It holds no script and no style attribute, and is the
// same for the same figure and options.
func SVG(w io.Writer, f Figure, opt SVGOptions) error {
	s := &svgWriter{opt: opt}
	s.open(f)
	if !opt.Transparent {
		s.path(bar(Box{0, 0, f.Width, f.Height}, Paint{Role: Paper}))
	}
	for _, l := range f.Layers {
		s.group(l)
	}
	s.b.WriteString("</svg>\n")
	if _, err := s.b.WriteTo(w); err != nil {
		return fmt.Errorf("writing the figure as SVG: %w", err)
	}
	return nil
}

type svgWriter struct {
	b   bytes.Buffer
	opt SVGOptions
}

func (s *svgWriter) open(f Figure) {
	id := strings.Map(func(r rune) rune {
		if r < 0x80 && (r == '-' || r == '_' || r >= '0' && r <= '9' || r|0x20 >= 'a' && r|0x20 <= 'z') {
			return r
		}
		return -1
	}, s.opt.ID)
	id = orText(id, "figure")
	fmt.Fprintf(&s.b, `<svg xmlns="http://www.w3.org/2000/svg" width="%[1]s" height="%[2]s" viewBox="0 0 %[1]s %[2]s" role="img" aria-labelledby="%[3]s-title %[3]s-desc" font-family="%[4]s" stroke-linejoin="round"`,
		num(f.Width), num(f.Height), id, family(Sans))
	if s.opt.Prefix != "" {
		fmt.Fprintf(&s.b, ` class="%s"`, escape(s.opt.Prefix+"root"))
	}
	fmt.Fprintf(&s.b, ">\n<title id=\"%[1]s-title\">%[2]s</title>\n<desc id=\"%[1]s-desc\">%[3]s</desc>\n", id, escape(f.Title), escape(f.Desc))
	if s.opt.Embed {
		s.embed(f)
	}
}

// family is the value of font-family for a face.
func family(f Face) string { return "'" + faces[f].family + "', " + faces[f].stack }

// embed writes the faces that the figure uses.
func (s *svgWriter) embed(f Figure) {
	var used [faceCount]bool
	for _, l := range f.Layers {
		for _, m := range l.Marks {
			if t, ok := m.(Text); ok {
				used[t.Face.known()] = true
			}
		}
	}
	s.b.WriteString("<style>\n")
	for i, yes := range used {
		if !yes {
			continue
		}
		weight := "normal"
		if faces[i].bold {
			weight = "bold"
		}
		fmt.Fprintf(&s.b, "@font-face{font-family:'%s';font-weight:%s;src:url(data:font/ttf;base64,%s)}\n",
			faces[i].family, weight, base64.StdEncoding.EncodeToString(*faces[i].data))
	}
	s.b.WriteString("</style>\n")
}

func (s *svgWriter) group(l Layer) {
	s.b.WriteString("<g")
	if s.opt.Prefix != "" {
		fmt.Fprintf(&s.b, ` class="%s"`, escape(s.opt.Prefix+l.Name))
	}
	s.b.WriteString(">\n")
	for _, m := range l.Marks {
		switch m := m.(type) {
		case Path:
			s.path(m)
		case Circle:
			fmt.Fprintf(&s.b, `<circle cx="%s" cy="%s" r="%s"`, num(m.Centre.X), num(m.Centre.Y), num(m.Radius))
			s.paint(m.Fill, m.Stroke)
			s.b.WriteString("/>\n")
		case Text:
			s.text(m)
		}
	}
	s.b.WriteString("</g>\n")
}

func (s *svgWriter) path(p Path) {
	var d strings.Builder
	for _, line := range p.Lines {
		for i, q := range line {
			d.WriteByte("ML"[min(i, 1)])
			d.WriteString(num(q.X) + " " + num(q.Y))
		}
		if p.Closed && len(line) > 0 {
			d.WriteByte('Z')
		}
	}
	if d.Len() == 0 {
		return
	}
	fmt.Fprintf(&s.b, `<path d="%s"`, d.String())
	s.paint(p.Fill, p.Stroke)
	if p.Tip != "" {
		fmt.Fprintf(&s.b, "><title>%s</title></path>\n", escape(p.Tip))
		return
	}
	s.b.WriteString("/>\n")
}

// paint writes the colours, and the class names that let a page change them.
func (s *svgWriter) paint(fill Paint, stroke Stroke) {
	var class []string
	if c, ok := fill.colour(s.opt.Theme); ok {
		fmt.Fprintf(&s.b, ` fill="%s"`, c.Hex())
		class = s.class(class, "f-", fill)
	} else {
		s.b.WriteString(` fill="none"`)
	}
	if c, ok := stroke.Paint.colour(s.opt.Theme); ok && stroke.Width > 0 {
		fmt.Fprintf(&s.b, ` stroke="%s" stroke-width="%s"`, c.Hex(), num(stroke.Width))
		class = s.class(class, "s-", stroke.Paint)
		if len(stroke.Dash) > 0 {
			var dash []string
			for _, v := range stroke.Dash {
				dash = append(dash, num(v))
			}
			fmt.Fprintf(&s.b, ` stroke-dasharray="%s"`, strings.Join(dash, " "))
		}
	}
	if len(class) > 0 {
		fmt.Fprintf(&s.b, ` class="%s"`, strings.Join(class, " "))
	}
}

func (s *svgWriter) class(class []string, kind string, p Paint) []string {
	if s.opt.Prefix == "" || p.IsOwn {
		return class
	}
	return append(class, escape(s.opt.Prefix)+kind+p.Role.String())
}

func (s *svgWriter) text(t Text) {
	face := t.Face.known()
	fmt.Fprintf(&s.b, `<text x="%s" y="%s" font-size="%s"`, num(t.At.X), num(t.At.Y), num(t.Size))
	if anchor := [...]string{"", "middle", "end"}[min(t.Anchor, End)]; anchor != "" {
		fmt.Fprintf(&s.b, ` text-anchor="%s"`, anchor)
	}
	if faces[face].family != faces[Sans].family {
		fmt.Fprintf(&s.b, ` font-family="%s"`, family(face))
	}
	if faces[face].bold {
		s.b.WriteString(` font-weight="bold"`)
	}
	if t.Turned {
		fmt.Fprintf(&s.b, ` transform="rotate(-90 %s %s)"`, num(t.At.X), num(t.At.Y))
	}
	s.paint(t.Paint, Stroke{})
	s.b.WriteString(">")
	drop := 0.0 // where the base line stands after the last run, ems
	for _, r := range t.Runs {
		size, want := r.Shift.scale()
		if size == 1 && want == drop {
			s.b.WriteString(escape(r.Text))
			continue
		}
		fmt.Fprintf(&s.b, `<tspan dy="%s" font-size="%s">%s</tspan>`, num((want-drop)*t.Size), num(size*t.Size), escape(r.Text))
		drop = want
	}
	s.b.WriteString("</text>\n")
}

// num writes a length with two decimals at most.
func num(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	text := strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
	if text == "-0" {
		return "0"
	}
	return text
}

func escape(s string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(s)); err != nil {
		return "" // a strings.Builder never fails
	}
	return b.String()
}
