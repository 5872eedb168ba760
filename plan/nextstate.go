package plan

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/fit"
)

// A state is one way the titration may be, given the readings: the logarithms
// of the sought concentrations over their guess, and the other parameters as
// the readings then have them.
type state struct {
	x      []float64
	values []float64
	like   float64 // logarithm of the likelihood
	log    float64 // the same times the prior
	chi    float64 // sum of squared reduced residuals
	weight float64
}

// The guess may be plainly wrong: this part of the prior has the wide
// uncertainty priorContent.
const wrongGuess = 0.05

// farMove bounds how far a parameter that is not sought is moved at a time, in
// its prior uncertainty: a hypothesis that needs more is no good one.
const farMove = 5

// Rounds of narrowing down where the end point may be.
const (
	firstStates = 240
	laterStates = 61
	rounds      = 20
	effective   = 12 // states that share the weight, at least, before the next round
)

// learn finds the states that the readings leave, by regression once the end
// point has been passed, and by importance sampling before.
func (p *progress) learn(c *curve.Curve) error {
	p.from = FromGuess
	if len(p.v) == 0 {
		return p.sample()
	}
	p.from = FromBoth
	if p.regress(c) {
		return p.checkModel()
	}
	if err := p.sample(); err != nil {
		return err
	}
	return p.checkModel()
}

// regress tries whole-curve regression, and reports whether it counts: the
// first end point wanted is behind, and the readings tell more of each than was
// known beforehand. Until then the guess still helps, which regression ignores.
func (p *progress) regress(c *curve.Curve) bool {
	r, err := fit.Curve(c, &p.t, p.targets, fit.Options{Noise: p.noise})
	var refused *fit.RefusedError
	if err != nil {
		if !errors.As(err, &refused) {
			p.warnings = append(p.warnings, "whole-curve regression ended badly: "+err.Error())
		}
		return false
	}
	p.fit = r
	behind := false
	for _, q := range p.quantities {
		if q.eq < 0 {
			continue
		}
		v, u, ok := p.fitted(q)
		if !ok || u > 2*slices.Max(p.known)*v {
			p.fit = nil
			return false
		}
		behind = behind || v+2*u < p.last()
	}
	if !behind {
		p.fit = nil
		return false
	}
	p.from = FromReadings
	p.warnings = append(p.warnings, r.Warnings...)
	return true
}

// sample finds the states: points spread over the prior are weighed with the
// readings, and spread anew over what remains, tempered so that no round
// narrows faster than its points can follow.
func (p *progress) sample() error {
	d := len(p.known)
	centre, width := make([]float64, d), make([]float64, d)
	for i := range width {
		width[i] = priorContent
	}
	for round := range rounds {
		n := laterStates
		if round == 0 {
			n = firstStates
		}
		p.states = p.states[:0]
		for i := range n {
			z := spread(i, n, d)
			x := make([]float64, d)
			q := 0.0
			for k := range x {
				x[k] = centre[k] + width[k]*z[k]
				q += math.Log(width[k]) + z[k]*z[k]/2
			}
			if s, ok := p.weigh(x); ok {
				s.log += q // over the density it was drawn from
				p.states = append(p.states, s)
			}
		}
		if len(p.states) == 0 {
			return refuse("off the model", "no concentration near the guess gives a curve for these readings; look at the setup")
		}
		if round == 0 {
			p.doubted()
		}
		tempered := p.temper()
		for k := range centre {
			m, v := 0.0, 0.0
			for _, s := range p.states {
				m += s.weight * s.x[k]
			}
			for _, s := range p.states {
				v += s.weight * (s.x[k] - m) * (s.x[k] - m)
			}
			centre[k], width[k] = m, 1.3*math.Sqrt(v)+1e-6
		}
		if !tempered && round > 1 {
			break
		}
	}
	return nil
}

// doubted keeps what the readings alone say, as if the guess were hardly known:
// the states of the first round, which were spread that widely.
func (p *progress) doubted() {
	most := math.Inf(-1)
	for _, s := range p.states {
		most = math.Max(most, s.like)
	}
	p.doubt = slices.Clone(p.states)
	sum := 0.0
	for i := range p.doubt {
		p.doubt[i].weight = math.Exp(p.doubt[i].like - most)
		sum += p.doubt[i].weight
	}
	for i := range p.doubt {
		p.doubt[i].weight /= sum
	}
}

// temper sets the weights, flattened as far as needed so that enough states
// share them, and reports whether they were.
func (p *progress) temper() bool {
	most := math.Inf(-1)
	for _, s := range p.states {
		most = math.Max(most, s.log)
	}
	power := 1.0
	for {
		sum, squares := 0.0, 0.0
		for i := range p.states {
			w := math.Exp(power * (p.states[i].log - most))
			p.states[i].weight = w
			sum += w
			squares += w * w
		}
		if sum*sum/squares >= math.Min(effective, float64(len(p.states))/2) || power < 1e-6 {
			for i := range p.states {
				p.states[i].weight /= sum
			}
			return power < 1
		}
		power *= 0.7
	}
}

// weigh gives a state its logarithm of prior times likelihood; the parameters
// that are not sought are taken at their best, and integrated out as normal.
func (p *progress) weigh(x []float64) (state, bool) {
	s := state{x: x, values: slices.Clone(p.start)}
	prior := 0.0
	for i, k := range p.sought {
		s.values[k] *= math.Exp(x[i])
		a := (1 - wrongGuess) * density(x[i], p.known[i])
		prior += math.Log(a + wrongGuess*density(x[i], priorContent))
	}
	n := len(p.start)
	grad := make([]float64, n)
	for range 2 {
		h, b, det := make([]float64, n*n), make([]float64, n), 0.0
		for k := range n {
			h[k*n+k] = 1
			b[k] = (p.start[k] - s.values[k]) / p.prior[k]
		}
		if p.model.Set(s.values) != nil {
			return s, false
		}
		s.chi, det = 0, 0
		for i, v := range p.v {
			y, slope, ok, err := p.model.Eval(v, grad)
			if err != nil || !ok {
				continue
			}
			u := math.Hypot(p.noise.Value, slope*p.noise.Volume)
			r := (p.y[i] - y) / u
			s.chi += r * r
			det += math.Log(u / p.noise.Value)
			for k := range n {
				grad[k] *= p.prior[k] / u
			}
			for k := range n {
				if slices.Contains(p.sought, k) {
					continue
				}
				b[k] += grad[k] * r
				for l := range n {
					if !slices.Contains(p.sought, l) {
						h[k*n+l] += grad[k] * grad[l]
					}
				}
			}
		}
		off := 0.0
		for k := range n {
			if slices.Contains(p.sought, k) {
				b[k] = 0
				continue
			}
			z := (p.start[k] - s.values[k]) / p.prior[k]
			off += z * z
		}
		move, logdet, gain := solve(h, b)
		s.like = -det - (s.chi+off-gain+logdet)/2
		s.log = prior + s.like
		s.chi = math.Max(s.chi+off-gain, 0)
		for k := range n {
			s.values[k] += math.Max(-farMove, math.Min(move[k], farMove)) * p.prior[k]
		}
	}
	return s, true
}

func density(x, u float64) float64 { return math.Exp(-x*x/(2*u*u)) / u }

// solve returns the solution of h x = b for a positive definite h, the
// logarithm of its determinant and b·x, by Cholesky's factors.
func solve(h, b []float64) (x []float64, logdet, gain float64) {
	n := len(b)
	x = slices.Clone(b)
	for i := range n {
		for j := range i + 1 {
			s := h[i*n+j]
			for k := range j {
				s -= h[i*n+k] * h[j*n+k]
			}
			if i == j {
				h[i*n+i] = math.Sqrt(s)
				logdet += math.Log(s)
			} else {
				h[i*n+j] = s / h[j*n+j]
			}
		}
	}
	for i := range n {
		for k := range i {
			x[i] -= h[i*n+k] * x[k]
		}
		x[i] /= h[i*n+i]
		gain += x[i] * x[i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= h[k*n+i] * x[k]
		}
		x[i] /= h[i*n+i]
	}
	return x, logdet, gain
}

// Limits of residuals, over the noise of a reading: from the first the noise is
// larger than was said, from the second these are not readings of this
// titration.
const (
	doubtful = 3
	hopeless = 30
)

// checkModel refuses readings that no curve of this chemistry comes near, and
// takes the noise from the residuals where they are larger than was said.
func (p *progress) checkModel() error {
	least := math.Inf(1)
	for _, s := range p.states {
		least = math.Min(least, s.chi)
	}
	rms := math.Sqrt(least / float64(max(len(p.v)-1, 1)))
	if p.fit != nil {
		rms = math.Sqrt(p.fit.ChiSquare)
	}
	k, name := 1e3, " mV"
	if p.kind != curve.Potential {
		k, name = 1, " in "+p.kind.String()
	}
	switch {
	case rms > hopeless:
		return refuse("off the model", "the readings lie %.2g%s off any curve that this setup gives, %.0f times the noise of a reading; look at the electrode, at the unit of the readings, and at what the setup says is in flask and burette", rms*p.noise.Value*k, name, rms)
	case rms > doubtful && p.fit == nil: // regression has said so itself
		p.warnings = append(p.warnings, fmt.Sprintf("the readings lie %.2g%s off the curve that fits best, %.1f times the noise of a reading; the places to read hold, the uncertainties are too small", rms*p.noise.Value*k, name, rms))
	}
	return nil
}

// Truths that a plan of the rest is judged over.
const restTruths = 25

// draws returns values of the parameters with weights: from the guess, the
// states, or the regression.
func (p *progress) draws() (values [][]float64, weights []float64) {
	if p.fit != nil {
		return p.fromFit()
	}
	if p.from == FromGuess {
		n := spreadTruths
		for i := range n {
			z := spread(i, n, len(p.known))
			v := slices.Clone(p.start)
			for j, k := range p.sought {
				v[k] *= math.Exp(p.known[j] * z[j])
			}
			values, weights = append(values, v), append(weights, 1)
		}
		return values, weights
	}
	order := slices.Clone(p.states)
	slices.SortFunc(order, func(a, b state) int { return cmp.Compare(b.weight, a.weight) })
	for _, s := range order[:min(len(order), laterStates)] {
		if s.weight > 1e-4 {
			values, weights = append(values, s.values), append(weights, s.weight)
		}
	}
	return values, weights
}

// fromFit spreads values over the covariance of the regression.
func (p *progress) fromFit() (values [][]float64, weights []float64) {
	n := len(p.fit.Estimates)
	l := slices.Clone(p.fit.Covariance)
	for i := range n {
		for j := range i + 1 {
			s := l[i*n+j]
			for k := range j {
				s -= l[i*n+k] * l[j*n+k]
			}
			switch {
			case i == j:
				l[i*n+i] = math.Sqrt(math.Max(s, 0))
			case l[j*n+j] > 0:
				l[i*n+j] = s / l[j*n+j]
			default:
				l[i*n+j] = 0
			}
		}
	}
	for m := range restTruths {
		z := spread(m, restTruths, n)
		v := slices.Clone(p.start)
		if p.blank >= 0 {
			v[p.blank] = 0 // regression has it in the contents
		}
		for i, e := range p.fit.Estimates {
			x := e.Value
			for k := range i + 1 {
				x += l[i*n+k] * z[k]
			}
			for k, q := range p.model.Params {
				if q.Kind == e.Kind && q.Index == e.Index {
					v[k] = x
				}
			}
		}
		values, weights = append(values, v), append(weights, 1)
	}
	return values, weights
}

// ahead returns where the end points may still fall.
func (p *progress) ahead() []zone {
	values, weights := p.draws()
	var list []zone
	for _, q := range p.quantities {
		if q.eq < 0 {
			continue
		}
		mean, square, sum := 0.0, 0.0, 0.0
		for i, v := range values {
			if p.model.Set(v) != nil {
				continue
			}
			eq, err := p.model.Equivalences(1e3)
			if err != nil || q.eq >= len(eq) {
				continue
			}
			x := eq[q.eq].Volume
			sum += weights[i]
			mean += weights[i] * x
			square += weights[i] * x * x
		}
		if sum == 0 {
			continue
		}
		mean /= sum
		u := math.Max(4*math.Sqrt(math.Max(square/sum-mean*mean, 0)), 20*p.step)
		list = append(list, zone{mean - u, mean + u})
	}
	return list
}

// Caution on the way to an end point that may come early.
const (
	early     = 0.2 // probability that it comes before a place that counts as safe, were the guess hardly known
	closeMind = 10  // smallest additions: a place as near to the expected end point needs no caution
)

// safe returns up to where the next addition may go without risk of passing the
// next end point: a burette does not run backwards, and the guess may be wrong.
// It is +Inf where there is nothing to be careful of.
func (p *progress) safe() float64 {
	if p.fit != nil {
		return math.Inf(1)
	}
	for _, q := range p.quantities {
		if q.eq < 0 {
			continue
		}
		type place struct{ v, weight float64 }
		var list []place
		mean := 0.0
		for _, s := range p.doubt {
			if p.model.Set(s.values) != nil {
				continue
			}
			if eq, err := p.model.Equivalences(1e3); err == nil && q.eq < len(eq) {
				list = append(list, place{eq[q.eq].Volume, s.weight})
				mean += s.weight * eq[q.eq].Volume
			}
		}
		if mean < p.last() {
			continue // behind: the next one counts
		}
		slices.SortFunc(list, func(a, b place) int { return cmp.Compare(a.v, b.v) })
		sum := 0.0
		for _, x := range list {
			if sum += x.weight; sum > early {
				if mean-x.v < closeMind*p.step {
					return math.Inf(1)
				}
				return x.v
			}
		}
	}
	return math.Inf(1)
}

// readTruths makes truths of the draws, the readings so far counted.
func (p *progress) readTruths(volumes []float64) ([]truth, error) {
	values, weights := p.draws()
	var list []truth
	grad := make([]float64, len(p.start))
	for i, v := range values {
		t, ok := p.truth(v, weights[i], volumes)
		if !ok {
			continue
		}
		for _, x := range p.v {
			p.score(x, grad)
			t.update(grad, 1)
		}
		list = append(list, t)
	}
	return list, p.normalise(list)
}
