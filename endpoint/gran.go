package endpoint

import (
	"fmt"
	"math"

	"meniscus/curve"
)

// A law is how the reading depends on volume on one branch: with the reading
// turned so that it rises, L its slope per decade and f a factor of volume,
//
//	before:  y = c + L log10(f/(V_e - V))
//	after:   y = c + L log10((V - V_e)/f)
//
// so that f·10^(-y/L) before, and f·10^(y/L) after, is a straight line that
// meets zero at V_e (Gran, Analyst 77 (1952) 661, from memory).
type law struct {
	name   string // of the function, for people
	after  bool
	factor factor
}

// A factor of volume; zero is 1.
type factor int

const (
	one        factor = iota // titrant couple: what is left of the titrand no longer counts
	sinceStart               // V, or V less the end point before: the product of the titration
	diluted                  // V0 + V: a concentration in the whole flask
)

// branchData are the readings of one branch and what they are evaluated with.
type branchData struct {
	law
	v, y          []float64
	noise, noiseV float64
	v0, origin    float64 // L in the flask; L at the end point before
	last          float64 // of all readings, L
	from          int     // index of the first reading in the whole branch
	equal         bool
}

// f and its derivative.
func (b *branchData) f(v float64) (f, df float64) {
	switch b.factor {
	case sinceStart:
		return v - b.origin, 1
	case diluted:
		return b.v0 + v, 1
	}
	return 1, 0
}

// side is what the logarithm divides by: V_e - V before, V - V_e after.
func (b *branchData) gap(v, ve float64) float64 {
	if b.after {
		return v - ve
	}
	return ve - v
}

// log returns log10 of f/(V_e-V), or (V-V_e)/f, and its derivatives by V and
// V_e.
func (b *branchData) log(v, ve float64) (l, dv, dve float64) {
	f, df := b.f(v)
	g := b.gap(v, ve)
	l = math.Log10(f / g)
	dv, dve = (df/f+1/g)/math.Ln10, -1/g/math.Ln10
	if b.after {
		l, dv = -l, (1/g-df/f)/math.Ln10
	}
	return l, dv, dve
}

// between returns the readings of a window in parts of V_e, on the right
// side of it; they follow one another from index from on. Readings closer to V_e than three standard deviations of a
// volume say nothing, and those with no titrant have no logarithm.
func (b *branchData) between(ve, lo, hi float64) branchData {
	out := *b
	out.v, out.y, out.from = nil, nil, 0
	for i, v := range b.v {
		part := (v - b.origin) / (ve - b.origin)
		f, _ := b.f(v)
		if part >= lo && part <= hi && b.gap(v, ve) > 3*b.noiseV && f > 3*b.noiseV && f > 0 {
			if out.v == nil {
				out.from = i
			}
			out.v, out.y = append(out.v, v), append(out.y, b.y[i])
		}
	}
	return out
}

// A granFit is a straight line through a Gran function.
type granFit struct {
	a, b   float64 // G = a + b (V - centre), relative to the largest G
	centre float64
	ve, u  float64 // u from noise, times misfit where that is counted
	misfit float64 // root of reduced chi-square; 1 where there is no degree of freedom
	g      []float64
	pull   []float64 // change of ve with each point, for one standard deviation of it
}

// gran fits the line for a slope of l per decade. Weights are those of the
// errors of both reading and volume,
//
//	var G = (G ln10/l)² noise² + (dG/dV - b)² noiseV²
//
// with G taken from the line, since weights from noisy G favour those that
// came out small. The false result means that the numbers carry no line.
func (b *branchData) gran(l float64) (granFit, bool) {
	n := len(b.v)
	if n < 2 {
		return granFit{}, false
	}
	fit := granFit{g: make([]float64, n), misfit: 1}
	top := math.Inf(-1)
	sign := -1.0
	if b.after {
		sign = 1
	}
	for i := range b.v {
		f, _ := b.f(b.v[i])
		fit.g[i] = math.Log10(f) + sign*b.y[i]/l
		top = max(top, fit.g[i])
	}
	for i := range fit.g {
		fit.g[i] = math.Pow(10, fit.g[i]-top)
	}
	w := make([]float64, n)
	for pass := range 5 {
		for i, v := range b.v {
			w[i] = 1
			if !b.equal {
				w[i] = b.weight(&fit, v, fit.g[i], l, pass)
			}
		}
		if !fit.line(b.v, w) {
			return fit, false
		}
	}
	fit.uncertainty(b, w, l)
	return fit, !math.IsNaN(fit.ve) && !math.IsInf(fit.ve, 0) && !math.IsNaN(fit.u) && !math.IsInf(fit.u, 0)
}

// weight of one point in a pass; the first takes the point itself.
func (b *branchData) weight(fit *granFit, v, g, l float64, pass int) float64 {
	slope := 0.0
	if pass > 0 {
		g = max(fit.a+fit.b*(v-fit.centre), 1e-3)
		slope = fit.b
	}
	return 1 / max(b.variance(v, max(g, 1e-3), slope, l), 1e-30)
}

// variance of the distance of a point from the line.
func (b *branchData) variance(v, g, slope, l float64) float64 {
	f, df := b.f(v)
	return math.Pow(g*math.Ln10/l*b.noise, 2) + math.Pow((g*df/f-slope)*b.noiseV, 2)
}

// line is the weighted straight line about the weighted mean volume.
func (fit *granFit) line(v, w []float64) bool {
	var sw, sv, sg float64
	for i := range v {
		sw, sv, sg = sw+w[i], sv+w[i]*v[i], sg+w[i]*fit.g[i]
	}
	fit.centre, fit.a = sv/sw, sg/sw
	var svv, svg float64
	for i := range v {
		d := v[i] - fit.centre
		svv, svg = svv+w[i]*d*d, svg+w[i]*d*(fit.g[i]-fit.a)
	}
	fit.b = svg / svv
	fit.ve = fit.centre - fit.a/fit.b
	return svv > 0 && fit.b != 0 && !math.IsNaN(fit.ve) && !math.IsInf(fit.ve, 0)
}

// uncertainty of V_e by the propagation of each point's variance through the
// line as it was weighted: dV_e = sum w_i (1/sw + d_i (V_e-centre)/svv) r_i/-b.
func (fit *granFit) uncertainty(b *branchData, w []float64, l float64) {
	var sw, svv float64
	for i, v := range b.v {
		d := v - fit.centre
		sw, svv = sw+w[i], svv+w[i]*d*d
	}
	var sum, chi float64
	fit.pull = make([]float64, len(b.v))
	for i, v := range b.v {
		line := fit.a + fit.b*(v-fit.centre)
		variance := b.variance(v, max(line, 1e-3), fit.b, l)
		k := w[i] * (1/sw + (v-fit.centre)*(fit.ve-fit.centre)/svv) / fit.b
		sum += k * k * variance
		fit.pull[i] = k * math.Sqrt(variance)
		chi += math.Pow(fit.g[i]-line, 2) / max(variance, 1e-30)
	}
	fit.u = math.Sqrt(sum)
	if n := len(b.v) - 2; n > 0 {
		fit.misfit = math.Sqrt(chi / float64(n))
	}
}

// A task is a Gran method on one curve.
type task struct {
	method string
	s      *series
	theory float64 // slope per decade
	jumps  []steep
}

// begin prepares the curve for a method with straight lines and finds the
// jumps; a titration that was stopped early has none.
func begin(method string, c *curve.Curve, opt Options, kinds ...curve.Kind) (*task, Result, bool) {
	s, why := prepare(c, opt)
	if why != "" {
		return nil, refused(method, why), false
	}
	right := false
	for _, k := range kinds {
		right = right || k == c.Kind
	}
	if !right {
		return nil, refused(method, fmt.Sprintf("it needs readings of %v, these are of %v", kinds[0], c.Kind)), false
	}
	t := &task{method: method, s: s, theory: s.nernst()}
	r := Result{Method: method, Warnings: s.warnings, Detail: s.detail()}
	if t.jumps, why = s.findJumps(); why != "" && opt.Expected > 1 {
		r.Refused = why
		return nil, r, false
	}
	return t, r, true
}

// data returns the readings with what belongs to the law.
func (t *task) data(l law, origin float64) branchData {
	return branchData{
		law: l, v: t.s.v, y: t.s.y, noise: t.s.noise, noiseV: t.s.noiseV,
		v0: float64(t.s.opt.V0), origin: origin, equal: t.s.opt.Equal, last: t.s.v[len(t.s.v)-1],
	}
}

// middle returns the middle of a jump's steepest interval.
func (t *task) middle(j steep) float64 { return 0.5 * (t.s.v[j.at] + t.s.v[j.at+1]) }
