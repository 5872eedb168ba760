package endpoint

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/unit"
)

// A series is a curve ready for the methods: volumes rising and distinct,
// readings turned so that they rise along the curve.
type series struct {
	v, y      []float64 // L; V or pH, times dir
	dir       float64   // 1 for a rising curve, -1 for a falling one
	kind      curve.Kind
	readings  int     // taking part
	group     int     // readings averaged into each point
	noise     float64 // of one point, V or pH
	noiseV    float64 // of one point, L
	stated    Noise   // of one reading
	estimated bool
	opt       Options
	warnings  []string
}

// Bounds of what can be a titration at all; beyond them numbers are slips.
const (
	maxVolume = 1e3 // L
	maxValue  = 1e3 // V or pH
	sameStep  = 1e-9
	maxPoints = 1000 // more readings than this are averaged in groups
	groups    = 500
)

// prepare checks the readings that take part. The text is the reason why no
// method can use them.
func prepare(c *curve.Curve, opt Options) (*series, string) {
	if why := checkOptions(opt); why != "" {
		return nil, why
	}
	s := &series{kind: c.Kind, dir: 1, group: 1, opt: opt}
	if why := s.take(c); why != "" {
		return nil, why
	}
	s.order()
	s.merge()
	if why := s.spread(); why != "" {
		return nil, why
	}
	s.findNoise()
	s.compress()
	s.turn()
	return s, ""
}

func checkOptions(o Options) string {
	bad := func(x float64) bool { return !(x >= 0) || math.IsInf(x, 0) }
	switch {
	case bad(o.Noise.Value) || bad(float64(o.Noise.Volume)):
		return "the noise given is not a positive number"
	case bad(float64(o.V0)) || float64(o.V0) > maxVolume:
		return "the volume in the flask is not a positive number of litres"
	case bad(float64(o.Temperature)) || o.Temperature > 0 && (o.Temperature < 200 || o.Temperature > 600):
		return fmt.Sprintf("a temperature of %g K is not one of a titration", float64(o.Temperature))
	case o.Electrons.Titrand < 0 || o.Electrons.Titrant < 0 || o.Electrons.Titrand > 99 || o.Electrons.Titrant > 99:
		return "the number of electrons must be from 1 to 99"
	case o.Expected < 0:
		return "the number of end points expected is negative"
	case o.Window != [2]float64{} && !(o.Window[0] < o.Window[1]):
		return "the window ends before it begins"
	}
	return ""
}

// take copies the readings that take part.
func (s *series) take(c *curve.Curve) string {
	for i := range c.Readings {
		r := &c.Readings[i]
		if r.Excluded != "" {
			continue
		}
		v, y := float64(r.Volume), r.Value
		switch {
		case math.IsNaN(v) || math.IsNaN(y) || math.IsInf(v, 0) || math.IsInf(y, 0):
			return where(i, r) + " is not a number: correct it or leave it out"
		case v < 0:
			return where(i, r) + " has a volume below zero"
		case v > maxVolume || math.Abs(y) > maxValue:
			return where(i, r) + fmt.Sprintf(" is out of all proportion (%g L, %g)", v, y)
		}
		s.v, s.y = append(s.v, v), append(s.y, y)
	}
	s.readings = len(s.v)
	if s.readings == 0 {
		return "no readings take part"
	}
	return ""
}

func where(i int, r *curve.Reading) string {
	if r.Row > 0 {
		return fmt.Sprintf("the reading of row %d", r.Row)
	}
	return fmt.Sprintf("reading %d", i+1)
}

// order sorts by volume, which leaves a well-kept record as it is.
func (s *series) order() {
	if slices.IsSorted(s.v) {
		return
	}
	s.warn("readings are not in order of volume; they were taken in that order here")
	index := make([]int, len(s.v))
	for i := range index {
		index[i] = i
	}
	slices.SortStableFunc(index, func(a, b int) int { return cmp.Compare(s.v[a], s.v[b]) })
	v, y := make([]float64, len(index)), make([]float64, len(index))
	for i, k := range index {
		v[i], y[i] = s.v[k], s.y[k]
	}
	s.v, s.y = v, y
}

// merge averages readings at one volume.
func (s *series) merge() {
	same := sameStep * (s.v[len(s.v)-1] - s.v[0])
	n := 0
	for i := 0; i < len(s.v); {
		j, sum := i, 0.0
		for ; j < len(s.v) && s.v[j]-s.v[i] <= same; j++ {
			sum += s.y[j]
		}
		s.v[n], s.y[n] = s.v[i], sum/float64(j-i)
		n, i = n+1, j
	}
	if n < len(s.v) && n > 1 {
		s.warn(fmt.Sprintf("%d readings repeat a volume; readings at one volume were averaged", len(s.v)-n))
	}
	s.v, s.y = s.v[:n], s.y[:n]
}

func (s *series) spread() string {
	switch {
	case s.readings == 1:
		return "there is only one reading"
	case len(s.v) == 1 || s.v[len(s.v)-1]-s.v[0] < 1e-9:
		return "all volumes are equal"
	case slices.Max(s.y)-slices.Min(s.y) < 1e-9:
		return "all readings are equal"
	}
	return ""
}

// compress averages very many readings in groups: differences of neighbours
// would be nothing but noise, and no method needs more points.
func (s *series) compress() {
	n := len(s.v)
	if n <= maxPoints {
		return
	}
	size := (n + groups - 1) / groups
	out := 0
	for i := 0; i < n; i += size {
		end := min(i+size, n)
		var sv, sy float64
		for k := i; k < end; k++ {
			sv, sy = sv+s.v[k], sy+s.y[k]
		}
		s.v[out], s.y[out] = sv/float64(end-i), sy/float64(end-i)
		out++
	}
	s.v, s.y, s.group = s.v[:out], s.y[:out], size
	s.noise /= math.Sqrt(float64(size))
	s.noiseV /= math.Sqrt(float64(size))
	s.warn(fmt.Sprintf("%d readings were averaged in groups of %d", n, size))
}

// turn makes the readings rise from the first fifth to the last.
func (s *series) turn() {
	k := max(1, len(s.y)/5)
	if median(s.y[len(s.y)-k:]) < median(s.y[:k]) {
		s.dir = -1
		for i := range s.y {
			s.y[i] = -s.y[i]
		}
	}
}

func (s *series) warn(text string) { s.warnings = append(s.warnings, text) }

// detail begins the working of a result.
func (s *series) detail() Detail {
	return Detail{Noise: s.stated, Estimated: s.estimated, Rising: s.dir > 0, Readings: s.readings}
}

// valueAt interpolates the reading at v, with its own sign; the nearest end
// beyond the readings.
func (s *series) valueAt(v float64) float64 {
	i, found := slices.BinarySearch(s.v, v)
	switch {
	case found:
		return s.dir * s.y[i]
	case i == 0:
		return s.dir * s.y[0]
	case i == len(s.v):
		return s.dir * s.y[i-1]
	}
	f := (v - s.v[i-1]) / (s.v[i] - s.v[i-1])
	return s.dir * (s.y[i-1] + f*(s.y[i]-s.y[i-1]))
}

// nernst returns RT ln 10/F in volts, or 1 for pH and pIon.
func (s *series) nernst() float64 {
	if s.kind != curve.Potential {
		return 1
	}
	t := s.opt.Temperature
	if t == 0 {
		t = unit.Celsius(25)
	}
	return math.Ln10 * unit.GasConstant * float64(t) / unit.Faraday
}

func median(x []float64) float64 {
	t := slices.Clone(x)
	slices.Sort(t)
	if n := len(t); n%2 == 0 {
		return 0.5 * (t[n/2-1] + t[n/2])
	}
	return t[len(t)/2]
}

// ml writes a volume for a sentence.
func ml(v float64) string { return fmt.Sprintf("%.4g mL", v*1e3) }
