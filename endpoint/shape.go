package endpoint

import (
	"math"

	"meniscus/num/smooth"
)

// A shape is a smooth curve through the readings around a jump, from which
// readings are drawn again. Where it can it is
//
//	y = c + (a+b)/2 asinh(t) + (b-a)/4 ln(1+t²),  t = (v - v0)/w
//
// which goes as -a ln|t| before and b ln t after: the form, near the
// equivalence point, of any titration whose potential follows the logarithm of
// what is not yet titrated on one side and of the excess on the other. For
// a = b it is exact for one to one reactions (the inverse hyperbolic sine of
// Kolthoff and Furman, Potentiometric Titrations, 1931, from memory). So the
// branches tell how narrow the jump is even where no reading falls into it.
// Otherwise it is a local polynomial.
type shape struct {
	c, a, b, v0, logw float64
	grid              []float64 // local polynomial at equal steps from v0, w apart; nil: the formula
	w                 float64
}

func (f *shape) at(v float64) float64 {
	t := (v - f.v0) / f.w
	if f.grid != nil {
		i := min(max(int(t), 0), len(f.grid)-2)
		return f.grid[i] + (t-float64(i))*(f.grid[i+1]-f.grid[i])
	}
	r := math.Sqrt(1 + t*t) // |t| < 1e20, see shapeBounds
	y := 0.5 * (f.a + f.b) * math.Copysign(math.Log(math.Abs(t)+r), t)
	if f.a != f.b {
		y += 0.5 * (f.b - f.a) * math.Log(r)
	}
	return f.c + y
}

// inflection returns where the slope is greatest. With t = tan h the slope is
// cos h (A + B sin h)/w, A = (a+b)/2 and B = (b-a)/2, so sin h solves
// 2B q² + A q - B = 0.
func (f *shape) inflection() float64 {
	if f.grid != nil {
		best := 0
		for i := range len(f.grid) - 1 {
			if f.grid[i+1]-f.grid[i] > f.grid[best+1]-f.grid[best] {
				best = i
			}
		}
		return f.v0 + (float64(best)+0.5)*f.w
	}
	a, b := 0.5*(f.a+f.b), 0.5*(f.b-f.a)
	if math.Abs(b) < 1e-9*a {
		return f.v0
	}
	q := (-a + math.Sqrt(a*a+8*b*b)) / (4 * b)
	return f.v0 + f.w*q/math.Sqrt(1-q*q)
}

const shapeParams = 5

// evenTrust is what a better fit has to gain, in units of chi-square, before
// branches of unequal slope are believed: noise of the slopes would put
// biases into the draws that the readings do not have.
const evenTrust = 9

// fitShape fits the readings v, y around a jump between v[at] and v[at+1]. The
// second result is false where the formula does not describe them.
func fitShape(v, y []float64, at int, noise, noiseV float64) (*shape, bool) {
	n := len(v)
	if n < shapeParams+1 {
		return nil, false
	}
	h, height := v[at+1]-v[at], y[n-1]-y[0]
	f := &shape{c: 0.5 * (y[at] + y[at+1]), v0: 0.5 * (v[at] + v[at+1])}
	f.a, f.b = branch(v[:at+1], y[:at+1], f.v0), branch(v[at+1:], y[at+1:], f.v0)
	step := math.Abs(y[at+1]-y[at]) / (0.5 * (f.a + f.b))
	f.setWidth(math.Log(h) - min(max(0.5*step, 0), 40))
	bounds := shapeBounds{lo: v[at] - h, hi: v[at+1] + h, h: h, slope: 1e-3 * height}
	bounds.floor = math.Pow(0.005*height, 2) + noise*noise
	even := *f
	even.a = 0.5 * (f.a + f.b)
	even.b = even.a
	bounds.even = true
	cost := even.improve(v, y, noiseV, bounds)
	bounds.even = false
	if f.improve(v, y, noiseV, bounds) > cost-evenTrust {
		*f = even
	}
	var sum float64
	for i := range v {
		d := y[i] - f.at(v[i])
		sum += d * d / (1 + math.Pow(f.slopeAt(v[i])*noiseV, 2)/bounds.floor)
	}
	return f, math.Sqrt(sum/float64(n)) < max(0.05*height, 3*noise)
}

func (f *shape) setWidth(logw float64) { f.logw, f.w = logw, math.Exp(logw) }

// branch estimates dy/dln|v-v0| from the ends of one branch; positive.
func branch(v, y []float64, v0 float64) float64 {
	n := len(v) - 1
	d := math.Log(math.Abs(v[n]-v0)) - math.Log(math.Abs(v[0]-v0))
	return max(math.Abs((y[n]-y[0])/d), 1e-6)
}

// slopeAt returns dy/dv.
func (f *shape) slopeAt(v float64) float64 {
	t := (v - f.v0) / f.w
	r := math.Hypot(1, t)
	return (0.5*(f.a+f.b)/r + 0.5*(f.b-f.a)*t/(r*r)) / f.w
}

// shapeBounds keep the fit at the jump it was started from.
type shapeBounds struct {
	lo, hi float64 // of v0
	h      float64 // the step; w stays between e^-40 and 50 of it
	slope  float64 // least of a and b
	floor  float64 // variance of a reading, with what the formula may miss
	even   bool    // a = b
}

func (b shapeBounds) hold(f *shape) {
	f.v0 = min(max(f.v0, b.lo), b.hi)
	f.a, f.b = max(f.a, b.slope), max(f.b, b.slope)
	f.setWidth(min(max(f.logw, math.Log(b.h)-40), math.Log(50*b.h)))
}

// improve is a damped Gauss-Newton iteration. It returns the cost reached.
func (f *shape) improve(v, y []float64, noiseV float64, b shapeBounds) float64 {
	b.hold(f)
	damping := 1e-2
	cost := f.cost(v, y, noiseV, b.floor)
	for range 40 {
		var jtj [shapeParams][shapeParams]float64
		var jtr [shapeParams]float64
		f.normal(v, y, noiseV, b.floor, &jtj, &jtr)
		if b.even {
			tie(&jtj, &jtr)
		}
		for i := range jtj {
			jtj[i][i] *= 1 + damping
			jtj[i][i] += 1e-300
		}
		d, ok := solve(jtj, jtr)
		next := *f
		if ok {
			if b.even {
				d[2] = d[1]
			}
			next.c, next.a, next.b, next.v0 = f.c+d[0], f.a+d[1], f.b+d[2], f.v0+d[3]
			next.logw = f.logw + min(max(d[4], -2), 2)
			b.hold(&next)
		}
		if trial := next.cost(v, y, noiseV, b.floor); ok && trial < cost {
			done := cost-trial < 1e-6*cost
			*f, cost, damping = next, trial, 0.2*damping
			if done {
				break
			}
		} else if damping *= 8; damping > 1e8 {
			break
		}
	}
	return cost
}

// tie makes one unknown of a and b, whose steps then agree.
func tie(jtj *[shapeParams][shapeParams]float64, jtr *[shapeParams]float64) {
	for i := range jtj {
		jtj[1][i] += jtj[2][i]
	}
	for i := range jtj {
		jtj[i][1] += jtj[i][2]
	}
	jtr[1] += jtr[2]
	for i := range jtj {
		jtj[2][i], jtj[i][2] = 0, 0
	}
	jtj[2][2], jtr[2] = 1, 0
}

// cost weighs with the variance of reading and volume, and its logarithm, so
// that a steep curve does not pay (the likelihood of normal errors).
func (f *shape) cost(v, y []float64, noiseV, floor float64) float64 {
	var sum float64
	for i := range v {
		g := f.slopeAt(v[i]) * noiseV
		variance := floor + g*g
		d := y[i] - f.at(v[i])
		sum += d*d/variance + math.Log1p(g*g/floor)
	}
	return sum
}

func (f *shape) normal(v, y []float64, noiseV, floor float64, jtj *[shapeParams][shapeParams]float64, jtr *[shapeParams]float64) {
	for i := range v {
		t := (v[i] - f.v0) / f.w
		as, ln, slope := math.Asinh(t), math.Log(math.Hypot(1, t)), f.slopeAt(v[i])
		g := slope * noiseV
		weight := 1 / (floor + g*g)
		grad := [shapeParams]float64{1, 0.5 * (as - ln), 0.5 * (as + ln), -slope, -slope * (v[i] - f.v0)}
		d := y[i] - f.at(v[i])
		for p := range grad {
			jtr[p] += weight * grad[p] * d
			for q := range grad {
				jtj[p][q] += weight * grad[p] * grad[q]
			}
		}
	}
}

// solve is Gauss elimination with pivots in the column.
func solve(a [shapeParams][shapeParams]float64, b [shapeParams]float64) ([shapeParams]float64, bool) {
	const n = shapeParams
	for i := range n {
		best := i
		for r := i + 1; r < n; r++ {
			if math.Abs(a[r][i]) > math.Abs(a[best][i]) {
				best = r
			}
		}
		a[i], a[best], b[i], b[best] = a[best], a[i], b[best], b[i]
		if a[i][i] == 0 || math.IsNaN(a[i][i]) {
			return b, false
		}
		for r := i + 1; r < n; r++ {
			f := a[r][i] / a[i][i]
			for c := i; c < n; c++ {
				a[r][c] -= f * a[i][c]
			}
			b[r] -= f * b[i]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for c := i + 1; c < n; c++ {
			b[i] -= a[i][c] * b[c]
		}
		b[i] /= a[i][i]
		if math.IsNaN(b[i]) || math.IsInf(b[i], 0) {
			return b, false
		}
	}
	return b, true
}

// smoothShape is the local quadratic through five readings, tabulated.
func smoothShape(v, y []float64) (*shape, bool) {
	const cells = 128
	f := &shape{v0: v[0], w: (v[len(v)-1] - v[0]) / cells, grid: make([]float64, cells+1)}
	for i := range f.grid {
		e, ok := smooth.At(v, y, v[0]+float64(i)*f.w, smooth.Settings{Points: 5, Degree: 2, Tricube: true})
		if !ok {
			return nil, false
		}
		f.grid[i] = e.Value
	}
	return f, true
}
