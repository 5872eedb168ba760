package equilibrium

import "math"

// gradient stores the derivatives of the state at the current point.
type gradient struct {
	ready     bool
	du1, du2  []float64 // d ln c / dV and second derivative, by live row; 1/L and 1/L^2
	di1, di2  float64   // the same of ionic strength
	w         []float64 // work over live rows
	dBeta     []float64 // work over species
	dK        []float64 // work over columns
	adjoint   []float64
	adjointI  float64
	adjointOf int
}

// derive computes first and second derivatives with respect to volume.
func (s *Solver) derive() {
	g, f := &s.grad, s.now
	if g.ready {
		return
	}
	g.ready = true
	g.adjointOf = -1
	f.refactor()
	nl := len(f.live)
	if cap(g.du1) < f.m || len(g.dBeta) == 0 {
		g.du1, g.du2 = make([]float64, f.m), make([]float64, f.m)
		g.w, g.adjoint = make([]float64, f.m), make([]float64, f.m)
		g.dBeta, g.dK = make([]float64, len(f.col)), make([]float64, len(f.col))
	}
	g.du1, g.du2 = g.du1[:nl], g.du2[:nl]
	for a, i := range f.live {
		g.du1[a] = f.totalSlope(i)
	}
	g.di1 = f.bordered(g.du1, 0)
	curv := f.curvature(g.du1, g.di1, g.du2)
	for a, i := range f.live {
		g.du2[a] = -2*f.totalSlope(i)/f.vt - g.du2[a]
	}
	g.di2 = f.bordered(g.du2, curv)
}

// totalSlope is dT_i/dV of a live row, mol/L per L: what a litre of titrant
// brings, less dilution.
func (f *frame) totalSlope(i int) float64 {
	return (f.buretteF[i] - f.total[i]) / f.vt
}

// bordered solves for the change of u, in place, and of ionic strength that
// right-hand sides x of the balances and y of the ionic strength bring.
func (f *frame) bordered(x []float64, y float64) (di float64) {
	f.solve(x)
	if !f.activityOn {
		return 0
	}
	s := f.borderColumns()
	b := f.border[:len(f.live)]
	f.solve(b)
	di = (y + f.dIonic(x)) / (s + f.dIonic(b))
	for a := range x {
		x[a] -= b[a] * di
	}
	return di
}

// curvature fills out with the second-order part of the balances along
// (du, di), and returns that of sum z^2 c / 2.
func (f *frame) curvature(du []float64, di float64, out []float64) float64 {
	ionic := 0.0
	for a, i := range f.live {
		b := f.t.basis[i]
		out[a] = f.c[b] * du[a] * du[a]
		ionic += f.z2[b] * out[a]
	}
	for _, j := range f.free {
		w := f.shift1[j] * di
		for a, i := range f.live {
			w += f.a[i*f.n+j] * du[a]
		}
		t := f.c[j] * (w*w + f.shift2[j]*di*di)
		ionic += f.z2[j] * t
		for a, i := range f.live {
			out[a] += f.a[i*f.n+j] * t
		}
	}
	if f.activityOn {
		for _, s := range f.fixed {
			z := float64(f.p.sys.Species[s].Charge)
			g := f.fixedShift(s)
			ionic += z * z * f.fixedC(s) * (g[1]*g[1] + g[2]) * di * di
		}
	}
	return ionic / 2
}

// LnActivitySlope returns d ln a/dV (1/L) and the second derivative (1/L^2)
// of any species at the current point, and false where ln a is undetermined.
// At V = 0 they are those of the first drop.
func (s *Solver) LnActivitySlope(species int) (first, second float64, ok bool) {
	g, _, ok := s.now.target(species)
	if !ok {
		return math.NaN(), math.NaN(), false
	}
	if s.now == s.start {
		return s.firstDrop(species)
	}
	s.derive()
	f := s.now
	for a, i := range f.live {
		if g[i] == 0 {
			continue
		}
		d1, d2 := s.grad.du1[a], s.grad.du2[a]
		if f.activityOn {
			lg := f.gamma(f.cols[f.t.basis[i]])
			d1 += lg[1] * s.grad.di1
			d2 += lg[1]*s.grad.di2 + lg[2]*s.grad.di1*s.grad.di1
		}
		first += g[i] * d1
		second += g[i] * d2
	}
	if f.activityOn {
		lg := f.heldGamma(species, g)
		first += lg[1] * s.grad.di1
		second += lg[1]*s.grad.di2 + lg[2]*s.grad.di1*s.grad.di1
	}
	return first, second, true
}

// firstDrop gives the derivatives at V = 0: the flask alone lacks the species
// of the titrant, which react and count in the ionic strength from the first
// drop on.
func (s *Solver) firstDrop(species int) (first, second float64, ok bool) {
	defer func(f *frame) { s.now, s.grad.ready = f, false }(s.now)
	if s.At(tinyVolume) != nil {
		return math.NaN(), math.NaN(), false
	}
	return s.LnActivitySlope(species)
}

// A Parameter is something the composition depends on.
type Parameter struct {
	Kind  ParameterKind
	Index int // of the reaction, species or held quantity
}

// A ParameterKind says what a Parameter is; the unit of a derivative follows.
type ParameterKind int

// The kinds of parameter.
const (
	LnK           ParameterKind = iota // ln of the constant of reaction Index
	FlaskAmount                        // mol of species Index in the flask
	BuretteAmount                      // mol/L of species Index in the burette
	HeldLn                             // ln of held quantity Index
	FlaskVolume                        // L in the flask at the start, amounts kept
)

// Sensitivities fills out with d ln a(species)/d parameter for each of the
// parameters at the current point: one linear solve for all of them. It
// reports false where ln a is undetermined.
func (s *Solver) Sensitivities(species int, params []Parameter, out []float64) bool {
	f := s.now
	g, _, ok := f.target(species)
	if !ok {
		for k := range params {
			out[k] = math.NaN()
		}
		return false
	}
	s.derive()
	s.prepareAdjoint(species, g)
	for k, p := range params {
		out[k] = s.sensitivity(species, g, p)
	}
	return true
}

// prepareAdjoint solves the transposed system for the weights g.
func (s *Solver) prepareAdjoint(species int, g []float64) {
	f, d := s.now, &s.grad
	if d.adjointOf == species {
		return
	}
	d.adjointOf = species
	w := d.adjoint[:len(f.live)]
	gi := f.heldGamma(species, g)[1]
	for a, i := range f.live {
		w[a] = g[i]
		if f.activityOn {
			gi += g[i] * f.gamma(f.cols[f.t.basis[i]])[1]
		}
	}
	f.solve(w)
	d.adjointI = 0
	if !f.activityOn {
		return
	}
	// M^T (w, y) = (g, gi) with M = [J b; c^T s], c = -d(IS)/du.
	sII := f.borderColumns()
	b := f.border[:len(f.live)]
	c := d.w[:len(f.live)]
	f.ionicGradient(c)
	bw, bc := 0.0, 0.0
	for a := range b {
		bw += b[a] * w[a]
	}
	f.solve(c)
	for a := range b {
		bc += b[a] * c[a]
	}
	y := (gi - bw) / (sII + bc)
	for a := range w {
		w[a] += y * c[a]
	}
	d.adjointI = y
}

// ionicGradient fills out with d(sum z^2 c/2)/du over live rows.
func (f *frame) ionicGradient(out []float64) {
	for a, i := range f.live {
		b := f.t.basis[i]
		out[a] = f.z2[b] * f.c[b] / 2
	}
	for _, j := range f.free {
		for a, i := range f.live {
			out[a] += f.a[i*f.n+j] * f.z2[j] * f.c[j] / 2
		}
	}
}

func (s *Solver) sensitivity(species int, g []float64, p Parameter) float64 {
	f := s.now
	switch p.Kind {
	case LnK:
		for j := range s.grad.dBeta {
			s.grad.dBeta[j] = f.p.combo[j][p.Index]
		}
		return s.constantSensitivity(species, g)
	case HeldLn:
		for j := range s.grad.dBeta {
			s.grad.dBeta[j] = f.p.held[p.Index][j].float()
		}
		return s.constantSensitivity(species, g)
	case FlaskAmount:
		return s.totalSensitivity(p.Index, 1/f.vt)
	case BuretteAmount:
		return s.totalSensitivity(p.Index, f.v/f.vt)
	}
	sum := 0.0
	for a, i := range f.live { // FlaskVolume dilutes: dT/dV0 = -T/Vt
		sum -= s.grad.adjoint[a] * f.total[i] / f.vt
	}
	return sum
}

// totalSensitivity is the effect of adding species at rate mol/L of solution.
func (s *Solver) totalSensitivity(species int, rate float64) float64 {
	f := s.now
	sum := 0.0
	if j := f.col[species]; j >= 0 {
		for a, i := range f.live {
			sum += s.grad.adjoint[a] * f.a[i*f.n+j]
		}
	}
	return sum * rate
}

// constantSensitivity is the effect of changing ln beta of every species by
// the amounts in dBeta.
func (s *Solver) constantSensitivity(species int, g []float64) float64 {
	f, d := s.now, s.grad.dBeta
	sum := d[species]
	for i, b := range f.t.basis {
		sum -= g[i] * d[f.cols[b]]
	}
	for _, j := range f.free {
		dk := d[f.cols[j]]
		for i, b := range f.t.basis {
			dk -= f.a[i*f.n+j] * d[f.cols[b]]
		}
		if dk == 0 {
			continue
		}
		w := -s.grad.adjointI * f.z2[j] * f.c[j] / 2
		for a, i := range f.live {
			w += s.grad.adjoint[a] * f.a[i*f.n+j] * f.c[j]
		}
		sum -= w * dk
	}
	for _, x := range f.fixed {
		z := float64(f.p.sys.Species[x].Charge)
		sum += s.grad.adjointI * z * z / 2 * f.fixedC(x) * d[x]
	}
	return sum
}

// Capacity returns d(total of species)/d ln a(species), mol/L: the poise for
// the electron, the buffer capacity for H+. It is +Inf where the activity
// cannot move and NaN where it is undetermined.
func (s *Solver) Capacity(species int) float64 {
	f := s.now
	g, _, ok := f.target(species)
	if !ok {
		return math.NaN()
	}
	s.derive()
	s.prepareAdjoint(species, g)
	rate := 0.0
	for a, i := range f.live {
		rate += s.grad.adjoint[a] * g[i]
	}
	if rate == 0 {
		return math.Inf(1)
	}
	return 1 / rate
}
