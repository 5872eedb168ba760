package equilibrium

import (
	"errors"
	"math"

	"meniscus/num/dd"
	"meniscus/unit"
)

// A frame is the working set for one set of species that can be present: the
// species columns in the current basis, exact and as floats, with the state
// of the last solution. The basis is kept at the dominant species, one for
// each independent balance, so that the balances are well conditioned however
// far the constants lie apart.
type frame struct {
	p    *Problem
	t    *tableau
	drop [][]rat // inverse-basis rows of dependent balances
	cols []int   // species of each column
	col  []int   // column of each species, -1 if it cannot be present

	m, n   int
	a      []float64 // m rows of n: column species in the basis
	lnK    []float64 // by column: formation from the basis
	lnBeta []float64 // by column
	row    []int     // by column: its basis row, -1 if it is not basic
	live   []int     // rows whose basis species is dissolved
	free   []int     // dissolved columns outside the basis
	fixed  []int     // species whose concentration does not depend on any balance

	volExp    int // exponent that volumes are scaled to
	flask     []dd.Num
	burette   []dd.Num
	buretteF  []float64 // mol/L by row
	den       []float64 // common denominator of each row: flaskDec and buretteDc are that many times too large
	scale     []float64 // of each row: T Vtot = (flask + burette Vm) scale
	flaskDec  []unit.Decimal
	buretteDc []unit.Decimal

	targets []expression // by species, for the current basis

	u      []float64 // by row: ln c of a dissolved basis species; 0 for a solid
	amt    []float64 // by row: mol/L of a solid, 0 for a dissolved species
	total  []float64 // by row, mol/L
	c      []float64 // by column, mol/L; solids 0
	v, vt  float64   // volume added and total volume, L
	v0     float64   // in the flask at the start, L
	quick  quick
	vol    unit.Decimal
	old    []float64 // totals of the last point
	before []float64 // amounts of solids before an exchange
	warm   bool
	iters  int
	newtonWork
	activityState
}

// newtonWork is the storage of a Newton step: everything over live rows.
type newtonWork struct {
	r, du, diag []float64
	j           []float64 // Cholesky factor, live x live
	lnArg       []float64 // by column: ln c
	lu, lr      []float64 // work of a leap
	saved       []float64
	factored    bool
}

var errOverflow = errors.New("equilibrium: stoichiometry outgrows exact arithmetic")

// newFrame builds the frame for the species that can be present when those
// given are, with a first basis at volume v.
func (p *Problem) newFrame(present []int, v unit.Decimal) (*frame, error) {
	f := &frame{p: p, v0: p.v0.Float(), col: make([]int, len(p.lnBeta))}
	can, err := p.possible(present)
	if err != nil {
		return nil, err
	}
	for j := range f.col {
		f.col[j] = -1
		if !can[j] || p.sys.Species[j].Kind == Electron {
			continue
		}
		if allZero(p.column(j)) {
			if p.sys.Species[j].Kind == Dissolved {
				f.fixed = append(f.fixed, j)
			}
			continue
		}
		f.col[j] = len(f.cols)
		f.cols = append(f.cols, j)
	}
	f.n = len(f.cols)
	f.lnBeta = make([]float64, f.n)
	if err := f.firstBasis(v); err != nil {
		return nil, err
	}
	f.allocate()
	return f, f.rebuild()
}

func (p *Problem) column(j int) []rat {
	c := make([]rat, len(p.stoich))
	for i := range c {
		c[i] = p.stoich[i][j]
	}
	return c
}

func allZero(c []rat) bool {
	for _, x := range c {
		if !x.isZero() {
			return false
		}
	}
	return true
}

// possible marks the species that can be formed from those present.
func (p *Problem) possible(present []int) ([]bool, error) {
	cols := make([][]rat, len(p.lnBeta))
	for j := range cols {
		cols[j] = p.column(j)
		if p.sys.Species[j].Kind == Electron {
			cols[j] = zeros(len(p.stoich))
		}
	}
	can, ok := support(cols, len(p.stoich), present)
	if !ok {
		return nil, errOverflow
	}
	for j := range cols {
		if allZero(cols[j]) && p.sys.Species[j].Kind == Dissolved {
			can[j] = true
		}
	}
	return can, nil
}

// firstBasis finds the assemblage that would remain if every reaction went
// to its end: the vertex of least free energy.
func (f *frame) firstBasis(v unit.Decimal) error {
	columns := make([][]rat, f.n)
	for j, s := range f.cols {
		columns[j] = f.p.column(s)
	}
	f.t = newTableau(columns, len(f.p.stoich))
	total, exp := f.p.exactTotals(v)
	rows := f.t.m
	violated, ok := f.t.feasible(total)
	if violated >= 0 {
		return f.infeasible(total, math.Pow10(exp))
	}
	if !ok {
		return errOverflow
	}
	if f.t.m < rows {
		f.drop = f.t.dropped
	}
	cost := make([]float64, f.n)
	for j, s := range f.cols {
		cost[j] = -f.p.lnBeta[s]
	}
	if !f.t.minimise(cost, total) {
		return errOverflow
	}
	return nil
}

// infeasible states the inequality that phase one ended on: the sum of the
// rows that still hold an artificial amount.
func (f *frame) infeasible(total []dd.Num, unit float64) error {
	e := &InfeasibleError{Components: f.p.names, Weights: make([]float64, len(f.p.names))}
	for i, b := range f.t.basis {
		if b < f.t.n || f.t.anyColumn(i) < 0 { // in a row without species nothing is broken
			continue
		}
		for k, w := range f.t.a[i][f.t.n:] {
			e.Weights[k] -= w.float()
			e.Value -= w.float() * total[k].Float() * unit
		}
	}
	return e
}

// exactTotals returns the totals at volume v in units of ten to a common
// power, mol.
func (p *Problem) exactTotals(v unit.Decimal) (total []dd.Num, exp int) {
	sums := make([]unit.Decimal, len(p.fTotal))
	for i := range sums {
		sums[i] = p.fTotal[i].Add(p.bTotal[i].Mul(v))
		if !sums[i].Coef.IsZero() {
			exp = min(exp, sums[i].Exp)
		}
	}
	total = make([]dd.Num, len(sums))
	for i := range sums {
		total[i] = sums[i].Scaled(exp)
	}
	return total, exp
}

func (f *frame) allocate() {
	m, n := f.t.m, f.n
	f.m = m
	f.a = make([]float64, m*n)
	f.lnK, f.c, f.lnArg = make([]float64, n), make([]float64, n), make([]float64, n)
	f.row = make([]int, n)
	f.live, f.free = make([]int, 0, m), make([]int, 0, n)
	f.flask, f.burette = make([]dd.Num, m), make([]dd.Num, m)
	f.flaskDec, f.buretteDc = make([]unit.Decimal, m), make([]unit.Decimal, m)
	f.buretteF, f.den = make([]float64, m), make([]float64, m)
	f.scale, f.total = make([]float64, m), make([]float64, m)
	f.u, f.amt = make([]float64, m), make([]float64, m)
	f.old, f.before = make([]float64, m), make([]float64, 0, m)
	f.targets = make([]expression, len(f.col))
	f.r, f.du, f.diag = make([]float64, m), make([]float64, m), make([]float64, m)
	f.j = make([]float64, m*m)
	f.activityState.allocate(m, n)
}

// rebuild refreshes the floats after a change of basis or of constants.
func (f *frame) rebuild() error {
	f.refreshLn()
	s := f.p.sys
	for j := range f.row {
		f.row[j] = -1
		f.lnBeta[j] = f.p.lnBeta[f.cols[j]]
	}
	f.live, f.free = f.live[:0], f.free[:0]
	for i, b := range f.t.basis {
		f.row[b] = i
		if s.Species[f.cols[b]].Kind == Dissolved {
			f.live = append(f.live, i)
		} else {
			f.u[i] = 0
		}
	}
	for j := range f.row {
		sum := f.lnBeta[j]
		for i := range f.t.basis {
			x := f.t.a[i][j]
			if !x.ok() {
				return errOverflow
			}
			f.a[i*f.n+j] = x.float()
			if x.n != 0 {
				sum -= x.float() * f.lnBeta[f.t.basis[i]]
			}
		}
		f.lnK[j] = sum
		if f.row[j] >= 0 {
			f.lnK[j] = 0
		} else if s.Species[f.cols[j]].Kind == Dissolved {
			f.free = append(f.free, j)
		}
	}
	f.exactRows()
	clear(f.targets)
	f.activityState.rebuild(f)
	f.factored = false
	f.prepareQuick()
	return nil
}

// exactRows expresses the totals in the basis.
func (f *frame) exactRows() {
	for i := range f.flask {
		var den int64
		f.flaskDec[i], den = f.basisTotal(i, f.p.fTotal)
		f.buretteDc[i], _ = f.basisTotal(i, f.p.bTotal)
		f.den[i] = float64(den)
		f.buretteF[i] = f.buretteDc[i].Float() / f.den[i]
	}
	f.rescale(f.volExp)
}

// rescale makes the totals of each row integers of one power of ten, for
// volumes that are integers of ten to the volExp.
func (f *frame) rescale(volExp int) {
	f.volExp = volExp
	for i := range f.flask {
		fl, bu := f.flaskDec[i], f.buretteDc[i]
		exp := min(fl.Exp, bu.Exp+volExp)
		if fl.Coef.IsZero() {
			exp = bu.Exp + volExp
		} else if bu.Coef.IsZero() {
			exp = fl.Exp
		}
		f.flask[i], f.burette[i] = fl.Scaled(exp), bu.Scaled(exp-volExp)
		f.scale[i] = math.Pow10(exp) / f.den[i]
	}
}

// basisTotal is the basis coordinate i, times the common denominator den of
// its row, of totals in balance rows: exact while they are.
func (f *frame) basisTotal(i int, by []unit.Decimal) (sum unit.Decimal, den int64) {
	row := f.t.a[i][f.t.n:]
	den = commonDenominator(row)
	for k := range row {
		if row[k].n != 0 && !by[k].Coef.IsZero() {
			sum = sum.Add(unit.Decimal{Coef: by[k].Coef.MulFloat(float64(row[k].n * (den / row[k].d))), Exp: by[k].Exp})
		}
	}
	return sum, den
}

// An expression is ln a of a species in the current basis.
type expression struct {
	g         []float64
	k         float64
	ok, known bool
}

// express writes ln a of any species as k plus sum of g_i ln a_i over basis
// rows; it reports false where the balances leave it undetermined.
func (f *frame) express(species int) (g []float64, k float64, ok bool) {
	col := f.p.column(species)
	for _, d := range f.drop {
		if !dot(d, col).isZero() {
			return nil, 0, false
		}
	}
	g = make([]float64, f.m)
	k = f.p.lnBeta[species]
	for i := range f.t.basis {
		x := dot(f.t.a[i][f.t.n:], col).float()
		g[i] = x
		k -= x * f.lnBeta[f.t.basis[i]]
	}
	return g, k, true
}

func dot(a, b []rat) rat {
	sum := ratZero
	for i := range b {
		if a[i].n != 0 && b[i].n != 0 {
			sum = sum.add(a[i].mul(b[i]))
		}
	}
	return sum
}
