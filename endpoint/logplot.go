package endpoint

import (
	"fmt"
	"math"

	"meniscus/curve"
	"meniscus/unit"
)

// windowLog is the part of V_e whose readings the logarithmic plot uses.
var windowLog = span{0.05, 0.99}

// logPlot fits E = E½ + S log10(V/(V_e-V)) to the readings before the end
// point by least squares: a straight line in the logarithm for the right V_e
// only, so V_e, the slope S and the reading at half the volume come together.
func logPlot(c *curve.Curve, opt Options) Result {
	t, r, ok := begin("log-plot", c, opt, curve.Potential)
	if !ok {
		return r
	}
	theory := t.theory / electrons(opt.Electrons.Titrand)
	if len(t.jumps) == 0 {
		b := t.data(law{factor: sinceStart}, 0)
		return t.logPoint(r, b, b.guess(theory), theory, 1, -1)
	}
	origin := 0.0
	for k, j := range t.jumps {
		b := t.data(law{factor: sinceStart}, origin)
		b.v, b.y = t.s.v[:j.at+1], t.s.y[:j.at+1]
		if k > 0 {
			from := t.jumps[k-1].at + 1
			b.v, b.y = b.v[from:], b.y[from:]
		}
		if r = t.logPoint(r, b, t.middle(j), theory, k+1, j.at); r.Refused != "" {
			return r
		}
		origin = t.middle(j)
	}
	return r
}

// logPoint adds the end point of one branch; at is that of its jump, or -1.
func (t *task) logPoint(r Result, b branchData, ve, theory float64, order, at int) Result {
	w := windowLog
	if t.s.opt.Window != [2]float64{} {
		w = span{t.s.opt.Window[0], t.s.opt.Window[1]}
	}
	in, f, why := b.settleLog(ve, theory, w)
	if why == "" {
		why = t.doubt(&in, f, theory, at)
	}
	if why != "" {
		return t.refuse(r, order-1, why)
	}
	noise := f.u[2] * inflation(f.misfit)
	windows, choice := b.choice(f.estimate(&in), w, othersLog, withSlope(f.p[2], f.p[1]))
	found := foundLine{ve: f.p[2], u: math.Hypot(noise, choice), points: len(in.v)}
	found.line = Line{
		Order: order, Name: "log10(V/(V_e-V))", From: in.v[0], To: in.v[len(in.v)-1], Points: len(in.v),
		Slope: f.p[1], SlopeUnc: f.u[1], Fitted: true, Theory: theory, Misfit: f.misfit,
		A: t.s.dir * f.p[0], B: t.s.dir * f.p[1], Intercept: t.s.dir * f.p[0], Noise: unit.Volume(noise), Choice: unit.Volume(choice), Windows: windows,
	}
	for i, v := range in.v[:min(len(in.v), maxTable)] {
		l, _, _ := in.log(v, f.p[2])
		found.line.Table = append(found.line.Table, Row{unit.Volume(v), t.s.dir * in.y[i], t.s.dir * (f.p[0] + f.p[1]*l)})
	}
	found.warn(t, &in, theory)
	t.add(&r, found, order)
	return r
}

// settleLog repeats the fit until its window, in parts of V_e, stays.
func (b *branchData) settleLog(ve, slope float64, w span) (branchData, logFit, string) {
	var in branchData
	var f logFit
	for range 20 {
		in = b.between(ve, w.lo, w.hi)
		if len(in.v) < least+1 {
			return in, f, fmt.Sprintf("%s between %.3g and %.3g of the end point; %d are needed",
				plural(len(in.v), "reading", "readings"), w.lo, w.hi, least+1)
		}
		var ok bool
		if f, ok = in.fitLog(ve, slope); !ok {
			if edge := in.v[len(in.v)-1]; ve > edge+1e-9*ve {
				ve = edge // it may be the end point itself, and hold V_e fast
				continue
			}
			return in, f, "the readings do not follow a logarithmic law"
		}
		if math.Abs(f.p[2]-ve) < 1e-7*math.Abs(ve) {
			break
		}
		ve, slope = f.p[2], f.p[1]
	}
	return in, f, ""
}

// doubt says why a fit that converged is not to be believed.
func (t *task) doubt(in *branchData, f logFit, theory float64, at int) string {
	ve, end := f.p[2], in.v[len(in.v)-1]
	switch {
	case math.Abs(f.p[1]/theory-1) > slopeTrust+3*f.u[1]/theory:
		return fmt.Sprintf("the slope found, %.3g per decade, is far from theory, %.3g: another reaction, another number of electrons, or an electrode that does not answer", f.p[1], theory)
	case f.misfit > badMisfit:
		return fmt.Sprintf("the readings do not follow a logarithmic law: their scatter is %.3g times the noise", f.misfit)
	case end-in.origin < 0.5*(ve-in.origin):
		return fmt.Sprintf("the last reading is at %.2g of the end point: too far to extrapolate", (end-in.origin)/(ve-in.origin))
	case f.u[2] > 0.2*(ve-in.origin):
		return "the readings cannot tell the end point"
	case at >= 0 && math.Abs(ve-0.5*(t.s.v[at]+t.s.v[at+1])) > 0.2*(ve-in.origin):
		return fmt.Sprintf("the end point found, %s, is far from the jump at %s", ml(ve), ml(t.s.v[at]))
	}
	return ""
}
