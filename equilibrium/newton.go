package equilibrium

import "math"

// Limits of the iteration, all without unit.
const (
	stepConverged = 2e-8 // largest change of any ln c in a step; the error after it is its square
	stepNear      = 0.5  // below this plain Newton steps are taken and the basis is kept dominant
	dominance     = 2.3  // ln 10: a species this much above a basis species it could replace does replace it
	dominanceFar  = 7    // the same while far from the answer: enough for the balances to be solvable
	maxNewton     = 600
)

// evaluate forms concentrations, balance residuals and, if jac, the scaled
// Cholesky factor of the Jacobian diag(c) + sum a_j c_j a_j^T over live rows.
// It reports false where the factor does not exist in float64.
func (f *frame) evaluate() bool {
	nl := len(f.live)
	for a, i := range f.live {
		b := f.t.basis[i]
		c := expClamped(f.u[i])
		f.c[b], f.lnArg[b] = c, f.u[i]
		f.r[a] = c - f.total[i]
		row := f.j[a*nl : a*nl+nl]
		clear(row)
		row[a] = c
	}
	for _, j := range f.free {
		arg := f.lnK[j] + f.shift[j]
		for _, i := range f.live {
			if x := f.a[i*f.n+j]; x != 0 {
				arg += x * f.u[i]
			}
		}
		c := expClamped(arg)
		f.lnArg[j], f.c[j] = arg, c
		for a, i := range f.live {
			x := f.a[i*f.n+j]
			if x == 0 {
				continue
			}
			f.r[a] += x * c
			for b := 0; b <= a; b++ {
				f.j[a*nl+b] += x * c * f.a[f.live[b]*f.n+j]
			}
		}
	}
	return f.factor(nl)
}

// factor replaces the lower triangle of J by the Cholesky factor of
// D J D with D = diag(J)^-1/2, kept in diag.
func (f *frame) factor(nl int) bool {
	for a := 0; a < nl; a++ {
		d := f.j[a*nl+a]
		if !(d > 0) || math.IsInf(d, 0) {
			return false
		}
		f.diag[a] = 1 / math.Sqrt(d)
	}
	for a := 0; a < nl; a++ {
		ra := f.j[a*nl:]
		for b := 0; b <= a; b++ {
			rb := f.j[b*nl:]
			sum := ra[b] * f.diag[a] * f.diag[b]
			for k := 0; k < b; k++ {
				sum -= ra[k] * rb[k]
			}
			if a == b {
				if sum < 1e-15 {
					return false
				}
				ra[b] = math.Sqrt(sum)
			} else {
				ra[b] = sum / rb[b]
			}
		}
	}
	f.factored = true
	return true
}

// solve overwrites x (over live rows) with J^-1 x.
func (f *frame) solve(x []float64) {
	nl := len(f.live)
	for a := 0; a < nl; a++ {
		sum := x[a] * f.diag[a]
		for k := 0; k < a; k++ {
			sum -= f.j[a*nl+k] * x[k]
		}
		x[a] = sum / f.j[a*nl+a]
	}
	for a := nl - 1; a >= 0; a-- {
		sum := x[a]
		for k := a + 1; k < nl; k++ {
			sum -= f.j[k*nl+a] * x[k]
		}
		x[a] = sum / f.j[a*nl+a]
	}
	for a := 0; a < nl; a++ {
		x[a] *= f.diag[a]
	}
}

// largest returns the largest change of any ln c that step du makes.
func (f *frame) largest(du []float64) float64 {
	d := 0.0
	for a := range f.live {
		d = math.Max(d, math.Abs(du[a]))
	}
	for _, j := range f.free {
		s := 0.0
		for a, i := range f.live {
			s += f.a[i*f.n+j] * du[a]
		}
		d = math.Max(d, math.Abs(s))
	}
	return d
}

// newton solves the balances of the live rows for the current set of solids.
// The step factor ln(1+d)/d lowers the convex function whose gradient the
// balances are, from anywhere; near the answer steps are plain.
func (f *frame) newton() error {
	for iter := 0; iter < maxNewton; iter++ {
		f.iters++
		if !f.evaluate() {
			swapped, err := f.keepDominant(dominance)
			if err != nil {
				return err
			}
			if !swapped {
				return f.failed("the balances are singular in float64")
			}
			continue
		}
		if iter >= 6 && iter%3 == 0 && f.leap() {
			continue
		}
		d := f.step()
		if math.IsNaN(d) {
			return f.failed("a concentration left the range of float64")
		}
		limit := dominance
		if d >= stepNear {
			limit = dominanceFar
			f.arguments()
		}
		swapped, err := f.keepDominant(limit)
		if err != nil {
			return err
		}
		if d < stepConverged && !swapped {
			return f.polish()
		}
	}
	return f.failed("no convergence")
}

// step takes one guarded Newton step in ln c, and in ionic strength where
// there is an activity model, and returns its unguarded size.
func (f *frame) step() float64 {
	nl := len(f.live)
	du := f.du[:nl]
	for a := range du {
		du[a] = -f.r[a]
	}
	f.solve(du)
	d := f.largest(du)
	t := 1.0
	if d >= stepNear {
		t = math.Log1p(d) / d
	} else if f.activityOn {
		d = math.Max(d, f.borderedStep(du))
	}
	for a, i := range f.live {
		f.u[i] += t * du[a]
	}
	if d >= stepNear && f.activityOn {
		f.relaxIonicStrength()
	}
	return d
}

// polish brings the concentrations up to the last step, which is so small
// that they follow linearly; the Jacobian is formed again when derivatives
// are asked for.
func (f *frame) polish() error {
	for a, i := range f.live {
		f.c[f.t.basis[i]] *= 1 + f.du[a]
	}
	for _, j := range f.free {
		rel := f.shift1[j] * f.lastIonic
		for a, i := range f.live {
			rel += f.a[i*f.n+j] * f.du[a]
		}
		f.c[j] *= 1 + rel
		f.lnArg[j] += rel
	}
	f.factored = false
	return nil
}

// keepDominant exchanges basis species for more abundant ones they could be
// replaced by, where ln c differs by more than limit. It reports whether it
// exchanged any.
func (f *frame) keepDominant(limit float64) (bool, error) {
	swapped := false
	for count := 0; count < 4*f.m+4; count++ {
		bi, bj, best := -1, -1, limit
		for _, i := range f.live {
			for _, j := range f.free {
				if f.a[i*f.n+j] != 0 && f.lnArg[j]-f.u[i] > best {
					bi, bj, best = i, j, f.lnArg[j]-f.u[i]
				}
			}
		}
		if bi < 0 {
			return swapped, nil
		}
		swapped = true
		if err := f.exchange(bi, bj, f.lnArg[bj]); err != nil {
			return swapped, err
		}
		f.arguments()
	}
	return swapped, nil
}

// exchange brings column j into the basis in row i with ln c = u.
func (f *frame) exchange(i, j int, u float64) error {
	if !f.t.pivot(i, j) {
		return errOverflow
	}
	f.u[i], f.amt[i] = u, 0
	if err := f.rebuild(); err != nil {
		return err
	}
	f.setTotals()
	return nil
}

// arguments recomputes ln c of all dissolved columns from u.
func (f *frame) arguments() {
	for _, i := range f.live {
		f.lnArg[f.t.basis[i]] = f.u[i]
	}
	for _, j := range f.free {
		arg := f.lnK[j] + f.shift[j]
		for _, i := range f.live {
			arg += f.a[i*f.n+j] * f.u[i]
		}
		f.lnArg[j] = arg
	}
}

// sweep moves each basis species so that what forms it and what uses it up
// balance in logarithm, row by row. It crosses many decades at once where a
// Newton step on the balances would creep.
func (f *frame) sweep() {
	for _, i := range f.live {
		f.arguments()
		b := f.t.basis[i]
		made, used := expClamped(f.lnArg[b]), 0.0
		slope := made
		if t := f.total[i]; t > 0 {
			used = t
		} else {
			made -= t
		}
		usedSlope := 0.0
		for _, j := range f.free {
			x := f.a[i*f.n+j]
			term := x * expClamped(f.lnArg[j])
			if x > 0 {
				made += term
				slope += x * term
			} else {
				used -= term
				usedSlope += x * term
			}
		}
		if used > 0 && made > 0 {
			f.u[i] += math.Log(used/made) / (slope/made + usedSlope/used)
		}
	}
}

// residual returns the largest balance error relative to its terms.
func (f *frame) residual() float64 {
	worst := 0.0
	for a, i := range f.live {
		sum := math.Abs(f.total[i]) + f.c[f.t.basis[i]]
		for _, j := range f.free {
			sum += math.Abs(f.a[i*f.n+j]) * f.c[j]
		}
		worst = math.Max(worst, math.Abs(f.r[a])/sum)
	}
	return worst
}

func (f *frame) failed(reason string) error {
	e := &ConvergenceError{Volume: f.v, Residual: f.residual(), Iterations: f.iters, Reason: reason}
	e.LnC = make([]float64, len(f.col))
	for s, j := range f.col {
		e.LnC[s] = math.Inf(-1)
		if j >= 0 {
			e.LnC[s] = f.lnArg[j]
		}
	}
	f.warm = false
	return e
}
