package fit

import (
	"meniscus/num/lsq"
	"meniscus/titration"
)

// fromLike starts where a fit of readings like these ended, and reports whether
// that led as near as a first start must. If not, all is as before.
func (f *fitter) fromLike() bool {
	start := f.likeStart()
	if start == nil {
		return false
	}
	settings := f.settings()
	if f.guess { // The noise starts where it always does: from elsewhere it can come to another end.
		settings.Offset, f.loose = roughOffset, true
	}
	f.model.Near(f.opt.Like.Model)
	f.shift = make([]float64, len(f.v))
	f.followAt = f.followAt[:0]
	res, err := lsq.Fit(f.prob, start, settings, &f.ws)
	f.loose = false
	if err == nil {
		f.res = clone(res)
	}
	if err == nil && f.good(res.SSR) && f.likelySlope(usualSlope) {
		return true
	}
	f.tries = 0
	return false
}

// likeStart is the answer of the other fit, nil where it is one to another
// question.
func (f *fitter) likeStart() []float64 {
	like := f.opt.Like
	if like == nil || len(like.Estimates) != len(f.params) {
		return nil
	}
	start := make([]float64, len(f.params))
	for k, q := range like.Estimates {
		if q.Parameter != f.params[k] || q.Kind == titration.Lag {
			return nil
		}
		start[k] = q.Value
	}
	return start
}
