package endpoint

import "math"

// A logFit is the law of one branch fitted to the readings themselves.
type logFit struct {
	p      [3]float64 // c, slope per decade, V_e
	u      [3]float64 // standard uncertainties from the noise alone
	misfit float64    // root of reduced chi-square; 1 without degrees of freedom
	dof    int
	pull   []float64 // change of V_e with each reading, for one standard deviation of it
}

// fitLog is a Gauss-Newton fit of y = c + slope·log by weighted least squares.
// The variance of a reading is noise² + (dy/dV noiseV)², the first order of
// errors in both. V_e stays beyond the readings of the branch.
func (b *branchData) fitLog(ve, slope float64) (logFit, bool) {
	n := len(b.v)
	if n < 3 {
		return logFit{}, false
	}
	edge := b.v[n-1]
	if b.after {
		edge = b.v[0]
	}
	if b.gap(edge, ve) <= 0 {
		return logFit{}, false
	}
	f := logFit{p: [3]float64{0, slope, ve}, dof: n - 3, misfit: 1}
	for i := range b.v {
		l, _, _ := b.log(b.v[i], ve)
		f.p[0] += (b.y[i] - slope*l) / float64(n)
	}
	for range 60 {
		a, r := b.normal(&f)
		inv, ok := invert3(a)
		if !ok {
			return f, false
		}
		var d [3]float64
		for i := range d {
			for j := range d {
				d[i] += inv[i][j] * r[j]
			}
		}
		// V_e goes at most half of its way to the nearest reading.
		k := 1.0
		gap := b.gap(edge, f.p[2])
		if to := b.gap(edge, f.p[2]+d[2]); to < 0.5*gap {
			k = 0.5 * gap / (gap - to)
		}
		for i := range d {
			f.p[i] += k * d[i]
		}
		if k == 1 && math.Abs(d[2]) < 1e-9*math.Abs(f.p[2]) {
			return b.finish(f)
		}
	}
	return f, false
}

// finish adds uncertainties and misfit.
func (b *branchData) finish(f logFit) (logFit, bool) {
	a, _ := b.normal(&f)
	inv, ok := invert3(a)
	if !ok {
		return f, false
	}
	var chi float64
	var sum [3]float64
	f.pull = make([]float64, len(b.v))
	for i, v := range b.v {
		l, dv, dve := b.log(v, f.p[2])
		d := b.y[i] - f.p[0] - f.p[1]*l
		variance := b.logVariance(f.p[1] * dv)
		chi += d * d / variance
		w := math.Sqrt(variance)
		if !b.equal {
			w = 1 / w
		}
		g := [3]float64{1, l, f.p[1] * dve}
		for p := range sum {
			pull := (inv[p][0]*g[0] + inv[p][1]*g[1] + inv[p][2]*g[2]) * w
			sum[p] += pull * pull
			f.pull[i] = pull // the last, V_e, stays
		}
	}
	if f.dof > 0 {
		f.misfit = math.Sqrt(chi / float64(f.dof))
	}
	for i := range f.u {
		f.u[i] = math.Sqrt(sum[i])
		if math.IsNaN(f.p[i]) || math.IsInf(f.p[i], 0) || math.IsNaN(f.u[i]) || math.IsInf(f.u[i], 0) {
			return f, false
		}
	}
	return f, f.p[1] > 0
}

func (b *branchData) logVariance(slope float64) float64 {
	return max(b.noise*b.noise+math.Pow(slope*b.noiseV, 2), 1e-24)
}

func (b *branchData) normal(f *logFit) (a [3][3]float64, r [3]float64) {
	for i, v := range b.v {
		l, dv, dve := b.log(v, f.p[2])
		w := 1.0
		if !b.equal {
			w = 1 / b.logVariance(f.p[1]*dv)
		}
		g := [3]float64{1, l, f.p[1] * dve}
		d := b.y[i] - f.p[0] - f.p[1]*l
		for p := range g {
			r[p] += w * g[p] * d
			for q := range g {
				a[p][q] += w * g[p] * g[q]
			}
		}
	}
	return a, r
}

// invert3 inverts a positive definite matrix, scaled to a unit diagonal.
func invert3(a [3][3]float64) ([3][3]float64, bool) {
	var s [3]float64
	for i := range s {
		s[i] = math.Sqrt(a[i][i])
		if !(s[i] > 0) || math.IsInf(s[i], 0) {
			return a, false
		}
	}
	c := func(i, j int) float64 { return a[i][j] / s[i] / s[j] }
	x, y, z := c(0, 1), c(0, 2), c(1, 2)
	det := 1 + 2*x*y*z - x*x - y*y - z*z
	if !(det > 1e-13) {
		return a, false
	}
	m := [3][3]float64{
		{1 - z*z, y*z - x, x*z - y},
		{y*z - x, 1 - y*y, x*y - z},
		{x*z - y, x*y - z, 1 - x*x},
	}
	for i := range m {
		for j := range m {
			m[i][j] /= det * s[i] * s[j]
		}
	}
	return m, true
}
