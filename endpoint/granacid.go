package endpoint

import (
	"fmt"
	"math"

	"meniscus/curve"
)

const needsV0 = "it needs the volume in the flask before the first drop, which is not given"

// granAcidBefore extrapolates, on a rising curve, (V0+V)·10^(-pH) for a strong
// acid, or V·10^(-pH) for a weak one in its buffer range; 10^(+pH) on a falling
// curve. Of the two the one that describes the readings better is taken.
func granAcidBefore(c *curve.Curve, opt Options) Result {
	t, r, ok := begin("gran-acid-base-before", c, opt, curve.PH)
	if !ok {
		return r
	}
	weak := law{name: signed("V·10^(%spH)", -t.s.dir), factor: sinceStart}
	strong := law{name: signed("(V0+V)·10^(%spH)", -t.s.dir), factor: diluted}
	choose := func(b branchData) law {
		if opt.V0 == 0 || b.origin > 0 || b.misfitOf(weak, t.theory) <= b.misfitOf(strong, t.theory) {
			return weak
		}
		return strong
	}
	if opt.V0 == 0 {
		r.Warnings = append(r.Warnings, "the volume in the flask is not given: only a weak acid or base was looked for")
	}
	return t.before(r, choose, t.theory)
}

// misfitOf says how badly a law with the slope of theory describes the
// readings before the end point: the misfit of its line, infinite without one.
func (b branchData) misfitOf(l law, theory float64) float64 {
	b.law = l
	in, fit, why := b.settle(b.guess(theory), theory, span{0.3, 0.97})
	if why != "" || len(in.v) <= least {
		return math.Inf(1)
	}
	return fit.misfit
}

// granAcidAfter extrapolates (V0+V)·10^(pH) on a rising curve, the excess of
// base, or (V0+V)·10^(-pH) on a falling one, the excess of acid (Gran's first
// function in the measurement of alkalinity), back to zero.
func granAcidAfter(c *curve.Curve, opt Options) Result {
	return dilutedAfter("gran-acid-base-after", "pH", c, opt, curve.PH)
}

// dilutedAfter is for an excess of titrant that is diluted by the whole flask.
func dilutedAfter(method, what string, c *curve.Curve, opt Options, kinds ...curve.Kind) Result {
	t, r, ok := begin(method, c, opt, kinds...)
	if !ok {
		return r
	}
	if opt.V0 == 0 {
		r.Refused = needsV0
		return r
	}
	l := law{name: signed("(V0+V)·10^(%s"+what+")", t.s.dir), factor: diluted, after: true}
	return t.after(r, l, t.theory)
}

// signed writes a function with the sign of its exponent.
func signed(format string, sign float64) string {
	if sign < 0 {
		return fmt.Sprintf(format, "-")
	}
	return fmt.Sprintf(format, "")
}
