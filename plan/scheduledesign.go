package plan

import (
	"math"
	"slices"
)

// A design is a choice of candidate volumes, with the truths over which it is
// judged: the mean standard uncertainty of each quantity, their logarithms
// added, so that no unit counts more than another.
type design struct {
	volumes []float64
	truths  []truth
	wanted  int
	chosen  []int // indices into volumes

	row []float64 // w inv of every truth and quantity
	had []float64 // variance of every truth and quantity
	sum []float64
}

func newDesign(volumes []float64, truths []truth, wanted int) *design {
	return &design{volumes: volumes, truths: truths, wanted: wanted, sum: make([]float64, wanted)}
}

// passes bounds the rounds of exchanges; two to four suffice.
const passes = 8

// fill chooses n candidates: the best one after another, then each exchanged
// for a better one until none is (Fedorov's exchange, from memory).
func (d *design) fill(n int) {
	n = min(n, len(d.volumes))
	for len(d.chosen) < n {
		d.prepare()
		j, _ := d.best()
		d.add(j)
	}
	for range passes {
		moved := false
		for i := range d.chosen {
			was := d.chosen[i]
			d.remove(i)
			d.prepare()
			here := d.with(was)
			j, value := d.best()
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
	for m := range d.truths {
		t := &d.truths[m]
		n := len(t.values)
		t.update(t.grad[j*n:j*n+n], 1)
	}
	d.chosen = append(d.chosen, j)
}

// remove takes out the i-th of the chosen; the last one takes its place.
func (d *design) remove(i int) {
	j := d.chosen[i]
	for m := range d.truths {
		t := &d.truths[m]
		n := len(t.values)
		t.update(t.grad[j*n:j*n+n], -1)
	}
	last := len(d.chosen) - 1
	d.chosen[i] = d.chosen[last]
	d.chosen = d.chosen[:last]
}

// prepare computes what is common to all candidates.
func (d *design) prepare() {
	d.row, d.had = d.row[:0], d.had[:0]
	for m := range d.truths {
		t := &d.truths[m]
		n := len(t.values)
		for q := range d.wanted {
			w := t.want[q*n : q*n+n]
			had := 0.0
			for k := range n {
				x := 0.0
				for i := range n {
					x += w[i] * t.inv[i*n+k]
				}
				d.row = append(d.row, x)
				had += x * w[k]
			}
			d.had = append(d.had, had)
		}
	}
}

// with returns the criterion with candidate j added.
func (d *design) with(j int) float64 {
	clear(d.sum)
	at, row := 0, 0
	for m := range d.truths {
		t := &d.truths[m]
		n := len(t.values)
		g := t.grad[j*n : j*n+n]
		down := 1.0
		for i := range n {
			x := 0.0
			for k, y := range t.inv[i*n : i*n+n] {
				x += y * g[k]
			}
			down += g[i] * x
		}
		for q := range d.wanted {
			x := 0.0
			for k, y := range d.row[row : row+n] {
				x += y * g[k]
			}
			d.sum[q] += t.weight * math.Sqrt(math.Max(d.had[at]-x*x/down, 0))
			at++
			row += n
		}
	}
	total := 0.0
	for _, s := range d.sum {
		total += math.Log(s)
	}
	return total
}

// best returns the best candidate that is not chosen, -1 if there is none.
func (d *design) best() (int, float64) {
	best, value := -1, math.Inf(1)
	for j := range d.volumes {
		if slices.Contains(d.chosen, j) {
			continue
		}
		if x := d.with(j); x < value {
			best, value = j, x
		}
	}
	return best, value
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
