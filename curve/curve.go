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

// String returns "potential", "pH" or "pIon".
func (k Kind) String() string {
	switch k {
	case PH:
		return "pH"
	case PIon:
		return "pIon"
	default:
		return "potential"
	}
}

// A Reading is one row of a titration record.
type Reading struct {
	Row         int              // row in the source, from 1; 0 if there is none
	Volume      unit.Volume      // added so far; ExactVolume has every digit
	VolumeText  string           // the decimal in millilitres, where Volume cannot hold it; else ""
	Value       float64          // V for Potential; a bare number for PH and PIon
	Time        float64          // s from any fixed start; NaN where not recorded
	Temperature unit.Temperature // 0 where not recorded
	Excluded    string           // why it is left out of evaluation; "" takes part
}

// ExactVolume returns the volume in litres as the decimal that was written.
//
// A float64 gives back any decimal of up to 15 significant digits, so
// Read keeps VolumeText only for longer ones, up to the 31 digits of
// unit.Decimal; beyond these, ExactVolume is the shortest decimal of Volume.
func (r *Reading) ExactVolume() unit.Decimal {
	if r.VolumeText != "" {
		if d, err := unit.ParseDecimal(r.VolumeText); err == nil {
			return d.Shift(-3)
		}
	}
	d, _ := unit.DecimalOf(float64(r.Volume)) // not finite: 0, as documented there
	return d
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
