package endpoint

import (
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/unit"
)

// Straight lines of a pair.
const (
	perLine   = 5    // readings on each line, at least
	fieller95 = 1.96 // normal deviate of 95 %
)

// sums of a straight line, from which every prefix gives its line at once.
type sums struct{ n, v, y, vv, vy, yy float64 }

func (a sums) minus(b sums) sums {
	return sums{a.n - b.n, a.v - b.v, a.y - b.y, a.vv - b.vv, a.vy - b.vy, a.yy - b.yy}
}

// rest is the residual sum of squares of the line.
func (a sums) rest() float64 {
	vv, vy, yy := a.vv-a.v*a.v/a.n, a.vy-a.v*a.y/a.n, a.yy-a.y*a.y/a.n
	if !(vv > 0) {
		return max(yy, 0)
	}
	return max(yy-vy*vy/vv, 0)
}

// A pairLine is y = a + b (v - centre), with its variances for unit noise.
type pairLine struct{ a, b, centre, varA, varB float64 }

func (a sums) line() pairLine {
	vv := a.vv - a.v*a.v/a.n
	return pairLine{a.y / a.n, (a.vy - a.v*a.y/a.n) / vv, a.v / a.n, 1 / a.n, 1 / vv}
}

// straightLinePair fits two straight lines to a reading that is linear in
// volume on either side of the end point, and intersects them. The break is
// put where the residual sum of squares of both is least; the readings next to
// it are left out while the lines without them meet where they were, because
// the curve is rounded there. It refuses curves whose branches are not
// straight, which potentials and pH never are.
func straightLinePair(c *curve.Curve, opt Options) Result {
	const name = "straight-line-pair"
	s, why := prepare(c, opt)
	if why != "" {
		return refused(name, why)
	}
	r := Result{Method: name, Warnings: s.warnings, Detail: s.detail()}
	if len(s.v) < 2*perLine {
		r.Refused = fmt.Sprintf("%d different volumes are too few: two lines need %d", len(s.v), 2*perLine)
		return r
	}
	p := s.split()
	if why := p.check(s); why != "" {
		r.Refused = why
		return r
	}
	ve, u, line, why := p.meet(s)
	if why != "" {
		r.Refused = why
		return r
	}
	r.Points = []EndPoint{s.endPoint(1, ve, u, p.lo+len(s.v)-p.hi, nil)}
	r.Points[0].Value = line.Intercept
	r.Detail.Lines = []Line{line}
	return r
}

// A pair of lines: readings up to lo, and from hi on.
type pair struct {
	lo, hi       int
	left, right  pairLine
	noise        float64 // from the scatter about both
	centre, rest float64
	whole        float64 // residual sum of squares of one line through all
}

// split finds the break. Volumes and readings are shifted to their means,
// which the sums of squares need for their digits.
func (s *series) split() pair {
	n := len(s.v)
	mv, my := mean(s.v), mean(s.y)
	prefix := make([]sums, n+1)
	for i := range n {
		v, y := s.v[i]-mv, s.y[i]-my
		q := prefix[i]
		prefix[i+1] = sums{q.n + 1, q.v + v, q.y + y, q.vv + v*v, q.vy + v*y, q.yy + y*y}
	}
	p := pair{centre: mv, whole: prefix[n].rest(), rest: math.Inf(1)}
	for k := perLine; k <= n-perLine; k++ {
		if rest := prefix[k].rest() + prefix[n].minus(prefix[k]).rest(); rest < p.rest {
			p.lo, p.hi, p.rest = k, k, rest
		}
	}
	p.trim(s, prefix)
	p.left, p.right = prefix[p.lo].line(), prefix[n].minus(prefix[p.hi]).line()
	p.left.a, p.right.a = p.left.a+my, p.right.a+my
	p.left.centre, p.right.centre = p.left.centre+mv, p.right.centre+mv
	p.noise = math.Sqrt(p.rest / float64(p.lo+n-p.hi-4))
	return p
}

// trim leaves out readings next to the break while that lowers the variance
// of the scatter by more than a fifth: rounding, not noise.
func (p *pair) trim(s *series, prefix []sums) {
	n := len(s.v)
	for {
		variance := p.rest / float64(p.lo+n-p.hi-4)
		best, lo, hi := 0.8*variance, 0, 0
		for _, d := range [3][2]int{{1, 0}, {0, 1}, {1, 1}} {
			a, b := p.lo-d[0], p.hi+d[1]
			if a < perLine || b > n-perLine || a+n-b < n/2 {
				continue
			}
			rest := prefix[a].rest() + prefix[n].minus(prefix[b]).rest()
			if v := rest / float64(a+n-b-4); v < best {
				best, lo, hi = v, a, b
			}
		}
		if hi == 0 || variance < 1e-24 {
			return
		}
		p.lo, p.hi = lo, hi
		p.rest = prefix[lo].rest() + prefix[n].minus(prefix[hi]).rest()
	}
}

func mean(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// check refuses what is not two straight lines: one line does as well, or a
// branch is curved (its halves lie on the same side of it, by the scatter of
// neighbours).
func (p *pair) check(s *series) string {
	if p.whole < 4*p.rest || p.whole < 1e-18 {
		return "one straight line describes the readings as well as two"
	}
	if left, right := s.bend(0, p.lo), s.bend(p.hi, len(s.v)); max(left, right) > 4 {
		return "the branches are curved: two straight lines do not describe these readings"
	}
	return ""
}

// bend is the quadratic term of a stretch over its standard deviation, which
// comes from second differences: these know nothing of a slow curve. A stated
// noise below that counts instead.
func (s *series) bend(lo, hi int) float64 {
	v, y := s.v[lo:hi], s.y[lo:hi]
	if len(v) < perLine {
		return 0
	}
	var sum float64
	n := 0
	for i := 1; i < len(v)-1; i++ {
		f := (v[i] - v[i-1]) / (v[i+1] - v[i-1])
		d := (y[i] - (1-f)*y[i-1] - f*y[i+1]) / math.Sqrt(1+f*f+(1-f)*(1-f))
		sum += d * d
		n++
	}
	noise := math.Sqrt(sum / float64(n))
	if !s.estimated {
		noise = min(noise, s.noise)
	}
	q, gain := quadratic(v, y)
	if !(gain > 0) || !(math.Abs(q) > 1e-12*(slices.Max(y)-slices.Min(y))) {
		return 0
	}
	return math.Abs(q) / (math.Sqrt(gain) * max(noise, 1e-300))
}

// quadratic returns the coefficient of the square, and its variance for unit
// noise, by the part of the square that no straight line has.
func quadratic(v, y []float64) (q, gain float64) {
	m := mean(v)
	t := make([]float64, len(v))
	w := max(v[len(v)-1]-m, m-v[0])
	var s2, s3, s1 float64
	for i := range v {
		d := (v[i] - m) / w
		s1, s2, s3 = s1+d, s2+d*d, s3+d*d*d
	}
	n := float64(len(v))
	var tt, ty float64
	my := mean(y)
	for i := range v {
		d := (v[i] - m) / w
		t[i] = d*d - s2/n - s3/s2*d
		tt, ty = tt+t[i]*t[i], ty+t[i]*(y[i]-my)
	}
	return ty / tt, 1 / tt
}

// meet intersects the lines, with Fieller's interval for the ratio
// -(difference of levels)/(difference of slopes) (Fieller 1954, from memory).
func (p *pair) meet(s *series) (ve, u float64, line Line, why string) {
	l, r := p.left, p.right
	noise := p.noise // scatter holds the noise of volumes too
	if !s.estimated {
		noise = max(noise, math.Hypot(s.noise, max(math.Abs(l.b), math.Abs(r.b))*s.noiseV))
	}
	// Both lines about the left one's centre.
	shift := l.centre - r.centre
	num, den := l.a-(r.a+r.b*shift), r.b-l.b
	vn := noise * noise * (l.varA + r.varA + r.varB*shift*shift)
	vd := noise * noise * (l.varB + r.varB)
	cov := -noise * noise * r.varB * shift
	x := num / den
	lo, hi, ok := fieller(x, den, vn, vd, cov, fieller95)
	lo1, hi1, ok1 := fieller(x, den, vn, vd, cov, 1)
	ve = l.centre + x
	switch {
	case !ok || !ok1:
		return 0, 0, line, "the lines are too nearly parallel: their meeting point has no bounded interval"
	case ve < s.v[p.lo-1]-(s.v[p.hi]-s.v[p.lo-1]) || ve > s.v[p.hi]+(s.v[p.hi]-s.v[p.lo-1]):
		return 0, 0, line, fmt.Sprintf("the lines meet at %s, away from the break between them", ml(ve))
	}
	line = Line{
		Order: 1, Name: "two lines", From: s.v[0], To: s.v[len(s.v)-1], Points: p.lo + len(s.v) - p.hi,
		A: s.dir * (l.a - l.b*l.centre), B: s.dir * l.b, Intercept: s.dir * (l.a + l.b*x),
		Noise: unit.Volume(0.5 * (hi1 - lo1)),
		Low:   unit.Volume(l.centre + lo), High: unit.Volume(l.centre + hi),
	}
	return ve, 0.5 * (hi1 - lo1), line, ""
}

// fieller returns the interval of x = num/den at z standard deviations: where
// (num - x den)² <= z² (vn - 2 x cov + x² vd). Not bounded when den itself may
// be zero.
func fieller(x, den, vn, vd, cov, z float64) (lo, hi float64, ok bool) {
	num := x * den
	a := den*den - z*z*vd
	b := num*den - z*z*cov
	c := num*num - z*z*vn
	root := b*b - a*c
	if !(a > 0) || root < 0 {
		return 0, 0, false
	}
	root = math.Sqrt(root)
	return (b - root) / a, (b + root) / a, true
}

func sortByVolume(p []EndPoint) {
	slices.SortStableFunc(p, func(a, b EndPoint) int {
		switch {
		case a.Volume < b.Volume:
			return -1
		case a.Volume > b.Volume:
			return 1
		}
		return 0
	})
}
