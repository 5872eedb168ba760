package uncertainty

import "math"

// batch is how many trials are computed at once: the columns of a model of ten
// registers fit a first-level cache.
const batch = 256

// columns holds the registers of a program for a batch of trials.
type columns struct {
	p    *program
	data []float64 // registers × batch
}

func (p *program) columns() *columns {
	c := &columns{p, make([]float64, p.registers*batch)}
	for r, v := range p.constants {
		col := c.column(r)
		for i := range col {
			col[i] = v
		}
	}
	return c
}

func (c *columns) column(r int) []float64 { return c.data[r*batch : r*batch+batch] }

// run computes the output of n trials, at most batch, whose inputs are in
// the first columns.
func (c *columns) run(n int) []float64 {
	for _, k := range c.p.code {
		to, a, b := c.column(k.to)[:n], c.column(k.a)[:n], c.column(k.b)[:n]
		switch k.op {
		case opAdd:
			for i := range to {
				to[i] = a[i] + b[i]
			}
		case opSub:
			for i := range to {
				to[i] = a[i] - b[i]
			}
		case opMul:
			for i := range to {
				to[i] = a[i] * b[i]
			}
		case opDiv:
			for i := range to {
				to[i] = a[i] / b[i]
			}
		case opSqrt:
			for i := range to {
				to[i] = math.Sqrt(a[i])
			}
		default:
			for i := range to {
				to[i] = apply(k.op, a[i], b[i])
			}
		}
	}
	return c.column(c.p.out)[:n]
}
