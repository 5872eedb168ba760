package uncertainty

import (
	"math"
	"math/rand/v2"
)

// A sampler draws the inputs of a compiled model. It is not for several
// goroutines at once.
type sampler struct {
	c      *compiled
	cols   *columns
	pcg    *rand.PCG
	random *rand.Rand
	joint  []int     // inputs that are drawn together
	lower  []float64 // Cholesky factor of their correlations
}

func (c *compiled) sampler() (*sampler, error) {
	s := &sampler{c: c, cols: c.p.columns(), pcg: rand.NewPCG(0, 0)}
	s.random = rand.New(s.pcg)
	for i, joint := range c.joint {
		if joint {
			s.joint = append(s.joint, i)
		}
	}
	n := len(s.joint)
	r := make([]float64, n*n)
	for a, i := range s.joint {
		for b, j := range s.joint {
			r[a*n+b] = c.r[i*len(c.in)+j]
		}
	}
	var err error
	s.lower, err = cholesky(r, n)
	return s, err
}

// seed starts the stream of a block: one stream for each, so that it does not
// matter who draws it.
func (s *sampler) seed(seed uint64, block int) {
	s.pcg.Seed(mix(seed), mix(mix(seed)+uint64(block)))
}

// mix is the finalizer of SplitMix64 (Steele, Lea & Flood 2014, from memory): it
// turns neighbouring numbers into unlike ones.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// fill computes len(out) trials.
func (s *sampler) fill(out []float64) {
	for len(out) > 0 {
		n := min(len(out), batch)
		for i := range s.c.in {
			if !s.c.joint[i] {
				s.draw(s.cols.column(i)[:n], &s.c.in[i])
			}
		}
		s.drawJoint(n)
		copy(out, s.cols.run(n))
		out = out[n:]
	}
}

// draw fills col with an input drawn from its distribution (JCGM 101:2008,
// 6.4, from memory).
func (s *sampler) draw(col []float64, e *estimate) {
	x, w := e.X, e.stated.Width
	random := s.random
	switch e.stated.shape() {
	case Rectangular:
		for i := range col {
			col[i] = x + w*(2*random.Float64()-1)
		}
	case Triangular:
		for i := range col {
			col[i] = x + w*(random.Float64()-random.Float64())
		}
	case Trapezoidal: // the sum of two rectangles
		a, b := w*(1+e.stated.Param)/2, w*(1-e.stated.Param)/2
		for i := range col {
			col[i] = x + a*(2*random.Float64()-1) + b*(2*random.Float64()-1)
		}
	case Arcsine:
		for i := range col {
			col[i] = x + w*math.Sin(2*math.Pi*random.Float64())
		}
	case StudentT:
		for i := range col {
			col[i] = x + w*student(random, e.stated.Param)
		}
	default:
		for i := range col {
			col[i] = x + e.U*random.NormFloat64()
		}
	}
}

// student draws from Student's distribution by the polar method (Bailey, Math.
// Comp. 62 (1994) 779, from memory).
func student(random *rand.Rand, dof float64) float64 {
	if dof > largeDoF {
		return random.NormFloat64()
	}
	for {
		u, v := 2*random.Float64()-1, 2*random.Float64()-1
		if w := u*u + v*v; w > 0 && w < 1 {
			return u * math.Sqrt(dof*math.Expm1(-2/dof*math.Log(w))/w)
		}
	}
}

// drawJoint draws the correlated inputs from a multivariate normal
// distribution (JCGM 101:2008, 6.4.8 and annex C.5, from memory).
func (s *sampler) drawJoint(n int) {
	m := len(s.joint)
	for _, i := range s.joint {
		col := s.cols.column(i)[:n]
		for t := range col {
			col[t] = s.random.NormFloat64()
		}
	}
	for a := m - 1; a >= 0; a-- { // from the last, so that those needed are still standard
		e, row := s.c.in[s.joint[a]], s.lower[a*m:a*m+a+1]
		col := s.cols.column(s.joint[a])[:n]
		for t := range col {
			z := row[a] * col[t]
			for b := range a {
				z += row[b] * s.cols.column(s.joint[b])[t]
			}
			col[t] = e.X + e.U*z
		}
	}
}
