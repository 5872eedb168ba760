package equilibrium

import "slices"

// A Memory is a solution that a Solver found, to start from when it comes by
// again with other constants or totals. The zero value holds none.
type Memory struct {
	frame    *frame
	basis    []int
	c, total []float64 // by row
	ionic    float64
}

// Remember stores the current solution in m.
func (s *Solver) Remember(m *Memory) {
	f := s.now
	m.frame, m.ionic = f, f.ionic
	m.basis = append(m.basis[:0], f.t.basis...)
	m.total = append(m.total[:0], f.total...)
	m.c = m.c[:0]
	for _, b := range f.t.basis {
		m.c = append(m.c, f.c[b])
	}
}

// Recall makes m the solution that the next one starts from, if it is of the
// same solver and the basis is still that. Otherwise, or where the quick way
// does not serve, the last solution stays.
func (s *Solver) Recall(m *Memory) {
	f := m.frame
	if f == nil || f != s.along || !f.warm || !f.quick.usable || !slices.Equal(m.basis, f.t.basis) {
		return
	}
	for i, b := range f.t.basis {
		f.c[b] = m.c[i]
	}
	copy(f.total, m.total)
	f.ionic = m.ionic
	f.quick.stale, f.factored = true, false
	s.grad.ready = false
}
