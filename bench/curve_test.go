// Package bench compares the program with hand-written and general-purpose
// solvers of the same problems, in one run on one machine, and reports the
// ratio of the times. It holds benchmarks only.
package bench

import (
	"math"
	"testing"
	"time"

	"meniscus/bench/opponent"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

// grid is n rising volumes up to last litres, as exact decimals and floats.
func grid(n int, last float64) ([]unit.Decimal, []float64) {
	d, f := make([]unit.Decimal, n), make([]float64, n)
	for i := range d {
		f[i] = math.Round(last*float64(i+1)/float64(n)*1e8) / 1e8
		d[i], _ = unit.DecimalOf(f[i])
	}
	return d, f
}

func load(b *testing.B, text string) *titration.Predictor {
	b.Helper()
	s, err := setup.Read([]byte(text), "bench.yaml")
	if err != nil {
		b.Fatal(err)
	}
	return s.Titration.Predictor()
}

// compare times ours and theirs alternately and reports the ratio of the
// fastest round of each, which is what a busy machine disturbs least.
func compare(b *testing.B, points int, ours, theirs func()) {
	b.Helper()
	best := fastest(b, ours, theirs)
	b.ReportMetric(float64(best[0].Nanoseconds())/float64(points), "ns/point-ours")
	b.ReportMetric(float64(best[1].Nanoseconds())/float64(points), "ns/point-theirs")
	b.ReportMetric(float64(best[0])/float64(best[1]), "ratio")
}

// fastest runs both in turn and returns the time of the fastest round of each.
func fastest(b *testing.B, ours, theirs func()) [2]time.Duration {
	ours()
	theirs()
	best := [2]time.Duration{math.MaxInt64, math.MaxInt64}
	for b.Loop() {
		for k, f := range [2]func(){ours, theirs} {
			start := time.Now()
			f()
			best[k] = min(best[k], time.Since(start))
		}
	}
	return best
}

const points = 1000

// curveOf runs the engine along the volumes and stores -ln a of the sensed
// species.
func curveOf(b *testing.B, p *titration.Predictor, volumes []unit.Decimal, out []float64) func() {
	return func() {
		for i, v := range volumes {
			if err := p.Solver.At(v); err != nil {
				b.Fatal(err)
			}
			ln, _ := p.Solver.LnActivity(p.Cell.Species)
			out[i] = -ln
		}
	}
}

// agree stops a comparison of two things that do not compute the same.
func agree(b *testing.B, ours, theirs []float64, scale, tolerance float64) {
	b.Helper()
	for i := range ours {
		if d := math.Abs(ours[i]*scale - theirs[i]); d > tolerance {
			b.Fatalf("point %d: %g against %g", i, ours[i]*scale, theirs[i])
		}
	}
}

const ironCerium = `
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
electrode: {indicator: platinum, reference: SHE}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: 1.44 V}
`

const thermal = unit.GasConstant * 298.15 / unit.Faraday

func BenchmarkIronCeriumCurve(b *testing.B) {
	d, f := grid(points, 0.05)
	ours, theirs := make([]float64, points), make([]float64, points)
	o := opponent.FeCe{Temperature: 298.15, FlaskVolume: 0.05, Fe: 0.05, Ce: 0.1, FePotential: 0.68, CePotential: 1.44}
	run := curveOf(b, load(b, ironCerium), d, ours)
	for _, kind := range []struct {
		name string
		f    func()
	}{{"newton-in-ln", func() { o.Curve(f, theirs) }}, {"newton-tuned", func() { o.CurveFast(f, theirs) }}} {
		b.Run(kind.name, func(b *testing.B) {
			compare(b, points, run, kind.f)
			agree(b, ours, theirs, thermal, 1e-9)
		})
	}
}

const ironPermanganate = `
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.0500 mol/L}}
burette: {contains: {MnO4^-: 0.0200 mol/L}}
electrode: {indicator: platinum, reference: SHE}
hold: {pH: 0}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: 0.68 V}
  - {reaction: MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O, formal potential: 1.51 V}
`

func BenchmarkIronPermanganateCurve(b *testing.B) {
	d, f := grid(points, 0.05)
	ours, theirs := make([]float64, points), make([]float64, points)
	o := opponent.FePermanganate{Temperature: 298.15, FlaskVolume: 0.05, Fe: 0.05, Mn: 0.02, FePotential: 0.68, MnPotential: 1.51}
	run := curveOf(b, load(b, ironPermanganate), d, ours)
	for _, kind := range []struct {
		name string
		f    func()
	}{{"newton-in-ln", func() { o.Curve(f, theirs) }}, {"newton-tuned", func() { o.CurveFast(f, theirs) }}} {
		b.Run(kind.name, func(b *testing.B) {
			compare(b, points, run, kind.f)
			agree(b, ours, theirs, thermal, 1e-7)
		})
	}
}

const citricDavies = `
flask: {volume: 50.00 mL, contains: {C6H8O7: 0.0200 mol/L}}
burette: {contains: {Na^+: 0.1000 mol/L, OH^-: 0.1000 mol/L}}
electrode: {indicator: glass}
activity: {model: davies, A: 0.509}
library: off
chemistry:
  - {reaction: C6H8O7 = C6H7O7^- + H^+, pKa: 3.128}
  - {reaction: C6H7O7^- = C6H6O7^2- + H^+, pKa: 4.761}
  - {reaction: C6H6O7^2- = C6H5O7^3- + H^+, pKa: 6.396}
  - {reaction: H2O = H^+ + OH^-, log K: -13.997}
`

func BenchmarkCitricDaviesCurve(b *testing.B) {
	d, f := grid(points, 0.05)
	ours, theirs, strength := make([]float64, points), make([]float64, points), make([]float64, points)
	o := opponent.Citric{FlaskVolume: 0.05, Acid: 0.02, Base: 0.1, PK: [3]float64{3.128, 4.761, 6.396}, PKw: 13.997, A: 0.509, B: 0.3}
	compare(b, points, curveOf(b, load(b, citricDavies), d, ours), func() { o.Curve(f, theirs, strength) })
	agree(b, ours, theirs, 1/math.Ln10, 1e-6)
}
