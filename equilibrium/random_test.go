package equilibrium

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"meniscus/unit"
)

// A randomCase is a composition at equilibrium with the system it belongs to.
type randomCase struct {
	sys     *System
	mix     Mixture
	c       []float64 // mol/L, known
	amounts []float64 // of solids, mol/L
}

// randomSystem draws a state first and the constants that make it an
// equilibrium afterwards, so that the answer is known without a solver:
// up to 8 components (one of them the electron in half the cases), 25 species
// and 4 solids, stoichiometry -4..4, log beta -30..60, concentrations
// 1e-20..1 mol/L.
func randomSystem(r *rand.Rand) (*randomCase, error) {
	nc := 2 + r.IntN(7)
	withElectron := r.IntN(2) == 0
	rc := &randomCase{}
	var species []Species
	var lnA []float64
	add := func(sp Species, ln, amount float64) {
		species = append(species, sp)
		lnA = append(lnA, ln)
		rc.amounts = append(rc.amounts, amount)
	}
	for i := range nc {
		kind := Dissolved
		ln := -r.Float64() * 20 * math.Ln10
		if i == 0 && withElectron {
			kind, ln = Electron, (r.Float64()*40-20)*math.Ln10
		}
		add(Species{Name: fmt.Sprint("C", i), Kind: kind}, ln, 0)
	}
	ns, nsolid := 1+r.IntN(25-nc), r.IntN(5)
	var reactions []Reaction
	active := 0
	for j := 0; j < ns+nsolid; j++ {
		solid := j >= ns
		terms := []Term{{Species: len(species), Num: 1}}
		sum := 0.0
		for i := range nc {
			if a := int64(r.IntN(9) - 4); a != 0 && r.Float64() < 0.45 {
				terms = append(terms, Term{Species: i, Num: -a})
				sum += float64(a) * lnA[i]
			}
		}
		if len(terms) < 2 {
			continue
		}
		ln, amount := -r.Float64()*20*math.Ln10, 0.0
		if solid {
			if r.IntN(2) == 0 && active < nc-1 {
				ln, amount = 0, math.Pow(10, -6*r.Float64())
				active++
			} else {
				ln = -1e-3 - 10*r.Float64()
			}
		}
		lnK := ln - sum
		if log := lnK / math.Ln10; log < -30 || log > 60 {
			continue
		}
		kind := Dissolved
		if solid {
			kind = Solid
		}
		add(Species{Name: fmt.Sprint("S", j), Kind: kind}, ln, amount)
		reactions = append(reactions, Reaction{Name: fmt.Sprint("R", j), Terms: terms, LnK: lnK})
	}
	sys, err := NewSystem(species, reactions)
	if err != nil {
		return nil, err
	}
	rc.sys = sys
	rc.c = make([]float64, len(species))
	for j := range species {
		x := rc.amounts[j]
		if species[j].Kind == Dissolved {
			rc.c[j] = math.Exp(lnA[j])
			x = rc.c[j]
		}
		if x > 0 {
			d, _ := unit.DecimalOf(x)
			rc.mix.Flask = append(rc.mix.Flask, Amount{j, d})
		}
	}
	rc.mix.Volume, _ = unit.DecimalOf(1)
	return rc, nil
}

// checkRandom solves one random system and reports what is wrong.
func checkRandom(seed uint64) error {
	r := rand.New(rand.NewPCG(seed, 1))
	rc, err := randomSystem(r)
	if err != nil {
		return err
	}
	p, err := rc.sys.NewProblem(rc.mix, Activity{})
	if err != nil {
		return err
	}
	s := p.NewSolver()
	if err := s.At(unit.Decimal{}); err != nil {
		return err
	}
	if res := s.Residual(); res > 1e-12 {
		return fmt.Errorf("residual %g", res)
	}
	for j := range rc.sys.Species {
		switch rc.sys.Species[j].Kind {
		case Dissolved:
			if c := s.Concentration(j); math.Abs(math.Log(c/rc.c[j])) > 1e-6 {
				return fmt.Errorf("%s: %g, known %g", rc.sys.Species[j].Name, c, rc.c[j])
			}
		case Solid:
			if si, ok := s.LnActivity(j); ok && si > 1e-9 {
				return fmt.Errorf("%s is supersaturated by %g", rc.sys.Species[j].Name, si)
			}
		}
	}
	return nil
}

func TestRandomSystems(t *testing.T) {
	n := 4000
	if testing.Short() {
		n = 200
	}
	bad := 0
	for _, seed := range []uint64{26925, 68401, 121841, 145139, 252286, 284127, 285831, 404027, 408396, 675717, 766744, 794568, 800899, 888333, 922648, 970730, 990009} {
		if err := checkRandom(seed); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
	}
	for seed := range uint64(n) {
		if err := checkRandom(seed); err != nil {
			t.Errorf("seed %d: %v", seed, err)
			if bad++; bad > 20 {
				t.FailNow()
			}
		}
	}
}
