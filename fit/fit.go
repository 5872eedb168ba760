// Package fit finds the parameters of a titration from its whole curve: least
// squares with the equilibrium engine as the model and its exact derivatives,
// errors in volume as well as in the reading. It knows a model and readings,
// not what the result is for: see assay for contents.
package fit

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/num/lsq"
	"meniscus/titration"
	"meniscus/unit"
)

// Noise is the standard uncertainty of one reading. A part that is 0 is
// estimated (Value) or assumed (Volume).
type Noise struct {
	Value  float64 // V, or units of pH or pIon
	Volume float64 // L
}

// Options of a fit. The zero value is sound.
type Options struct {
	Noise  Noise
	Robust bool // weights that fall with the residual
	// FixSlope keeps the electrode slope at what the titration says.
	FixSlope bool
	// Parameters replaces the default choice; nil leaves it to the program.
	Parameters []titration.Parameter
	// Extra are fitted besides the default choice.
	Extra []titration.Parameter
	// Profile asks for profile intervals of parameters and equivalence points:
	// some dozen fits for each parameter.
	Profile bool
	// Like is a fit of readings like these, one of the same series: this one
	// starts from it and is done sooner. nil starts from the titration.
	Like *Result
}

// assumedVolumeNoise is what a burette reading is taken to be uncertain by
// where nothing is known: 0.01 mL, common practice for a 50 mL burette.
const assumedVolumeNoise = 1e-5

// An Estimate is a parameter with its standard uncertainty.
type Estimate struct {
	titration.Parameter
	Value  float64
	StdUnc float64
	Start  float64

	Profile *Interval // where asked for
}

// An Equivalence is an equivalence point of the fitted curve.
type Equivalence struct {
	Species string // used up there
	Volume  unit.Volume
	StdUnc  unit.Volume
	Value   float64 // reading there
	Visible bool    // the curve is clearly steeper there than around
	Freedom float64 // degrees of freedom of StdUnc; +Inf where the noise was stated

	Profile *Interval // L, where asked for
}

// A Residual is what the model leaves of one reading.
type Residual struct {
	Row      int
	Volume   unit.Volume
	Value    float64
	Fitted   float64 // at the volume as read
	Residual float64 // Value - Fitted
	Reduced  float64 // over the standard deviation it should have
}

// A Result is a fitted curve.
type Result struct {
	Estimates    []Estimate
	Covariance   []float64 // row by row, over Estimates
	Equivalences []Equivalence
	Residuals    []Residual
	Points       int
	Freedom      int
	ChiSquare    float64 // sum of squared reduced residuals over Freedom, with the noise used
	Noise        Noise   // as used
	Estimated    bool    // Noise.Value was estimated from the residuals
	NoiseFreedom float64 // degrees of freedom of an estimated Noise.Value
	fromNoise    []float64
	RunsP        float64 // probability of as few runs of signs by chance
	Fixed        []string
	Warnings     []string
	Iterations   int
	Model        *titration.Model // at the solution
	Kind         curve.Kind
}

// A RefusedError says why a curve cannot be fitted.
type RefusedError struct{ Reason string }

func (e *RefusedError) Error() string { return e.Reason }

func refuse(format string, args ...any) error { return &RefusedError{fmt.Sprintf(format, args...)} }

// A Target is a species whose concentration is sought.
type Target struct {
	Species   int
	InBurette bool
	Name      string
}

// Curve fits the titration to the readings of c that take part. Errors:
// *RefusedError where these readings cannot give what is sought, others where
// the computation itself ended badly.
func Curve(c *curve.Curve, t *titration.Titration, targets []Target, opt Options) (*Result, error) {
	f := &fitter{c: c, t: t, targets: targets, opt: opt}
	return f.curve()
}

func (f *fitter) curve() (*Result, error) {
	if err := f.readings(); err != nil {
		return nil, err
	}
	if err := f.choose(); err != nil {
		return nil, err
	}
	for {
		if err := f.best(); err != nil {
			return nil, err
		}
		dropped, err := f.dropUnseen()
		if err != nil {
			return nil, err
		}
		if !dropped {
			break
		}
	}
	r, err := f.report()
	if err == nil && f.opt.Profile {
		err = f.profiles(r)
	}
	if f.opt.Like != nil {
		f.model.Forget() // of a long series only the first need be remembered
	}
	return r, err
}

type fitter struct {
	c       *curve.Curve
	t       *titration.Titration
	targets []Target
	opt     Options

	used      []int  // indices of readings
	thinned   string // how, or ""
	v, y      []float64
	shift     []float64 // estimated true volume less volume read
	follow    []float64 // its derivatives by the parameters, a row a reading
	followAt  []float64 // the parameters where these are known; empty where they are not
	sights    []sight   // by reading
	grads     []float64 // a row a reading
	loose     bool      // volumes need not be exact yet
	setTo     []float64 // the parameters that the model has; empty where that is not known
	noise     Noise
	guess     bool    // noise.Value is estimated
	freedom   float64 // with so many degrees of freedom
	params    []titration.Parameter
	fixed     []string
	model     *titration.Model
	res       lsq.Result
	ws        lsq.Workspace
	prob      lsq.Problem
	vjump     float64
	tries     int // evaluations of the model
	taking    taking
	left      []outside // work of scaleNoise
	backwards bool      // direction of the last pass over the readings
}

func (f *fitter) readings() error {
	for i := range f.c.Readings {
		if r := &f.c.Readings[i]; r.Excluded == "" && !math.IsNaN(r.Value) && r.Volume >= 0 {
			f.used = append(f.used, i)
			f.v = append(f.v, float64(r.Volume))
			f.y = append(f.y, r.Value)
		}
	}
	f.thin()
	if len(f.v) < 4 {
		return refuse("readings that take part: %d; a whole-curve regression needs at least 4", len(f.v))
	}
	if slices.Max(f.y) == slices.Min(f.y) {
		return refuse("all %d readings are equal (%.6g): the electrode saw no titration", len(f.y), f.y[0])
	}
	if slices.Max(f.v) == slices.Min(f.v) {
		return refuse("all readings are at one volume")
	}
	f.noise = f.opt.Noise
	if f.noise.Volume == 0 {
		f.noise.Volume = assumedVolumeNoise
	}
	if f.noise.Value == 0 {
		f.guess = true
		f.noise.Value = 1e-3
		if f.c.Kind != curve.Potential {
			f.noise.Value = 0.02
		}
	}
	return nil
}

// maxReadings is how many readings take part at most: more bring nothing but
// time, as V_eq is known far better than any burette by then.
const maxReadings = 20_000

// thin keeps every k-th reading where there are too many, and says so.
func (f *fitter) thin() {
	n := len(f.v)
	k := (n + maxReadings - 1) / maxReadings
	if k < 2 {
		return
	}
	m := 0
	for i := 0; i < n; i += k {
		f.used[m], f.v[m], f.y[m] = f.used[i], f.v[i], f.y[i]
		m++
	}
	f.used, f.v, f.y = f.used[:m], f.v[:m], f.y[:m]
	f.thinned = fmt.Sprintf("one reading in %d of the %d takes part in the regression", k, n)
}

func (f *fitter) output() titration.Output {
	switch f.c.Kind {
	case curve.PH:
		return titration.PH
	case curve.PIon:
		return titration.PIon
	}
	return titration.Potential
}

// choose sets the default parameters. The slope goes again if the readings do
// not tell it.
func (f *fitter) choose() error {
	if f.opt.Parameters != nil {
		f.params = f.opt.Parameters
		return nil
	}
	if len(f.targets) == 0 {
		return refuse("nothing is to be found; name it in the setup, such as find: Fe^2+")
	}
	f.params = DefaultParameters(f.t, f.targets, f.c.Kind, f.opt.FixSlope)
	for _, p := range f.opt.Extra {
		if !slices.ContainsFunc(f.params, func(q titration.Parameter) bool { return q.Kind == p.Kind && q.Index == p.Index }) {
			f.params = append(f.params, p)
		}
	}
	for len(f.params) > len(f.v)-1 { // too few readings for all: slope first, then potentials
		last := f.params[len(f.params)-1]
		if len(f.params) <= len(f.targets)+1 {
			return refuse("%d readings cannot give %d parameters", len(f.v), len(f.params))
		}
		f.fixed = append(f.fixed, last.Name+": kept, as there are only "+fmt.Sprint(len(f.v))+" readings")
		f.params = f.params[:len(f.params)-1]
	}
	return nil
}

// best fits from several starts and keeps the best answer.
func (f *fitter) best() error {
	m, err := f.t.NewModel(f.params, f.output())
	if err != nil {
		return err
	}
	f.model = m
	f.setTo = f.setTo[:0]
	f.prob = lsq.Problem{Params: len(f.params), Residuals: len(f.v), Eval: f.eval}
	f.taking = f.newTaking()
	f.vjump = f.steepest()
	if !f.fromLike() {
		if err := f.fromStarts(); err != nil {
			return err
		}
	}
	rough := true // the last fit, which another must follow
	for range noiseRounds {
		if !f.guess || f.res.DegreesOfFreedom < 1 {
			break
		}
		change := math.Abs(f.scaleNoise() - 1)
		if change < noiseDone && !rough {
			break
		}
		rough = change > noiseRough
		settings := f.settings()
		if rough {
			settings.Offset, f.loose = roughOffset, true
		}
		res, err := lsq.Fit(f.prob, slices.Clone(f.res.Params), settings, &f.ws)
		f.loose = false
		if err != nil {
			f.res.DegreesOfFreedom = 0
			break
		}
		f.res = clone(res)
	}
	return f.set(f.res.Params)
}

// Limits of the estimate of noise.
const (
	noiseRounds = 12   // of the estimate, and of fits with it
	noiseDone   = 1e-4 // last relative change
	noiseRough  = 0.05 // a change after which another fit follows in any case
)

// fromStarts fits from the first start, and from all others if the answer is
// not as good as one should be.
func (f *fitter) fromStarts() error {
	best := math.Inf(1)
	base := f.model.Start()
	var failed error
	for _, at := range f.starts() {
		if f.good(best) && f.likelySlope(usualSlope) {
			break
		}
		s := f.scaled(base, at)
		if s == nil {
			continue
		}
		f.shift = make([]float64, len(f.v))
		f.followAt = f.followAt[:0]
		settings := f.settings()
		if f.guess { // the noise is not known yet, and another fit follows
			settings.Offset, f.loose = roughOffset, true
		}
		res, err := lsq.Fit(f.prob, s, settings, &f.ws)
		f.loose = false
		var sing *lsq.SingularError
		if err != nil {
			if !errors.As(failed, &sing) {
				failed = err
			}
			continue
		}
		if res.SSR < best*(1-1e-9) {
			best, f.res = res.SSR, clone(res)
		}
	}
	var sing *lsq.SingularError
	switch {
	case !math.IsInf(best, 1):
		return nil
	case errors.As(failed, &sing):
		return f.separate(sing)
	case failed == nil:
		return refuse("the titration has no equivalence point to start from")
	}
	return refuse("no start led to a fit: %v", failed)
}

// good says whether a sum of squares leaves no wish for another start: five
// times the noise stated, or a start value of it, at most.
func (f *fitter) good(ssr float64) bool {
	return ssr < 25*float64(len(f.v)-len(f.params)+1)
}

// Departures of the electrode slope from theory: one that no good electrode has,
// so that other starts are tried too, and one that none has, so that the answer
// is another curve that happens to pass by the readings.
const (
	usualSlope    = 0.15
	possibleSlope = 0.4
)

// likelySlope says whether the slope found, if it is free, is within so much of
// the theoretical one.
func (f *fitter) likelySlope(within float64) bool {
	for k, p := range f.params {
		if p.Kind == titration.SlopeFraction && math.Abs(f.res.Params[k]-1) > within {
			return false
		}
	}
	return true
}

func clone(r lsq.Result) lsq.Result {
	r.Params, r.Covariance = slices.Clone(r.Params), slices.Clone(r.Covariance)
	r.StdErr, r.Correlation = slices.Clone(r.StdErr), slices.Clone(r.Correlation)
	r.Unscaled, r.Weights = slices.Clone(r.Unscaled), slices.Clone(r.Weights)
	return r
}

// roughOffset ends a fit that another follows.
const roughOffset = 1e-2

func (f *fitter) settings() lsq.Settings {
	s := lsq.Settings{Sigma: 1, Offset: 1e-5}
	if f.opt.Robust {
		s.Robust = lsq.Biweight
	}
	return s
}

// steepest returns the middle of the interval with the largest slope.
func (f *fitter) steepest() float64 {
	best, at := 0.0, f.v[len(f.v)-1]
	for i := 1; i < len(f.v); i++ {
		dv := f.v[i] - f.v[i-1]
		if dv <= 0 {
			continue
		}
		if s := math.Abs(f.y[i]-f.y[i-1]) / math.Max(dv, 1e-6); s > best {
			best, at = s, (f.v[i]+f.v[i-1])/2
		}
	}
	return at
}

// volumes for further starts, as parts of the last volume read, where the
// steepest interval is no equivalence point.
var otherStarts = []float64{1.15, 1.6, 3}

// starts gives the volumes to try the equivalence at: the steepest interval,
// or beyond the last reading, and last 0 for what the titration says.
func (f *fitter) starts() []float64 {
	targets := []float64{f.vjump}
	last := f.v[len(f.v)-1]
	if f.vjump > 0.93*last || f.vjump < 0.03*last {
		for _, k := range otherStarts {
			targets = append(targets, k*last)
		}
		targets = append(targets, last/2)
	}
	return append(targets, 0)
}

// scaled gives start values: what the titration says, with the sought
// concentrations multiplied so that the main equivalence falls at v, unless that
// is 0; potentials and offset moved to the readings.
func (f *fitter) scaled(base []float64, v float64) []float64 {
	s := slices.Clone(base)
	if f.taking.lag >= 0 {
		s[f.taking.lag] = startLag
	}
	if err := f.set(s); err != nil {
		return nil
	}
	if v > 0 {
		eq, err := f.model.Equivalences(1e3)
		if err != nil {
			return nil
		}
		main := f.mainEquivalence(eq)
		if main <= 0 {
			return nil
		}
		for k, p := range f.params {
			switch p.Kind {
			case titration.FlaskConcentration:
				s[k] *= v / main
			case titration.BuretteConcentration:
				s[k] *= main / v
			}
		}
		if f.set(s) != nil {
			return nil
		}
	}
	f.moveLinear(s)
	return s
}

// mainEquivalence picks the equivalence with the largest jump.
func (f *fitter) mainEquivalence(eq []titration.Equivalence) float64 {
	best, at := 0.0, 0.0
	for _, e := range eq {
		if e.Volume <= 0 {
			continue
		}
		_, slope, ok, err := f.model.Eval(e.Volume, nil)
		if err != nil || !ok {
			continue
		}
		if s := math.Abs(slope) * e.Volume; s > best {
			best, at = s, e.Volume
		}
	}
	return at
}

// moveLinear shifts each potential or offset by the mean residual, weighted
// with how much each reading depends on it. Medians would do no better: the
// fit follows. Readings follow potentials in straight lines, so that the second
// round needs no model.
func (f *fitter) moveLinear(s []float64) {
	n := len(s)
	left, weight := make([]float64, len(f.v)), make([]float64, len(f.v))
	grads := make([]float64, len(f.v)*n)
	for i := range f.v {
		f.tries++
		y, slope, _, ok, err := f.model.EvalAgain(i, f.v[i], grads[i*n:i*n+n])
		if err != nil || !ok {
			continue
		}
		left[i], weight[i] = f.y[i]-y, 1/(1+slope*slope*1e-8/1e-6) // readings in the jump say little
	}
	num, den := make([]float64, n), make([]float64, n)
	for range 2 {
		clear(num)
		clear(den)
		for i, w := range weight {
			if w == 0 {
				continue
			}
			for k, p := range f.params {
				if p.Kind == titration.CouplePotential || p.Kind == titration.Offset {
					g := grads[i*n+k]
					num[k] += w * g * g * g * g * left[i]
					den[k] += w * g * g * g * g
				}
			}
		}
		for k := range s {
			if den[k] > 1e-6 {
				step := num[k] / den[k]
				s[k] += step
				for i := range left {
					left[i] -= grads[i*n+k] * step
				}
			}
		}
	}
	if f.set(s) != nil {
		return // the fit says so
	}
}
