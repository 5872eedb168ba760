package endpoint

import (
	"fmt"
	"math"
	"slices"

	"meniscus/unit"
)

// A found line with its end point.
type foundLine struct {
	line     Line
	ve, u    float64
	points   int
	warnings []string
}

// solve finds the end point of one branch from a first guess of it.
func (t *task) solve(b branchData, ve, theory float64, order int) (foundLine, string) {
	fitted, slope, slopeU, why := t.slope(&b, ve, theory)
	if why != "" {
		return foundLine{}, why
	}
	w, warnings := b.choose(ve, t.s.opt, fitted)
	in, fit, why := b.settle(ve, slope, w)
	if why != "" {
		return foundLine{}, why
	}
	if fit.misfit > badMisfit && len(in.v) > least {
		return foundLine{}, fmt.Sprintf("the Gran function is not straight: its scatter is %.3g times the noise", fit.misfit)
	}
	out := foundLine{ve: fit.ve, points: len(in.v), warnings: warnings}
	first, eval := estimate{fit.ve, fit.u, in.from, fit.pull}, atSlope(slope)
	misfit, slopePart := fit.misfit, 0.0
	switch {
	case fitted:
		f, ok := in.fitLog(fit.ve, slope)
		if !ok {
			return foundLine{}, "the readings do not give the slope and the end point together"
		}
		first, misfit, eval = f.estimate(&in), f.misfit, withSlope(fit.ve, slope)
	case t.s.opt.Slope == SlopeAuto:
		slopePart, slopeU = slopeEffect(&in, fit.ve, slope), slopeShare*slope
	}
	noise := first.u * inflation(misfit)
	windows, choice := b.choice(first, w, b.others(), eval)
	b.equalWeights(windows, slope)
	out.u = math.Sqrt(noise*noise + choice*choice + slopePart*slopePart)
	out.line = Line{
		Order: order, Name: b.name, From: in.v[0], To: in.v[len(in.v)-1], Points: len(in.v),
		A: fit.a - fit.b*fit.centre, B: fit.b, Slope: slope, SlopeUnc: slopeU, Fitted: fitted, Theory: theory,
		Misfit: fit.misfit, Noise: unit.Volume(noise), Choice: unit.Volume(choice), SlopePart: unit.Volume(slopePart),
		Windows: windows, Table: granTable(&in, &fit),
	}
	out.warn(t, &in, theory)
	return out, ""
}

// slope decides where the slope comes from.
func (t *task) slope(b *branchData, ve, theory float64) (fitted bool, slope, u float64, why string) {
	rule := t.s.opt.Slope
	if rule == SlopeAssumed {
		return false, theory, 0, ""
	}
	w, _ := b.choose(ve, t.s.opt, true)
	in := b.between(ve, w.lo, w.hi)
	f, ok := in.fitLog(ve, theory)
	told := ok && f.dof > 0 && f.u[1] < 0.2*f.p[1]
	if told && math.Abs(f.p[1]/theory-1) > slopeTrust+3*f.u[1]/theory {
		return false, 0, 0, fmt.Sprintf("the readings follow a slope of %.3g per decade where theory says %.3g: another reaction, another number of electrons, or an electrode that does not answer", f.p[1], theory)
	}
	trusted := ok && f.dof > 1 && f.u[1] < slopeShare*f.p[1]
	switch {
	case rule == SlopeFitted && !told:
		return false, 0, 0, "the readings cannot tell the slope"
	case rule == SlopeFitted || trusted:
		return true, f.p[1], f.u[1], ""
	}
	return false, theory, 0, ""
}

// inflation is what scatter beyond the noise multiplies u by. Scatter below the
// noise does not make u smaller: with few readings it is luck.
func inflation(misfit float64) float64 { return max(1, misfit) }

// slopeEffect is the change of V_e with a slope larger by its uncertainty.
func slopeEffect(in *branchData, ve, slope float64) float64 {
	other, ok := in.gran(slope * (1 + slopeShare))
	if !ok {
		return 0
	}
	return math.Abs(other.ve - ve)
}

func (f *foundLine) warn(t *task, in *branchData, theory float64) {
	if f.points < wanted {
		f.warnings = append(f.warnings, fmt.Sprintf("only %d readings on the line", f.points))
	}
	if beyond := f.ve - in.last; !in.after && beyond > 0 {
		f.warnings = append(f.warnings, fmt.Sprintf("extrapolated %s beyond the last reading", ml(beyond)))
	}
	if f.line.Fitted && math.Abs(f.line.Slope/theory-1) > 0.03 {
		f.warnings = append(f.warnings, fmt.Sprintf("the slope found is %.1f %% of theory", 100*f.line.Slope/theory))
	}
	if f.line.Misfit > 3 && len(in.v) > least {
		f.warnings = append(f.warnings, fmt.Sprintf("scatter about the line is %.2g times the noise: it is curved", f.line.Misfit))
	}
	if f.line.Choice > f.line.Noise {
		f.warnings = append(f.warnings, fmt.Sprintf("the choice of window moves it by more than the noise, u %s", ml(float64(f.line.Choice))))
	}
}

// others are the windows that might have been chosen as well.
func (b *branchData) others() []span {
	if b.after {
		return othersAfter
	}
	return othersBefore
}

// equalWeights adds to each window what it gives with equal weights.
func (b *branchData) equalWeights(windows []Window, l float64) {
	for i := range windows {
		w := &windows[i]
		in := b.between(float64(windows[0].Volume), w.Low, w.High)
		in.equal = true
		if fit, ok := in.gran(l); ok && in.plausible(&fit) == "" {
			w.Equal = unit.Volume(fit.ve)
		}
	}
}

// maxTable bounds the rows kept of a long record.
const maxTable = 200

func granTable(in *branchData, fit *granFit) []Row {
	var out []Row
	for i, v := range in.v[:min(len(in.v), maxTable)] {
		out = append(out, Row{unit.Volume(v), fit.g[i], fit.a + fit.b*(v-fit.centre)})
	}
	return out
}

// before runs a law over each jump: the readings from the jump before to this
// one. Without any jump it extrapolates.
func (t *task) before(r Result, choose func(b branchData) law, theory float64) Result {
	if len(t.jumps) == 0 {
		return t.extrapolate(r, choose, theory)
	}
	origin := 0.0
	for k, j := range t.jumps {
		b := t.data(law{}, origin)
		b.v, b.y = t.s.v[:j.at+1], t.s.y[:j.at+1]
		if k > 0 {
			from := t.jumps[k-1].at + 1
			b.v, b.y = b.v[from:], b.y[from:]
		}
		b.law = choose(b)
		found, why := t.solve(b, t.middle(j), theory, k+1)
		if why != "" {
			return t.refuse(r, k, why)
		}
		if off := math.Abs(found.ve - t.middle(j)); off > 0.2*(t.middle(j)-origin) {
			return t.refuse(r, k, fmt.Sprintf("the line meets zero at %s, far from the jump at %s", ml(found.ve), ml(t.middle(j))))
		}
		t.add(&r, found, k+1)
		origin = t.middle(j)
	}
	return r
}

// after runs a law over the readings behind the last jump.
func (t *task) after(r Result, l law, theory float64) Result {
	k := len(t.jumps) - 1
	if k < 0 {
		r.Refused = "no jump was found, so there are no readings after it"
		return r
	}
	j := t.jumps[k]
	b := t.data(l, 0)
	if k > 0 {
		b.origin = t.middle(t.jumps[k-1])
	}
	b.v, b.y = t.s.v[j.at+1:], t.s.y[j.at+1:]
	found, why := t.solve(b, t.middle(j), theory, k+1)
	if why != "" {
		return t.refuse(r, k, why)
	}
	if off := math.Abs(found.ve - t.middle(j)); off > 0.2*(t.middle(j)-b.origin) {
		return t.refuse(r, k, fmt.Sprintf("the line meets zero at %s, far from the jump at %s", ml(found.ve), ml(t.middle(j))))
	}
	t.add(&r, found, k+1)
	if k > 0 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("of %d end points this finds the last only", k+1))
	}
	return r
}

func (t *task) refuse(r Result, k int, why string) Result {
	r.Points, r.Detail.Lines = nil, nil
	r.Refused = why
	if len(t.jumps) > 1 {
		r.Refused = fmt.Sprintf("end point %d: %s", k+1, why)
	}
	return r
}

func (t *task) add(r *Result, f foundLine, order int) {
	p := t.s.endPoint(order, f.ve, f.u, f.points, f.warnings)
	r.Points = append(r.Points, p)
	r.Detail.Lines = append(r.Detail.Lines, f.line)
}

// extrapolate is for a titration that stopped before its end point. The first
// guess of V_e is the one of a row of guesses for which the law fits best.
func (t *task) extrapolate(r Result, choose func(b branchData) law, theory float64) Result {
	s := t.s
	if height := slices.Max(s.y) - slices.Min(s.y); height < signal*s.noise {
		r.Refused = fmt.Sprintf("the readings span %.3g, the noise is %.3g", height, s.noise)
		return r
	}
	b := t.data(law{}, 0)
	b.law = choose(b)
	ve := b.guess(theory)
	found, why := t.solve(b, ve, theory, 1)
	if why == "" && found.u > 0.2*found.ve {
		why = fmt.Sprintf("the end point lies too far beyond the readings: %s with a standard uncertainty of %s", ml(found.ve), ml(found.u))
	}
	if why != "" {
		r.Refused = "no jump was found, and the line cannot be extrapolated: " + why
		return r
	}
	t.add(&r, found, 1)
	return r
}

// guess tries end points beyond the last reading.
func (b *branchData) guess(slope float64) float64 {
	end := b.v[len(b.v)-1]
	best, lowest := 2*end, math.Inf(1)
	for _, beyond := range []float64{0.003, 0.01, 0.03, 0.06, 0.1, 0.2, 0.3, 0.5, 0.8} {
		ve := end * (1 + beyond)
		in := b.between(ve, 0.3, 0.99)
		if len(in.v) < 3 {
			continue
		}
		var sum, sq float64
		for i, v := range in.v {
			l, _, _ := in.log(v, ve)
			d := in.y[i] - slope*l
			sum, sq = sum+d, sq+d*d
		}
		n := float64(len(in.v))
		if rms := sq/n - sum*sum/(n*n); rms < lowest {
			best, lowest = ve, rms
		}
	}
	return best
}
