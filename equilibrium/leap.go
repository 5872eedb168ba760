package equilibrium

import "math"

// leapLimit is the largest change of ln c that one leap may make.
const leapLimit = 200

// leap takes one Newton step on the logarithmic balances ln P - ln N of what
// is produced against what is needed, which crosses any number of decades at
// once where a step on the balances themselves only moves by e. It keeps the
// step if the worst logarithmic balance improves by a tenth, and otherwise
// puts the state back and reports false.
func (f *frame) leap() bool {
	nl := len(f.live)
	if len(f.lu) < nl*nl {
		f.lu, f.lr, f.saved = make([]float64, f.m*f.m), make([]float64, f.m), make([]float64, f.m)
	}
	f.arguments()
	worst := f.logBalances(f.lu[:nl*nl], f.lr[:nl])
	if worst < 1 || !gauss(f.lu[:nl*nl], f.lr[:nl]) {
		return false
	}
	copy(f.saved, f.u)
	big := 0.0
	for _, x := range f.lr[:nl] {
		big = math.Max(big, math.Abs(x))
	}
	if math.IsNaN(big) || math.IsInf(big, 0) {
		return false
	}
	t := math.Min(1, leapLimit/big)
	for a, i := range f.live {
		f.u[i] -= t * f.lr[a]
	}
	f.arguments()
	if after := f.logBalances(nil, f.lr[:nl]); after < 0.9*worst {
		return true
	}
	copy(f.u, f.saved)
	f.arguments()
	return false
}

// logBalances fills r with ln P - ln N of the live rows and, if not nil, lu
// with its derivatives with respect to ln c, and returns the largest |r|.
func (f *frame) logBalances(lu, r []float64) float64 {
	nl := len(f.live)
	clear(lu)
	worst := 0.0
	for a, i := range f.live {
		top := f.u[i]
		for _, j := range f.free {
			if f.a[i*f.n+j] != 0 {
				top = math.Max(top, f.lnArg[j])
			}
		}
		if t := math.Abs(f.total[i]); t > 0 {
			top = math.Max(top, math.Log(t))
		}
		// All terms relative to the largest, so that none overflows.
		made, used := math.Exp(f.u[i]-top), 0.0
		if t := f.total[i]; t > 0 {
			used = math.Exp(math.Log(t) - top)
		} else if t < 0 {
			made += math.Exp(math.Log(-t) - top)
		}
		for _, j := range f.free {
			if x := f.a[i*f.n+j]; x > 0 {
				made += x * math.Exp(f.lnArg[j]-top)
			} else if x < 0 {
				used -= x * math.Exp(f.lnArg[j]-top)
			}
		}
		if used == 0 {
			used = 1e-300
		}
		r[a] = math.Log(made / used)
		worst = math.Max(worst, math.Abs(r[a]))
		if lu == nil {
			continue
		}
		lu[a*nl+a] = math.Exp(f.u[i]-top) / made
		for _, j := range f.free {
			x := f.a[i*f.n+j]
			if x == 0 {
				continue
			}
			w := x * math.Exp(f.lnArg[j]-top) / made
			if x < 0 {
				w = x * math.Exp(f.lnArg[j]-top) / used
			}
			for b, k := range f.live {
				lu[a*nl+b] += w * f.a[k*f.n+j]
			}
		}
	}
	return worst
}

// gauss solves the dense system lu x = r in place with partial pivoting.
func gauss(lu, r []float64) bool {
	n := len(r)
	for c := range n {
		p := c
		for i := c + 1; i < n; i++ {
			if math.Abs(lu[i*n+c]) > math.Abs(lu[p*n+c]) {
				p = i
			}
		}
		if math.Abs(lu[p*n+c]) < 1e-12 {
			return false
		}
		if p != c {
			for k := range n {
				lu[p*n+k], lu[c*n+k] = lu[c*n+k], lu[p*n+k]
			}
			r[p], r[c] = r[c], r[p]
		}
		for i := c + 1; i < n; i++ {
			w := lu[i*n+c] / lu[c*n+c]
			for k := c; k < n; k++ {
				lu[i*n+k] -= w * lu[c*n+k]
			}
			r[i] -= w * r[c]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			r[i] -= lu[i*n+k] * r[k]
		}
		r[i] /= lu[i*n+i]
	}
	return true
}
