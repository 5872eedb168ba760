package setup

import (
	"math"
	"testing"

	"meniscus/curve"
	"meniscus/unit"
)

// TestBuretteReadings turns scale readings into volumes added, by arithmetic:
// start 0.35 mL; a burette of 50 mL read downwards; one refilled at 48 mL.
func TestBuretteReadings(t *testing.T) {
	ml := func(x ...float64) *curve.Curve {
		c := &curve.Curve{}
		for _, v := range x {
			c.Readings = append(c.Readings, curve.Reading{Volume: unit.Volume(v * 1e-3)})
		}
		return c
	}
	for name, x := range map[string]struct {
		burette string
		read    []float64
		want    []float64
	}{
		"start":  {"start: 0.35 mL", []float64{0.35, 10.35, 20}, []float64{0, 10, 19.65}},
		"down":   {"capacity: 50 mL, reads: down", []float64{50, 40, 12.5}, []float64{0, 10, 37.5}},
		"refill": {"refill at: 48 mL", []float64{10, 30, 47.5, 2, 15, 46, 1}, []float64{10, 30, 47.5, 50, 63, 94, 97}},
		"plain":  {"capacity: 50 mL", []float64{1, 2}, []float64{1, 2}},
	} {
		s, err := Read([]byte("ratio: 1 to 1\nburette: {"+x.burette+"}\n"), name)
		if err != nil {
			t.Fatal(err)
		}
		got := s.Burette.Added(ml(x.read...))
		for i, w := range x.want {
			if v := got.Readings[i].Volume.Millilitres(); math.Abs(v-w) > 1e-9 {
				t.Errorf("%s: reading %g is %g mL added, want %g", name, x.read[i], v, w)
			}
			if v := s.Burette.Reading(unit.Volume(w * 1e-3)).Millilitres(); math.Abs(v-x.read[i]) > 1e-9 {
				t.Errorf("%s: after %g mL the burette shows %g mL, want %g", name, w, v, x.read[i])
			}
		}
	}
}
