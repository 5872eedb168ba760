package figure

import (
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/sfnt"
)

// PDFOptions say how a figure is written as PDF.
type PDFOptions struct {
	Theme Theme
	// Date is written as the date of making. The zero value writes the first
	// second of 1970, so that the same figure gives the same file.
	Date time.Time
}

// PDF writes the figure as a page of its own size, with vectors and text that
// can be searched and copied.
func PDF(w io.Writer, f Figure, opt PDFOptions) error {
	if !(f.Width > 0 && f.Height > 0) {
		return fmt.Errorf("writing the figure as PDF: its size is %g by %g points", f.Width, f.Height)
	}
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: f.Width, Ht: f.Height}})
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	date := opt.Date
	if date.IsZero() {
		date = time.Unix(0, 0).UTC()
	}
	doc.SetCreationDate(date)
	doc.SetModificationDate(date)
	doc.SetCatalogSort(true)
	doc.SetTitle(f.Title, true)
	doc.SetSubject(f.Desc, true)
	doc.SetProducer("", true)
	doc.AddPage()
	if opt.Theme == Dark {
		ground := Figure{Layers: []Layer{{Marks: []Mark{bar(Box{0, 0, f.Width, f.Height}, Paint{Role: Paper})}}}}
		if err := Place(doc, ground, 0, 0, 1, opt.Theme); err != nil {
			return err
		}
	}
	if err := Place(doc, f, 0, 0, 1, opt.Theme); err != nil {
		return err
	}
	if err := doc.Output(w); err != nil {
		return fmt.Errorf("writing the figure as PDF: %w", err)
	}
	return nil
}

// Place draws the figure onto the page of doc, scaled, with its top left corner
// at (x, y) in the units of doc. The bundled fonts are added to doc under their
// names; font, colours and line width of doc are as before afterwards, its dash
// pattern is solid. The ground is left as it is.
func Place(doc *fpdf.Fpdf, f Figure, x, y, scale float64, theme Theme) error {
	fonts, err := parsed()
	if err != nil {
		return fmt.Errorf("placing a figure: %w", err)
	}
	p := &pdfWriter{doc: doc, x: x, y: y, unit: scale / doc.GetConversionRatio(), points: scale, theme: theme, fonts: fonts}
	for face := range faces {
		doc.AddUTF8FontFromBytes(faces[face].family, pdfStyle(Face(face)), *faces[face].data)
	}
	restore := p.remember()
	doc.SetLineJoinStyle("round")
	doc.SetLineCapStyle("butt")
	for _, l := range f.Layers {
		for _, m := range l.Marks {
			p.mark(m)
		}
	}
	restore()
	if err := doc.Error(); err != nil {
		return fmt.Errorf("placing a figure: %w", err)
	}
	return nil
}

type pdfWriter struct {
	doc    *fpdf.Fpdf
	x, y   float64 // units of doc
	unit   float64 // units of doc a point of the figure
	points float64 // points of the page a point of the figure
	theme  Theme
	fonts  *[faceCount]*sfnt.Font
	buf    sfnt.Buffer
}

func pdfStyle(f Face) string {
	if faces[f].bold {
		return "B"
	}
	return ""
}

// remember returns what puts the state of the document back.
func (p *pdfWriter) remember() func() {
	doc := p.doc
	family, style := doc.GetFontFamily(), doc.GetFontStyle()
	size, _ := doc.GetFontSize()
	width := doc.GetLineWidth()
	dr, dg, db := doc.GetDrawColor()
	fr, fg, fb := doc.GetFillColor()
	tr, tg, tb := doc.GetTextColor()
	return func() {
		doc.SetDashPattern(nil, 0)
		doc.SetLineWidth(width)
		doc.SetDrawColor(dr, dg, db)
		doc.SetFillColor(fr, fg, fb)
		doc.SetTextColor(tr, tg, tb)
		if family != "" {
			doc.SetFont(family, style, size)
		}
	}
}

func (p *pdfWriter) at(q Point) (x, y float64) { return p.x + q.X*p.unit, p.y + q.Y*p.unit }

// prepare sets the colours and returns the style that fpdf's path painting
// takes: "F", "D", "FD", or "" for nothing.
func (p *pdfWriter) prepare(fill Paint, stroke Stroke) string {
	style := ""
	if c, ok := fill.colour(p.theme); ok {
		p.doc.SetFillColor(int(c.R), int(c.G), int(c.B))
		style = "F"
	}
	if c, ok := stroke.Paint.colour(p.theme); ok && stroke.Width > 0 {
		p.doc.SetDrawColor(int(c.R), int(c.G), int(c.B))
		p.doc.SetLineWidth(stroke.Width * p.unit)
		dash := make([]float64, len(stroke.Dash))
		for i, v := range stroke.Dash {
			dash[i] = v * p.unit
		}
		p.doc.SetDashPattern(dash, 0)
		style += "D"
	}
	return style
}

func (p *pdfWriter) mark(m Mark) {
	switch m := m.(type) {
	case Path:
		p.path(m)
	case Circle:
		if style := p.prepare(m.Fill, m.Stroke); style != "" {
			x, y := p.at(m.Centre)
			p.doc.Circle(x, y, m.Radius*p.unit, style)
		}
	case Text:
		p.text(m)
	}
}

func (p *pdfWriter) path(m Path) {
	style := p.prepare(m.Fill, m.Stroke)
	if style == "" || len(m.Lines) == 0 {
		return
	}
	for _, line := range m.Lines {
		for i, q := range line {
			x, y := p.at(q)
			if i == 0 {
				p.doc.MoveTo(x, y)
			} else {
				p.doc.LineTo(x, y)
			}
		}
		if m.Closed {
			p.doc.ClosePath()
		}
	}
	p.doc.DrawPath(style)
}

func (p *pdfWriter) text(t Text) {
	c, ok := t.Paint.colour(p.theme)
	if !ok {
		return
	}
	face := t.Face.known()
	p.doc.SetTextColor(int(c.R), int(c.G), int(c.B))
	x, y := p.at(t.At)
	if t.Turned {
		p.doc.TransformBegin()
		p.doc.TransformRotate(90, x, y)
		defer p.doc.TransformEnd()
	}
	x -= anchorShift(t.Anchor) * Width(t.Runs, face, t.Size) * p.unit
	for _, run := range t.Runs {
		size, drop := run.Shift.scale()
		p.doc.SetFont(faces[face].family, pdfStyle(face), size*t.Size*p.points)
		if text := p.known(face, run.Text); text != "" {
			p.doc.Text(x, y+drop*t.Size*p.unit, text)
		}
		x += Width([]Run{run}, face, t.Size) * p.unit
	}
}

// known puts the substitute for every character that the face lacks.
func (p *pdfWriter) known(f Face, s string) string {
	return strings.Map(func(r rune) rune {
		if i, err := p.fonts[f].GlyphIndex(&p.buf, r); err != nil || i == 0 {
			return substitute
		}
		return r
	}, s)
}
