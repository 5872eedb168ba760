package uncertainty

import (
	"fmt"
	"math"
)

// A Shape is the form of a distribution by which limits, a certificate or
// experience state what is known of a quantity (Type B).
type Shape string

// The shapes. Names are stored with results: add at will, never rename.
const (
	Normal      Shape = "normal"
	Rectangular Shape = "rectangular"
	Triangular  Shape = "triangular"
	Trapezoidal Shape = "trapezoidal"
	Arcsine     Shape = "arcsine"
	StudentT    Shape = "t"
)

// Shapes lists the shapes in the order users are offered them, with what Width
// and Param of a Stated mean.
var Shapes = []struct {
	Shape        Shape
	Width, Param string
	divisor      func(param float64) float64
}{
	{Normal, "expanded uncertainty", "coverage factor, 0 for 1", coverageDivisor},
	{Rectangular, "half-width", "", func(float64) float64 { return math.Sqrt(3) }},
	{Triangular, "half-width", "", func(float64) float64 { return math.Sqrt(6) }},
	{Trapezoidal, "half-width of the base", "width of the top over that of the base, 0 to 1", trapezoidDivisor},
	{Arcsine, "half-width", "", func(float64) float64 { return math.Sqrt2 }},
	{StudentT, "standard uncertainty", "degrees of freedom, above 0", dofDivisor},
}

func coverageDivisor(k float64) float64 {
	switch {
	case k == 0:
		return 1
	case k > 0 && !math.IsInf(k, 0):
		return k
	}
	return math.NaN()
}

func trapezoidDivisor(top float64) float64 {
	if !(top >= 0 && top <= 1) {
		return math.NaN()
	}
	return math.Sqrt(6 / (1 + top*top))
}

func dofDivisor(dof float64) float64 {
	if !(dof > 0) {
		return math.NaN()
	}
	return 1
}

// Stated is an uncertainty as it was stated: a width, in the unit of the
// quantity, of a distribution of known shape. Shapes says what Width and Param
// mean; the zero Shape is Normal.
type Stated struct {
	Shape Shape
	Width float64
	Param float64
}

// StdUnc returns the standard uncertainty (GUM 4.3.3 to 4.3.9 and, for the
// arcsine, H.1.3.4; from memory). An unknown shape, and a width or parameter
// out of range, is an error. StudentT keeps the width, since its degrees of
// freedom go into the coverage factor.
func (s Stated) StdUnc() (float64, error) {
	if !(s.Width >= 0) || math.IsInf(s.Width, 0) {
		return 0, fmt.Errorf("width %v of a %s distribution is not a number from 0 up", s.Width, s.shape())
	}
	for _, row := range Shapes {
		if row.Shape != s.shape() {
			continue
		}
		d := row.divisor(s.Param)
		if math.IsNaN(d) {
			return 0, fmt.Errorf("%v is not the %s of a %s distribution", s.Param, row.Param, row.Shape)
		}
		return s.Width / d, nil
	}
	return 0, fmt.Errorf("distribution %q is not known; have %s", s.Shape, shapeNames())
}

func (s Stated) shape() Shape {
	if s.Shape == "" {
		return Normal
	}
	return s.Shape
}

func shapeNames() string {
	text := ""
	for i, row := range Shapes {
		if i > 0 {
			text += ", "
		}
		text += string(row.Shape)
	}
	return text
}

// kurtosis returns the fourth central moment over the square of the variance,
// from the integrals of the densities. A trapezoid is the sum of two rectangles,
// each of whose fourth cumulants is -6/5 of its squared variance. Student's
// distribution has one above 4 degrees of freedom; below 5 the normal one
// stands in for it.
func (s Stated) kurtosis() float64 {
	switch s.shape() {
	case Rectangular:
		return 1.8
	case Triangular:
		return 2.4
	case Trapezoidal:
		a, b := (1+s.Param)*(1+s.Param), (1-s.Param)*(1-s.Param)
		return 3 - 1.2*(a*a+b*b)/((a+b)*(a+b))
	case Arcsine:
		return 1.5
	case StudentT:
		if s.Param >= 5 {
			return 3 + 6/(s.Param-4)
		}
	}
	return 3
}
