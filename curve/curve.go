// Package curve holds the readings of one titration: volume added against
// potential, pH or pIon, with time and temperature where they were taken. It
// reads them from CSV, TSV, XLSX and pasted text exactly as found. It knows no
// chemistry: see endpoint for end points and fit for models.
package curve

import "meniscus/unit"

// A Kind says what was read at each volume.
type Kind int

// The kinds of reading.
const (
	Potential Kind = iota // volt, against the reference electrode used
	PH                    // pH units
	PIon                  // -log10 of an ion's activity or concentration
)

// A Reading is one row of a titration record.
type Reading struct {
	Row         int              // row in the source, from 1; 0 if there is none
	Volume      unit.Volume      // added so far; exact text in VolumeText
	VolumeText  string           // the volume as written, in millilitres, or ""
	Value       float64          // V for Potential; a bare number for PH and PIon
	Time        float64          // s from any fixed start; NaN where not recorded
	Temperature unit.Temperature // 0 where not recorded
	Excluded    string           // why it is left out of evaluation; "" takes part
}

// A Curve is one run: readings in the order they were taken. Nothing in it is
// sorted, smoothed or corrected.
type Curve struct {
	Name     string // run or column name from the source, or ""
	Kind     Kind
	Readings []Reading
}

// Used returns the volumes in litres and values of the readings that take
// part, in order.
func (c *Curve) Used() (v, y []float64) {
	for i := range c.Readings {
		if r := &c.Readings[i]; r.Excluded == "" {
			v = append(v, float64(r.Volume))
			y = append(y, r.Value)
		}
	}
	return v, y
}
