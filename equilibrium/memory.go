package equilibrium

import "slices"

// A Memory is a solution that a Solver found, to start from when it comes by
// again with other constants or totals. The zero value holds none.
type Memory struct {
	cols     []int // species of each column
	basis    []int
	c, total []float64 // by row
	ionic    float64
}

// Holds says whether there is a solution in m.
func (m *Memory) Holds() bool { return m.cols != nil }

// Remember stores the current solution in m.
func (s *Solver) Remember(m *Memory) {
	f := s.now
	m.cols, m.ionic = f.cols, f.ionic
	m.basis = append(m.basis[:0], f.t.basis...)
	m.total = append(m.total[:0], f.total...)
	m.c = m.c[:0]
	for _, b := range f.t.basis {
		m.c = append(m.c, f.c[b])
	}
}

// Recall makes m the solution that the next one starts from, if it is of the
// same species and the basis is that of now. Otherwise, or where the quick way
// does not serve, the last solution stays.
func (s *Solver) Recall(m *Memory) {
	f := s.along
	if f == nil || !f.warm || !f.quick.usable || !slices.Equal(m.basis, f.t.basis) || !slices.Equal(m.cols, f.cols) {
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
