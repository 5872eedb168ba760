package equilibrium

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"meniscus/unit"
)

// How many random systems, from which seed: the long run is
// go test ./equilibrium -run RandomSystems -v -random=1000000
// and its figures stand in docs/random-systems.md.
var (
	randomCount = flag.Int("random", 4000, "number of random systems")
	randomSeed  = flag.Uint64("random.seed", 0, "seed of the first random system")
)

// A randomCase is a composition at equilibrium with the system it belongs to.
type randomCase struct {
	species   []Species
	reactions []Reaction
	lnA       []float64 // ln activity, known
	amounts   []float64 // of solids, mol/L, known

	sys       *System
	mix       Mixture
	dependent bool // a solid is a combination of two others
}

func (rc *randomCase) add(sp Species, ln, amount float64) {
	rc.species = append(rc.species, sp)
	rc.lnA = append(rc.lnA, ln)
	rc.amounts = append(rc.amounts, amount)
}

// form adds a species with its reaction from the components, unless its
// constant is out of range.
func (rc *randomCase) form(kind Kind, terms []Term, ln, amount float64) bool {
	sum := 0.0
	for _, t := range terms[1:] {
		sum -= float64(t.Num) * rc.lnA[t.Species]
	}
	lnK := ln - sum
	if log := lnK / math.Ln10; log < -30 || log > 60 {
		return false
	}
	name := fmt.Sprint("S", len(rc.species))
	rc.add(Species{Name: name, Kind: kind}, ln, amount)
	rc.reactions = append(rc.reactions, Reaction{Name: "R" + name, Terms: terms, LnK: lnK})
	return true
}

// randomSystem draws a state first and the constants that make it an
// equilibrium afterwards, so that the answer is known without a solver:
// up to 8 components (one of them the electron in half the cases), 25 species
// and 4 solids, stoichiometry -4..4, log beta -30..60, concentrations
// 1e-20..1 mol/L. Where there is room, a further solid is a combination of two
// others, and one of the three is not saturated.
func randomSystem(r *rand.Rand) (*randomCase, error) {
	nc := 2 + r.IntN(7)
	withElectron := r.IntN(2) == 0
	rc := &randomCase{}
	for i := range nc {
		kind := Dissolved
		ln := -r.Float64() * 20 * math.Ln10
		if i == 0 && withElectron {
			kind, ln = Electron, (r.Float64()*40-20)*math.Ln10
		}
		rc.add(Species{Name: fmt.Sprint("C", i), Kind: kind}, ln, 0)
	}
	ns, nsolid := 1+r.IntN(25-nc), r.IntN(5)
	active := 0
	var solids [][]Term
	for j := 0; j < ns+nsolid; j++ {
		solid := j >= ns
		terms := []Term{{Species: len(rc.species), Num: 1}}
		for i := range nc {
			if a := int64(r.IntN(9) - 4); a != 0 && r.Float64() < 0.45 {
				terms = append(terms, Term{Species: i, Num: -a})
			}
		}
		if len(terms) < 2 {
			continue
		}
		kind, ln, amount := Dissolved, -r.Float64()*20*math.Ln10, 0.0
		if solid {
			kind = Solid
			if r.IntN(2) == 0 && active < nc-1 {
				ln, amount = 0, math.Pow(10, -6*r.Float64())
				active++
			} else {
				ln = -1e-3 - 10*r.Float64()
			}
		}
		if rc.form(kind, terms, ln, amount) && solid {
			solids = append(solids, terms)
		}
	}
	if len(solids) >= 2 && len(solids) < 4 {
		rc.combine(r, nc, solids[0], solids[1])
	}
	return rc, rc.finish()
}

// combine adds the solid x a + y b, under-saturated or, where one of a and b is
// not, present.
func (rc *randomCase) combine(r *rand.Rand, nc int, a, b []Term) {
	x, y := int64(1+r.IntN(2)), int64(1+r.IntN(2))
	sum := make([]int64, nc)
	for _, t := range a[1:] {
		sum[t.Species] += x * t.Num
	}
	for _, t := range b[1:] {
		sum[t.Species] += y * t.Num
	}
	terms := []Term{{Species: len(rc.species), Num: 1}}
	for i, n := range sum {
		if n > 4 || n < -4 {
			return
		}
		if n != 0 {
			terms = append(terms, Term{Species: i, Num: n})
		}
	}
	if len(terms) < 2 {
		return
	}
	ln, amount := -math.Pow(10, -6*r.Float64()), 0.0
	if rc.amounts[a[0].Species] == 0 || rc.amounts[b[0].Species] == 0 {
		ln, amount = 0, math.Pow(10, -6*r.Float64())
	}
	rc.dependent = rc.form(Solid, terms, ln, amount)
}

func (rc *randomCase) finish() error {
	var err error
	if rc.sys, err = NewSystem(rc.species, rc.reactions); err != nil {
		return err
	}
	for j, sp := range rc.species {
		x := rc.amounts[j]
		if sp.Kind == Dissolved {
			x = math.Exp(rc.lnA[j])
		}
		if x > 0 {
			rc.mix.Flask = append(rc.mix.Flask, Amount{j, decimal(x)})
		}
	}
	rc.mix.Volume = decimal(1)
	return nil
}

// A randomCheck is what solving one random system gave.
type randomCheck struct {
	dependent bool
	residual  float64  // worst balance error over the sum of its absolute terms
	apart     recovery // the ln c furthest from its conditioning
	worst     recovery // the ln c with the largest error
}

// A recovery is how far a ln c is from the known state, and what rounding
// explains of it.
type recovery struct {
	species      string
	error, bound float64
}

func (r recovery) ratio() float64 {
	if r.bound == 0 {
		return 0
	}
	return r.error / r.bound
}

const ulp = 0x1p-53

// checkRandom solves one random system from the totals alone and compares.
// The error says what is wrong.
func checkRandom(seed uint64) (c randomCheck, err error) {
	rc, err := randomSystem(rand.New(rand.NewPCG(seed, 1)))
	if err != nil {
		return c, err
	}
	c.dependent = rc.dependent
	p, err := rc.sys.NewProblem(rc.mix, Activity{})
	if err != nil {
		return c, err
	}
	s := p.NewSolver()
	if err := s.At(unit.Decimal{}); err != nil {
		return c, err
	}
	if c.residual = max(s.Residual(), rc.balances(s)); c.residual > 1e-12 {
		return c, fmt.Errorf("residual %g", c.residual)
	}
	params, sizes, largest := rc.inputs(s)
	sens := make([]float64, len(params))
	for j, sp := range rc.species {
		ln, ok := s.LnActivity(j)
		switch {
		case sp.Kind == Solid && ok && ln > 1e-9:
			return c, fmt.Errorf("%s is supersaturated by %g", sp.Name, ln)
		case sp.Kind == Solid && s.Amount(j) > 0 && math.Abs(ln) > 1e-9:
			return c, fmt.Errorf("%s is present, with ln of saturation %g", sp.Name, ln)
		case sp.Kind != Dissolved:
			continue
		}
		s.Sensitivities(j, params, sens)
		bound := (4 + 2*spread(s, j)) * largest * ulp
		for k, x := range sens {
			bound += math.Abs(x) * sizes[k] * ulp
		}
		got := recovery{sp.Name, math.Abs(math.Log(s.Concentration(j)) - rc.lnA[j]), bound}
		if !(got.ratio() <= 1) {
			return c, fmt.Errorf("ln c of %s is off by %g, of which rounding explains %g", got.species, got.error, got.bound)
		}
		if got.ratio() >= c.apart.ratio() {
			c.apart = got
		}
		if got.error >= c.worst.error {
			c.worst = got
		}
	}
	return c, nil
}

// inputs lists what the solution depends on and the size that the rounding of
// each is relative to. Logarithms are summed from constants, by components and
// then by the basis; the largest such sum is returned. An exp is off by as many
// units as its logarithm is large, and totals are kept to double-double
// precision of all that is there.
func (rc *randomCase) inputs(s *Solver) (params []Parameter, sizes []float64, largest float64) {
	for j, x := range rc.lnA {
		sum := 0.0
		for r, c := range s.p.combo[j] {
			sum += math.Abs(c * rc.reactions[r].LnK)
		}
		largest = max(largest, math.Abs(x), sum)
	}
	for k, rx := range rc.reactions {
		size := spread(s, rx.Terms[0].Species) * largest
		for _, t := range rx.Terms {
			size += math.Abs(float64(t.Num)) * largest
		}
		params, sizes = append(params, Parameter{LnK, k}), append(sizes, size)
	}
	all := 0.0
	for _, a := range rc.mix.Flask {
		all += a.Value.Float()
	}
	for _, a := range rc.mix.Flask {
		size := a.Value.Float()*(2+math.Abs(rc.lnA[a.Species])) + 16*all*ulp
		params, sizes = append(params, Parameter{FlaskAmount, a.Species}), append(sizes, size)
	}
	return params, sizes, largest
}

// spread is the sum of absolute coefficients that ln c of a species is summed
// with from those of the basis.
func spread(s *Solver, species int) float64 {
	g, _, _ := s.now.target(species)
	sum := 0.0
	for _, x := range g {
		sum += math.Abs(x)
	}
	return sum
}

// balances returns the worst error of any component's balance, solids
// included, over the sum of its absolute terms.
func (rc *randomCase) balances(s *Solver) float64 {
	worst := 0.0
	for i, row := range s.p.stoich {
		sum, size := -s.p.fTotal[i].Float(), 0.0
		for j, sp := range rc.species {
			if sp.Kind != Electron {
				x := row[j].float() * (s.Concentration(j) + s.Amount(j))
				sum, size = sum+x, size+math.Abs(x)
			}
		}
		if size > 0 {
			worst = math.Max(worst, math.Abs(sum)/size)
		}
	}
	return worst
}

// TestRandomSystems solves random systems whose answer is known, and those
// that were hard once.
func TestRandomSystems(t *testing.T) {
	seeds := []uint64{26925, 68401, 121841, 145139, 252286, 284127, 285831, 404027, 408396, 675717, 766744, 794568, 800899, 888333, 922648, 970730, 990009}
	n := *randomCount
	if testing.Short() {
		n = 200
	}
	for k := range uint64(n) {
		seeds = append(seeds, *randomSeed+k)
	}
	start, bad, exact, dependent := time.Now(), 0, 0, 0
	var all randomCheck
	for _, seed := range seeds {
		c, err := checkRandom(seed)
		if err != nil {
			t.Errorf("seed %d: %v", seed, err)
			if bad++; bad > 20 {
				t.FailNow()
			}
			continue
		}
		all.residual = max(all.residual, c.residual)
		if c.apart.ratio() >= all.apart.ratio() {
			all.apart = c.apart
		}
		if c.worst.error >= all.worst.error {
			all.worst = c.worst
		}
		if c.worst.error < 1e-12 {
			exact++
		}
		if c.dependent {
			dependent++
		}
	}
	t.Logf("%d systems, %d with a solid made of two others, %d failures, %.3g s", len(seeds), dependent, bad, time.Since(start).Seconds())
	t.Logf("worst balance error: %.2g of its sum of absolute terms", all.residual)
	t.Logf("worst recovery: ln c off by %.2g, where rounding explains up to %.2g", all.worst.error, all.worst.bound)
	t.Logf("furthest from its conditioning: ln c off by %.2g, where rounding explains up to %.2g", all.apart.error, all.apart.bound)
	t.Logf("all ln c within 1e-12 in %.3f %% of systems", 100*float64(exact)/float64(len(seeds)))
	if dependent < len(seeds)/100 {
		t.Errorf("only %d systems have a dependent solid", dependent)
	}
}
