package assay

import (
	"testing"

	"meniscus/curve"
)

// Of 1,000 readings every 13th is taken, 77, the first among them; 80 are left
// as they are.
func TestSpread(t *testing.T) {
	c := curve.Curve{Readings: make([]curve.Reading, 1000)}
	for i := range c.Readings {
		c.Readings[i].Row = i
	}
	got := spread(&c, 80)
	if len(got.Readings) != 77 || got.Readings[0].Row != 0 || got.Readings[76].Row != 988 {
		t.Errorf("%d readings, the last of row %d", len(got.Readings), got.Readings[len(got.Readings)-1].Row)
	}
	c.Readings = c.Readings[:80]
	if spread(&c, 80) != &c {
		t.Error("eighty readings were thinned")
	}
}
