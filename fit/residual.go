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
	for i := range f.v {
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

// Limits of the search for a reading's true volume.
const (
	steepEnough = 0.05 // slope times volume noise, over the noise of the reading, from which it is worth a search
	shiftDone   = 1e-6 // last change, in standard deviations of the volume
	shiftRounds = 40
)

// A hidden is the state of the search for one true volume.
type hidden struct{ d, y, slope, merit float64 }

// reading returns the reduced residual of reading i and the factor that turns
// a derivative of the model into one of it.
func (f *fitter) reading(i int, grad []float64) (rho, scale float64, err error) {
	sy, sv := f.noise.Value, f.noise.Volume
	h := hidden{d: f.shift[i]}
	ok, err := f.try(i, &h, grad)
	if err != nil || !ok {
		clear(grad)
		return 0, 0, err // the model is undefined there: the reading cannot count
	}
	if math.Abs(h.slope)*sv < steepEnough*sy && h.d == 0 {
		s := math.Hypot(sy, h.slope*sv)
		return (f.y[i] - h.y) / s, 1 / s, nil
	}
	stale := false
	for range shiftRounds {
		step := (f.y[i]-h.y+h.slope*h.d)*h.slope*sv*sv/(sy*sy+h.slope*h.slope*sv*sv) - h.d
		next := hidden{d: h.d + step}
		for ; math.Abs(step) > shiftDone*sv; step /= 3 {
			next = hidden{d: h.d + step}
			if ok, err = f.try(i, &next, grad); err != nil {
				return 0, 0, err
			}
			if ok && next.merit <= h.merit {
				break
			}
		}
		if stale = math.Abs(step) <= shiftDone*sv; stale {
			break // the last trial, if any, was no better
		}
		h = next
	}
	if stale && grad != nil {
		if ok, err = f.try(i, &h, grad); err != nil || !ok {
			return 0, 0, err
		}
	}
	f.shift[i] = h.d
	s := math.Hypot(sy, h.slope*sv)
	return math.Copysign(math.Sqrt(h.merit), f.y[i]-h.y+h.slope*h.d), 1 / s, nil
}

// patience is how many times the model is evaluated for each reading before a
// fit is given up: a good one needs 20 to 200, or some hundreds where the first
// start was far off.
const patience = 2000

// try evaluates the model at the volume h supposes.
func (f *fitter) try(i int, h *hidden, grad []float64) (bool, error) {
	if f.tries++; f.tries > patience*len(f.v) {
		return false, refuse("no curve of this chemistry comes near these readings in %d evaluations of the model", f.tries)
	}
	v := math.Max(f.v[i]+h.d, 0)
	var ok bool
	var err error
	h.y, h.slope, ok, err = f.predict(i, v, grad)
	if err != nil || !ok || math.IsNaN(h.y) {
		return false, err
	}
	dy, dv := (f.y[i]-h.y)/f.noise.Value, h.d/f.noise.Volume
	h.merit = dy*dy + dv*dv
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
