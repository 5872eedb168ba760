package fit

import (
	"fmt"
	"math"
)

// eval is the sum of squares with errors in both coordinates: each reading's
// true volume is a hidden unknown, found by its own small minimisation, so
// that the residual is sqrt((dy/sy)^2 + (dv/sv)^2) with its sign. To first
// order that is dy/sqrt(sy^2 + (slope sv)^2); in a jump it is much better.
func (f *fitter) eval(p, r, jac []float64) error {
	if err := f.set(p); err != nil {
		return err
	}
	n := len(p)
	f.foresee(p)
	if !f.sights[0].fresh {
		f.backwards = !f.backwards // where the last pass ended the solver is warm
	}
	for k := range f.v {
		i := k
		if f.backwards {
			i = len(f.v) - 1 - k
		}
		var grad []float64
		if jac != nil {
			grad = jac[i*n : i*n+n]
		}
		rho, scale, err := f.reading(i, grad)
		if err != nil {
			return err
		}
		r[i] = rho
		for k := range grad {
			grad[k] *= -scale
		}
	}
	return nil
}

// foresee moves each true volume with the parameters, as far as the last pass
// told how they go together.
func (f *fitter) foresee(p []float64) {
	n := len(p)
	if len(f.followAt) == n {
		for i := range f.v {
			if f.shift[i] == 0 {
				continue
			}
			for k, d := range f.follow[i*n : i*n+n] {
				f.shift[i] += d * (p[k] - f.followAt[k])
			}
		}
	}
	f.followAt = append(f.followAt[:0], p...)
	if len(f.follow) != n*len(f.v) {
		f.follow = make([]float64, n*len(f.v))
	}
}

// keepFollow stores how the least merit of reading i moves with the parameters.
func (f *fitter) keepFollow(i int, h *hidden, grad []float64) {
	square := f.noise.Value * f.noise.Value / (f.noise.Volume * f.noise.Volume)
	curve := h.slope*h.slope + square
	if c := curve - (f.y[i]-h.y)*h.bend; c > 0 {
		curve = c
	}
	for k, g := range grad {
		f.follow[i*len(grad)+k] = -g * h.slope / curve
	}
}

// Limits of the search for a reading's true volume.
const (
	steepEnough = 0.05 // slope times volume noise, over the noise of the reading, from which it is worth a search
	shiftDone   = 1e-6 // last change, in standard deviations of the volume
	shiftNear   = 1e-3 // the same, below which a parabola will do if the slope changes little
	bendNear    = 1e-5 // relative change of the slope that counts as little: the error is its square
	shiftRounds = 40

	shiftLoose = 0.1  // last change while the noise is not known, in standard deviations of the volume
	bendLoose  = 0.03 // relative change of the slope while the noise is not known
	bendBack   = 0.01 // relative change of the slope on the way back to the volume read
)

// A hidden is the state of the search for one true volume: the model at
// distance d from the volume that was read.
type hidden struct {
	d, y, slope, bend, merit float64
	rough                    bool // moved further than a parabola follows the model exactly
}

// A sight is what was seen of a reading at the parameters that the model has
// now. Its derivatives are in a row of grads.
type sight struct {
	hidden
	fresh   bool // since the parameters were set
	defined bool

	read        bool    // evaluated at the volume as read too, with these:
	readY, rise float64 // value and slope
}

// see evaluates the model for reading i at the volume supposed, unless that is
// done already: another noise or another question needs no other evaluation.
func (f *fitter) see(i int) (*sight, []float64, error) {
	n := len(f.params)
	s, grad := &f.sights[i], f.grads[i*n:i*n+n]
	if s.fresh && (f.loose || !s.rough) {
		return s, grad, nil
	}
	s.hidden = hidden{d: f.shift[i]}
	var err error
	s.defined, err = f.try(i, &s.hidden, grad)
	s.fresh = err == nil
	return s, grad, err
}

// asRead is the model for reading i at the volume as it was read: from what was
// seen close by where a parabola leads there. The derivatives, where they are
// asked for, are those of the nearest place seen.
func (f *fitter) asRead(i int, grad []float64) (y, slope float64, ok bool, err error) {
	s, n := &f.sights[i], len(f.params)
	switch {
	case s.fresh && s.defined && math.Abs(s.bend*s.d) <= bendBack*math.Abs(s.slope):
		copy(grad, f.grads[i*n:i*n+n])
		return s.y - s.d*(s.slope-s.d*s.bend/2), s.slope - s.d*s.bend, true, nil
	case s.read && grad == nil:
		return s.readY, s.rise, true, nil
	}
	y, slope, _, ok, err = f.predict(i, f.v[i], grad)
	s.read, s.readY, s.rise = ok && err == nil, y, slope
	return y, slope, ok, err
}

// step is that of Newton's method to the least merit, or where the merit is
// not convex that of Gauss and Newton's.
func (h *hidden) step(y, sy, sv float64) float64 {
	dy, square := y-h.y, sy*sy/(sv*sv)
	down := dy*h.slope - h.d*square
	if curve := h.slope*h.slope + square - dy*h.bend; curve > 0 {
		return down / curve
	}
	return down / (h.slope*h.slope + square)
}

// along moves by a step so short that a parabola follows the model, and
// reports whether it is.
func (h *hidden) along(step, sv float64) bool {
	if math.Abs(step) > shiftDone*sv && (math.Abs(step) > shiftNear*sv || math.Abs(h.bend*step) > bendNear*math.Abs(h.slope)) {
		return false
	}
	h.move(step)
	return true
}

// move goes along the parabola.
func (h *hidden) move(step float64) {
	h.d += step
	h.y += step * (h.slope + step*h.bend/2)
	h.slope += step * h.bend
}

// reading returns the reduced residual of reading i and the factor that turns
// a derivative of the model into one of it.
func (f *fitter) reading(i int, grad []float64) (rho, scale float64, err error) {
	sy, sv := f.noise.Value, f.noise.Volume
	seen, all, err := f.see(i)
	if err != nil || !seen.defined {
		clear(grad)
		return 0, 0, err // the model is undefined there: the reading cannot count
	}
	h := &seen.hidden
	if math.Abs(h.slope)*sv < steepEnough*sy && h.d == 0 {
		copy(grad, all)
		s := math.Hypot(sy, h.slope*sv)
		return (f.y[i] - h.y) / s, 1 / s, nil
	}
	h.merit = f.merit(i, h) // of the noise supposed now
	if err := f.search(i, h, all); err != nil {
		seen.fresh = false
		return 0, 0, err
	}
	f.shift[i] = h.d
	if grad != nil {
		f.keepFollow(i, h, all)
		copy(grad, all)
	}
	s := math.Hypot(sy, h.slope*sv)
	return math.Copysign(math.Sqrt(f.merit(i, h)), f.y[i]-h.y+h.slope*h.d), 1 / s, nil
}

// search moves h to the volume of least merit, and leaves the derivatives
// there, or a hair from there, in grad.
func (f *fitter) search(i int, h *hidden, grad []float64) error {
	sy, sv := f.noise.Value, f.noise.Volume
	for range shiftRounds {
		step := h.step(f.y[i], sy, sv)
		if f.loose && math.Abs(step) <= shiftLoose*sv && math.Abs(h.bend*step) <= bendLoose*math.Abs(h.slope) {
			h.move(step)
			h.rough = true
			return nil
		}
		if h.along(step, sv) {
			return nil
		}
		next := hidden{}
		for ; math.Abs(step) > shiftDone*sv; step /= 3 {
			next = hidden{d: h.d + step}
			ok, err := f.try(i, &next, grad)
			if err != nil {
				return err
			}
			if ok && next.merit <= h.merit {
				break
			}
		}
		if math.Abs(step) <= shiftDone*sv { // no trial was any better
			_, err := f.try(i, h, grad)
			return err
		}
		*h = next
	}
	return nil
}

// merit is what the true volume of reading i is chosen by.
func (f *fitter) merit(i int, h *hidden) float64 {
	dy, dv := (f.y[i]-h.y)/f.noise.Value, h.d/f.noise.Volume
	return dy*dy + dv*dv
}

// patience is how many times the model is evaluated for each reading before a
// fit is given up: a good one needs 20 to 200, or some hundreds where the first
// start was far off.
const patience = 2000

// try evaluates the model at the volume h supposes.
func (f *fitter) try(i int, h *hidden, grad []float64) (bool, error) {
	if f.tries > patience*len(f.v) {
		return false, refuse("no curve of this chemistry comes near these readings in %d evaluations of the model", f.tries)
	}
	v := math.Max(f.v[i]+h.d, 0)
	var ok bool
	var err error
	h.y, h.slope, h.bend, ok, err = f.predict(i, v, grad)
	if err != nil || !ok || math.IsNaN(h.y) {
		return false, err
	}
	h.merit = f.merit(i, h)
	return true, nil
}

// runsTest returns the number of runs of equal sign and the probability of so
// few or fewer by chance (normal approximation to Wald and Wolfowitz, from
// memory). It needs about 10 residuals to mean anything.
func runsTest(r []float64) (runs int, p float64) {
	pos, neg, last := 0.0, 0.0, 0
	for _, x := range r {
		s := 0
		switch {
		case x > 0:
			s = 1
			pos++
		case x < 0:
			s = -1
			neg++
		default:
			continue
		}
		if s != last {
			runs++
			last = s
		}
	}
	n := pos + neg
	if pos == 0 || neg == 0 || n < 6 {
		return runs, 1
	}
	mean := 2*pos*neg/n + 1
	variance := 2 * pos * neg * (2*pos*neg - n) / (n * n * (n - 1))
	if variance <= 0 {
		return runs, 1
	}
	z := (float64(runs) + 0.5 - mean) / math.Sqrt(variance)
	return runs, math.Erfc(-z/math.Sqrt2) / 2
}

func percent(x float64) string { return fmt.Sprintf("%.3g %%", 100*x) }
