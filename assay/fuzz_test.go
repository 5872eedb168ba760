package assay

import (
	"encoding/binary"
	"math"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/unit"
)

// FuzzEvaluate feeds readings of any kind: what comes out is a finite end
// point with an uncertainty, or a reason.
func FuzzEvaluate(f *testing.F) {
	s := read(f, "find: Fe^2+\nflask: {volume: 50 mL, contains: {Fe^2+: 0.05 mol/L}}\nburette: {capacity: 50 mL, class: A, contains: {Ce^4+: 0.1 mol/L}}"+ironCerium)
	for _, b := range []lab.Bench{{}, {Noise: 1e-3, VolumeNoise: 1e-5}, {SlopeError: -2}, {Resolution: 10}} {
		f.Add(bytesOf(b.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes()[14:44], 5)))
	}
	f.Add([]byte{})
	f.Add(bytesOf(curve.Curve{Readings: []curve.Reading{{Volume: 1e-3, Value: 0.5}}}))
	f.Fuzz(func(t *testing.T, data []byte) {
		c := curveOf(data)
		e, err := Evaluate(&c, s, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range e.Methods {
			if (m.Refused == "") == (len(m.Points) == 0) {
				t.Errorf("%s: %d points, refused %q", m.Name, len(m.Points), m.Refused)
			}
			for _, p := range m.Points {
				if v, u := float64(p.Volume), float64(p.StdUnc); math.IsNaN(v) || math.IsInf(v, 0) || !(u >= 0) || math.IsInf(u, 0) {
					t.Errorf("%s: %g ± %g L", m.Name, v, u)
				}
			}
		}
		for _, r := range e.Concentrations {
			if !(r.Value > 0) || math.IsInf(r.Value, 0) || !(r.StdUnc >= 0) {
				t.Errorf("c = %g ± %g", r.Value, r.StdUnc)
			}
		}
	})
}

// A reading is four bytes for the volume, in 1e-8 L, and four for the value.
func bytesOf(c curve.Curve) []byte {
	var b []byte
	for _, r := range c.Readings {
		b = binary.LittleEndian.AppendUint32(b, uint32(math.Round(float64(r.Volume)*1e8)))
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(r.Value)))
	}
	return b
}

func curveOf(data []byte) curve.Curve {
	var c curve.Curve
	for i := 0; i+8 <= len(data) && i < 40*8; i += 8 {
		v, y := binary.LittleEndian.Uint32(data[i:]), math.Float32frombits(binary.LittleEndian.Uint32(data[i+4:]))
		if y != y || math.IsInf(float64(y), 0) {
			continue // the reader of files lets no such number through
		}
		c.Readings = append(c.Readings, curve.Reading{Row: i/8 + 1, Volume: unit.Volume(float64(v) * 1e-8), Value: float64(y), Time: math.NaN()})
	}
	return c
}
