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

	rows     []int     // balances that share a species outside the basis; the others are inert
	solo     []int     // inert ones: the concentration is the total
	soloI    float64   // what they add to the ionic strength
	c, total []float64 // work: trial concentrations and totals of rows
	pivot    []float64 // work: 1/d of the factor

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
		q.c, q.total, q.pivot = make([]float64, f.m), make([]float64, f.m), make([]float64, f.m)
	}
	q.rows, q.solo = q.rows[:0], q.solo[:0]
	for i := range f.m {
		inert := true
		for _, j := range f.free {
			inert = inert && f.a[i*f.n+j] == 0
		}
		if inert {
			q.solo = append(q.solo, i)
		} else {
			q.z2Basis[len(q.rows)] = f.z2[f.t.basis[i]]
			q.rows = append(q.rows, i)
		}
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
		for i, row := range q.rows {
			x := f.t.a[row][j]
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
	q := &f.quick
	c := q.c[:len(q.rows)]
	ionic := f.ionic
	for i, row := range q.rows {
		b := f.t.basis[row]
		x := f.c[b]
		if n := x + f.total[row] - f.old[row]; n > x/16 {
			x = n
		}
		if !(x > 1e-290) {
			f.ionic = ionic
			return false
		}
		c[i], q.total[i] = x, f.total[row]
		f.ionic += q.z2Basis[i] * (x - f.c[b]) / 2
	}
	q.soloI = 0
	for _, row := range q.solo {
		b := f.t.basis[row]
		if !(f.total[row] > 1e-290) {
			f.ionic = ionic
			return false
		}
		q.soloI += f.z2[b] * f.total[row] / 2
		f.ionic += f.z2[b] * (f.total[row] - f.c[b]) / 2
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
	q, m, nf := &f.quick, len(c), len(f.free)
	du := f.du[:m]
	for i := range m {
		du[i] = q.total[i] - c[i]
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
	if !q.factor(f.j, m) {
		return 0, false
	}
	q.solve(f.j, du)
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
	q, m, nf := &f.quick, len(c), len(f.free)
	sum, s := q.soloI, 1.0
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
	q.solve(f.j, b)
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

// factor replaces the lower triangle of j, m by m, by its factors L D L^T,
// and keeps 1/D in pivot. It reports false where a pivot is rounding error.
func (q *quick) factor(j []float64, m int) bool {
	for a := range m {
		ra := j[a*m : a*m+a+1]
		d := ra[a]
		least := 1e-14 * d
		for b := range a {
			rb := j[b*m : b*m+b]
			x := ra[b] // becomes L D first
			for k := range rb {
				x -= ra[k] * rb[k]
			}
			ra[b] = x
		}
		for b := range a {
			x := ra[b] * q.pivot[b]
			d -= x * ra[b]
			ra[b] = x
		}
		if !(d > least) {
			return false
		}
		q.pivot[a] = 1 / d
	}
	return true
}

// solve overwrites x with the solution of L D L^T x.
func (q *quick) solve(j, x []float64) {
	m := len(x)
	for a := range m {
		for k := range a {
			x[a] -= j[a*m+k] * x[k]
		}
	}
	for a := m - 1; a >= 0; a-- {
		x[a] *= q.pivot[a]
		for k := a + 1; k < m; k++ {
			x[a] -= j[k*m+a] * x[k]
		}
	}
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
	q := &f.quick
	for i, row := range q.rows {
		f.c[f.t.basis[row]] = c[i]
	}
	for _, row := range q.solo {
		f.c[f.t.basis[row]] = f.total[row]
	}
	nf := len(f.free)
	for k, j := range f.free {
		rel := 1.0
		if f.activityOn {
			rel += float64(f.quick.weight[k]) * f.davies[1] * f.lastIonic
		}
		for i := range c {
			rel += q.coef[i*nf+k] * f.du[i]
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
	if f.activityOn {
		if f.factored && !f.quick.stale {
			return
		}
		f.refreshLn()
		f.evaluate() // it succeeded at this state a step ago
		return
	}
	if !f.factored {
		f.balances() // nothing but c is needed: no logarithm, no exponential
		f.factor(len(f.live))
	}
}

// balances forms residuals and Jacobian from the concentrations.
func (f *frame) balances() {
	nl := len(f.live)
	for a, i := range f.live {
		c := f.c[f.t.basis[i]]
		f.r[a] = c - f.total[i]
		row := f.j[a*nl : a*nl+nl]
		clear(row)
		row[a] = c
	}
	for _, j := range f.free {
		for a, i := range f.live {
			x := f.a[i*f.n+j] * f.c[j]
			if x == 0 {
				continue
			}
			f.r[a] += x
			for b := 0; b <= a; b++ {
				f.j[a*nl+b] += x * f.a[f.live[b]*f.n+j]
			}
		}
	}
}
