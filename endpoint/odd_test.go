package endpoint

import (
	"math"
	"slices"
	"strings"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/unit"
)

// sane holds for any result whatever the readings.
func sane(t *testing.T, name string, r Result) {
	t.Helper()
	if (r.Refused == "") == (len(r.Points) == 0) || r.Method != name {
		t.Errorf("%s: method %q, refused %q with %d points", name, r.Method, r.Refused, len(r.Points))
	}
	for i, p := range r.Points {
		for _, x := range []float64{float64(p.Volume), float64(p.StdUnc), p.Value} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Errorf("%s: %+v", name, p)
			}
		}
		if p.StdUnc < 0 || p.Points < 1 || i > 0 && p.Volume < r.Points[i-1].Volume {
			t.Errorf("%s: %+v", name, r.Points)
		}
	}
	for _, l := range r.Detail.Lines {
		for _, x := range []float64{l.A, l.B, l.Slope, l.SlopeUnc, l.Misfit, float64(l.Noise), float64(l.Choice), float64(l.SlopePart)} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Errorf("%s: %+v", name, l)
			}
		}
	}
}

func TestMethodsTable(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range Methods {
		if m.Name == "" || m.Title == "" || m.Needs == "" || m.Rank < 1 || m.Find == nil || seen[m.Name] {
			t.Errorf("row %+v", m)
		}
		seen[m.Name] = true
	}
	if _, ok := Find("nosuch"); ok {
		t.Error("found a method that is not there")
	}
}

// Every method refuses what it cannot evaluate, and says why.
func TestRefusals(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		what  string
		v, y  []float64
		wants string
	}{
		{"none", nil, nil, "no readings"},
		{"one", []float64{0.01}, []float64{0.6}, "only one reading"},
		{"one volume", []float64{0.01, 0.01, 0.01, 0.01}, []float64{0.6, 0.7, 0.8, 0.9}, "all volumes are equal"},
		{"equal", []float64{0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07, 0.08}, slices.Repeat([]float64{0.5}, 8), "all readings are equal"},
		{"NaN", []float64{0.01, 0.02, 0.03}, []float64{0.6, nan, 0.8}, "row 2 is not a number"},
		{"infinite volume", []float64{0.01, inf, 0.03}, []float64{0.6, 0.7, 0.8}, "row 2 is not a number"},
		{"below zero", []float64{-0.01, 0.02, 0.03}, []float64{0.6, 0.7, 0.8}, "row 1 has a volume below zero"},
		{"huge", []float64{0.01, 0.02, 1e30}, []float64{0.6, 0.7, 0.8}, "row 3 is out of all proportion"},
		{"three", []float64{0.01, 0.02, 0.03}, []float64{0.6, 0.9, 1.3}, ""},
	} {
		for _, kind := range []curve.Kind{curve.Potential, curve.PH, curve.PIon} {
			for _, m := range Methods {
				if m.Name == "preset" && c.wants == "" {
					continue // three readings are enough to pass a value
				}
				r := m.Find(points(kind, c.v, c.y), Options{V0: 0.05, Preset: []float64{0.75}})
				sane(t, m.Name, r)
				if r.Refused == "" || !strings.Contains(r.Refused, c.wants) {
					t.Errorf("%s of %v, %s: refused with %q, want %q", m.Name, kind, c.what, r.Refused, c.wants)
				}
			}
		}
	}
}

func TestBadOptions(t *testing.T) {
	c := lab.Bench{}.Run(ironCerium(0.025), lab.DefaultPlan(0.025).Volumes(), 1)
	for _, o := range []struct {
		opt   Options
		wants string
	}{
		{Options{Noise: Noise{Value: -1}}, "noise"},
		{Options{Noise: Noise{Volume: unit.Volume(math.NaN())}}, "noise"},
		{Options{V0: -1}, "volume in the flask"},
		{Options{Temperature: 25}, "temperature of 25 K"},
		{Options{Electrons: Electrons{-1, 0}}, "electrons"},
		{Options{Expected: -1}, "end points expected"},
		{Options{Window: [2]float64{0.9, 0.5}}, "window"},
		{Options{Expected: 2}, "2 end points were expected and 1 jump was found"},
	} {
		r := secondDerivative(&c, o.opt)
		if !strings.Contains(r.Refused, o.wants) {
			t.Errorf("%+v: refused with %q, want %q", o.opt, r.Refused, o.wants)
		}
	}
}

// Wrong kind of reading, wrong law, missing volume.
func TestPreconditions(t *testing.T) {
	volumes := lab.DefaultPlan(0.025).Volumes()
	redox := lab.Bench{}.Run(ironCerium(0.025), volumes, 1)
	acid := lab.Bench{}.Run(lab.Acid{Strong: 0.05, V0: 0.05, TitrantConc: 0.1}, volumes, 1)
	permanganate := lab.Bench{}.Run(lab.IronPermanganate(0), volumes, 1)
	quiet := Noise{1e-4, 1e-6}
	for _, c := range []struct {
		method string
		curve  *curve.Curve
		opt    Options
		wants  string
	}{
		{"gran-redox-before", &acid, Options{}, "it needs readings of potential, these are of pH"},
		{"gran-acid-base-after", &redox, Options{}, "it needs readings of pH, these are of potential"},
		{"gran-acid-base-after", &acid, Options{}, "volume in the flask"},
		{"gran-silver-before", &redox, Options{}, "volume in the flask"},
		{"gran-redox-after", &permanganate, Options{Noise: quiet}, "number of electrons"},
		{"gran-redox-before", &redox, Options{Noise: quiet, Electrons: Electrons{2, 1}}, "number of electrons"},
		{"log-plot", &redox, Options{Noise: quiet, Electrons: Electrons{2, 1}}, "number of electrons"},
		{"log-plot", &acid, Options{}, "it needs readings of potential, these are of pH"},
		{"straight-line-pair", &redox, Options{}, "curved"},
	} {
		r := method(t, c.method).Find(c.curve, c.opt)
		if !strings.Contains(r.Refused, c.wants) {
			t.Errorf("%s: refused with %q, want %q; %+v", c.method, r.Refused, c.wants, r.Points)
		}
	}
}

// Stopped before the end point: derivatives refuse, lines extrapolate and say
// so; too early, they refuse too.
func TestStoppedEarly(t *testing.T) {
	var volumes []float64
	for v := 1e-3; v < 0.0235; v += 0.5e-3 {
		volumes = append(volumes, v)
	}
	c := bench.Run(ironCerium(0.025), volumes, 3)
	opt := Options{Noise: Noise{0.5e-3, 1e-5}}
	for _, m := range []string{"steepest-interval", "smoothed-first-derivative", "second-derivative", "gran-redox-after"} {
		r := method(t, m).Find(&c, opt)
		if r.Refused == "" || !strings.Contains(r.Refused, "jump") {
			t.Errorf("%s: %q %+v", m, r.Refused, r.Points)
		}
	}
	if r := secondDerivative(&c, opt); !strings.Contains(r.Refused, "stopped before the end point") {
		t.Errorf("second derivative: %q", r.Refused)
	}
	for _, m := range []string{"gran-redox-before", "log-plot"} {
		r := method(t, m).Find(&c, opt)
		if len(r.Points) == 0 {
			t.Errorf("%s: %s", m, r.Refused)
			continue
		}
		p := r.Points[0]
		if d := math.Abs(float64(p.Volume) - 0.025); d > 3*float64(p.StdUnc) || p.StdUnc > 2e-4 {
			t.Errorf("%s: %g ± %g mL", m, p.Volume.Millilitres(), p.StdUnc.Millilitres())
		}
		if !strings.Contains(strings.Join(p.Warnings, "; "), "beyond the last reading") {
			t.Errorf("%s: warnings %q", m, p.Warnings)
		}
	}
	early := bench.Run(ironCerium(0.025), volumes[:8], 3)
	for _, m := range Methods {
		if r := m.Find(&early, opt); r.Refused == "" {
			t.Errorf("%s found %g ± %g mL from readings to 4.5 mL of 25", m.Name, r.Points[0].Volume.Millilitres(), r.Points[0].StdUnc.Millilitres())
		}
	}
}

// The end point at either edge of the readings.
func TestJumpAtTheEdge(t *testing.T) {
	all := lab.DefaultPlan(0.025).Volumes()
	after := slices.IndexFunc(all, func(v float64) bool { return v > 0.02505 })
	for what, volumes := range map[string][]float64{"end": all[:after+1], "beginning": all[after-2:]} {
		c := bench.Run(ironCerium(0.02502), volumes, 1)
		for _, m := range []string{"steepest-interval", "second-derivative", "smoothed-first-derivative"} {
			if r := method(t, m).Find(&c, Options{}); !strings.Contains(r.Refused, "its "+what) {
				t.Errorf("%s, jump at the %s: %q %+v", m, what, r.Refused, r.Points)
			}
		}
	}
}

func TestNoiseAsLargeAsTheJump(t *testing.T) {
	c := lab.Bench{Noise: 0.25}.Run(ironCerium(0.025), lab.DefaultPlan(0.025).Volumes(), 1)
	for _, m := range Methods {
		if m.Name == "preset" {
			continue
		}
		if r := m.Find(&c, Options{V0: 0.05}); r.Refused == "" {
			t.Errorf("%s found %+v", m.Name, r.Points)
		}
	}
	// No curve at all.
	noise := lab.Bench{Noise: 0.02}
	for seed := range uint64(50) {
		c := noise.Run(lab.Redox{Titrand: lab.Couple{E: 0.5, N: 1}, Titrant: lab.Couple{E: 0.5, N: 1, Oxidised: 1}, Conc: 0.05, V0: 0.05, TitrantConc: 0.1},
			lab.DefaultPlan(0.025).Volumes(), seed)
		if r := steepestInterval(&c, Options{}); r.Refused == "" {
			t.Errorf("seed %d: a jump in noise at %+v", seed, r.Points)
		}
	}
}

// A stretch 1.7 times as steep as its surroundings is no jump.
func TestGentleSlopeIsNoJump(t *testing.T) {
	var v, y []float64
	e := 0.5
	for i := range 40 {
		v, y = append(v, float64(i+1)*1e-3), append(y, e+1e-4*math.Sin(float64(i*i)))
		if e += 0.010; i >= 15 && i < 25 {
			e += 0.007
		}
	}
	if r := steepestInterval(points(curve.Potential, v, y), Options{}); !strings.Contains(r.Refused, "no jump stands out") {
		t.Errorf("%q %+v", r.Refused, r.Points)
	}
}

// An outlier of 100 mV is not a jump, wherever it stands away from one.
func TestOutliers(t *testing.T) {
	clean := bench.Run(ironCerium(0.02503), lab.DefaultPlan(0.025).Volumes(), 5)
	for i := range clean.Readings {
		if v := float64(clean.Readings[i].Volume); math.Abs(v-0.02503) < 0.25e-3 {
			continue
		}
		for _, size := range []float64{0.1, -0.1} {
			c := curve.Curve{Readings: slices.Clone(clean.Readings)}
			c.Readings[i].Value += size
			r := steepestInterval(&c, Options{})
			if len(r.Points) != 1 || math.Abs(float64(r.Points[0].Volume)-0.02503) > 1.1e-4 {
				t.Errorf("outlier of %g V at %g mL: %q %+v", size, clean.Readings[i].Volume.Millilitres(), r.Refused, r.Points)
			}
		}
	}
}

// Unordered and repeated readings give the same answer, with a warning.
func TestUnorderedAndRepeated(t *testing.T) {
	c := bench.Run(ironCerium(0.02503), lab.DefaultPlan(0.025).Volumes(), 5)
	want := secondDerivative(&c, Options{Noise: bench2})
	slices.Reverse(c.Readings)
	c.Readings = append(c.Readings, c.Readings[3], c.Readings[40])
	kept := slices.Clone(c.Readings)
	got := secondDerivative(&c, Options{Noise: bench2})
	if got.Refused != "" || got.Points[0].Volume != want.Points[0].Volume {
		t.Errorf("got %+v, want %+v", got, want)
	}
	for _, w := range []string{"not in order", "2 readings repeat"} {
		if !strings.Contains(strings.Join(got.Warnings, "; "), w) {
			t.Errorf("no warning of %q in %q", w, got.Warnings)
		}
	}
	for i := range kept {
		if kept[i].Volume != c.Readings[i].Volume || kept[i].Value != c.Readings[i].Value {
			t.Fatalf("reading %d was changed", i)
		}
	}
	// What is left out does not count.
	for i := range c.Readings {
		if c.Readings[i].Volume > 0.024 {
			c.Readings[i].Excluded = "left out"
		}
	}
	if r := secondDerivative(&c, Options{}); r.Refused == "" {
		t.Error("readings that are left out took part")
	}
}

var bench2 = Noise{0.5e-3, 1e-5}

// Two jumps are found, each with its order; one when one is asked for.
func TestSeveralEndPoints(t *testing.T) {
	var volumes []float64
	for v := 0.5e-3; v < 0.045; v += 0.5e-3 {
		volumes = append(volumes, v)
	}
	phosphoric := lab.Acid{PKa: []float64{2.15, 7.20, 12.35}, Conc: 0.031, V0: 0.05, TitrantConc: 0.1}
	halides := lab.Silver{Halides: []lab.Halide{{Conc: 0.031, PKsp: 16.08}, {Conc: 0.031, PKsp: 9.752}}, V0: 0.05, TitrantConc: 0.1, E0: 0.6}
	acid := lab.Bench{Noise: 0.01, VolumeNoise: 1e-5}.Run(phosphoric, volumes, 1)
	silver := lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}.Run(halides, volumes, 1)
	for _, c := range []*curve.Curve{&acid, &silver} {
		for _, name := range []string{"steepest-interval", "smoothed-first-derivative", "second-derivative"} {
			for _, expected := range []int{0, 2} {
				r := method(t, name).Find(c, Options{Expected: expected})
				if len(r.Points) != 2 {
					t.Errorf("%s of %v, %d expected: %q %+v", name, c.Kind, expected, r.Refused, r.Points)
					continue
				}
				for i, want := range []float64{15.5e-3, 31e-3} {
					p := r.Points[i]
					if math.Abs(float64(p.Volume)-want) > 0.5e-3 || p.Order != i+1 {
						t.Errorf("%s of %v: %+v, want %g mL", name, c.Kind, p, want*1e3)
					}
				}
			}
			if r := method(t, name).Find(c, Options{Expected: 1}); len(r.Points) != 1 {
				t.Errorf("%s of %v: one was asked for, %+v", name, c.Kind, r.Points)
			}
		}
	}
	r := granSilverAfter(&silver, Options{V0: 0.05})
	if p := found(t, r, 31e-3, 5e-5); p.Order != 2 {
		t.Errorf("order %d, want 2", p.Order)
	}
	r = granSilverBefore(&silver, Options{V0: 0.05})
	if len(r.Points) != 2 || math.Abs(float64(r.Points[0].Volume)-15.5e-3) > 1e-4 || math.Abs(float64(r.Points[1].Volume)-31e-3) > 1e-4 {
		t.Errorf("before: %q %+v", r.Refused, r.Points)
	}
}

// A million readings give the answer of a few.
func TestManyReadings(t *testing.T) {
	const n = 1_000_000
	c := curve.Curve{Readings: make([]curve.Reading, n)}
	sample := ironCerium(0.02503)
	grid := make([]float64, 2001) // the curve at 0.025 mL, straight between
	for i := range grid {
		grid[i] = sample.At(float64(i+1) * 25e-6)
	}
	for i := range c.Readings {
		x := 2000 * float64(i) / n
		k := int(x)
		noise := 1e-3 * math.Sin(float64(i*i%7919))
		c.Readings[i] = curve.Reading{Volume: unit.Volume((x + 1) * 25e-6), Value: grid[k] + (x-float64(k))*(grid[k+1]-grid[k]) + noise}
	}
	for _, m := range Methods {
		r := m.Find(&c, Options{V0: 0.05, Preset: []float64{1.06}})
		sane(t, m.Name, r)
		switch m.Name {
		case "steepest-interval", "second-derivative", "smoothed-first-derivative", "log-plot", "preset":
			found(t, r, 0.02503, 0.15e-3)
			if len(r.Warnings) == 0 || !strings.Contains(r.Warnings[len(r.Warnings)-1], "groups of 2000") {
				t.Errorf("%s: warnings %q", m.Name, r.Warnings)
			}
		}
	}
}

func FuzzMethods(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}, uint8(0), uint8(0))
	f.Add([]byte{0, 10, 1, 11, 2, 12, 3, 14, 4, 120, 5, 200, 6, 202, 7, 203, 8, 204, 9, 205}, uint8(1), uint8(7))
	f.Add([]byte{0, 0, 255, 255, 128, 128, 1, 254, 2, 253, 3, 4, 5, 6, 7, 8}, uint8(2), uint8(255))
	f.Fuzz(func(t *testing.T, data []byte, kind, flags uint8) {
		special := [...]float64{math.NaN(), math.Inf(1), 1e-300, -1, 1e300, 0}
		scale := [...]float64{1e-3, 1e-12, 1, 1e2}[flags%4]
		number := func(b byte, s float64) float64 {
			if flags&64 != 0 && b >= 250 {
				return special[b-250]
			}
			return float64(b) * s
		}
		var v, y []float64
		for i := 0; i+1 < len(data) && len(v) < 80; i += 2 {
			v, y = append(v, number(data[i], scale)), append(y, number(data[i+1], 0.01))
		}
		if flags&8 != 0 {
			slices.Sort(v)
		}
		if flags&16 != 0 {
			slices.Sort(y)
		}
		opt := Options{V0: unit.Volume(0.05 * float64(flags>>7)), Slope: SlopeRule(kind / 3 % 3), Equal: flags&32 != 0, Preset: []float64{1, 0.3}}
		if flags&4 != 0 {
			opt.Noise = Noise{1e-3, 1e-5}
		}
		c := points(curve.Kind(kind%3), v, y)
		for _, m := range Methods {
			sane(t, m.Name, m.Find(c, opt))
		}
		for _, ve := range []unit.Volume{0.1, 0} {
			half, twice := HalfTwice(c, ve, ve/100, opt)
			for _, l := range []Landmark{half, twice} {
				if l.Refused == "" && (math.IsNaN(l.Value+l.StdUnc) || math.IsInf(l.Value+l.StdUnc, 0)) {
					t.Errorf("%+v", l)
				}
			}
		}
	})
}
