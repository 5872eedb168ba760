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
