package figure

import (
	"fmt"
	"math"
)

// A Curve is what a figure of one titration shows. Volumes are in the unit that
// XLabel names (usually mL), values in that of YLabel (mV, V or pH); nothing is
// converted. All slices may be empty.
type Curve struct {
	Title          []Run
	XLabel, YLabel []Run // with units: "volume of Ce⁴⁺ added / mL"

	Volume, Value []float64 // readings, of equal length
	LeftOut       []bool    // true for readings that were left out; nil or as long as Volume
	ReadingLabel  []Run     // default "readings"

	ModelVolume, ModelValue []float64 // rising in volume; a NaN value breaks the line
	ModelLabel              []Run     // default "model"

	Overlays []Overlay // other curves beside it, each with its pattern

	Landmarks []Landmark // half, equivalence, twice
	Methods   []Landmark // end points by other methods

	Residual      []float64 // reading less model, one for each reading; nil for no panel
	ResidualLabel []Run     // default "reading − model"

	DerivativeVolume, DerivativeValue []float64 // a panel of its own where given
	DerivativeLabel                   []Run     // default "slope"

	Band []Swatch // colour of the solution along the scale

	Size  Size
	Comma bool // decimal comma
}

// A Landmark is a volume marked on the scale.
type Landmark struct {
	Label  []Run
	Volume float64
	// U is half the width of the mark and stands after ± in its label: the
	// standard uncertainty, in the unit of the volume. Zero where it is not
	// known.
	U float64
	// Main marks the landmark that the figure is about.
	Main bool
}

// An Overlay is a further curve, which the pattern of its line tells from the
// others: the one of Patterns at its Kind, over and over. Overlays of one kind
// belong together, such as the runs of one determination.
type Overlay struct {
	Label         []Run
	Volume, Value []float64 // rising in volume; a NaN value breaks the line
	Kind          int
}

// Patterns are lengths of line and gap, in thirds of an em; the first line is
// unbroken.
var Patterns = [][]float64{nil, {4, 1.5}, {1, 1.2}, {5, 1.2, 1, 1.2}, {8, 2}, {2, 1, 2, 1, 1, 2}}

// A Swatch is the colour of the solution between two volumes, with the words
// for it.
type Swatch struct {
	From, To float64
	Colour   RGB
	Words    string
}

// A Size is a preset of dimensions.
type Size uint8

// The sizes.
const (
	Screen    Size = iota // 720 wide, 13 point labels
	Column                // one column of an A4 page, 453.6 points (160 mm) wide
	Projector             // 1280 wide with labels twice those of Screen
	Phone                 // 360 wide
	sizeCount
)

// presets are in points.
var presets = [sizeCount]struct{ width, curve, panel, em float64 }{
	Screen:    {720, 340, 84, 13},
	Column:    {453.6, 220, 54, 8.2},
	Projector: {1280, 520, 120, 26},
	Phone:     {360, 300, 70, 12},
}

// largest is the largest magnitude that is drawn. Nothing that is measured
// comes near it; it keeps differences and squares finite.
const largest = 1e100

func drawable(v float64) bool { return math.Abs(v) <= largest } // false for NaN

// check finds what would make a figure of other data than was meant.
func (c Curve) check() error {
	pairs := []struct {
		what string
		a, b int
	}{
		{"readings", len(c.Volume), len(c.Value)},
		{"model", len(c.ModelVolume), len(c.ModelValue)},
		{"derivative", len(c.DerivativeVolume), len(c.DerivativeValue)},
	}
	for _, p := range pairs {
		if p.a != p.b {
			return fmt.Errorf("drawing the curve: the %s have %d volumes and %d values; each volume needs one value", p.what, p.a, p.b)
		}
	}
	for _, o := range c.Overlays {
		if len(o.Volume) != len(o.Value) || o.Kind < 0 {
			return fmt.Errorf("drawing the curve: the curve %q has %d volumes and %d values, and is of kind %d; each volume needs one value, and kinds count from 0", String(o.Label), len(o.Volume), len(o.Value), o.Kind)
		}
	}
	if c.LeftOut != nil && len(c.LeftOut) != len(c.Volume) {
		return fmt.Errorf("drawing the curve: %d readings, but %d marks of what was left out", len(c.Volume), len(c.LeftOut))
	}
	if c.Residual != nil && len(c.Residual) != len(c.Volume) {
		return fmt.Errorf("drawing the curve: %d readings, but %d residuals", len(c.Volume), len(c.Residual))
	}
	if c.Size >= sizeCount {
		return fmt.Errorf("drawing the curve: size %d is none of the presets", c.Size)
	}
	return nil
}

// A reading is one drawable reading.
type reading struct {
	x, y     float64
	residual float64 // NaN where there is none
	out      bool
}

// readings returns those that can be drawn, and how many cannot.
func (c Curve) readings() (ok []reading, bad int) {
	for i, x := range c.Volume {
		r := reading{x: x, y: c.Value[i], residual: math.NaN()}
		if !drawable(r.x) || !drawable(r.y) {
			bad++
			continue
		}
		if c.LeftOut != nil {
			r.out = c.LeftOut[i]
		}
		if c.Residual != nil && drawable(c.Residual[i]) {
			r.residual = c.Residual[i]
		}
		ok = append(ok, r)
	}
	return ok, bad
}

// unbroken splits a line where it cannot be drawn.
func unbroken(x, y []float64) [][]Point {
	var out [][]Point
	var line []Point
	for i := range x {
		if drawable(x[i]) && drawable(y[i]) {
			line = append(line, Point{x[i], y[i]})
			continue
		}
		if len(line) > 1 {
			out = append(out, line)
		}
		line = nil
	}
	if len(line) > 1 {
		out = append(out, line)
	}
	return out
}

func or(runs []Run, text string) []Run {
	if len(runs) > 0 {
		return runs
	}
	return Plain(text)
}
