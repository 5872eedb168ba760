// Package root finds where a function of one variable is zero, between two
// points where its signs differ. It does not look for such points.
package root

import (
	"errors"
	"fmt"
	"math"
)

// ErrNoBracket reports a function that has the same sign at both ends.
var ErrNoBracket = errors.New("the function has the same sign at both ends")

// maxIterations bounds the work: bisection alone needs about 1100 for the
// whole range of float64, and one step in two is at least as good.
const maxIterations = 3000

// Find returns a zero of f between a and b, to within tolerance or, where that
// is smaller, to two units in the last place; tolerance 0 asks for the latter.
// f must be finite and have opposite signs at a and b (or be zero at one),
// else the error is ErrNoBracket or says where f is not a number. The method is
// inverse quadratic interpolation where it can be trusted and bisection
// elsewhere (Chandrupatla, Adv. Eng. Softw. 28 (1997) 145, from memory).
func Find(f func(float64) float64, a, b, tolerance float64) (float64, error) {
	fa, fb := f(a), f(b)
	switch {
	case fa == 0:
		return a, nil
	case fb == 0:
		return b, nil
	case math.IsNaN(fa) || math.IsNaN(fb):
		return 0, fmt.Errorf("the function is %v at %g and %v at %g", fa, a, fb, b)
	case math.Signbit(fa) == math.Signbit(fb):
		return 0, fmt.Errorf("finding a root between %g and %g: %w", a, b, ErrNoBracket)
	}
	t := 0.5
	for range maxIterations {
		x := a + t*(b-a)
		fx := f(x)
		if math.IsNaN(fx) {
			return 0, fmt.Errorf("the function is NaN at %g", x)
		}
		c, fc := b, fb // the point that leaves
		if math.Signbit(fx) == math.Signbit(fa) {
			c, fc = a, fa
		} else {
			b, fb = a, fa
		}
		a, fa = x, fx
		best, fBest := a, fa
		if math.Abs(fb) < math.Abs(fa) {
			best, fBest = b, fb
		}
		limit := 2*math.Abs(best)*0x1p-52 + tolerance/2 + 1e-320
		least := limit / math.Abs(b-a)
		if least > 0.5 || fBest == 0 {
			return best, nil
		}
		t = math.Min(1-least, math.Max(least, next(a, b, c, fa, fb, fc)))
	}
	return 0, fmt.Errorf("no root between %g and %g in %d steps", a, b, maxIterations)
}

// next returns where between a (0) and b (1) to look next: at the zero of the
// parabola through the three points with x as a function of f, if that is
// monotonic between a and b, else in the middle.
func next(a, b, c, fa, fb, fc float64) float64 {
	xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
	if !(phi*phi < xi) || !((1-phi)*(1-phi) < 1-xi) {
		return 0.5
	}
	return fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
}
