package lsq

import (
	"errors"
	"fmt"
	"math"
)

// A fitter is one fit in its workspace.
type fitter struct {
	problem  Problem
	settings Settings
	*Workspace
	iterations, evaluations int
	limit                   int     // of evaluations, for this minimisation
	reached                 float64 // offset
	status                  Status
	cause                   error // what the problem said to the last trial, if it failed
}

// radii are the lengths of the first step, as a fraction of the length of the
// scaled parameters. A far start may leap into a region where the model is
// flat; a smaller first step often does not.
var radii = [...]float64{1, 100, 0.1, 0.01}

// minimise leaves the solution in f.at, with Jacobian and residual.
func (f *fitter) minimise(start []float64) error {
	var first error
	for _, radius := range radii {
		before := f.evaluations
		err := f.search(start, radius)
		if err == nil {
			err = f.rank()
		}
		if err == nil {
			return nil
		}
		if first == nil {
			first = err
		}
		if f.evaluations == before+1 || inherent(err) {
			break
		}
	}
	return first
}

// inherent reports parameters that no other way to the solution would
// separate: the place is a minimum, and none of them lost its effect on the
// way there.
func inherent(err error) bool {
	var s *SingularError
	return errors.As(err, &s) && !s.plateau
}

func (f *fitter) search(start []float64, factor float64) error {
	f.limit = f.evaluations + f.settings.maxEvaluations()
	copy(f.at.p, start)
	clear(f.scale)
	if err := f.evaluate(&f.at); err != nil {
		return fmt.Errorf("evaluating the model at the start values: %w", err)
	}
	radius, first := 0.0, true
	f.reached = math.Inf(1)
	for {
		before := f.reached
		removable := f.linearise()
		if first {
			radius = factor * f.scaledLength()
			if radius == 0 {
				radius = math.Inf(1) // no scale yet: the undamped step gives one
			}
		}
		if f.done(removable) || f.noisy(before) {
			return nil
		}
		var ok bool
		if radius, ok = f.advance(radius, first); !ok {
			return f.stall()
		}
		first = false
	}
}

// done reports whether the residual that can still be taken away is a small
// enough part of it.
func (f *fitter) done(removable float64) bool {
	f.status = Converged
	if f.at.ssr == 0 {
		f.status, f.reached = Exact, 0
		return true
	}
	f.reached = removable / math.Sqrt(f.at.ssr)
	return f.reached <= f.settings.offset()
}

// blind is the offset below which the sum of squares changes by less than its
// own rounding, so that it cannot judge a step; the next offset does.
const blind = 1e-6

// noisy reports an offset that rounding keeps from falling further.
func (f *fitter) noisy(before float64) bool {
	if f.reached > blind || f.reached < before {
		return false
	}
	f.status = Limited
	return true
}

// advance shortens the step until the sum of squares falls, and moves there.
// It returns the radius for the next step; false if no step that can be told
// from rounding brings a decrease, or the evaluations are used up.
func (f *fitter) advance(radius float64, first bool) (float64, bool) {
	for f.evaluations < f.limit {
		lambda := f.damping(radius)
		length, gain := f.take(lambda)
		if !(length > 1e-16*f.scaledLength()) || !(gain > 0) {
			return radius, false
		}
		if first {
			radius = math.Min(radius, length)
		}
		f.cause = f.try()
		ratio := -1.0
		if f.cause == nil {
			ratio = (f.at.ssr - f.trial.ssr) / gain
			if f.reached <= blind && math.Abs(f.at.ssr-f.trial.ssr) <= blind*blind*f.at.ssr {
				ratio = 1
			}
		}
		switch {
		case ratio < 0.25:
			radius = length * shrink(f.at.ssr, f.trial.ssr, gain, f.cause)
		case ratio > 0.75 || lambda == 0:
			radius = 2 * length
		}
		if ratio > 1e-4 {
			f.at, f.trial = f.trial, f.at
			f.iterations++
			return radius, true
		}
	}
	return radius, false
}

// shrink returns the factor, 0.1 to 0.5, at which the parabola through the
// sums of squares at both ends of the step, with the slope at its beginning,
// has its minimum.
func shrink(before, after, gain float64, cause error) float64 {
	if cause != nil || !(after > before) {
		if cause != nil {
			return 0.1
		}
		return 0.5
	}
	// Along the step the linear model falls by gain with a slope between
	// gain and 2·gain at the start; 2·gain is that of the undamped step.
	t := gain / (after - before + 2*gain)
	return math.Min(0.5, math.Max(0.1, t))
}

// try evaluates the place that the step leads to.
func (f *fitter) try() error {
	for j, p := range f.at.p {
		f.trial.p[j] = p + f.step[j]/f.scale[j]
	}
	return f.evaluate(&f.trial)
}

func (f *fitter) evaluate(s *state) error {
	f.evaluations++
	if err := f.problem.Eval(s.p, s.r, s.jac); err != nil {
		return err
	}
	s.ssr = f.sum(s.r)
	if math.IsNaN(s.ssr) || math.IsInf(s.ssr, 0) {
		return fmt.Errorf("sum of squared residuals is %v", s.ssr)
	}
	for _, d := range s.jac {
		if !(math.Abs(d) < 1/negligible) {
			return fmt.Errorf("a derivative is %v", d)
		}
	}
	return nil
}

// sum returns the weighted sum of squares.
func (f *fitter) sum(r []float64) float64 {
	if len(f.weight) == 0 {
		return dot(r, r)
	}
	sum := 0.0
	for i, v := range r {
		v *= f.weight[i]
		sum += v * v
	}
	return sum
}

func (f *fitter) scaledLength() float64 {
	sum := 0.0
	for j, p := range f.at.p {
		sum += f.scale[j] * p * f.scale[j] * p
	}
	return math.Sqrt(sum)
}

// stall judges a place from which no step brings a decrease. It is a solution
// if rounding explains that: the undamped step is a thousandth of a standard
// error or less, or below 1e-8 of the parameters.
func (f *fitter) stall() error {
	const (
		nearOffset = 1e-3
		nearStep   = 1e-8 // about √ε: a step that changes the sum of squares by rounding only
	)
	length, _ := f.take(0)
	if f.evaluations < f.limit && (f.reached <= nearOffset || length <= nearStep*f.scaledLength()) {
		f.status = Limited
		if f.tiny() {
			f.status = Exact
		}
		return nil
	}
	return &NotConvergedError{
		Residual: math.Sqrt(f.at.ssr), Offset: f.reached,
		Iterations: f.iterations, Evaluations: f.evaluations,
		Last: append([]float64(nil), f.at.p...), Cause: f.cause,
	}
}

// tiny reports residuals that are rounding in the size of the model itself,
// as far as its derivatives tell that size.
func (f *fitter) tiny() bool { return math.Sqrt(f.at.ssr) <= 1e-14*f.scaledLength() }
