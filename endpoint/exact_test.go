package endpoint

import (
	"math"
	"strings"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/unit"
)

func points(kind curve.Kind, v, y []float64) *curve.Curve {
	c := &curve.Curve{Kind: kind}
	for i := range v {
		c.Readings = append(c.Readings, curve.Reading{Row: i + 1, Volume: unit.Volume(v[i]), Value: y[i], Time: math.NaN()})
	}
	return c
}

// found checks one end point and returns it.
func found(t *testing.T, r Result, want, tol float64) EndPoint {
	t.Helper()
	if r.Refused != "" || len(r.Points) == 0 {
		t.Errorf("%s: refused: %s", r.Method, r.Refused)
		return EndPoint{}
	}
	p := r.Points[len(r.Points)-1]
	if got := float64(p.Volume); math.Abs(got-want) > tol {
		t.Errorf("%s: %.7f mL, want %.7f within %.1g mL", r.Method, got*1e3, want*1e3, tol*1e3)
	}
	return p
}

// On exact curves the straight lines are exact, but for what the other couple
// still does at the edge of the window.
func TestExactRedox(t *testing.T) {
	volumes := lab.DefaultPlan(0.025).Volumes()
	rising := lab.IronCerium().WithEquivalence(0.02503)
	falling := rising
	falling.Titrand, falling.Titrant = rising.Titrant, rising.Titrand
	quiet := Options{Noise: Noise{1e-4, 1e-6}}
	for _, r := range []lab.Redox{rising, falling, lab.IronPermanganate(0).WithEquivalence(0.02503)} {
		opt := quiet
		opt.Electrons = Electrons{r.Titrand.N, r.Titrant.N}
		c := lab.Bench{}.Run(r, volumes, 1)
		for _, rule := range []SlopeRule{SlopeAuto, SlopeAssumed, SlopeFitted} {
			opt.Slope = rule
			found(t, granRedoxBefore(&c, opt), 0.02503, 1e-9)
			found(t, granRedoxAfter(&c, opt), 0.02503, 1e-9)
		}
		l := logPlot(&c, opt)
		found(t, l, 0.02503, 1e-9)
		if line := l.Detail.Lines[0]; math.Abs(line.Intercept-r.Titrand.E) > 1e-6 || math.Abs(line.Slope-0.0591593486) > 1e-6 {
			t.Errorf("log plot: half at %.7f V, slope %.7f V; want %g, 0.0591593", line.Intercept, line.Slope, r.Titrand.E)
		}
		for _, m := range []string{"steepest-interval", "second-derivative", "smoothed-first-derivative"} {
			found(t, method(t, m).Find(&c, opt), 0.02503, 0.5e-4)
		}
	}
}

// The electrode's slope is found when it is not the theoretical one.
func TestSlopeIsFitted(t *testing.T) {
	c := lab.Bench{SlopeError: -0.04, Offset: 0.1}.Run(ironCerium(0.02503), lab.DefaultPlan(0.025).Volumes(), 1)
	for _, f := range []func(*curve.Curve, Options) Result{granRedoxBefore, granRedoxAfter, logPlot} {
		r := f(&c, Options{Noise: Noise{1e-4, 1e-6}})
		p := found(t, r, 0.02503, 1e-8)
		if line := r.Detail.Lines[0]; !line.Fitted || math.Abs(line.Slope/line.Theory-0.96) > 1e-4 {
			t.Errorf("%s: slope %.5f of theory, fitted %v", r.Method, line.Slope/line.Theory, line.Fitted)
		}
		if !strings.Contains(strings.Join(p.Warnings, "; "), "96.0 % of theory") {
			t.Errorf("%s: no warning of the slope: %q", r.Method, p.Warnings)
		}
	}
}

func TestExactAcidBase(t *testing.T) {
	volumes := lab.DefaultPlan(0.025).Volumes()
	opt := Options{V0: 0.05, Noise: Noise{0.001, 1e-6}}
	for name, a := range map[string]lab.Acid{
		"strong acid": {Strong: 0.05006, V0: 0.05, TitrantConc: 0.1},
		"strong base": {Strong: -0.05006, V0: 0.05, TitrantConc: -0.1},
	} {
		c := lab.Bench{}.Run(a, volumes, 1)
		for _, m := range []string{"gran-acid-base-before", "gran-acid-base-after"} {
			r := method(t, m).Find(&c, opt)
			found(t, r, 0.02503, 1e-8)
			if r.Refused == "" && !strings.HasPrefix(r.Detail.Lines[0].Name, "(V0+V)") {
				t.Errorf("%s of a %s used %s", m, name, r.Detail.Lines[0].Name)
			}
		}
	}
	acetic := lab.Bench{}.Run(lab.Acid{PKa: []float64{4.757}, Conc: 0.05006, V0: 0.05, TitrantConc: 0.1}, volumes, 1)
	r := granAcidBefore(&acetic, opt)
	// [H+] beside the salt, and what water adds, move the line by 0.1 % of V_e.
	found(t, r, 0.02503, 3e-5)
	if r.Refused == "" && r.Detail.Lines[0].Name != "V·10^(-pH)" {
		t.Errorf("acetic acid used %s", r.Detail.Lines[0].Name)
	}
	found(t, granAcidAfter(&acetic, opt), 0.02503, 1e-7)
}

func TestExactSilver(t *testing.T) {
	s := lab.Silver{Halides: []lab.Halide{{Conc: 0.05006, PKsp: 12.3}}, V0: 0.05, TitrantConc: 0.1, E0: 0.6}
	c := lab.Bench{}.Run(s, lab.DefaultPlan(0.025).Volumes(), 1)
	opt := Options{V0: 0.05, Noise: Noise{1e-4, 1e-6}}
	// What the salt dissolves moves the last points of the window by 1e-5 of V_e.
	found(t, granSilverBefore(&c, opt), 0.02503, 1e-6)
	found(t, granSilverAfter(&c, opt), 0.02503, 1e-6)
}

// Two lines meet where their equations say, with the closed form of Fieller's
// interval for equal and symmetric branches: slopes -1 and 1, levels equal.
func TestStraightLinePair(t *testing.T) {
	var v, y []float64
	wiggle := []float64{0.01, -0.02, 0.02, -0.01}
	for i := range 40 {
		x := float64(i)
		v = append(v, x*1e-3)
		y = append(y, math.Abs(x-19.5)+wiggle[i%4])
	}
	r := straightLinePair(points(curve.Potential, v, y), Options{})
	p := found(t, r, 0.0195, 2e-5)
	if line := r.Detail.Lines[0]; !(line.Low < p.Volume && p.Volume < line.High) || math.Abs(line.Intercept) > 0.02 {
		t.Errorf("interval %g to %g around %g L, meeting at %g", line.Low, line.High, p.Volume, line.Intercept)
	}
	// By hand: each line has 20 points with residual s = 0.0165, centred 10 from
	// the break, Sxx = 665; u² = 2 s² (1/20 + 100/665)/2².
	if want := 0.0165e-3 * math.Sqrt(2*(1./20+100./665)) / 2; math.Abs(float64(p.StdUnc)/want-1) > 0.15 {
		t.Errorf("u %g L, want about %g", p.StdUnc, want)
	}
	for name, f := range map[string]func(x float64) float64{
		"one line":  func(x float64) float64 { return 3 * x },
		"S-shaped":  func(x float64) float64 { return math.Atan(x - 19.3) },
		"parabola":  func(x float64) float64 { return x * x },
		"logarithm": func(x float64) float64 { return math.Log(1 + x) },
	} {
		for i := range v {
			y[i] = f(float64(i)) + 1e-4*wiggle[i%4]
		}
		if r := straightLinePair(points(curve.Potential, v, y), Options{}); r.Refused == "" {
			t.Errorf("%s: end point at %g mL", name, r.Points[0].Volume.Millilitres())
		}
	}
}

// Fieller's interval for a ratio with uncorrelated numerator 10 ± 1 and
// denominator 5 ± 0.5 at z = 2: (50 ± sqrt(50² - 24·96))/24.
func TestFieller(t *testing.T) {
	lo, hi, ok := fieller(2, 5, 1, 0.25, 0, 2)
	root := math.Sqrt(50*50 - 24*96)
	if !ok || math.Abs(lo-(50-root)/24) > 1e-12 || math.Abs(hi-(50+root)/24) > 1e-12 {
		t.Errorf("%g to %g, %v", lo, hi, ok)
	}
	if _, _, ok := fieller(2, 0.9, 1, 0.25, 0, 2); ok {
		t.Error("an interval although the denominator may be zero")
	}
}

func TestPreset(t *testing.T) {
	v := []float64{0, 1e-3, 2e-3, 3e-3, 4e-3, 5e-3, 6e-3, 7e-3, 8e-3, 9e-3}
	y := []float64{2, 3, 4, 5, 6, 7, 8, 9, 10, 11}
	opt := Options{Preset: []float64{8.3, 4.5}, Noise: Noise{0.02, 1e-6}}
	r := preset(points(curve.PH, v, y), opt)
	if r.Refused != "" || len(r.Points) != 2 {
		t.Fatalf("%+v", r)
	}
	for i, want := range []EndPoint{{Order: 2, Volume: 2.5e-3, Value: 4.5}, {Order: 1, Volume: 6.3e-3, Value: 8.3}} {
		p := r.Points[i]
		if p.Order != want.Order || p.Value != want.Value || math.Abs(float64(p.Volume-want.Volume)) > 1e-12 {
			t.Errorf("point %d: %+v, want %+v", i, p, want)
		}
	}
	// Half-way between two readings their noise counts 1/sqrt(2), over 1000 pH/L.
	if want := math.Hypot(0.02/1000, 1e-6) / math.Sqrt2; math.Abs(float64(r.Points[0].StdUnc)/want-1) > 1e-6 {
		t.Errorf("u %g L, want %g", r.Points[0].StdUnc, want)
	}
	for i := range y {
		y[i] = -y[i]
	}
	opt.Preset = []float64{-4.5}
	found(t, preset(points(curve.PH, v, y), opt), 2.5e-3, 1e-12)
	opt.Preset = []float64{5}
	if r := preset(points(curve.PH, v, y), opt); !strings.Contains(r.Refused, "do not pass 5") {
		t.Errorf("refused with %q", r.Refused)
	}
	if r := preset(points(curve.PH, v, y), Options{}); !strings.Contains(r.Refused, "no value") {
		t.Errorf("refused with %q", r.Refused)
	}
}

// At half and twice the volume the curve shows the two formal potentials.
func TestHalfTwice(t *testing.T) {
	c := lab.Bench{}.Run(ironCerium(0.02503), lab.DefaultPlan(0.025).Volumes(), 1)
	half, twice := HalfTwice(&c, 0.02503, 1e-5, Options{Noise: Noise{0.5e-3, 1e-5}})
	for _, m := range []struct {
		Landmark
		volume, want float64
	}{{half, 0.012515, 0.68}, {twice, 0.05006, 1.44}} {
		if m.Refused != "" || math.Abs(m.Value-m.want) > 1e-6 || math.Abs(float64(m.Volume)-m.volume) > 1e-12 {
			t.Errorf("%+v: want %g V", m.Landmark, m.want)
		}
	}
	// The point half-way slides along the curve by half of u(V_e), where dE/dV
	// is 4 RT/F/V_e; the line through more readings differs by some per cent.
	exactHalf, _ := HalfTwice(&c, 0.02503, 0, Options{Noise: Noise{0.5e-3, 1e-5}})
	moved := math.Sqrt(half.StdUnc*half.StdUnc - exactHalf.StdUnc*exactHalf.StdUnc)
	if want := 2 * 0.025693 / 0.02503 * 1e-5; math.Abs(moved/want-1) > 0.15 {
		t.Errorf("u(V_e) = 0.01 mL moves the half-way potential by %.3g V, want %.3g", moved, want)
	}
	short := lab.Bench{}.Run(ironCerium(0.02503), []float64{0.001, 0.002, 0.003, 0.02, 0.0249, 0.0251, 0.026, 0.03}, 1)
	half, twice = HalfTwice(&short, 0.02503, 0, Options{})
	if half.Refused == "" || twice.Refused == "" {
		t.Errorf("values without readings around: %+v, %+v", half, twice)
	}
	if half, _ = HalfTwice(&c, unit.Volume(math.NaN()), 0, Options{}); half.Refused == "" {
		t.Error("a value for V_e not a number")
	}
}

// A cubic with its inflection at 2.2 and unequal steps: its second derivative
// is a straight line, so the interpolation is exact.
func TestSecondDerivativeOfUnequalSteps(t *testing.T) {
	v := []float64{0, 0.5, 1.3, 1.9, 2.9, 3.2, 4, 4.4}
	y := make([]float64, len(v))
	for i, x := range v {
		y[i] = 30*x - math.Pow(x-2.2, 3)
	}
	if got, ok := secondZero(v, y); !ok || math.Abs(got-2.2) > 1e-9 {
		t.Errorf("%g, %v; want 2.2", got, ok)
	}
}

// The shape finds how narrow a jump is from its branches alone. Close to the
// equivalence point of one to one redox, with s = RT/F,
// E - E_eq = s asinh((V-V_e)/w), w = 2 V_e exp(-(E2-E1)/2s) (by hand from the
// two Nernst equations): 1.9e-5 mL here, where the step is 0.1 mL.
func TestShapeOfNarrowJump(t *testing.T) {
	var v, y []float64
	for i := range 16 {
		v = append(v, 0.02428+float64(i)*1e-4)
		y = append(y, ironCerium(0.02503).At(v[i]))
	}
	f, ok := fitShape(v, y, 7, 1e-5, 0)
	const s = 0.0256926 // V at 25 °C
	want := 2 * 0.02503 * math.Exp(-0.76/2/s)
	if !ok || math.Abs(math.Log(f.w/want)) > 0.2 || math.Abs(f.v0-0.02503) > 1e-6 || math.Abs(f.a/s-1) > 0.03 {
		t.Errorf("w %.3g L, want %.3g; V_e %.6f L; slope %.5f V, want %.5f", f.w, want, f.v0, f.a, s)
	}
	for i := range v {
		if d := f.at(v[i]) - y[i]; math.Abs(d) > 2e-3 {
			t.Errorf("at %g mL off by %g V", v[i]*1e3, d)
		}
	}
}

// Unequal branches: the inflection is where the slope is greatest.
func TestShapeInflection(t *testing.T) {
	f := shape{a: 3, b: 1, v0: 2, w: 0.5}
	best, top := 0.0, 0.0
	for x := 1.0; x < 3; x += 1e-5 {
		if g := (f.at(x+1e-6) - f.at(x-1e-6)) / 2e-6; g > top {
			best, top = x, g
		}
	}
	if got := f.inflection(); math.Abs(got-best) > 1e-3 || math.Abs(f.slopeAt(got)/top-1) > 1e-6 {
		t.Errorf("inflection %g with slope %g, want %g with %g", got, f.slopeAt(got), best, top)
	}
}

// An assumed slope carries 1 %. 2 % moves the equal-weight line through readings
// at each millilitre from 13 to 24 by 0.1346 mL (worked out apart), 1 % by half.
func TestAssumedSlopeCounts(t *testing.T) {
	plan := lab.Plan{Expected: 0.025, Fine: 1e-3, Coarse: 1e-3, First: 1e-3, Last: 0.05}
	c := lab.Bench{}.Run(lab.IronCerium(), plan.Volumes(), 1)
	r := granRedoxBefore(&c, Options{Equal: true, Noise: Noise{0.005, 1e-5}})
	found(t, r, 0.025, 1e-9)
	if part := r.Detail.Lines[0].SlopePart.Millilitres(); r.Detail.Lines[0].Fitted || math.Abs(part-0.067) > 0.004 {
		t.Errorf("fitted %v, u from the slope %.4f mL, want 0.067", r.Detail.Lines[0].Fitted, part)
	}
}

// The derivatives of each law are those of its differences, and the variance
// that an error of volume gives a Gran point is the square of how fast the point
// leaves the line with it.
func TestDerivativesOfLaws(t *testing.T) {
	const v, h, l = 0.02, 1e-8, 0.059
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-5*math.Abs(want) {
			t.Errorf("%s: %g, want %g", what, got, want)
		}
	}
	for _, f := range []factor{one, sinceStart, diluted} {
		for _, after := range []bool{false, true} {
			b := branchData{law: law{factor: f, after: after}, v0: 0.05, origin: 0.003, noiseV: 1}
			ve, slope, sign := 0.027, -3.0, -1.0
			if after {
				ve, slope, sign = 0.015, 3, 1
			}
			at := func(v, ve float64) float64 { y, _, _ := b.log(v, ve); return y }
			y, dv, dve := b.log(v, ve)
			near("dv", dv, (at(v+h, ve)-at(v-h, ve))/(2*h))
			near("dve", dve, (at(v, ve+h)-at(v, ve-h))/(2*h))
			off := func(v float64) float64 { x, _ := b.f(v); return x*math.Pow(10, sign*y) - slope*v }
			g, _ := b.f(v)
			near("variance", b.variance(v, g*math.Pow(10, sign*y), slope, l), math.Pow((off(v+h)-off(v-h))/(2*h), 2))
		}
	}
}
