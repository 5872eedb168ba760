package lsq

// A Workspace holds the memory of a fit. The zero value is ready; it grows to
// the largest problem it has served.
type Workspace struct {
	at, trial state
	weight    []float64 // √ of robust weights, n; nil when all are 1

	a      []float64 // n×p, reduced in place
	b      []float64 // n, reduced with it
	reduce []float64 // p, products of one reflection

	scale  []float64 // p, longest column seen
	w, v   []float64 // p×p, columns stored one after the other; see svd
	s2     []float64 // p, squared singular values
	coef   []float64 // p, wᵀb
	step   []float64 // p, in scaled parameters
	sorted []float64 // n
}

// A state is a place in parameter space with what was evaluated there.
type state struct {
	p, r, jac []float64
	ssr       float64 // weighted
}

func (ws *Workspace) resize(p, n int) {
	for _, s := range []*state{&ws.at, &ws.trial} {
		s.p, s.r, s.jac = grow(s.p, p), grow(s.r, n), grow(s.jac, n*p)
	}
	ws.weight = ws.weight[:0]
	ws.a, ws.b, ws.reduce = grow(ws.a, n*p), grow(ws.b, n), grow(ws.reduce, p)
	ws.scale, ws.s2 = grow(ws.scale, p), grow(ws.s2, p)
	ws.w, ws.v = grow(ws.w, p*p), grow(ws.v, p*p)
	ws.coef, ws.step = grow(ws.coef, p), grow(ws.step, p)
}

func grow(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n)
	}
	return s[:n]
}
