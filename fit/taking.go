package fit

import (
	"math"
	"slices"

	"meniscus/titration"
)

// taking is how readings came about beyond what the model says: an electrode
// that had not settled, and one whose zero moved over the run.
type taking struct {
	lag, drift int       // index of the parameter, -1 if it is none
	lagValue   float64   // part of the step still missing, for the usual time between readings
	driftValue float64   // of the reading, per unit of at
	wait       []float64 // time since the reading before over the usual one; 1 without times
	at         []float64 // time in hours from the middle, or the number of the reading from -1/2 to 1/2
}

// startLag is where the search for a lag begins: at 0 its exponent is blind.
const startLag = 0.02

// The wait between two readings, over the usual one, that still counts.
const (
	shortestWait = 0.3
	longestWait  = 5
)

func (f *fitter) newTaking() taking {
	is := func(k titration.ParameterKind) func(titration.Parameter) bool {
		return func(p titration.Parameter) bool { return p.Kind == k }
	}
	t := taking{lag: slices.IndexFunc(f.params, is(titration.Lag)), drift: slices.IndexFunc(f.params, is(titration.Drift))}
	if t.lag < 0 && t.drift < 0 {
		return t
	}
	n := len(f.v)
	t.wait, t.at = make([]float64, n), make([]float64, n)
	times := f.times()
	for i := range n {
		t.wait[i] = 1
		t.at[i] = float64(i)/float64(max(n-1, 1)) - 0.5
		if times != nil {
			t.at[i] = (times[i] - (times[0]+times[n-1])/2) / 3600
		}
	}
	if times == nil {
		return t
	}
	var gaps []float64
	for i := 1; i < n; i++ {
		gaps = append(gaps, times[i]-times[i-1])
	}
	slices.Sort(gaps)
	if usual := gaps[len(gaps)/2]; usual > 0 {
		for i := 1; i < n; i++ {
			t.wait[i] = min(max((times[i]-times[i-1])/usual, shortestWait), longestWait)
		}
	}
	return t
}

// times returns those of the readings, or nil where one is missing or they
// do not rise.
func (f *fitter) times() []float64 {
	out := make([]float64, len(f.used))
	for k, i := range f.used {
		out[k] = f.c.Readings[i].Time
		if math.IsNaN(out[k]) || k > 0 && out[k] < out[k-1] {
			return nil
		}
	}
	if len(out) == 0 || out[len(out)-1] <= out[0] {
		return nil
	}
	return out
}

// set gives all parameters their values, those of the model and those of
// how readings were taken. Where they have them already what was seen stays.
func (f *fitter) set(p []float64) error {
	if len(f.sights) == len(f.v) && slices.Equal(f.setTo, p) {
		return nil
	}
	f.forget()
	if f.taking.lag >= 0 {
		f.taking.lagValue = p[f.taking.lag]
	}
	if f.taking.drift >= 0 {
		f.taking.driftValue = p[f.taking.drift]
	}
	if err := f.model.Set(p); err != nil {
		return err
	}
	f.setTo = append(f.setTo, p...)
	return nil
}

// forget drops what was seen at other parameters.
func (f *fitter) forget() {
	f.setTo = f.setTo[:0]
	if len(f.sights) != len(f.v) || len(f.grads) != len(f.v)*len(f.params) {
		f.sights, f.grads = make([]sight, len(f.v)), make([]float64, len(f.v)*len(f.params))
	}
	for i := range f.sights {
		f.sights[i].fresh, f.sights[i].read = false, false
	}
}

// predict is the model's reading i at volume v, as it was taken: an electrode
// that lags is still on the way from the reading before, as that was read.
func (f *fitter) predict(i int, v float64, grad []float64) (y, slope, bend float64, ok bool, err error) {
	f.tries++
	y, slope, bend, ok, err = f.model.EvalAgain(i, v, grad)
	t := &f.taking
	if err != nil || !ok || t.lag < 0 && t.drift < 0 {
		return y, slope, bend, ok, err
	}
	missing, per := t.missing(i)
	from := y
	if i > 0 {
		from = f.y[i-1] - t.driftValue*t.at[i-1]
	}
	for k := range grad {
		grad[k] *= 1 - missing
	}
	if t.lag >= 0 && grad != nil {
		grad[t.lag] = (from - y) * per
	}
	if t.drift >= 0 && grad != nil {
		grad[t.drift] = t.at[i]
		if i > 0 {
			grad[t.drift] -= missing * t.at[i-1]
		}
	}
	return y + missing*(from-y) + t.driftValue*t.at[i], slope * (1 - missing), bend * (1 - missing), true, nil
}

// missing is the part of step i that the reading lacks, and its derivative
// with respect to the lag: exp(-wait/tau), with the lag as its value for the
// usual wait.
func (t *taking) missing(i int) (part, per float64) {
	if t.lag < 0 || i == 0 {
		return 0, 0
	}
	w, size := t.wait[i], max(math.Abs(t.lagValue), 1e-6)
	part = math.Copysign(math.Pow(size, w), t.lagValue)
	return part, w * math.Pow(size, w-1)
}
