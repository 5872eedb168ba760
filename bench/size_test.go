package bench

import (
	"fmt"
	"math"
	"testing"
	"time"

	"meniscus/equilibrium"
)

// BenchmarkSteps shows what a point costs by the number of steps of a
// polyprotic acid: two components, n species besides water's and the acid.
func BenchmarkSteps(b *testing.B) {
	for _, n := range []int{1, 3, 6, 12, 24} {
		b.Run(fmt.Sprintf("%d-steps", n), func(b *testing.B) {
			p := load(b, polyprotic(n))
			timePoints(b, "one acid, ideal", p.Solver, p.Cell.Species, len(p.System().Species), 0.04)
		})
	}
}

// BenchmarkMetals shows what a point costs by the number of metals that share
// one ligand: n+1 components, 3n+3 species, two of
// them inert, under each activity model.
func BenchmarkMetals(b *testing.B) {
	for _, model := range []struct {
		name     string
		activity equilibrium.Activity
	}{{"ideal", equilibrium.Activity{}}, {"davies", equilibrium.Activity{Model: equilibrium.Davies}}, {"debye-huckel", equilibrium.Activity{Model: equilibrium.DebyeHuckel}}} {
		for _, n := range []int{1, 2, 4, 8, 16} {
			b.Run(fmt.Sprintf("%s/%d-metals", model.name, n), func(b *testing.B) {
				s, ligand := metals(b, n, model.activity)
				timePoints(b, "metals, "+model.name, s, ligand, 3*n+3, 0.04)
			})
		}
	}
}

// BenchmarkDerivatives shows what dE/dV and d2E/dV2, and the derivatives by
// seven parameters, add to a point of the acid of three steps.
func BenchmarkDerivatives(b *testing.B) {
	p := load(b, polyprotic(3))
	d, _ := grid(points, 0.04)
	params := []equilibrium.Parameter{{Kind: equilibrium.FlaskVolume}, {Kind: equilibrium.FlaskAmount}, {Kind: equilibrium.BuretteAmount}}
	for k := range p.System().Reactions {
		params = append(params, equilibrium.Parameter{Kind: equilibrium.LnK, Index: k})
	}
	out := make([]float64, len(params))
	for _, kind := range []struct {
		name string
		f    func()
	}{
		{"none", func() {}},
		{"by-volume", func() { p.Solver.LnActivitySlope(p.Cell.Species) }},
		{"by-volume-and-7-parameters", func() {
			p.Solver.LnActivitySlope(p.Cell.Species)
			p.Solver.Sensitivities(p.Cell.Species, params, out)
		}},
	} {
		b.Run(kind.name, func(b *testing.B) {
			b.ReportAllocs()
			best := time.Duration(math.MaxInt64)
			for b.Loop() {
				start := time.Now()
				for _, v := range d {
					if err := p.Solver.At(v); err != nil {
						b.Fatal(err)
					}
					kind.f()
				}
				best = min(best, time.Since(start))
			}
			b.ReportMetric(float64(best.Nanoseconds())/points, "ns/point")
		})
	}
}

// timePoints reports the time of a point on a curve up to last litres: that of the fastest
// round, which a busy machine disturbs least. It is drawn under the name of a
// series against the number of species.
func timePoints(b *testing.B, series string, s *equilibrium.Solver, sensed, species int, last float64) {
	d, _ := grid(points, last)
	b.ReportAllocs()
	iterations, best := 0, time.Duration(math.MaxInt64)
	for b.Loop() {
		iterations = 0
		start := time.Now()
		for _, v := range d {
			if err := s.At(v); err != nil {
				b.Fatal(err)
			}
			s.LnActivity(sensed)
			iterations += s.Iterations()
		}
		best = min(best, time.Since(start))
	}
	record(cost{series, species, float64(best.Nanoseconds()) / points})
	b.ReportMetric(float64(best.Nanoseconds())/points, "ns/point")
	b.ReportMetric(float64(iterations)/points, "iterations/point")
}

// metals is a solution of n invented metals, 0.01 mol/L in all, into which a
// ligand runs that forms 1:1 and 1:2 complexes with each, log K 4 to 12.
func metals(b *testing.B, n int, activity equilibrium.Activity) (s *equilibrium.Solver, ligand int) {
	species := []equilibrium.Species{{Name: "L^-", Charge: -1}, {Name: "K^+", Charge: 1}, {Name: "NO3^-", Charge: -1}}
	var reactions []equilibrium.Reaction
	var flask []equilibrium.Amount
	const volume, total = 0.05, 0.01
	for k := range n {
		m := len(species)
		for complexed, charge := range []int{2, 1, 0} {
			species = append(species, equilibrium.Species{Name: fmt.Sprintf("M%dL%d", k, complexed), Charge: charge})
		}
		logK := 4 + 8*float64(k+1)/float64(n)
		for step := range 2 {
			reactions = append(reactions, equilibrium.Reaction{
				Name:  fmt.Sprintf("metal %d, step %d", k, step+1),
				Terms: []equilibrium.Term{{Species: m + step, Num: -1}, {Species: 0, Num: -1}, {Species: m + step + 1, Num: 1}},
				LnK:   (logK - 3*float64(step)) * math.Ln10,
			})
		}
		flask = append(flask, equilibrium.Amount{Species: m, Value: exact(volume * total / float64(n))})
	}
	flask = append(flask, equilibrium.Amount{Species: 2, Value: exact(2 * volume * total)})
	sys, err := equilibrium.NewSystem(species, reactions)
	if err != nil {
		b.Fatal(err)
	}
	p, err := sys.NewProblem(equilibrium.Mixture{
		Volume: exact(volume), Flask: flask,
		Burette: []equilibrium.Amount{{Species: 0, Value: exact(0.05)}, {Species: 1, Value: exact(0.05)}},
	}, activity)
	if err != nil {
		b.Fatal(err)
	}
	return p.NewSolver(), 0
}

// polyprotic writes a setup of an invented acid with n steps, pKa 2 to 12.
func polyprotic(n int) string {
	s := "flask: {volume: 50 mL, contains: {Qa: 0.01 mol/L}}\nburette: {contains: {Na^+: 0.1 mol/L, OH^-: 0.1 mol/L}}\nelectrode: {indicator: glass}\nlibrary: off\nchemistry:\n  - {reaction: H2O = H^+ + OH^-, log K: -14}\n"
	name := func(k int) string {
		if k == 0 {
			return "Qa"
		}
		return fmt.Sprintf("Q%c^%d-", 'a'+k, k)
	}
	for k := range n {
		s += fmt.Sprintf("  - {reaction: %s = %s + H^+, pKa: %g, unbalanced: allowed}\n", name(k), name(k+1), 2+10*float64(k)/float64(n))
	}
	return s
}
