package endpoint

import (
	"cmp"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/unit"
)

// Readings without a stated noise and too few to estimate it from.
const (
	assumedNoise   = 1e-3 // V
	assumedNoisePH = 0.01
	minForNoise    = 9    // readings
	minForVolume   = 20   // remainders, for the noise of the volume
	mostVolume     = 1e-4 // L, the most that is looked for
)

// maxRounding is 0.01 mL/sqrt(12), in litres.
const maxRounding = 1e-5 / 3.4641016151377544

// findNoise sets the noise of one reading, by what remains of each reading
// when the cubic through its four neighbours is taken away, divided by the
// gain that noise has in it.
//
// The noise of the value, where not given, is 1.4826 times the median size of
// the remainders on the flatter half of the curve. The factor makes it the
// standard deviation for normal noise (median absolute deviation); the median
// forgets the jump and single outliers.
//
// The noise of the volume shows only where the curve is steep. Where not given
// it is what brings the median remainder on the steep quarter of the curve,
// short of the steepest tenth, to what normal noise has, 0.6745.
//
// Neither is below the rounding of what was written down, step/sqrt(12).
func (s *series) findNoise() {
	s.stated = s.opt.Noise
	var rest []remainder
	if len(s.v) >= minForNoise && (s.stated.Value == 0 || s.stated.Volume == 0) {
		rest = remainders(s.v, s.y)
	}
	if s.stated.Value == 0 {
		s.estimated = true
		s.stated.Value = max(rounding(s.y), s.valueNoise(rest))
	}
	if s.stated.Volume == 0 {
		floor := min(rounding(s.v), maxRounding)
		s.stated.Volume = unit.Volume(max(floor, volumeNoise(rest, s.stated.Value)))
	}
	s.noise, s.noiseV = s.stated.Value, float64(s.stated.Volume)
}

func (s *series) valueNoise(rest []remainder) float64 {
	if len(rest) == 0 {
		s.warn("too few readings to estimate the noise; 1 mV (0.01 pH) is assumed")
		if s.kind == curve.Potential {
			return assumedNoise
		}
		return assumedNoisePH
	}
	return 1.4826 * medianOf(rest[:(len(rest)+1)/2], func(r remainder) float64 { return r.size })
}

// volumeNoise solves for the noise of the volume by bisection.
func volumeNoise(rest []remainder, noise float64) float64 {
	n := len(rest)
	if n < minForVolume {
		return 0
	}
	steep := rest[n-n/3 : n-n/10]
	excess := func(u float64) float64 {
		return medianOf(steep, func(r remainder) float64 { return r.size / math.Hypot(noise, r.slope*u) }) - 0.6745
	}
	lo, hi := 0.0, mostVolume
	if noise == 0 || !(excess(lo) > 0) {
		return 0
	}
	for range 30 {
		if mid := 0.5 * (lo + hi); excess(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return 0.5 * (lo + hi)
}

// A remainder is what is left of one reading, for unit gain, and the slope of
// the curve there.
type remainder struct{ size, slope float64 }

// remainders are sorted by slope. A very long record gives a part of them.
func remainders(v, y []float64) []remainder {
	const most = 5000
	out := make([]remainder, 0, min(len(v), most))
	for i := 2; i < len(v)-2; i += 1 + len(v)/most {
		near := [4]int{i - 2, i - 1, i + 1, i + 2}
		r, gain := y[i], 1.0
		for _, a := range near {
			w := 1.0
			for _, b := range near {
				if a != b {
					w *= (v[i] - v[b]) / (v[a] - v[b])
				}
			}
			r -= w * y[a]
			gain += w * w
		}
		slope := math.Abs((y[i+2] - y[i-2]) / (v[i+2] - v[i-2]))
		out = append(out, remainder{math.Abs(r) / math.Sqrt(gain), slope})
	}
	slices.SortFunc(out, func(a, b remainder) int { return cmp.Compare(a.slope, b.slope) })
	return out
}

func medianOf(rest []remainder, f func(remainder) float64) float64 {
	x := make([]float64, len(rest))
	for i, r := range rest {
		x[i] = f(r)
	}
	return median(x)
}

// rounding returns step/sqrt(12) of the decimal step that all of x are
// multiples of, from 1 down to 1e-8; 0 where there is none.
func rounding(x []float64) float64 {
	step := 1.0
	for range 9 {
		whole := true
		for _, v := range x {
			q := v / step
			if whole = math.Abs(q-math.Round(q)) <= 1e-9*math.Max(1, math.Abs(q)); !whole {
				break
			}
		}
		if whole {
			return step / math.Sqrt(12)
		}
		step /= 10
	}
	return 0
}
