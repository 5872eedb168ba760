package lsq

import (
	"math"
	"slices"
)

// linearise reduces the Jacobian at the current place to singular values of
// its triangle with columns scaled, ready for any number of damped steps, and
// returns the length of the part of the residual that the parameters can take
// away.
func (f *fitter) linearise() float64 {
	p := f.problem.Params
	f.weighted()
	triangle(f.a, f.problem.Residuals, p, f.b, f.reduce)
	f.rescale()
	q := f.b[:p]
	for j := range p {
		col := f.w[j*p : j*p+p]
		clear(col)
		for i := range j + 1 {
			col[i] = f.a[i*p+j] / f.scale[j]
		}
	}
	svd(f.w, f.v, f.s2, p)
	return math.Sqrt(f.project(q))
}

// project writes the products of the columns of w with q, and returns the
// squared length of q's part in their span. A direction whose singular value
// is rounding has no part: no step is taken along it.
func (f *fitter) project(q []float64) float64 {
	const rounding = 1e-13 // of the largest singular value
	p := len(q)
	floor := rounding * rounding * slices.Max(f.s2)
	sum := 0.0
	for j := range p {
		f.coef[j] = 0
		if f.s2[j] > floor {
			f.coef[j] = dot(f.w[j*p:j*p+p], q)
			sum += f.coef[j] * f.coef[j] / f.s2[j]
		}
	}
	return sum
}

// weighted copies Jacobian and residual for reduction, robust weights applied.
func (f *fitter) weighted() {
	copy(f.a, f.at.jac)
	copy(f.b, f.at.r)
	p := f.problem.Params
	for i, w := range f.weight {
		f.b[i] *= w
		for j := range p {
			f.a[i*p+j] *= w
		}
	}
}

// rescale keeps the longest length that each column has had, so that a
// parameter that loses its effect on the way is not let loose.
func (f *fitter) rescale() {
	p := f.problem.Params
	for j := range p {
		sum := 0.0
		for i := range j + 1 {
			sum = math.Hypot(sum, f.a[i*p+j])
		}
		f.scale[j] = math.Max(f.scale[j], sum)
		if f.scale[j] == 0 {
			f.scale[j] = negligible
		}
	}
}

// damped returns the length of the step for a damping of lambda, and its
// derivative for lambda.
func (f *fitter) damped(lambda float64) (length, slope float64) {
	sum := 0.0
	for j, c := range f.coef {
		if c == 0 {
			continue
		}
		d := f.s2[j] + lambda
		y := c / d
		sum += y * y
		slope -= y * y / d
	}
	length = math.Sqrt(sum)
	return length, slope / length
}

// damping returns the least damping for which the step is no longer than
// radius, within a tenth.
func (f *fitter) damping(radius float64) float64 {
	lambda := 0.0
	for range 60 {
		length, slope := f.damped(lambda)
		if !(length > 1.1*radius) {
			break
		}
		if slope == 0 || math.IsInf(length, 0) || math.IsNaN(slope) {
			lambda = norm(f.coef) / radius // the step is below the radius here
			break
		}
		// Newton on 1/length, which is nearly straight: from below it never
		// passes the solution.
		lambda -= (length / radius) * (length - radius) / slope
	}
	return lambda
}

// take writes the damped step into step, in scaled parameters, and returns
// its length and by how much the sum of squares should fall.
func (f *fitter) take(lambda float64) (length, gain float64) {
	p := f.problem.Params
	clear(f.step)
	for j, c := range f.coef {
		if c == 0 {
			continue
		}
		d := f.s2[j] + lambda
		y := c / d
		gain += y * y * (f.s2[j] + 2*lambda)
		for i, v := range f.v[j*p : j*p+p] {
			f.step[i] -= v * y
		}
	}
	return norm(f.step), gain
}

func norm(x []float64) float64 { return math.Sqrt(dot(x, x)) }
