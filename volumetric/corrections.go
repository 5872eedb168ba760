package volumetric

import (
	"errors"
	"fmt"
	"math"

	"meniscus/unit"
)

// A Correction is one point of a certificate: at this reading the volume
// delivered from the zero mark is Reading + Add.
type Correction struct{ Reading, Add unit.Volume }

// A Certificate replaces the class limit of a burette: corrections along its
// scale with one standard uncertainty.
type Certificate struct {
	points []Correction
	StdUnc unit.Volume
}

// NewCertificate returns a certificate of points in rising order of reading.
// No points, readings that do not rise, and numbers that are not finite are
// errors. The zero mark needs no point: its correction is 0.
func NewCertificate(points []Correction, stdUnc unit.Volume) (Certificate, error) {
	if len(points) == 0 {
		return Certificate{}, errors.New("certificate without correction points")
	}
	if !(stdUnc >= 0) || math.IsInf(float64(stdUnc), 1) {
		return Certificate{}, fmt.Errorf("certificate: standard uncertainty %v L is not a number from 0 up", float64(stdUnc))
	}
	list := make([]Correction, 0, len(points)+1)
	if points[0].Reading != 0 {
		list = append(list, Correction{})
	}
	for i, p := range points {
		if math.IsNaN(float64(p.Reading-p.Reading)) || math.IsNaN(float64(p.Add-p.Add)) {
			return Certificate{}, fmt.Errorf("certificate, point %d is not finite", i+1)
		}
		if n := len(list); n > 0 && !(p.Reading > list[n-1].Reading) {
			return Certificate{}, fmt.Errorf("certificate, point %d: reading %g mL does not rise", i+1, p.Reading.Millilitres())
		}
		list = append(list, p)
	}
	return Certificate{list, stdUnc}, nil
}

// Delivered returns the true volume between two readings of the scale, start
// and end, the corrections interpolated by straight lines. A reading outside
// the points is an error.
func (c Certificate) Delivered(start, end unit.Volume) (unit.Volume, error) {
	a, err := c.at(start)
	if err != nil {
		return 0, err
	}
	b, err := c.at(end)
	if err != nil {
		return 0, err
	}
	return end + b - start - a, nil
}

func (c Certificate) at(reading unit.Volume) (unit.Volume, error) {
	for i := 1; i < len(c.points); i++ {
		a, b := c.points[i-1], c.points[i]
		if reading >= a.Reading && reading <= b.Reading {
			return a.Add + (b.Add-a.Add)*(reading-a.Reading)/(b.Reading-a.Reading), nil
		}
	}
	if len(c.points) == 1 && reading == c.points[0].Reading {
		return c.points[0].Add, nil
	}
	last := c.points[max(len(c.points)-1, 0)].Reading
	return 0, fmt.Errorf("reading %g mL is outside the certificate, 0 to %g mL", reading.Millilitres(), last.Millilitres())
}
