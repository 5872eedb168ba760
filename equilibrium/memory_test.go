package equilibrium

import (
	"math"
	"testing"
)

// A solver that goes back to what it found at each volume, its own or another's,
// under other amounts and another constant, still gives the closed form; a
// memory of other species, or of none, changes nothing.
func TestRecall(t *testing.T) {
	volumes := []string{"0.0025", "0.0125", "0.024", "0.0249", "0.025025", "0.026", "0.05"}
	s := ironCerium(t, 0.68, 1.44)
	problem := func(flask string) *Problem {
		p, err := s.NewProblem(Mixture{Volume: dec(t, "0.05000"), Flask: []Amount{{1, dec(t, flask)}}, Burette: []Amount{{2, dec(t, "0.1")}}}, Activity{})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	check := func(sol *Solver, v string, flask, e1 float64) {
		t.Helper()
		ln, ok := sol.LnActivity(4)
		want := quadraticPotential(flask, 0.1, dec(t, v), e1, 1.44)
		if d := math.Abs(-ln*nernst-want) * 1e3; !ok || d > 1e-6 {
			t.Errorf("at %s L: %.9f V, want %.9f", v, -ln*nernst, want)
		}
	}
	p := problem("0.0025")
	first := p.NewSolver()
	memories := make([]Memory, len(volumes))
	for i, v := range volumes {
		if err := first.At(dec(t, v)); err != nil {
			t.Fatal(err)
		}
		first.Remember(&memories[i])
	}
	p.SetFlask(1, dec(t, "0.00251"))
	p.ShiftLnK(0, 0.01/nernst)
	if err := first.Refresh(); err != nil {
		t.Fatal(err)
	}
	second := problem("0.00249").NewSolver()
	steps := [2]int{}
	for i := len(volumes) - 1; i >= 0; i-- {
		for k, sol := range []*Solver{first, second} {
			sol.Recall(&memories[i])
			if err := sol.At(dec(t, volumes[i])); err != nil {
				t.Fatal(err)
			}
			check(sol, volumes[i], []float64{0.00251, 0.00249}[k], []float64{0.69, 0.68}[k])
			steps[k] += sol.Iterations()
		}
	}
	if steps[0] > 3*len(volumes) {
		t.Errorf("%d steps for %d points, want at most 3 each so close to what was found there", steps[0], len(volumes))
	}

	f := second.along
	foreign := Memory{cols: f.cols[1:], basis: f.t.basis, c: []float64{42, 42, 42}, total: f.total}
	second.Recall(&foreign)
	second.Recall(&Memory{})
	if f.c[f.t.basis[0]] == 42 {
		t.Error("a memory of other species was taken")
	}
}
