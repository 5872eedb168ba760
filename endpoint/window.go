package endpoint

import (
	"fmt"
	"math"
	"slices"

	"meniscus/unit"
)

// A span of volumes in parts of V_e.
type span struct{ lo, hi float64 }

// The windows of Gran's lines. Before the end point the lower limit keeps out
// what was in the flask at the start and the flat part of the curve, the upper
// one the last readings, which hang on the errors of volume; after it the
// readings up to twice the volume. A slope that is fitted needs the range of
// the whole branch. When fewer than wanted readings fall into a window it is
// widened downwards (before) or upwards (after), which a warning tells.
var (
	windowBefore = span{0.5, 0.97}
	windowAfter  = span{1.03, 2.005}
	windowSlope  = span{0.1, 0.97}

	othersLog    = []span{{0.1, 0.97}, {0.2, 0.99}, {0.05, 0.95}, {0.3, 0.98}}
	othersBefore = []span{{0.3, 0.97}, {0.7, 0.97}, {0.5, 0.9}, {0.5, 0.99}, {0.3, 0.9}, {0.1, 0.97}}
	othersAfter  = []span{{1.03, 1.5}, {1.1, 2.005}, {1.01, 2.005}, {1.03, 3}, {1.1, 1.5}}
)

const (
	wanted      = 5    // readings in a window; with fewer there is a warning
	least       = 3    // and with fewer than these a refusal
	slopeShare  = 0.01 // standard uncertainty of an electrode slope that is assumed, relative
	slopeTrust  = 0.15 // a slope this far from theory is another law
	windowTrust = 3    // windows apart by this many times the variance of noise differ
	badMisfit   = 20.  // scatter this many times the noise is no straight line
)

// settle finds V_e for a window that is given in parts of V_e itself, from a
// first guess. It returns the readings of the final window.
func (b *branchData) settle(ve, l float64, w span) (branchData, granFit, string) {
	var in branchData
	var fit granFit
	for range 30 {
		in = b.between(ve, w.lo, w.hi)
		if len(in.v) < least {
			return in, fit, fmt.Sprintf("%s between %.3g and %.3g of the end point; %d are needed",
				plural(len(in.v), "reading", "readings"), w.lo, w.hi, least)
		}
		var ok bool
		if fit, ok = in.gran(l); !ok {
			return in, fit, "the Gran function carries no straight line"
		}
		if why := in.plausible(&fit); why != "" {
			return in, fit, why
		}
		if math.Abs(fit.ve-ve) < 1e-7*math.Abs(ve) {
			break
		}
		ve = fit.ve
	}
	return in, fit, ""
}

// plausible refuses lines of the wrong direction or far from the readings.
func (b *branchData) plausible(fit *granFit) string {
	first, end := b.v[0], b.v[len(b.v)-1]
	switch {
	case b.after == (fit.b < 0):
		return "the Gran line slopes the wrong way"
	case b.after && fit.ve >= first, !b.after && fit.ve <= end:
		return "the Gran line meets zero among its own readings: they do not follow the law"
	case fit.ve <= b.origin:
		return "the Gran line meets zero before the titration began"
	case !b.after && end-b.origin < 0.5*(fit.ve-b.origin):
		return fmt.Sprintf("the last reading is at %.2g of the end point: too far to extrapolate", (end-b.origin)/(fit.ve-b.origin))
	}
	return ""
}

// choose picks the window of the rule, or wider ones if it holds too little.
func (b *branchData) choose(ve float64, o Options, fitted bool) (span, []string) {
	if o.Window != [2]float64{} {
		return span{o.Window[0], o.Window[1]}, nil
	}
	rule := windowBefore
	wider := []span{{0.3, 0.97}, {0.1, 0.99}}
	switch {
	case b.after:
		rule, wider = windowAfter, []span{{1.01, 3}, {1.002, 10}}
	case fitted:
		rule, wider = windowSlope, wider[1:]
	}
	w, held := rule, len(b.between(ve, rule.lo, rule.hi).v)
	for _, x := range wider {
		if held >= wanted {
			break
		}
		if n := len(b.between(ve, x.lo, x.hi).v); n > held {
			w, held = x, n
		}
	}
	if w == rule {
		return w, nil
	}
	return w, []string{fmt.Sprintf("the window was widened to %.3g-%.3g of the end point to hold more readings", w.lo, w.hi)}
}

// An estimate of V_e from one window.
type estimate struct {
	ve, u float64
	from  int       // index of the first reading in the branch
	pull  []float64 // change of ve with each reading, for one standard deviation of it
}

// apart returns the variance that noise gives the difference of two estimates
// which share readings.
func apart(a, b estimate) float64 {
	var sum float64
	for i := min(a.from, b.from); i < max(a.from+len(a.pull), b.from+len(b.pull)); i++ {
		var d float64
		if k := i - a.from; k >= 0 && k < len(a.pull) {
			d = a.pull[k]
		}
		if k := i - b.from; k >= 0 && k < len(b.pull) {
			d -= b.pull[k]
		}
		sum += d * d
	}
	return sum
}

// choice evaluates the other windows and returns the standard uncertainty
// that the choice among them adds: the mean square of what they differ by from
// the first, less the variance that noise gives these differences, weighted
// with 1/u². It is 0 where noise explains it all, that is unless the mean of
// difference² over its variance is above windowTrust.
func (b *branchData) choice(first estimate, used span, others []span, eval func(in *branchData) (estimate, bool)) ([]Window, float64) {
	all := b.between(first.ve, used.lo, used.hi)
	out := []Window{window(used, &all, first)}
	var sum, weight, chi float64
	held := least + 1
	if len(all.v) == least { // then two of the three show what hangs on the third
		others, held = append(slices.Clone(others), all.without(first.ve)...), least-1
	}
	for _, w := range others {
		in := b.between(first.ve, w.lo, w.hi)
		if w == used || len(in.v) < held || len(in.v) == len(all.v) && held < least {
			continue
		}
		e, ok := eval(&in)
		if !ok || !(e.u > 0) || e.u > 0.2*math.Abs(e.ve) {
			continue
		}
		out = append(out, window(w, &in, e))
		d := e.ve - first.ve
		noise := apart(e, first)
		sum += (d*d - noise) / (e.u * e.u)
		chi += d * d / max(noise, 1e-30)
		weight += 1 / (e.u * e.u)
	}
	if weight == 0 || chi <= windowTrust*float64(len(out)-1) {
		return out, 0
	}
	return out, math.Sqrt(max(0, sum/weight))
}

// without returns the windows that leave out the first or the last reading.
func (b *branchData) without(ve float64) []span {
	n := len(b.v)
	part := func(i int) float64 { return ((b.v[i]+b.v[i+1])/2 - b.origin) / (ve - b.origin) }
	return []span{{part(0), (b.v[n-1]-b.origin)/(ve-b.origin) + 1e-6}, {(b.v[0]-b.origin)/(ve-b.origin) - 1e-6, part(n - 2)}}
}

func window(w span, in *branchData, e estimate) Window {
	return Window{Low: w.lo, High: w.hi, Points: len(in.v), Volume: unit.Volume(e.ve), StdUnc: unit.Volume(e.u)}
}

// atSlope evaluates a window by the Gran line at a slope.
func atSlope(l float64) func(in *branchData) (estimate, bool) {
	return func(in *branchData) (estimate, bool) {
		fit, ok := in.gran(l)
		if !ok || in.plausible(&fit) != "" {
			return estimate{}, false
		}
		return estimate{fit.ve, fit.u, in.from, fit.pull}, true
	}
}

// withSlope evaluates a window by a fit of slope and V_e together, from ve.
func withSlope(ve, slope float64) func(in *branchData) (estimate, bool) {
	return func(in *branchData) (estimate, bool) {
		f, ok := in.fitLog(ve, slope)
		return f.estimate(in), ok
	}
}

func (f *logFit) estimate(in *branchData) estimate {
	return estimate{f.p[2], f.u[2], in.from, f.pull}
}
