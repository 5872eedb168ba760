package equilibrium

import (
	"math"

	"meniscus/num/dd"
)

// saturated is how far ln of an ion product may stand above its solubility
// product before the solid counts as formed; without unit, well above the
// rounding error of logarithms of constants near 1e300.
const saturated = 1e-11

// solids solves the balances and finds which solids are present. Amounts of
// solids are the multipliers of the constraint that no solution is
// supersaturated, so the active set is that of one convex problem: a solid
// enters when the solution is supersaturated and leaves when its amount
// reaches zero. Amounts in f.amt are kept possible throughout (the method of
// Lawson and Hanson for non-negative least squares, 1974, from memory), so
// the free energy falls at every change and no set comes twice.
func (f *frame) solids() error {
	if err := f.settle(f.amt); err != nil {
		return err
	}
	for round := 0; round < 40+8*f.n; round++ {
		j := f.supersaturated()
		if j < 0 {
			return nil
		}
		if err := f.enter(j); err != nil {
			return err
		}
	}
	return f.failed("the set of solids did not settle")
}

// settle solves with the solids of the basis. From possible amounts of solids
// it moves towards the solution, lets go of the first solid that is used up
// on the way, and solves again, until all amounts are positive.
func (f *frame) settle(possible []float64) error {
	before := append(f.before[:0], possible...)
	f.before = before
	for {
		if err := f.newton(); err != nil {
			return err
		}
		if len(f.live) == f.m {
			return nil
		}
		out, t := f.firstUsedUp(before)
		if out < 0 {
			f.clipAmounts()
			return nil
		}
		for k := range before {
			if f.isSolidRow(k) {
				before[k] += t * (f.amt[k] - before[k])
			}
		}
		before[out] = 0
		copy(f.amt, before)
		if err := f.leave(out); err != nil {
			return err
		}
	}
}

// firstUsedUp forms the amounts of all solids and returns the row of the one
// that reaches zero first on the way from before, and how far that is.
func (f *frame) firstUsedUp(before []float64) (out int, t float64) {
	out, t = -1, 1
	for k := range f.t.basis {
		if !f.isSolidRow(k) {
			continue
		}
		f.amt[k] = f.solidAmount(k)
		if f.amt[k] >= -f.amountNoise(k) {
			continue
		}
		if s := before[k] / (before[k] - f.amt[k]); out < 0 || s < t {
			out, t = k, s
		}
	}
	return out, t
}

func (f *frame) isSolidRow(i int) bool {
	return f.p.sys.Species[f.cols[f.t.basis[i]]].Kind == Solid
}

// solidAmount is what the balance of row i leaves for its solid, mol/L. A
// little solid may be left of much that is dissolved, so the
// sum is in double-double.
func (f *frame) solidAmount(i int) float64 {
	m := f.exactTotal(i)
	for _, j := range f.free {
		x := f.t.a[i][j]
		if x.n == 0 {
			continue
		}
		term := dd.From(f.c[j]).MulFloat(float64(x.n))
		if x.d != 1 {
			term = term.Div(dd.From(float64(x.d)))
		}
		m = m.Sub(term)
	}
	return m.Float()
}

// exactTotal is the total of row i in double-double, mol/L.
func (f *frame) exactTotal(i int) dd.Num {
	return f.flaskDec[i].Add(f.buretteDc[i].Mul(f.vol)).Scaled(0).Div(dd.From(f.den[i])).Div(dd.From(f.vt))
}

// amountNoise is the rounding error of solidAmount.
func (f *frame) amountNoise(i int) float64 {
	s := math.Abs(f.total[i])
	for _, j := range f.free {
		s += math.Abs(f.a[i*f.n+j]) * f.c[j]
	}
	return 4e-15 * s
}

func (f *frame) clipAmounts() {
	for i := range f.amt {
		f.amt[i] = math.Max(f.amt[i], 0)
	}
}

// supersaturated returns the column of the solid with the largest ion
// product above its solubility product, or -1.
func (f *frame) supersaturated() int {
	best, most := -1, saturated
	for j := range f.row {
		if f.row[j] >= 0 || f.p.sys.Species[f.cols[j]].Kind != Solid {
			continue
		}
		if ln := f.lnSaturation(j); ln > most {
			best, most = j, ln
		}
	}
	return best
}

// enter brings the solid of column j in and solves again, letting go of
// solids that reach zero on the way.
func (f *frame) enter(j int) error {
	i := f.entryRow(j)
	if i < 0 {
		return f.replace(j)
	}
	if err := f.exchange(i, j, 0); err != nil {
		return err
	}
	return f.settle(f.amt)
}

// entryRow picks the dissolved basis species that a solid replaces: the least
// abundant one it contains, so that the basis stays dominant. It returns -1
// where the solid is made of solids that are present.
func (f *frame) entryRow(j int) int {
	best := -1
	for _, i := range f.live {
		if f.a[i*f.n+j] != 0 && (best < 0 || f.u[i] < f.u[best]) {
			best = i
		}
	}
	return best
}

// replace brings in a solid that is a combination of solids present: it grows
// at their cost until the first is used up. Among linearly dependent solids
// the least soluble combination is thus the one present.
func (f *frame) replace(j int) error {
	out, t := -1, math.Inf(1)
	for i := range f.t.basis {
		if x := f.a[i*f.n+j]; f.isSolidRow(i) && x > 0 && f.amt[i]/x < t {
			out, t = i, f.amt[i]/x
		}
	}
	if out < 0 {
		return f.failed("a solid forms without end from solids that are present")
	}
	for i := range f.t.basis {
		if f.isSolidRow(i) {
			f.amt[i] -= t * f.a[i*f.n+j]
		}
	}
	if err := f.exchange(out, j, 0); err != nil {
		return err
	}
	f.amt[out] = t
	return f.settle(f.amt)
}

// leave takes the solid of row i out of the basis; the most abundant
// dissolved species that contains it takes its place.
func (f *frame) leave(i int) error {
	best := -1
	for _, j := range f.free {
		if f.a[i*f.n+j] != 0 && (best < 0 || f.lnArg[j] > f.lnArg[best]) {
			best = j
		}
	}
	if best < 0 {
		return f.failed("a solid is used up, but nothing dissolved can hold what it contained")
	}
	return f.exchange(i, best, f.lnArg[best])
}

// lnSaturation is ln of ion product over solubility product of column j.
func (f *frame) lnSaturation(j int) float64 {
	ln := f.lnK[j] + f.shift[j]
	for _, i := range f.live {
		ln += f.a[i*f.n+j] * f.u[i]
	}
	return ln
}
