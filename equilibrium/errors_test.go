package equilibrium

import (
	"errors"
	"math"
	"strings"
	"sync"
	"testing"

	"meniscus/unit"
)

func acetic(t *testing.T) (*System, Mixture) {
	t.Helper()
	s, err := NewSystem([]Species{{Name: "HA"}, {Name: "A^-", Charge: -1}, {Name: "H^+", Charge: 1}, {Name: "OH^-", Charge: -1}, {Name: "Na^+", Charge: 1}, {Name: "Cl^-", Charge: -1}},
		[]Reaction{
			{Name: "HA = H^+ + A^-", Terms: []Term{{0, -1, 1}, {1, 1, 1}, {2, 1, 1}}, LnK: -11},
			{Name: "H2O = H^+ + OH^-", Terms: []Term{{2, 1, 1}, {3, 1, 1}}, LnK: -32},
		})
	if err != nil {
		t.Fatal(err)
	}
	return s, Mixture{Volume: decimal(0.05), Flask: []Amount{{0, decimal(0.005)}}, Burette: []Amount{{4, decimal(0.1)}, {3, decimal(0.1)}}}
}

func TestContradiction(t *testing.T) {
	s, _ := acetic(t)
	base := append([]Reaction(nil), s.Reactions...)
	base = append(base, Reaction{Name: "A^- + H2O = HA + OH^-", Terms: []Term{{1, -1, 1}, {0, 1, 1}, {3, 1, 1}}, LnK: -20})
	_, err := NewSystem(s.Species, base)
	var c *ContradictionError
	if !errors.As(err, &c) || len(c.Reactions) != 3 {
		t.Fatalf("error %v, want a contradiction of three reactions", err)
	}
	// -32 + 11 = -21 follows for the third; -20 was given.
	if math.Abs(math.Abs(c.LnK)-1) > 1e-12 {
		t.Errorf("unexplained ln K %g, want 1", c.LnK)
	}
	for _, name := range []string{"HA = H^+ + A^-", "A^- + H2O", "ln K = "} {
		if !strings.Contains(err.Error(), name) {
			t.Errorf("%q lacks %q", err, name)
		}
	}
	if _, err := NewSystem(s.Species, []Reaction{s.Reactions[1], s.Reactions[1]}); !errors.As(err, &c) || c.LnK != 0 {
		t.Errorf("a reaction given twice: %v", err)
	}
}

func TestSystemRefuses(t *testing.T) {
	electrons := []Species{{Name: "e^-", Kind: Electron}, {Name: "e2^-", Kind: Electron}}
	if _, err := NewSystem(electrons, nil); err == nil || !strings.Contains(err.Error(), "listed twice") {
		t.Errorf("two electrons: %v", err)
	}
	if _, err := NewSystem(electrons[:1], []Reaction{{Name: "r", Terms: []Term{{Species: 3, Num: 1}}}}); err == nil || !strings.Contains(err.Error(), "species number 3 of 1") {
		t.Errorf("species out of range: %v", err)
	}
	big := []Reaction{{Name: "r", Terms: []Term{{0, 1, 1 << 52}, {1, 1, 1<<52 - 1}}}, {Name: "q", Terms: []Term{{0, 1, 1<<51 - 1}, {2, 1, 1}}}}
	if _, err := NewSystem([]Species{{Name: "A"}, {Name: "B"}, {Name: "C"}}, big); err == nil || !strings.Contains(err.Error(), "outgrows exact arithmetic") {
		t.Errorf("huge stoichiometry: %v", err)
	}
}

func TestProblemRefuses(t *testing.T) {
	r := samples[0].ready(t)
	for name, mix := range map[string]Mixture{
		"volume above 0":             {Flask: r.mix.Flask},
		"Fe^2+ in the flask":         {Volume: decimal(0.05), Flask: []Amount{{r.sys.Index("Fe^2+"), decimal(-1)}}},
		"Ce^4+ in the burette":       {Volume: decimal(0.05), Burette: []Amount{{r.sys.Index("Ce^4+"), decimal(-1)}}},
		"put in the burette; put in": {Volume: decimal(0.05), Burette: []Amount{{r.sys.Electron(), decimal(1)}}},
	} {
		if _, err := r.sys.NewProblem(mix, Activity{}); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("error %v, want %q in it", err, name)
		}
	}
}

// TestHeldTwice: with pH held, OH- follows, and cannot be held as well.
func TestHeldTwice(t *testing.T) {
	s, mix := acetic(t)
	mix.Held = []Held{{Species: 2, Ln: -10}, {Species: 3, Ln: -10}}
	_, err := s.NewProblem(mix, Activity{})
	var h *HeldError
	if !errors.As(err, &h) || h.Species != "OH^-" || !strings.Contains(err.Error(), "already follows") {
		t.Errorf("error %v, want one that OH^- follows", err)
	}
}

// TestInfeasible: amounts put in are themselves a composition, so only a
// parameter set to a negative amount, or a negative volume, has none. The
// inequality that is broken is named.
func TestInfeasible(t *testing.T) {
	s, mix := acetic(t)
	p, err := s.NewProblem(mix, Activity{})
	if err != nil {
		t.Fatal(err)
	}
	warm := p.NewSolver()
	if err := warm.At(millilitres(5)); err != nil {
		t.Fatal(err)
	}
	p.SetFlask(0, decimal(-0.005))
	if err := warm.Refresh(); err != nil {
		t.Fatal(err)
	}
	for name, solver := range map[string]*Solver{"warm": warm, "new": p.NewSolver()} {
		err := solver.At(millilitres(5))
		var i *InfeasibleError
		if !errors.As(err, &i) {
			t.Fatalf("%s: error %v, want infeasible totals", name, err)
		}
		if i.Value >= 0 || !strings.Contains(err.Error(), "no composition has these totals") {
			t.Errorf("%s: %v: value %g", name, err, i.Value)
		}
		// The weights are a combination in which every species counts at least
		// zero and the totals come to Value.
		for j := range s.Species {
			sum := 0.0
			for k := range p.stoich {
				sum += i.Weights[k] * p.stoich[k][j].float()
			}
			if sum < 0 {
				t.Errorf("%s: %s counts %g in the inequality", name, s.Species[j].Name, sum)
			}
		}
	}
	if err := p.NewSolver().At(millilitres(-5)); err == nil {
		t.Error("a negative volume has a composition")
	}
	p.SetFlask(0, decimal(0.005)) // and back
	if err := warm.Refresh(); err != nil {
		t.Fatal(err)
	}
	if err := warm.At(millilitres(5)); err != nil {
		t.Errorf("after the amount was put right: %v", err)
	}
}

// TestNoConvergence: a constant beyond what float64 can balance ends in an
// error with the state reached, not in a number.
func TestNoConvergence(t *testing.T) {
	s, mix := acetic(t)
	p, err := s.NewProblem(mix, Activity{})
	if err != nil {
		t.Fatal(err)
	}
	p.ShiftLnK(0, math.NaN())
	err = p.NewSolver().At(millilitres(5))
	var c *ConvergenceError
	if !errors.As(err, &c) {
		t.Fatalf("error %v, want non-convergence", err)
	}
	if c.Volume != 0.005 || c.Iterations < 1 || len(c.LnC) != len(s.Species) || c.Reason == "" {
		t.Errorf("error says %+v", c)
	}
	if !strings.Contains(err.Error(), "at 5 mL not found: "+c.Reason) {
		t.Errorf("error text %q", err)
	}
}

func TestIonicStrengthLimit(t *testing.T) {
	s, mix := acetic(t)
	mix.Flask = append(mix.Flask, Amount{4, decimal(0.06)}, Amount{5, decimal(0.06)}) // 1.2 mol/L of NaCl
	for _, model := range []Model{Davies, DebyeHuckel} {
		p, err := s.NewProblem(mix, Activity{Model: model})
		if err != nil {
			t.Fatal(err)
		}
		err = p.NewSolver().At(unit.Decimal{})
		var i *IonicStrengthError
		if !errors.As(err, &i) || i.Limit != 1 || math.Abs(i.IonicStrength-1.2) > 0.01 || !strings.Contains(err.Error(), "above 1 mol/L") {
			t.Errorf("error %v, want an ionic strength of 1.2 above 1 mol/L", err)
		}
		if p, err = s.NewProblem(mix, Activity{Model: model, Limit: 2}); err != nil {
			t.Fatal(err)
		}
		if err := p.NewSolver().At(unit.Decimal{}); err != nil {
			t.Errorf("limit 2 mol/L: %v", err)
		}
	}
}

// TestPureWater: nothing in the flask is water, where there is water.
func TestPureWater(t *testing.T) {
	s, mix := acetic(t)
	mix.Flask = nil
	p, err := s.NewProblem(mix, Activity{})
	if err != nil {
		t.Fatal(err)
	}
	sol := p.NewSolver()
	if err := sol.At(unit.Decimal{}); err != nil {
		t.Fatal(err)
	}
	if ln, ok := sol.LnActivity(2); !ok || math.Abs(ln+16) > 1e-12 {
		t.Errorf("ln a(H+) = %g, want -16", ln)
	}
	if _, ok := sol.LnActivity(0); ok {
		t.Error("acid that is nowhere has an activity")
	}
}

// TestSolversInParallel: solvers of one problem share nothing that they write
// (the race detector looks on).
func TestSolversInParallel(t *testing.T) {
	r := samples[3].ready(t)
	p, err := r.sys.NewProblem(r.mix, Activity{Model: Davies})
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	result := make([]float64, 4)
	for k := range result {
		wg.Go(func() {
			s := p.NewSolver()
			if s.At(millilitres(5)) == nil {
				result[k], _ = s.LnActivity(r.sys.Index("H^+"))
			}
		})
	}
	wg.Wait()
	for _, x := range result {
		if x == 0 || x != result[0] {
			t.Errorf("results %v", result)
		}
	}
}
