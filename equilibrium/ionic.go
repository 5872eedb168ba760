package equilibrium

import "math"

// activityState carries the ionic strength and what depends on it.
type activityState struct {
	activityOn bool
	ionic      float64
	shift      []float64 // by column: change of lnK by activity coefficients at ionic
	shift1     []float64 // first and second derivatives with respect to ionic
	shift2     []float64
	davies     [3]float64   // ln gamma of an ion of charge one, and derivatives
	weight     []float64    // by column: the shift in units of that
	byName     [][3]float64 // by species, for other models
	z2         []float64    // by column: charge squared, dissolved only
	border     []float64    // work over live rows
	lastIonic  float64      // last change of ionic
}

func (s *activityState) allocate(m, n int) {
	s.shift, s.shift1, s.shift2 = make([]float64, n), make([]float64, n), make([]float64, n)
	s.z2 = make([]float64, n)
	s.border = make([]float64, m)
}

func (s *activityState) rebuild(f *frame) {
	s.activityOn = f.p.activity.Model != Ideal
	for j, sp := range f.cols {
		s.z2[j] = 0
		if z := f.p.sys.Species[sp].Charge; f.p.sys.Species[sp].Kind == Dissolved {
			s.z2[j] = float64(z * z)
		}
	}
	if s.activityOn {
		if s.byName == nil {
			s.byName = make([][3]float64, len(f.p.sys.Species))
			s.weight = make([]float64, f.n)
		}
		f.shiftBy(func(k int) float64 {
			z := float64(f.p.sys.Species[k].Charge)
			if f.p.sys.Species[k].Kind != Dissolved {
				z = 0
			}
			return z * z
		}, s.weight)
		f.updateShift()
	}
}

// updateShift recomputes the activity terms at the current ionic strength.
// Davies' equation is one function of it times charge squared, so that a
// shift is that function times a fixed number; other models go by species.
func (f *frame) updateShift() {
	if f.p.activity.Model == Davies {
		f.davies[0], f.davies[1], f.davies[2] = f.p.activity.lnGamma(&unitIon, f.ionic)
		for j, w := range f.weight {
			f.shift[j], f.shift1[j], f.shift2[j] = w*f.davies[0], w*f.davies[1], w*f.davies[2]
		}
		return
	}
	p := f.p
	for s := range p.sys.Species {
		g, g1, g2 := p.activity.lnGamma(&p.sys.Species[s], f.ionic)
		f.byName[s] = [3]float64{g, g1, g2}
	}
	for k, to := range [][]float64{f.shift, f.shift1, f.shift2} {
		f.shiftBy(func(s int) float64 { return f.byName[s][k] }, to)
	}
}

// unitIon is an ion of charge one for Davies' equation.
var unitIon = Species{Kind: Dissolved, Charge: 1}

// gamma returns ln gamma of a species at the current ionic strength, and its
// first and second derivatives.
func (f *frame) gamma(s int) [3]float64 {
	if f.p.activity.Model == Davies {
		sp := &f.p.sys.Species[s]
		if sp.Kind != Dissolved {
			return [3]float64{}
		}
		z2 := float64(sp.Charge * sp.Charge)
		return [3]float64{z2 * f.davies[0], z2 * f.davies[1], z2 * f.davies[2]}
	}
	return f.byName[s]
}

// shiftBy fills to with the change of lnK of every column that a change of
// ln gamma by species makes: that of what it is formed from, less its own,
// with held concentrations carrying theirs.
func (f *frame) shiftBy(g func(s int) float64, to []float64) {
	carried := func(s int) float64 {
		sum := -g(s)
		for h, held := range f.p.hold {
			if x := f.p.held[h][s].float(); held.Concentration && x != 0 {
				sum += x * g(held.Species)
			}
		}
		return sum
	}
	for j, s := range f.cols {
		to[j] = 0
		if f.row[j] >= 0 {
			continue
		}
		to[j] = carried(s)
		for i := range f.t.basis {
			if x := f.a[i*f.n+j]; x != 0 {
				to[j] -= x * carried(f.cols[f.t.basis[i]])
			}
		}
	}
}

// fixedC returns the concentration of a species that no balance contains: one
// whose activity, or concentration, follows from held quantities alone.
func (f *frame) fixedC(s int) float64 {
	ln := f.p.lnBeta[s]
	if f.activityOn {
		ln += f.fixedShift(s)[0]
	}
	return math.Exp(ln)
}

// fixedShift is what activity coefficients change in ln c of such a species,
// with its first and second derivatives: what held concentrations carry, less
// its own.
func (f *frame) fixedShift(s int) [3]float64 {
	sum := f.gamma(s)
	for k := range sum {
		sum[k] = -sum[k]
	}
	for h, held := range f.p.hold {
		if x := f.p.held[h][s].float(); held.Concentration && x != 0 {
			for k, g := range f.gamma(held.Species) {
				sum[k] += x * g
			}
		}
	}
	return sum
}

// heldGamma is the part of ln a of a species, written in basis rows with
// weights g, that the coefficients of held concentrations make, with its first
// and second derivatives with respect to ionic strength.
func (f *frame) heldGamma(species int, g []float64) (sum [3]float64) {
	if !f.activityOn {
		return sum
	}
	for h, held := range f.p.hold {
		if !held.Concentration {
			continue
		}
		x := f.p.held[h][species].float()
		for i, b := range f.t.basis {
			if g[i] != 0 {
				x -= g[i] * f.p.held[h][f.cols[b]].float()
			}
		}
		if x == 0 {
			continue
		}
		for k, lg := range f.gamma(held.Species) {
			sum[k] += x * lg
		}
	}
	return sum
}

// ionicStrength sums half z^2 c of all that is dissolved.
func (f *frame) ionicStrength() float64 {
	sum := 0.0
	for j := range f.cols {
		if f.z2[j] != 0 {
			sum += f.z2[j] * f.c[j]
		}
	}
	for _, s := range f.fixed {
		z := float64(f.p.sys.Species[s].Charge)
		sum += z * z * f.fixedC(s)
	}
	return sum / 2
}

// relaxIonicStrength follows the ionic strength while far from the answer.
func (f *frame) relaxIonicStrength() {
	f.ionic = math.Min(f.ionicStrength(), 2*f.p.activity.Limit)
	f.updateShift()
}

// borderColumns fills the derivative of the live balances with respect to
// ionic strength into border, and returns the derivative of
// I - sum z^2 c / 2 with respect to ionic strength.
func (f *frame) borderColumns() float64 {
	nl := len(f.live)
	b := f.border[:nl]
	clear(b)
	s := 1.0
	for _, j := range f.free {
		w := f.c[j] * f.shift1[j]
		if w == 0 {
			continue
		}
		s -= f.z2[j] * w / 2
		for a, i := range f.live {
			b[a] += f.a[i*f.n+j] * w
		}
	}
	for _, sp := range f.fixed {
		z := float64(f.p.sys.Species[sp].Charge)
		s -= z * z / 2 * f.fixedC(sp) * f.fixedShift(sp)[1]
	}
	return s
}

// dIonic returns the derivative of sum z^2 c / 2 along a change of u.
func (f *frame) dIonic(du []float64) float64 {
	sum := 0.0
	for a, i := range f.live {
		b := f.t.basis[i]
		sum += f.z2[b] * f.c[b] * du[a]
	}
	for _, j := range f.free {
		if f.z2[j] == 0 {
			continue
		}
		w := 0.0
		for a, i := range f.live {
			w += f.a[i*f.n+j] * du[a]
		}
		sum += f.z2[j] * f.c[j] * w
	}
	return sum / 2
}

// borderedStep turns du = -J^-1 r into the step that also solves for ionic
// strength, takes the part in ionic strength, and returns its relative size.
func (f *frame) borderedStep(du []float64) float64 {
	is := f.ionicStrength()
	miss := f.ionic - is
	if math.Abs(miss) > 0.5*is { // too far for Newton: the coefficients are steep near zero
		f.relaxIonicStrength()
		return 1
	}
	s := f.borderColumns()
	b := f.border[:len(f.live)]
	f.solve(b)
	di := -(miss - f.dIonic(du)) / (s + f.dIonic(b))
	if f.ionic+di < 0 {
		di = -0.9 * f.ionic
	}
	for a := range du {
		du[a] -= b[a] * di
	}
	f.ionic += di
	f.lastIonic = di
	f.updateShift()
	return math.Abs(di) / (f.ionic + 1e-12)
}
