package uncertainty

import (
	"math"
	"slices"
)

// intervals returns the probabilistically symmetric and the shortest interval
// that hold the share p of the values (JCGM 101:2008, 7.7, from memory). It
// reorders values, and sorts no more of them than the tails.
func intervals(values []float64, p float64) (symmetric, shortest [2]float64) {
	m := len(values)
	q := min(max(int(math.Round(p*float64(m))), 1), m-1) // values inside
	out := m - q                                         // values outside
	if 2*out >= m {
		slices.Sort(values)
	} else {
		selectRank(values, out)
		selectRank(values[out:], q-out)
		slices.Sort(values[:out])
		slices.Sort(values[q:])
	}
	r := (out+1)/2 - 1 // rank from 0
	symmetric = [2]float64{values[r], values[r+q]}
	best := 0
	for r := range out {
		if values[r+q]-values[r] < values[best+q]-values[best] {
			best = r
		}
	}
	return symmetric, [2]float64{values[best], values[best+q]}
}

// selectRank puts the k smallest values, in any order, before all others.
func selectRank(v []float64, k int) {
	for budget := 64; len(v) > 32; budget-- {
		if k <= 0 || k >= len(v) {
			return
		}
		if budget == 0 { // never seen; keeps the time bounded
			break
		}
		i, j := partition(v, pivot(v, k))
		switch {
		case k <= j:
			v = v[:j+1]
		case k >= i:
			v, k = v[i:], k-i
		default:
			return
		}
	}
	slices.Sort(v)
}

// pivot guesses the value of rank k from a sample.
func pivot(v []float64, k int) float64 {
	var sample [63]float64
	n := 3
	if len(v) > 4000 {
		n = len(sample)
	}
	for i := range n {
		sample[i] = v[(2*i+1)*len(v)/(2*n)]
	}
	slices.Sort(sample[:n])
	return sample[min(k*n/len(v), n-1)]
}

// partition is Hoare's: afterwards v[:j+1] <= x <= v[i:], and what lies between
// is x.
func partition(v []float64, x float64) (i, j int) {
	i, j = 0, len(v)-1
	for i <= j {
		for v[i] < x {
			i++
		}
		for v[j] > x {
			j--
		}
		if i <= j {
			v[i], v[j] = v[j], v[i]
			i++
			j--
		}
	}
	return i, j
}
