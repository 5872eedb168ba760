package fit

import (
	"errors"
	"fmt"
	"math"

	"meniscus/curve"
	"meniscus/num/lsq"
	"meniscus/titration"
	"meniscus/uncertainty"
)

// An Extender fits a curve again with one more parameter after another, from
// the answer there is, and says what each of them brings.
type Extender struct {
	c     *curve.Curve
	t     *titration.Titration
	noise Noise
	base  []titration.Parameter
	start []float64
	ssr   float64
}

// An Extension is what one further parameter brings.
type Extension struct {
	Extra    Estimate
	Result   *Result
	Before   float64 // sum of squared reduced residuals without it, at the same noise
	After    float64
	F        float64 // (Before-After) over After per degree of freedom
	P        float64 // probability of so large an F by chance
	Together float64 // largest coefficient of correlation of it with another parameter, signed
	With     string  // that parameter
}

// NewExtender takes a fit as the one to improve on. A robust fit has no sum of
// squares to compare: leave its doubted readings out and fit again.
func NewExtender(c *curve.Curve, t *titration.Titration, r *Result) (*Extender, error) {
	x := &Extender{c: c, t: t, noise: r.Noise}
	for _, q := range r.Estimates {
		x.base, x.start = append(x.base, q.Parameter), append(x.start, q.Value)
	}
	f, err := x.fit(t, x.base, x.start)
	if err != nil {
		return nil, fmt.Errorf("repeating the fit: %w", err)
	}
	x.ssr, x.start = f.res.SSR, f.res.Params
	return x, nil
}

func (x *Extender) fit(t *titration.Titration, params []titration.Parameter, start []float64) (*fitter, error) {
	f := &fitter{c: x.c, t: t, params: params, opt: Options{Noise: x.noise, Parameters: params}}
	if err := f.readings(); err != nil {
		return nil, err
	}
	if len(params) >= len(f.v) {
		return nil, refuse("%d readings cannot give %d parameters", len(f.v), len(params))
	}
	m, err := t.NewModel(params, f.output())
	if err != nil {
		return nil, err
	}
	f.model = m
	f.taking = f.newTaking()
	f.prob = lsq.Problem{Params: len(params), Residuals: len(f.v), Eval: f.eval}
	f.shift = make([]float64, len(f.v))
	res, err := lsq.Fit(f.prob, start, f.settings(), &f.ws)
	if err != nil {
		return nil, err
	}
	f.res = clone(res)
	return f, f.set(f.res.Params)
}

// With fits one more parameter. An error says why the readings cannot tell it.
func (x *Extender) With(extra titration.Parameter) (*Extension, error) {
	return x.WithIn(x.t, x.base, extra)
}

// WithIn is With in another titration, such as one with an impurity, in which
// base are the parameters of the fit before, in their order.
func (x *Extender) WithIn(t *titration.Titration, base []titration.Parameter, extra titration.Parameter) (*Extension, error) {
	params := append(append([]titration.Parameter{}, base...), extra)
	m, err := t.NewModel(params[len(base):], titration.Potential)
	if err != nil {
		return nil, err
	}
	first := m.Start()[0]
	if extra.Kind == titration.Lag {
		first = startLag
	}
	f, err := x.fit(t, params, append(append([]float64{}, x.start...), first))
	var sing *lsq.SingularError
	if errors.As(err, &sing) {
		return nil, refuse("these readings cannot tell %s from the rest", extra.Name)
	}
	if err != nil {
		return nil, err
	}
	return x.compare(f)
}

func (x *Extender) compare(f *fitter) (*Extension, error) {
	r, err := f.report()
	if err != nil {
		return nil, err
	}
	n := len(r.Estimates)
	e := &Extension{Result: r, Extra: r.Estimates[n-1], Before: x.ssr, After: f.res.SSR}
	if r.Freedom < 1 || e.After <= 0 {
		return nil, refuse("no reading is left to tell whether %s is right", e.Extra.Name)
	}
	e.F = max(0, (e.Before-e.After)/(e.After/float64(r.Freedom)))
	e.P = 2 * uncertainty.TCDF(-math.Sqrt(e.F), float64(r.Freedom))
	scale := 1.0
	if r.ChiSquare > 1 && r.Covariance[n*n-1] <= f.res.Covariance[n*n-1]*(1+1e-9) {
		scale = math.Sqrt(r.ChiSquare) // residuals larger than the noise speak for themselves
	}
	e.Extra.StdUnc *= scale
	for k, q := range r.Estimates[:n-1] {
		c := r.Covariance[k*n+n-1] / math.Sqrt(r.Covariance[k*n+k]*r.Covariance[n*n-1])
		if math.Abs(c) > math.Abs(e.Together) {
			e.Together, e.With = c, q.Name
		}
	}
	return e, nil
}

// Keep returns an extender that improves on the fit of e.
func (x *Extender) Keep(t *titration.Titration, e *Extension) *Extender {
	y := &Extender{c: x.c, t: t, noise: x.noise, ssr: e.After}
	for _, q := range e.Result.Estimates {
		y.base, y.start = append(y.base, q.Parameter), append(y.start, q.Value)
	}
	return y
}

// SSR returns the sum of squared reduced residuals to improve on.
func (x *Extender) SSR() float64 { return x.ssr }

// Parameters returns those of the fit that is improved on.
func (x *Extender) Parameters() []titration.Parameter { return x.base }
