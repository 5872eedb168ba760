package plan

import (
	"math"
	"slices"
)

// A design is a choice of candidate volumes, with the truths over which it is
// judged: the mean standard uncertainty of each quantity, their logarithms
// added, so that no unit counts more than another.
//
// What a candidate would bring hangs on three products of its score g, the rows w
// of the quantities and the covariance inv of a truth. They are kept for all
// candidates and follow each reading as inv does: that takes one product of
// vectors where computing them anew takes one of a matrix.
type design struct {
	volumes []float64
	truths  []truth
	wanted  int
	chosen  []int // indices into volumes
	taken   []bool

	own   []float64 // g inv g of every truth and candidate
	cross []float64 // w inv g of every truth, quantity and candidate
	had   []float64 // w inv w of every truth and quantity
	sum   []float64 // mean uncertainty of every quantity with each candidate
	seen  []float64 // h of update
}

func newDesign(volumes []float64, truths []truth, wanted int) *design {
	n := len(volumes)
	d := &design{
		volumes: volumes, truths: truths, wanted: wanted, taken: make([]bool, n),
		own: make([]float64, len(truths)*n), cross: make([]float64, len(truths)*wanted*n),
		had: make([]float64, len(truths)*wanted), sum: make([]float64, wanted*n),
	}
	for m := range truths {
		t := &truths[m]
		k := len(t.values)
		for j := range n {
			g := t.grad[j*k : j*k+k]
			h := t.times(g)
			d.own[m*n+j] = dot(g, h)
			for q := range wanted {
				d.cross[(m*wanted+q)*n+j] = dot(t.want[q*k:q*k+k], h)
			}
		}
		for q := range wanted {
			d.had[m*wanted+q] = t.variance(q)
		}
	}
	return d
}

// passes bounds the rounds of exchanges; two to four suffice.
const passes = 8

// fill chooses n candidates: the best one after another, then each exchanged
// for a better one until none is (Fedorov's exchange, from memory).
func (d *design) fill(n int) {
	n = min(n, len(d.volumes))
	for len(d.chosen) < n {
		j, _, _ := d.best(-1)
		d.add(j)
	}
	for range passes {
		moved := false
		for i := range d.chosen {
			was := d.chosen[i]
			d.remove(i)
			j, value, here := d.best(was)
			if value < here-1e-6 && j >= 0 {
				moved = true
			} else {
				j = was
			}
			d.add(j)
			last := len(d.chosen) - 1
			d.chosen[i], d.chosen[last] = d.chosen[last], d.chosen[i]
		}
		if !moved {
			break
		}
	}
	slices.Sort(d.chosen)
}

func (d *design) add(j int) {
	d.update(j, 1)
	d.chosen, d.taken[j] = append(d.chosen, j), true
}

// remove takes out the i-th of the chosen; the last one takes its place.
func (d *design) remove(i int) {
	j := d.chosen[i]
	d.update(j, -1)
	last := len(d.chosen) - 1
	d.chosen[i] = d.chosen[last]
	d.chosen, d.taken[j] = d.chosen[:last], false
}

// update adds (sign 1) or takes out (sign -1) a reading at candidate j, by the
// formula of Sherman and Morrison.
func (d *design) update(j int, sign float64) {
	n := len(d.volumes)
	for m := range d.truths {
		t := &d.truths[m]
		k := len(t.values)
		g := t.grad[j*k : j*k+k]
		d.seen = append(d.seen[:0], t.times(g)...)
		part := sign / (1 + sign*dot(g, d.seen))
		t.update(g, sign)
		own := d.own[m*n : m*n+n]
		rows := d.cross[m*d.wanted*n : (m+1)*d.wanted*n]
		wants := make([]float64, d.wanted)
		for q := range wants {
			wants[q] = part * dot(t.want[q*k:q*k+k], d.seen)
			d.had[m*d.wanted+q] -= wants[q] * wants[q] / part
		}
		for i := range own {
			x := dot(t.grad[i*k:i*k+k], d.seen)
			own[i] -= part * x * x
			for q, y := range wants {
				rows[q*n+i] -= y * x
			}
		}
	}
}

// best returns the best candidate that is not chosen, -1 if there is none, its
// criterion, and that of candidate was.
func (d *design) best(was int) (best int, value, here float64) {
	n := len(d.volumes)
	clear(d.sum)
	for m := range d.truths {
		weight, own := d.truths[m].weight, d.own[m*n:m*n+n]
		for q := range d.wanted {
			at := m*d.wanted + q
			had, row, sum := d.had[at], d.cross[at*n:at*n+n], d.sum[q*n:q*n+n]
			for j, x := range row {
				if v := had - x*x/(1+own[j]); v > 0 {
					sum[j] += weight * math.Sqrt(v)
				}
			}
		}
	}
	best, value = -1, math.Inf(1)
	for j := range n {
		if d.taken[j] {
			continue
		}
		total := 0.0
		for q := range d.wanted {
			total += math.Log(d.sum[q*n+j])
		}
		if j == was {
			here = total
		}
		if total < value {
			best, value = j, total
		}
	}
	return best, value, here
}

// mean returns the mean standard uncertainty of quantity q over the truths.
func (d *design) mean(q int) float64 {
	s, w := 0.0, 0.0
	for m := range d.truths {
		s += d.truths[m].weight * math.Sqrt(math.Max(d.truths[m].variance(q), 0))
		w += d.truths[m].weight
	}
	return s / w
}
