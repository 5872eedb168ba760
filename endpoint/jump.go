package endpoint

import (
	"fmt"
	"slices"
)

// A steep is a jump that was found: the steepest interval, from point at to
// at+1, and the flattest places on either side of it.
type steep struct {
	at          int
	left, right int // interval indices of the flanks
	slope       float64
}

// What makes a steep place a jump.
const (
	side     = 3   // readings wanted on either side
	contrast = 2.0 // times steeper than the flatter... of both flanks, at least
	signal   = 10. // times the noise that the height above the flanks has, at least
	share    = .08 // of the greatest height that a further jump has, at least; a quarter of that where it is expected
	valley   = 0.5 // between two jumps the slope falls below this part of the smaller
)

// findJumps returns the jumps in order of volume, or why there is none.
//
// A jump is an interval steeper than any near it, judged by the difference of
// the medians of three readings on either side, so that a single outlier makes
// none. It has to be contrast times as steep as the flattest place on either
// side, and its height above them signal times the noise, and share of the
// greatest jump's.
func (s *series) findJumps() ([]steep, string) {
	n := len(s.v)
	if n < 2*side {
		return nil, fmt.Sprintf("%d different volumes are too few: %d are needed, %d on either side of the jump", n, 2*side, side)
	}
	g := s.slopes()
	wide, span := s.wideSlopes()
	var found []steep
	for _, k := range peaks(wide) {
		j := s.climb(g, wide, k, found)
		if s.isJump(wide, span, j, found) && !slices.ContainsFunc(found, func(f steep) bool { return s.joined(wide, f, j) }) {
			found = append(found, j)
		}
		if s.opt.Expected > 0 && len(found) == s.opt.Expected {
			break
		}
	}
	if len(found) == 0 {
		return nil, s.whyNone(wide)
	}
	if s.opt.Expected > len(found) {
		return nil, fmt.Sprintf("%d end points were expected and %s found", s.opt.Expected, plural(len(found), "jump was", "jumps were"))
	}
	slices.SortFunc(found, func(a, b steep) int { return a.at - b.at })
	for i := 1; i < len(found); i++ { // flanks of neighbours do not cross
		found[i].left = max(found[i].left, found[i-1].at+1)
		found[i-1].right = min(found[i-1].right, found[i].at-1)
	}
	return found, ""
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// whyNone tells a titration that stopped early from noise.
func (s *series) whyNone(wide []float64) string {
	n := len(wide)
	if height := slices.Max(s.y) - slices.Min(s.y); height < signal*s.noise {
		return fmt.Sprintf("no jump: the readings span %.3g, the noise is %.3g", height, s.noise)
	}
	usual := max(0, median(wide))
	switch {
	case wide[n-1] > contrast*usual:
		return "no jump between the readings: the curve is getting steeper at its end, so the titration stopped before the end point or right after it"
	case wide[0] > contrast*usual:
		return "no jump between the readings: the curve is steepest at its beginning"
	}
	return "no jump stands out of the readings around it"
}

// slopes returns the slope of each interval.
func (s *series) slopes() []float64 {
	g := make([]float64, len(s.v)-1)
	for i := range g {
		g[i] = (s.y[i+1] - s.y[i]) / (s.v[i+1] - s.v[i])
	}
	return g
}

// wideSlopes returns for each interval the slope between the medians of the
// three readings before and after it, and the distance of those. Near the
// ends, where there are not three, the slope between the last three readings.
func (s *series) wideSlopes() (wide, span []float64) {
	n := len(s.v) - 1
	wide, span = make([]float64, n), make([]float64, n)
	for i := range n {
		switch {
		case i < side-1:
			span[i] = s.v[2] - s.v[0]
			wide[i] = (s.y[2] - s.y[0]) / span[i]
		case i > n-side:
			span[i] = s.v[n] - s.v[n-2]
			wide[i] = (s.y[n] - s.y[n-2]) / span[i]
		default:
			span[i] = s.v[i+2] - s.v[i-1]
			wide[i] = (median3(s.y[i+1:]) - median3(s.y[i-2:])) / span[i]
		}
	}
	return wide, span
}

func median3(x []float64) float64 {
	a, b, c := x[0], x[1], x[2]
	return max(min(a, b), min(max(a, b), c))
}

// peaks returns the places of local maxima with three readings on either
// side, the steepest first, and the steepest of all even where it is none.
func peaks(wide []float64) []int {
	var out []int
	best := side - 1
	for i := side - 1; i <= len(wide)-side; i++ {
		if wide[i] > wide[best] {
			best = i
		}
		if i > 0 && i < len(wide)-1 && wide[i] >= wide[i-1] && wide[i] > wide[i+1] {
			out = append(out, i)
		}
	}
	if !slices.Contains(out, best) {
		out = append(out, best)
	}
	slices.SortStableFunc(out, func(a, b int) int {
		switch {
		case wide[a] > wide[b]:
			return -1
		case wide[a] < wide[b]:
			return 1
		}
		return 0
	})
	const most = 50 // more candidates than this are noise
	return out[:min(len(out), most)]
}

// climb goes from a wide peak to the steepest interval that belongs to it,
// and down both flanks as far as the neighbouring jumps or the ends.
func (s *series) climb(g, wide []float64, k int, found []steep) steep {
	lo, hi := 0, len(g)-1
	for _, f := range found {
		if f.at < k {
			lo = max(lo, f.at+1)
		} else {
			hi = min(hi, f.at-1)
		}
	}
	j := steep{at: k, left: k, right: k}
	for i := k; i >= max(lo, side-1) && wide[i] >= valley*wide[k]; i-- {
		j.at = steeper(g, i, j.at)
	}
	for i := k; i <= min(hi, len(g)-side) && wide[i] >= valley*wide[k]; i++ {
		j.at = steeper(g, i, j.at)
	}
	for i := k; i >= lo; i-- {
		if wide[i] < wide[j.left] {
			j.left = i
		}
	}
	for i := k; i <= hi; i++ {
		if wide[i] < wide[j.right] {
			j.right = i
		}
	}
	j.slope = wide[k]
	return j
}

func steeper(g []float64, a, b int) int {
	if g[a] > g[b] {
		return a
	}
	return b
}

func (s *series) isJump(wide, span []float64, j steep, found []steep) bool {
	flank := max(0, wide[j.left], wide[j.right])
	if j.at <= j.left || j.at >= j.right {
		return false
	}
	height, share := signal*s.noise, share
	if s.opt.Expected > len(found) {
		share /= 4
	}
	for _, f := range found {
		height = max(height, share*f.slope*span[f.at])
	}
	return s.withoutEither(j.at) >= contrast*flank && (j.slope-flank)*span[j.at] > height
}

// withoutEither is the smaller slope across an interval when the reading at
// one of its ends is left out: an outlier is steep only with itself.
func (s *series) withoutEither(i int) float64 {
	return min((s.y[i+1]-s.y[i-1])/(s.v[i+1]-s.v[i-1]), (s.y[i+2]-s.y[i])/(s.v[i+2]-s.v[i]))
}

// joined reports that no valley lies between two jumps.
func (s *series) joined(wide []float64, a, b steep) bool {
	lo, hi := min(a.at, b.at), max(a.at, b.at)
	return slices.Min(wide[lo:hi+1]) >= valley*min(a.slope, b.slope) || hi-lo < 2
}

// warnSides says when readings are thin around a jump.
func (s *series) warnSides(i int) []string {
	before, after := i+1, len(s.v)-1-i
	var out []string
	if before < side+2 {
		out = append(out, fmt.Sprintf("only %d readings before the end point", before))
	}
	if after < side+2 {
		out = append(out, fmt.Sprintf("only %d readings after the end point", after))
	}
	return out
}
