package fit

import (
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/num/lsq"
	"meniscus/titration"
	"meniscus/unit"
)

// Limits beyond which a parameter counts as not told by the readings, as
// standard uncertainty.
const (
	unseenPotential = 0.05 // V
	unseenOffset    = 1.0  // pH units, pIon
	unseenSlope     = 0.02 // of the theoretical slope
)

// dropUnseen takes out one parameter that the readings do not tell, and
// reports whether it did: the slope first, then potentials.
func (f *fitter) dropUnseen() (bool, error) {
	worst, ratio := -1, 1.0
	for k, p := range f.params {
		limit := math.Inf(1)
		switch p.Kind {
		case titration.CouplePotential:
			limit = unseenPotential
		case titration.Offset:
			if limit = unseenPotential; f.c.Kind != curve.Potential {
				limit = unseenOffset
			}
		case titration.SlopeFraction:
			limit = unseenSlope
		}
		if x := f.stdErr(k) / limit; x > ratio || math.IsNaN(x) {
			worst, ratio = k, x
		}
	}
	if worst < 0 || f.opt.Parameters != nil {
		return false, nil
	}
	if k := slices.IndexFunc(f.params, func(p titration.Parameter) bool { return p.Kind == titration.SlopeFraction }); k >= 0 {
		worst = k
	}
	f.drop(worst, "kept as given: these readings do not tell it")
	return true, nil
}

func (f *fitter) stdErr(k int) float64 { return f.res.StdErr[k] }

func (f *fitter) drop(k int, why string) {
	f.fixed = append(f.fixed, f.params[k].Name+": "+why)
	f.params = slices.Delete(slices.Clone(f.params), k, k+1)
}

// separate answers readings that cannot tell parameters apart: it keeps the
// least important of them, or refuses where only what is sought remains.
func (f *fitter) separate(s *lsq.SingularError) error {
	drop := -1
	for _, k := range s.Params {
		switch f.params[k].Kind {
		case titration.FlaskConcentration, titration.BuretteConcentration:
			continue
		case titration.SlopeFraction:
			drop = k
		default:
			if drop < 0 || f.params[drop].Kind != titration.SlopeFraction {
				drop = k
			}
		}
	}
	names := ""
	for i, k := range s.Params {
		if i > 0 {
			names += " and "
		}
		names += f.params[k].Name
	}
	if drop < 0 || f.opt.Parameters != nil {
		return refuse("the readings cannot tell %s apart", names)
	}
	f.drop(drop, "kept as given: these readings cannot tell "+names+" apart")
	return f.best()
}

func (f *fitter) report() (*Result, error) {
	n := len(f.params)
	r := &Result{
		Points: len(f.v), Freedom: f.res.DegreesOfFreedom, Noise: f.noise, Estimated: f.guess,
		Fixed: f.fixed, Iterations: f.res.Iterations, Model: f.model, Kind: f.c.Kind,
	}
	inflate := 1.0
	if r.Freedom > 0 {
		r.ChiSquare = f.res.SSR / float64(r.Freedom)
		inflate = f.inflation(r)
	}
	r.Covariance = make([]float64, n*n)
	for i := range r.Covariance {
		r.Covariance[i] = f.res.Covariance[i] * inflate
	}
	if f.guess {
		r.NoiseFreedom = f.freedom
		var err error
		if r.fromNoise, err = f.fromNoise(); err != nil {
			return nil, err
		}
	}
	if f.thinned != "" {
		r.Warnings = append(r.Warnings, f.thinned)
	}
	start := f.model.Start()
	for k, p := range f.params {
		r.Estimates = append(r.Estimates, Estimate{Parameter: p, Value: f.res.Params[k], StdUnc: math.Sqrt(r.Covariance[k*n+k]), Start: start[k]})
	}
	f.entangled(r)
	f.residuals(r)
	if err := f.equivalences(r); err != nil {
		return nil, err
	}
	return r, f.sane(r)
}

// entangledFrom is the coefficient of correlation from which two parameters
// are named as hardly told apart: the uncertainty of each is then seven times
// what it were if the other was known.
const entangledFrom = 0.99

// entangled warns of further parameters that go together with another one.
func (f *fitter) entangled(r *Result) {
	n := len(f.params)
	for i, p := range f.params {
		for _, q := range f.opt.Extra {
			if p != q {
				continue
			}
			for j, other := range f.params {
				c := r.Covariance[i*n+j] / math.Sqrt(r.Covariance[i*n+i]*r.Covariance[j*n+j])
				if i != j && math.Abs(c) > entangledFrom {
					r.Warnings = append(r.Warnings, fmt.Sprintf("%s and %s are hardly told apart by these readings (correlation %.4f); what is known of one of them should be stated", p.Name, other.Name, c))
				}
			}
		}
	}
}

// inflation widens the covariance where the residuals are larger than the
// stated noise by more than chance allows.
func (f *fitter) inflation(r *Result) float64 {
	if f.guess {
		return 1
	}
	nu := float64(r.Freedom)
	if limit := 1 + 2.6*math.Sqrt(2/nu); r.ChiSquare > limit {
		r.Warnings = append(r.Warnings, fmt.Sprintf("the residuals are %.2g times as large as the stated noise of a reading allows; uncertainties are widened by that factor, and the model or the noise should be looked at", math.Sqrt(r.ChiSquare)))
		return r.ChiSquare
	}
	return 1
}

func (f *fitter) residuals(r *Result) {
	sign := make([]float64, len(f.v))
	for i, at := range f.used {
		rho, _, err := f.reading(i, nil)
		if err != nil {
			rho = math.NaN()
		}
		y, _, ok, err := f.asRead(i, nil)
		if err != nil || !ok {
			y = math.NaN()
		}
		sign[i] = rho
		r.Residuals = append(r.Residuals, Residual{f.c.Readings[at].Row, unit.Volume(f.v[i]), f.y[i], y, f.y[i] - y, rho})
	}
	_, r.RunsP = runsTest(sign)
	if r.RunsP < 0.01 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("the residuals follow a pattern (probability of so few changes of sign by chance: %s): the model may not be the right one", percent(r.RunsP)))
	}
	for i, x := range sign {
		if math.Abs(x) > 4.5 {
			r.Warnings = append(r.Warnings, fmt.Sprintf("the reading at %.6g mL lies %.1f standard deviations off the curve", f.v[i]*1e3, math.Abs(x)))
		}
	}
}

// equivalences lists the equivalence points with their uncertainty, out to a
// little beyond what can be judged from the readings.
func (f *fitter) equivalences(r *Result) error {
	last := slices.Max(f.v)
	list, err := f.model.Equivalences(3 * last)
	if err != nil {
		return fmt.Errorf("finding the equivalence points: %w", err)
	}
	for i, e := range list {
		u, freedom := r.Propagate(e.Gradient)
		q := Equivalence{Species: e.Species, Volume: unit.Volume(e.Volume), StdUnc: unit.Volume(u), Freedom: freedom}
		if u <= 0 { // independent of what is sought: the stoichiometry of a reagent
			continue
		}
		if y, _, ok, err := f.model.Eval(e.Volume, nil); err == nil && ok {
			q.Visible, q.Value = f.model.Shows(list, i), y
		} else {
			q.Value = math.NaN()
		}
		r.Equivalences = append(r.Equivalences, q)
	}
	return nil
}

// openFrom is the part of an equivalence volume, and of the volumes read, from
// which a standard uncertainty leaves it open. A small volume, of a blank, is
// known well where it is small against the readings, even if it may be 0.
const (
	openFrom       = 0.2
	openOfReadings = 0.05
)

// noTitration is the probability of so few changes of sign from which on the
// residuals of a curve without a jump are no chance.
const noTitration = 1e-6

// A curve that is so far off readings which follow a pattern around it, V and
// units of pH or pIon, is not theirs.
const (
	farPotential = 0.010
	farNumber    = 0.2
)

// sane refuses an answer that the readings do not carry.
func (f *fitter) sane(r *Result) error {
	last := unit.Volume(slices.Max(f.v))
	if len(r.Equivalences) == 0 {
		return refuse("the fitted curve has no equivalence point up to three times the last volume read (%.4g mL)", last.Millilitres())
	}
	if !f.likelySlope(possibleSlope) {
		for _, q := range r.Estimates {
			if q.Kind == titration.SlopeFraction {
				return refuse("the curve that comes nearest to the readings has %.0f %% of the theoretical slope, which no electrode in order has: another reaction, or readings that do not hold the curve; state the slope where it is known", 100*q.Value)
			}
		}
	}
	seen := false
	for _, e := range r.Equivalences {
		seen = seen || e.Visible
		if e.StdUnc > openFrom*e.Volume && e.StdUnc > openOfReadings*last {
			return refuse("the readings leave the equivalence volume open: %.3g ± %.2g mL", e.Volume.Millilitres(), e.StdUnc.Millilitres())
		}
	}
	if off := r.Noise.Value * math.Sqrt(math.Max(1, r.ChiSquare)); r.RunsP < noTitration {
		if f.c.Kind == curve.Potential && off > farPotential {
			return refuse("even the curve that comes nearest is some %.2g mV off the readings, which follow a pattern around it: this is no curve of this chemistry", off*1e3)
		}
		if f.c.Kind != curve.Potential && off > farNumber {
			return refuse("even the curve that comes nearest is some %.2g units off the readings, which follow a pattern around it: this is no curve of this chemistry", off)
		}
	}
	if !seen && r.RunsP < noTitration {
		return refuse("the curve that comes nearest to the readings has no clear jump, and what it leaves of them follows a pattern: this is no curve of this chemistry, or the readings end before the jump")
	}
	if !seen {
		r.Warnings = append(r.Warnings, "the fitted curve has no clear jump")
	}
	if e := r.Equivalences[0]; e.Volume > last {
		r.Warnings = append(r.Warnings, fmt.Sprintf("the titration stops at %.4g mL, before the equivalence point; the result is an extrapolation", last.Millilitres()))
	}
	return nil
}
