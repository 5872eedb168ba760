package assay

import (
	"math"

	"meniscus/setup"
	"meniscus/titration"
)

// A solution has the concentrations that put equivalences at given volumes,
// with their derivatives: weight[i][j] is that of concentration i by volume j,
// slope[i][k] by parameter k beyond those sought.
type solution struct {
	values        []float64
	weight, slope [][]float64
}

// solve finds the values of the model's first parameters, as many as there are
// points, that put the equivalences of the points at their volumes less the
// blank. Volumes are straight functions of amounts in the flask while the
// order of the reactions stays, and reciprocal ones of a concentration in the
// burette, so a few Newton steps do.
func solve(m *titration.Model, points []*Point, blank float64, inBurette bool) (*solution, bool) {
	n := len(points)
	values := m.Start()
	for range 60 {
		eq, err := m.Equivalences(1e4)
		if err != nil {
			return nil, false
		}
		at, ok := matching(eq, points, n)
		if !ok {
			return nil, false
		}
		inverse, ok := inverted(at, n)
		if !ok {
			return nil, false
		}
		moved := 0.0
		next := append([]float64(nil), values...)
		for i := range n {
			for j, q := range at {
				next[i] += inverse[i][j] * (float64(points[j].Volume) - blank - q.Volume)
			}
			if inBurette {
				next[i] = values[i] * at[0].Volume / (float64(points[0].Volume) - blank)
			}
			if !(next[i] > 0) || math.IsInf(next[i], 0) {
				return nil, false
			}
			moved = math.Max(moved, math.Abs(next[i]/values[i]-1))
		}
		values = next
		if m.Set(values) != nil {
			return nil, false
		}
		if moved < 1e-13 {
			return derivatives(values[:n], at, inverse), true
		}
	}
	return nil, false
}

// matching gives each point its equivalence: by the species used up there, and
// where no such name helps by its place among those that move with what is
// sought.
func matching(eq []titration.Equivalence, points []*Point, n int) ([]*titration.Equivalence, bool) {
	var moving []*titration.Equivalence
	for i := range eq {
		for _, g := range eq[i].Gradient[:n] {
			if g != 0 {
				moving = append(moving, &eq[i])
				break
			}
		}
	}
	if len(moving) < n {
		return nil, false
	}
	list, taken := make([]*titration.Equivalence, n), map[*titration.Equivalence]bool{}
	for j, p := range points {
		for _, q := range moving {
			if p.Species == q.Species && !taken[q] {
				list[j], taken[q] = q, true
				break
			}
		}
	}
	for j := range list {
		for _, q := range moving {
			if list[j] == nil && !taken[q] {
				list[j], taken[q] = q, true
			}
		}
	}
	return list, true
}

// inverted is the inverse of the derivatives of the volumes by what is sought,
// by elimination with pivots.
func inverted(at []*titration.Equivalence, n int) ([][]float64, bool) {
	a := make([][]float64, n)
	for i := range a {
		a[i] = make([]float64, 2*n)
		copy(a[i], at[i].Gradient[:n])
		a[i][n+i] = 1
	}
	for c := range n {
		best := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[best][c]) {
				best = r
			}
		}
		a[c], a[best] = a[best], a[c]
		if math.Abs(a[c][c]) < 1e-9*math.Abs(at[best].Gradient[c])+1e-300 {
			return nil, false
		}
		for r := range n {
			k := a[r][c] / a[c][c]
			if r == c {
				continue
			}
			for j := range a[r] {
				a[r][j] -= k * a[c][j]
			}
		}
	}
	inverse := make([][]float64, n)
	for i := range a {
		for j := range n {
			inverse[i] = append(inverse[i], a[i][n+j]/a[i][i])
		}
	}
	return inverse, true
}

func derivatives(values []float64, at []*titration.Equivalence, inverse [][]float64) *solution {
	n := len(values)
	s := &solution{values: values, weight: inverse}
	for i := range n {
		row := make([]float64, len(at[0].Gradient)-n)
		for k := range row {
			for j, q := range at {
				row[k] -= inverse[i][j] * q.Gradient[n+k]
			}
		}
		s.slope = append(s.slope, row)
	}
	return s
}

// groups says which of the sought are found together: those in the flask where
// each has an end point of its own, with these; others one by one.
func (e *Evaluation) groups() (targets [][]setup.Target, points [][]*Point) {
	var flask, rest []setup.Target
	for _, f := range e.Setup.Find {
		if f.InBurette {
			rest = append(rest, f)
		} else {
			flask = append(flask, f)
		}
	}
	if len(flask) > 1 {
		if own := e.ownPoints(flask); own != nil {
			targets, points = append(targets, flask), append(points, own)
		} else { // with the others as the setup guesses them each would look known
			e.warnf("%d substances are sought in the flask and the end points do not tell them apart, so no concentration of each is given: seek one of them, with the others as they are known, or their sum as one", len(flask))
		}
		flask = nil
	}
	for _, f := range append(flask, rest...) {
		if p := e.mainPoint(f.Species); p != nil {
			targets, points = append(targets, []setup.Target{f}), append(points, []*Point{p})
		}
	}
	return targets, points
}

// ownPoints gives as many different end points as there are targets, in order
// of volume: those that bear their names, then others that the curve shows.
func (e *Evaluation) ownPoints(targets []setup.Target) []*Point {
	take := make([]bool, len(e.EquivalencePoints))
	n := 0
	for _, f := range targets {
		for i, p := range e.EquivalencePoints {
			if p.Species == f.Species && !take[i] {
				take[i] = true
				n++
				break
			}
		}
	}
	for i, p := range e.EquivalencePoints {
		if n < len(targets) && !take[i] && e.shows(p) {
			take[i] = true
			n++
		}
	}
	var list []*Point
	for i := range take {
		if take[i] {
			list = append(list, &e.EquivalencePoints[i])
		}
	}
	if len(list) < len(targets) {
		return nil
	}
	return list
}

// shows says whether the curve jumps at a point, where the regression knows.
func (e *Evaluation) shows(p Point) bool {
	if e.Fit == nil || e.Recommended != 0 {
		return true
	}
	for _, q := range e.Fit.Equivalences {
		if q.Volume == p.Volume {
			return q.Visible
		}
	}
	return true
}
