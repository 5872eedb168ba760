package equilibrium

import "math"

// Limits of the quick way.
const (
	powerLimit  = 8   // largest whole exponent formed by multiplication
	lnKLimit    = 600 // |ln K| beyond which K itself leaves the range of float64
	quickRounds = 12
	quickStep   = 0.3 // largest step in ln c that a quick iteration takes
	ratioLimit  = 10  // a species this many times as abundant as a basis species it could replace ends the quick way
)

// quick is what the quick way keeps for one basis: whole exponents and plain
// constants of the species outside it.
type quick struct {
	usable bool
	power  []int8    // m rows by len(free): exponent of basis row i in free species k
	coef   []float64 // the same as float
	k      []float64 // formation constant of free species k
	list   []float64 // work: concentrations of the free species
	stale  bool      // u is behind c: take the logarithm when it is asked for

	weight        []int8    // Davies: activity shift of free species k, in units of that of a charge of one
	z2Free        []float64 // charge squared of free species k
	z2Basis       []float64 // and of basis row i
	border, slope []float64 // work: d(balance)/dI and d(I)/d ln c, by row
}

// prepareQuick sets up the quick way for the current basis. It serves ideal
// solutions without solids, whole stoichiometry and constants within the
// range of float64: the usual case along a curve.
func (f *frame) prepareQuick() {
	q := &f.quick
	q.usable, q.stale = false, false
	if len(f.live) != f.m || len(f.live)+len(f.free) != f.n {
		return
	}
	if f.activityOn && (f.p.activity.Model != Davies || len(f.fixed) > 0) {
		return
	}
	nf := len(f.free)
	if cap(q.power) < f.m*f.n {
		q.power, q.coef = make([]int8, f.m*f.n), make([]float64, f.m*f.n)
		q.k, q.list = make([]float64, f.n), make([]float64, f.n)
		q.weight, q.z2Free, q.z2Basis = make([]int8, f.n), make([]float64, f.n), make([]float64, f.m)
		q.border, q.slope = make([]float64, f.m), make([]float64, f.m)
	}
	for i, b := range f.t.basis {
		q.z2Basis[i] = f.z2[b]
	}
	for k, j := range f.free {
		if math.Abs(f.lnK[j]) > lnKLimit {
			return
		}
		q.k[k] = math.Exp(f.lnK[j])
		q.z2Free[k] = f.z2[j]
		if f.activityOn {
			w := f.weight[j]
			if w != math.Trunc(w) || math.Abs(w) > 8*powerLimit {
				return
			}
			q.weight[k] = int8(w)
		}
		for i := range f.m {
			x := f.t.a[i][j]
			if x.d != 1 || x.n > powerLimit || x.n < -powerLimit {
				return
			}
			q.power[i*nf+k], q.coef[i*nf+k] = int8(x.n), float64(x.n)
		}
	}
	q.usable = true
}

// tryQuick solves at the totals just set, from the last solution: Newton's
// method in relative changes of concentrations, without a logarithm and with
// at most one exponential a step, for Davies' equation. It reports false, with nothing lost, where the step is too
// long for that; the full way takes over then.
func (f *frame) tryQuick() bool {
	m := f.m
	c := f.r[:m] // trial concentrations of the basis
	ionic := f.ionic
	for i, b := range f.t.basis {
		x := f.c[b]
		if n := x + f.total[i] - f.old[i]; n > x/16 {
			x = n
		}
		if !(x > 1e-290) {
			f.ionic = ionic
			return false
		}
		c[i] = x
		if f.activityOn {
			f.ionic += f.quick.z2Basis[i] * (x - f.c[b]) / 2
		}
	}
	f.ionic = math.Max(f.ionic, ionic/2)
	for range quickRounds {
		f.iters++
		d, ok := f.quickStep(c)
		if !ok {
			break
		}
		if d < stepConverged {
			return f.acceptQuick(c)
		}
	}
	f.ionic = ionic
	return false
}

// quickStep takes one step of all c, and of ionic strength, and returns its
// largest relative size.
func (f *frame) quickStep(c []float64) (float64, bool) {
	q, m, nf := &f.quick, f.m, len(f.free)
	du := f.du[:m]
	for i := range m {
		du[i] = f.total[i] - c[i]
		row := f.j[i*m : i*m+m]
		clear(row[:i])
		row[i] = c[i]
	}
	factor := 1.0
	if f.activityOn {
		f.davies[0], f.davies[1], f.davies[2] = f.p.activity.lnGamma(&unitIon, f.ionic)
		factor = math.Exp(f.davies[0])
	}
	for k := range nf {
		x := q.k[k]
		for i := range m {
			if p := q.power[i*nf+k]; p != 0 {
				x *= intPower(c[i], p)
			}
		}
		if w := q.weight[k]; w != 0 && f.activityOn {
			x *= intPower(factor, w)
		}
		if !(x < 1e290) {
			return 0, false
		}
		q.list[k] = x
		for i := range m {
			a := q.coef[i*nf+k]
			if a == 0 {
				continue
			}
			if x > ratioLimit*c[i] {
				return 0, false
			}
			ax := a * x
			du[i] -= ax
			for l := 0; l <= i; l++ {
				f.j[i*m+l] += ax * q.coef[l*nf+k]
			}
		}
	}
	if !f.factor(m) {
		return 0, false
	}
	f.solve(du)
	d := 0.0
	if f.activityOn {
		d = f.quickIonic(c, du)
	}
	for _, x := range du {
		d = math.Max(d, math.Abs(x))
	}
	if !(d < quickStep) {
		return 0, false
	}
	for i := range m {
		c[i] *= 1 + du[i]*(1+du[i]/2)
	}
	return d, true
}

// quickIonic turns the step du at fixed ionic strength into the step that
// also solves for it, takes that part, and returns its relative size.
func (f *frame) quickIonic(c, du []float64) float64 {
	q, m, nf := &f.quick, f.m, len(f.free)
	sum, s := 0.0, 1.0
	b, slope := q.border[:m], q.slope[:m]
	for i := range m {
		slope[i] = q.z2Basis[i] * c[i] / 2
		sum += slope[i]
		b[i] = 0
	}
	for k := range nf {
		x := q.list[k]
		z := q.z2Free[k] * x / 2
		w := float64(q.weight[k]) * f.davies[1]
		sum += z
		s -= z * w
		for i := range m {
			if a := q.coef[i*nf+k]; a != 0 {
				slope[i] += a * z
				b[i] += a * x * w
			}
		}
	}
	f.solve(b)
	along, across := 0.0, 0.0
	for i := range m {
		along += slope[i] * du[i]
		across += slope[i] * b[i]
	}
	di := (sum - f.ionic + along) / (s + across)
	if f.ionic+di <= 0 {
		return math.Inf(1)
	}
	for i := range m {
		du[i] -= b[i] * di
	}
	f.ionic += di
	f.lastIonic = di
	return math.Abs(di) / f.ionic
}

// intPower returns x to the p, |p| at most powerLimit.
func intPower(x float64, p int8) float64 {
	if p < 0 {
		x, p = 1/x, -p
	}
	y := x
	for ; p > 1; p-- {
		y *= x
	}
	return y
}

// acceptQuick stores the solution.
func (f *frame) acceptQuick(c []float64) bool {
	for i, b := range f.t.basis {
		f.c[b] = c[i]
	}
	nf := len(f.free)
	for k, j := range f.free {
		rel := 1.0
		if f.activityOn {
			rel += float64(f.quick.weight[k]) * f.davies[1] * f.lastIonic
		}
		for i := range f.m {
			rel += f.quick.coef[i*nf+k] * f.du[i]
		}
		f.c[j] = f.quick.list[k] * rel
	}
	if f.activityOn {
		f.davies[0], f.davies[1], f.davies[2] = f.p.activity.lnGamma(&unitIon, f.ionic)
	}
	f.quick.stale, f.factored = true, false
	return true
}

// refreshLn brings u and ln c up to date with c.
func (f *frame) refreshLn() {
	if !f.quick.stale {
		return
	}
	f.quick.stale = false
	for i, b := range f.t.basis {
		f.u[i] = math.Log(f.c[b])
	}
	if f.activityOn {
		f.updateShift()
	}
	f.arguments()
}

// refactor makes the Jacobian at the solution available for derivatives.
func (f *frame) refactor() {
	if f.factored && !f.quick.stale {
		return
	}
	f.refreshLn()
	f.evaluate() // it succeeded at this state a step ago
}
