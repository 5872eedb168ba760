package figure

import (
	"fmt"
	"sync"

	ximage "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"meniscus/report/font"
)

// A Face is one of the bundled typefaces.
type Face uint8

// The faces of a figure.
const (
	Sans Face = iota
	SansBold
	Serif
	SerifBold
	faceCount
)

// faces ties each face to its file and to what a style sheet and a PDF call it.
var faces = [faceCount]struct {
	data   *[]byte
	family string
	bold   bool
	stack  string // generic families that stand in where the face is missing
}{
	Sans:      {&font.Sans, font.SansName, false, "system-ui, sans-serif"},
	SansBold:  {&font.SansBold, font.SansName, true, "system-ui, sans-serif"},
	Serif:     {&font.Serif, font.SerifName, false, "Georgia, serif"},
	SerifBold: {&font.SerifBold, font.SerifName, true, "Georgia, serif"},
}

// known returns f, or Sans for a number that is none of the faces.
func (f Face) known() Face {
	if f < faceCount {
		return f
	}
	return Sans
}

// parsed holds the parsed faces; parsing is done once, when first needed.
var parsed = sync.OnceValues(func() (*[faceCount]*sfnt.Font, error) {
	var out [faceCount]*sfnt.Font
	for i := range faces {
		f, err := sfnt.Parse(*faces[i].data)
		if err != nil {
			return nil, fmt.Errorf("reading the bundled font %s: %w", faces[i].family, err)
		}
		out[i] = f
	}
	return &out, nil
})

// emUnits is the grid that advances and outlines are read on: fine enough that
// rounding to 1/64 of it never shows.
const emUnits = 1000

// substitute stands for a character that the bundled faces lack.
const substitute = '?'

// glyphIndex finds the glyph of r, or of the substitute.
func glyphIndex(f *sfnt.Font, buf *sfnt.Buffer, r rune) (sfnt.GlyphIndex, error) {
	i, err := f.GlyphIndex(buf, r)
	if err != nil || i != 0 {
		return i, err
	}
	return f.GlyphIndex(buf, substitute)
}

// Width returns how wide the runs are at the size, in points. Kerning is left
// out, so that all writers agree. Characters that the face lacks count as '?'.
func Width(runs []Run, face Face, size float64) float64 {
	all, err := parsed()
	if err != nil {
		return 0
	}
	f := all[face.known()]
	var buf sfnt.Buffer
	total := 0.0
	for _, run := range runs {
		scale, _ := run.Shift.scale()
		for _, r := range run.Text {
			i, err := glyphIndex(f, &buf, r)
			if err != nil {
				continue
			}
			adv, err := f.GlyphAdvance(&buf, i, fixed.I(emUnits), ximage.HintingNone)
			if err != nil {
				continue
			}
			total += scale * float64(adv) / 64 / emUnits
		}
	}
	return total * size
}

// Ascent of capitals and figures, and depth of descenders, in ems; the larger
// of the two families' values (read from the fonts' own tables: Lato has
// 0.72 and 0.21, Gentium Book 0.63 and 0.23).
const (
	ascent  = 0.73
	descent = 0.22
)

// reach returns how far the line stands above and below its base line, points.
func reach(runs []Run, size float64) (up, down float64) {
	up, down = ascent, descent
	for _, r := range runs {
		scale, drop := r.Shift.scale()
		up = max(up, ascent*scale-drop)
		down = max(down, descent*scale+drop)
	}
	return up * size, down * size
}
