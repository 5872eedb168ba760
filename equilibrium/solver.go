package equilibrium

import (
	"math"

	"meniscus/unit"
)

// A Solver finds the composition at one volume after another. It keeps its
// state between calls, so that neighbouring volumes are cheap, and allocates
// nothing per point once it is warm. It is not safe for concurrent use: make
// one for each goroutine.
type Solver struct {
	p     *Problem
	start *frame // species that the flask alone can form
	along *frame // species that flask and burette can form
	now   *frame
	grad  gradient
}

// NewSolver returns a solver for p.
func (p *Problem) NewSolver() *Solver { return &Solver{p: p} }

// Refresh makes the solver see changed parameters of its problem.
func (s *Solver) Refresh() error {
	for _, f := range []*frame{s.start, s.along} {
		if f == nil {
			continue
		}
		if err := f.rebuild(); err != nil {
			return err
		}
		if s.start == s.along {
			break
		}
	}
	return nil
}

// At finds the composition after volume v (L, at least 0) has been added.
// Errors: *ConvergenceError, *InfeasibleError, *IonicStrengthError.
func (s *Solver) At(v unit.Decimal) error {
	f, err := s.frameFor(v)
	if err != nil {
		return err
	}
	s.now = f
	s.grad.ready = false
	return f.at(v)
}

func (s *Solver) frameFor(v unit.Decimal) (*frame, error) {
	if v.Coef.IsZero() {
		if s.start == nil {
			f, err := s.p.newFrame(s.p.present(false), v)
			if err != nil {
				return nil, err
			}
			s.start = f
		}
		return s.start, nil
	}
	if s.along == nil {
		f, err := s.p.newFrame(s.p.present(true), v)
		if err != nil {
			return nil, err
		}
		s.along = f
	}
	return s.along, nil
}

// at solves at volume v, from the last solution if there is one.
func (f *frame) at(v unit.Decimal) error {
	if v.Exp < f.volExp {
		f.rescale(v.Exp)
	}
	f.v = v.Float()
	f.vt = f.v0 + f.v
	f.iters = 0
	warm := f.warm
	copy(f.old, f.total)
	f.setTotalsAt(v)
	switch {
	case warm && f.quick.usable && f.tryQuick():
		return f.checkIonic()
	case warm:
		f.predict()
	default:
		f.coldStart()
	}
	err := f.solids()
	if err != nil && warm { // the last solution misled: start again from the vertex
		if err = f.restart(v); err == nil {
			f.coldStart()
			err = f.solids()
		}
	}
	if err != nil { // and then from where no species exceeds 1 mol/L, which always leads there
		if again := f.restart(v); again == nil {
			f.safeStart()
			err = f.solids()
		}
	}
	if err != nil {
		f.warm = false
		return err
	}
	f.warm = true
	return f.checkIonic()
}

func (f *frame) checkIonic() error {
	if f.activityOn && f.ionic > f.p.activity.Limit {
		return &IonicStrengthError{f.ionic, f.p.activity.Limit}
	}
	return nil
}

// restart goes back to the vertex of least free energy at v.
func (f *frame) restart(v unit.Decimal) error {
	before, drop := f.t, f.drop
	if err := f.firstBasis(v); err != nil {
		f.t, f.drop = before, drop
		return err
	}
	if err := f.rebuild(); err != nil {
		return err
	}
	f.setTotalsAt(v)
	f.startSolids()
	return nil
}

// setTotalsAt forms the totals of all rows at v, and remembers v for setTotals.
func (f *frame) setTotalsAt(v unit.Decimal) {
	f.vol = v
	f.setTotals()
}

func (f *frame) setTotals() {
	if f.vol.Exp < f.volExp {
		f.rescale(f.vol.Exp)
	}
	vm := f.vol.Coef
	if f.vol.Exp != f.volExp {
		vm = f.vol.Scaled(f.volExp)
	}
	for i := range f.total {
		f.total[i] = f.flask[i].Add(f.burette[i].Mul(vm)).Float() * f.scale[i] / f.vt
	}
}

// predict moves the dominant species by what their balances gained: their
// concentrations are nearly linear in the totals.
func (f *frame) predict() {
	f.refreshLn()
	for _, i := range f.live {
		c := f.c[f.t.basis[i]]
		if n := c + f.total[i] - f.old[i]; n > c/16 {
			f.u[i] += math.Log(n / c)
		}
	}
}

// coldStart sets the state to the vertex: every basis species at its total.
// Rows without one wait for what their partners form.
func (f *frame) coldStart() {
	top := 1e-30
	for _, t := range f.total {
		top = math.Max(top, math.Abs(t))
	}
	for _, i := range f.live {
		f.u[i] = math.Log(math.Max(f.total[i], top*1e-12))
	}
	f.startSolids()
	if f.activityOn {
		f.ionic = 0
		for j := range f.c {
			f.c[j] = 0
		}
		for _, i := range f.live {
			f.c[f.t.basis[i]] = math.Max(f.total[i], 0)
		}
		f.relaxIonicStrength()
	}
	for k := 0; k < 6; k++ {
		f.sweep()
	}
	f.arguments()
	for _, j := range f.free {
		if f.lnArg[j] > 20 {
			f.safeStart()
			return
		}
	}
}

// safeStart sets every dissolved basis species to 1 mol/L. At the vertex of
// least free energy no other species exceeds that.
func (f *frame) safeStart() {
	for _, i := range f.live {
		f.u[i] = 0
	}
}

// startSolids gives the solids of the basis what their rows leave for them.
func (f *frame) startSolids() {
	for i := range f.t.basis {
		f.amt[i] = 0
		if f.isSolidRow(i) {
			f.amt[i] = math.Max(f.total[i], 0)
		}
	}
}

// Volume returns the volume added at the current point, L.
func (s *Solver) Volume() float64 { return s.now.v }

// TotalVolume returns the volume of the solution at the current point, L.
func (s *Solver) TotalVolume() float64 { return s.now.vt }

// Iterations returns the Newton steps spent on the current point.
func (s *Solver) Iterations() int { return s.now.iters }

// IonicStrength returns the ionic strength at the current point, mol/L, of
// the ions in the balances.
func (s *Solver) IonicStrength() float64 {
	if s.now.activityOn {
		return s.now.ionic
	}
	return s.now.ionicStrength()
}

// Concentration returns the concentration of a dissolved species, mol/L: 0 if
// nothing present can form it.
func (s *Solver) Concentration(species int) float64 {
	f := s.now
	if j := f.col[species]; j >= 0 {
		return f.c[j]
	}
	for _, x := range f.fixed {
		if x == species {
			return f.fixedC(species)
		}
	}
	return 0
}

// Amount returns how much of a solid there is, mol per litre of solution.
func (s *Solver) Amount(species int) float64 {
	f := s.now
	if j := f.col[species]; j >= 0 && f.row[j] >= 0 {
		return f.amt[f.row[j]]
	}
	return 0
}

// Gamma returns the activity coefficient of a species at the current point.
func (s *Solver) Gamma(species int) float64 {
	if !s.now.activityOn {
		return 1
	}
	return math.Exp(s.now.gamma(species)[0])
}

// LnActivity returns ln a of any species, present or not, and false where the
// composition leaves it undetermined: a potential of iron(II) alone, say.
func (s *Solver) LnActivity(species int) (float64, bool) {
	f := s.now
	g, k, ok := f.target(species)
	if !ok {
		return math.NaN(), false
	}
	x := k + f.heldGamma(species, g)[0]
	f.refreshIf(g)
	for i := range g {
		if g[i] != 0 {
			x += g[i] * f.lnActivityRow(i)
		}
	}
	return x, true
}

// refreshIf prepares the logarithms that g needs.
func (f *frame) refreshIf(g []float64) {
	if !f.quick.stale {
		return
	}
	for i, b := range f.t.basis {
		if g[i] != 0 {
			f.u[i] = math.Log(f.c[b])
		}
	}
}

// target is express, remembered until the basis changes.
func (f *frame) target(species int) (g []float64, k float64, ok bool) {
	e := &f.targets[species]
	if !e.known {
		e.g, e.k, e.ok = f.express(species)
		e.known = true
	}
	return e.g, e.k, e.ok
}

// lnActivityRow is ln a of the basis species of row i.
func (f *frame) lnActivityRow(i int) float64 {
	if f.activityOn {
		return f.u[i] + f.gamma(f.cols[f.t.basis[i]])[0]
	}
	return f.u[i]
}

// Residual returns the largest balance error at the current point, relative
// to the sum of its absolute terms.
func (s *Solver) Residual() float64 {
	s.now.refactor()
	return s.now.residual()
}

// Saturation returns ln of the ion product over the solubility product of a
// solid, at most rounding error above 0, and false where it is undetermined.
func (s *Solver) Saturation(species int) (float64, bool) { return s.LnActivity(species) }
