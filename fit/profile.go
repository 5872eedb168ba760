package fit

import (
	"fmt"
	"math"
	"slices"

	"meniscus/num/lsq"
	"meniscus/titration"
	"meniscus/uncertainty"
)

// An Interval is where a quantity may lie by the sum of squares itself: at its
// ends, everything else fitted anew, the sum has risen by the square of the
// coverage factor. It is lopsided where ± k u cannot be.
type Interval struct {
	Low, High float64 // ±Inf where the readings leave it open
	Half      float64 // k u, for comparison
	Refused   string  // why there is none; "" where there is
}

// profileLevel is the coverage of the intervals.
const profileLevel = 0.95

// profiles adds intervals to the parameters, and to the equivalence points that
// hang on one of them alone. An error of one is said in its place.
func (f *fitter) profiles(r *Result) error {
	n := len(f.params)
	variance := r.Covariance[0] / f.res.Covariance[0]
	res := clone(f.res)
	res.Variance = variance
	for i := range res.StdErr {
		res.StdErr[i] *= math.Sqrt(variance)
	}
	shift := slices.Clone(f.shift)
	for i := range r.Estimates {
		e := &r.Estimates[i]
		alone := make([]float64, n)
		alone[i] = 1
		_, freedom := r.Propagate(alone)
		k := uncertainty.Coverage(profileLevel, freedom)
		e.Profile = &Interval{Half: k * e.StdUnc}
		f.tries = 0
		copy(f.shift, shift)
		f.followAt = f.followAt[:0]
		x, err := f.profile(res, i, k)
		if err != nil {
			e.Profile.Refused = err.Error()
			continue
		}
		e.Profile.Low, e.Profile.High = x.Low, x.High
	}
	copy(f.shift, shift)
	f.followAt = f.followAt[:0]
	if err := f.set(f.res.Params); err != nil {
		return fmt.Errorf("going back to the solution after the profiles: %w", err)
	}
	list, err := f.model.Equivalences(3 * slices.Max(f.v))
	if err != nil {
		return fmt.Errorf("finding the equivalence points: %w", err)
	}
	for i := range r.Equivalences {
		q := &r.Equivalences[i]
		q.Profile = &Interval{Half: uncertainty.Coverage(profileLevel, q.Freedom) * float64(q.StdUnc), Refused: "it has no parameter of its own"}
		for _, e := range list {
			if e.Species == q.Species && len(e.Gradient) == n {
				*q.Profile = r.volumeProfile(e, q.Profile.Half)
			}
		}
	}
	return nil
}

func (f *fitter) profile(res lsq.Result, i int, k float64) (lsq.Interval, error) {
	if !(res.Variance > 0) || !(k > 0) {
		return lsq.Interval{}, refuse("no reading is left over to judge by")
	}
	s := f.settings()
	return lsq.Profile(f.prob, res, i, k, s, &f.ws)
}

// volumeProfile carries the interval of the one concentration that an
// equivalence volume hangs on over to it: the volume is linear in what is in
// the flask and in inverse proportion to a sum with what is in the burette.
func (r *Result) volumeProfile(e titration.Equivalence, half float64) Interval {
	out := Interval{Half: half}
	at := -1
	for k, g := range e.Gradient {
		if g == 0 {
			continue
		}
		if at >= 0 {
			out.Refused = "it hangs on " + r.Estimates[at].Name + " and " + r.Estimates[k].Name + " together"
			return out
		}
		at = k
	}
	if at < 0 || r.Estimates[at].Profile.Refused != "" {
		out.Refused = "its parameter has none"
		return out
	}
	q := r.Estimates[at]
	move := func(to float64) float64 {
		d := e.Gradient[at] * (to - q.Value)
		if q.Kind == titration.BuretteConcentration {
			return e.Volume / (1 - d/e.Volume)
		}
		return e.Volume + d
	}
	out.Low, out.High = move(q.Profile.Low), move(q.Profile.High)
	if out.Low > out.High {
		out.Low, out.High = out.High, out.Low
	}
	return out
}

// differsBy is how far an end may lie from ± k u before the interval says
// something that u does not: a tenth of k u.
const differsBy = 0.1

// Differs says whether the interval is another one than x ± k u.
func (i *Interval) Differs(x float64) bool {
	if i.Refused != "" {
		return false
	}
	return !(math.Abs(x-i.Low-i.Half) <= differsBy*i.Half && math.Abs(i.High-x-i.Half) <= differsBy*i.Half)
}
