package equilibrium

import (
	"math"

	"meniscus/num/dd"
)

// A tableau keeps species columns expressed in the current basis, exactly.
// Columns 0..n-1 are species, columns n..n+m-1 the original component rows,
// so that they hold the inverse of the basis.
type tableau struct {
	m, n  int
	a     [][]rat
	basis []int // column of each row; n+k while row k is artificial

	dropped [][]rat // inverse-basis part of rows found dependent
}

// newTableau starts from the all-artificial basis of the columns.
func newTableau(cols [][]rat, m int) *tableau {
	t := &tableau{m: m, n: len(cols), a: make([][]rat, m), basis: make([]int, m)}
	for i := range t.a {
		t.a[i] = zeros(t.n + m)
		for j := range cols {
			t.a[i][j] = cols[j][i]
		}
		t.a[i][t.n+i] = ratOne
		t.basis[i] = t.n + i
	}
	return t
}

// pivot brings column j into the basis in row i; a[i][j] must not be zero. It
// reports false where a fraction outgrew exact arithmetic.
func (t *tableau) pivot(i, j int) bool {
	inv := t.a[i][j].inv()
	row := t.a[i]
	ok := inv.ok()
	if inv != ratOne {
		for k := range row {
			if row[k].n != 0 {
				row[k] = row[k].mul(inv)
				ok = ok && row[k].ok()
			}
		}
	}
	for r := range t.a {
		f := t.a[r][j]
		if r == i || f.n == 0 {
			continue
		}
		other := t.a[r]
		for k := range row {
			if row[k].n != 0 {
				other[k] = other[k].subMul(f, row[k])
				ok = ok && other[k].ok()
			}
		}
	}
	t.basis[i] = j
	return ok
}

// negate turns row i around; used before phase one, where totals are negative.
func (t *tableau) negate(i int) {
	for k := range t.a[i] {
		t.a[i][k] = t.a[i][k].neg()
	}
}

// combine returns the basis coordinate of row i of a total given in
// components, exactly while the totals are integers of moderate size.
func (t *tableau) combine(i int, total []dd.Num) dd.Num {
	row := t.a[i][t.n:]
	den := commonDenominator(row)
	var sum dd.Num
	for k := range row {
		if row[k].n != 0 && !total[k].IsZero() {
			sum = sum.Add(total[k].MulFloat(float64(row[k].n * (den / row[k].d))))
		}
	}
	if den != 1 {
		sum = sum.Div(dd.From(float64(den)))
	}
	return sum
}

// roundoff is the size, relative to the sum of absolute totals, below which a
// double-double combination of totals counts as zero.
const roundoff = 1e-29

func absSum(total []dd.Num) float64 {
	s := 0.0
	for _, x := range total {
		s += math.Abs(x.Hi)
	}
	return s
}

// feasible runs phase one of the simplex method: it leaves a basis of species
// in which the total has no negative coordinate, and drops dependent rows. It
// returns the row of a violated inequality, or -1.
func (t *tableau) feasible(total []dd.Num) (violated int, ok bool) {
	for i := range t.a {
		if total[i].Sign() < 0 {
			t.negate(i)
		}
	}
	tiny := roundoff * absSum(total)
	for iter := 0; ; iter++ {
		j := t.phaseOneColumn(iter)
		if j < 0 {
			break
		}
		i := t.leaving(j, total)
		if !t.pivot(i, j) || iter > 50*(t.m+t.n) {
			return -1, false
		}
	}
	for i := range t.a {
		if t.basis[i] >= t.n && t.combine(i, total).Float() > tiny {
			return i, true
		}
	}
	return -1, t.dropArtificials()
}

// phaseOneColumn picks a column that lowers the sum of artificial amounts:
// the steepest at first, the first by index (Bland's rule) later.
func (t *tableau) phaseOneColumn(iter int) int {
	best, bestGain := -1, 0.0
	for j := 0; j < t.n; j++ {
		gain := 0.0
		for i := range t.a {
			if t.basis[i] >= t.n {
				gain += t.a[i][j].float()
			}
		}
		if gain > bestGain+1e-12 {
			best, bestGain = j, gain
			if iter > 5*(t.m+t.n) {
				break
			}
		}
	}
	return best
}

// leaving is the ratio test for column j, in double-double, since amounts may
// differ by less than a float64 shows; artificial rows go first on ties.
func (t *tableau) leaving(j int, total []dd.Num) int {
	best, bestRatio := -1, dd.Num{}
	for i := range t.a {
		x := t.a[i][j]
		if x.sign() <= 0 {
			continue
		}
		ratio := t.combine(i, total).MulFloat(float64(x.d)).Div(dd.From(float64(x.n)))
		if ratio.Sign() < 0 {
			ratio = dd.Num{}
		}
		cmp := ratio.Sub(bestRatio).Sign()
		if best < 0 || cmp < 0 || cmp == 0 && t.basis[i] >= t.n && t.basis[i] > t.basis[best] {
			best, bestRatio = i, ratio
		}
	}
	return best
}

// dropArtificials exchanges the artificial columns that stand at zero for
// species, and removes the rows where no species is left.
func (t *tableau) dropArtificials() bool {
	for i := 0; i < t.m; {
		if t.basis[i] < t.n {
			i++
			continue
		}
		j := t.anyColumn(i)
		if j < 0 {
			t.dropped = append(t.dropped, t.a[i][t.n:])
			t.a = append(t.a[:i], t.a[i+1:]...)
			t.basis = append(t.basis[:i], t.basis[i+1:]...)
			t.m--
			continue
		}
		if !t.pivot(i, j) {
			return false
		}
		i++
	}
	return true
}

func (t *tableau) anyColumn(i int) int {
	for j := 0; j < t.n; j++ {
		if t.a[i][j].n != 0 {
			return j
		}
	}
	return -1
}

// minimise runs phase two from a feasible basis: it lowers the sum of cost
// times amount. It reports false on overflow or when it does not end.
func (t *tableau) minimise(cost []float64, total []dd.Num) bool {
	for iter := 0; iter < 60*(t.m+t.n); iter++ {
		j := t.entering(cost, iter > 10*(t.m+t.n))
		if j < 0 {
			return true
		}
		i := t.leaving(j, total)
		if i < 0 { // unbounded: any feasible basis will do to start from
			return true
		}
		if !t.pivot(i, j) {
			return false
		}
	}
	return false
}

func (t *tableau) entering(cost []float64, bland bool) int {
	best, bestGain := -1, 1e-9
	for j := 0; j < t.n; j++ {
		if gain := t.reducedCost(cost, j); gain > bestGain {
			best, bestGain = j, gain
			if bland {
				break
			}
		}
	}
	return best
}

// reducedCost is how much the sum falls per unit of column j entering.
func (t *tableau) reducedCost(cost []float64, j int) float64 {
	g := -cost[j]
	for i := range t.a {
		if t.a[i][j].n != 0 {
			g += cost[t.basis[i]] * t.a[i][j].float()
		}
	}
	return g
}

// support marks every column that can have a positive amount in a total that
// is the sum of the seed columns. Columns outside it are zero in every
// composition: species that nothing present can form.
func support(cols [][]rat, m int, seed []int) ([]bool, bool) {
	total := make([]dd.Num, m)
	can := make([]bool, len(cols))
	for _, s := range seed {
		can[s] = true
		for i := range total {
			x := cols[s][i]
			total[i] = total[i].Add(dd.From(float64(x.n)).Div(dd.From(float64(x.d))))
		}
	}
	t := newTableau(cols, m)
	if v, ok := t.feasible(total); v >= 0 || !ok {
		return nil, false
	}
	for t.reach(can, total) {
	}
	return can, true
}

// reach looks for amounts in columns not marked yet, all at once, and marks
// what it finds. It reports whether it found any.
func (t *tableau) reach(can []bool, total []dd.Num) bool {
	cost := make([]float64, t.n)
	for k := range cost {
		if !can[k] {
			cost[k] = -1
		}
	}
	for iter := 0; iter < 60*(t.m+t.n); iter++ {
		j := t.entering(cost, iter > 10*(t.m+t.n))
		if j < 0 {
			break
		}
		i := t.leaving(j, total)
		if i < 0 { // formed from nothing but water, together with its partners
			can[j] = true
			for r, b := range t.basis {
				can[b] = can[b] || t.a[r][j].sign() < 0
			}
			return true
		}
		if !t.pivot(i, j) {
			return false
		}
	}
	found := false
	for i, b := range t.basis {
		if !can[b] && t.combine(i, total).Float() > 1e-12 {
			can[b], found = true, true
		}
	}
	return found
}
