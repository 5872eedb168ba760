package assay

import (
	"fmt"
	"math"

	"meniscus/curve"
	"meniscus/setup"
	"meniscus/uncertainty"
)

// checkReadings warns where the readings are not what the setup describes: a
// unit or a column mistaken, most often.
func (e *Evaluation) checkReadings() {
	if ind := e.Setup.Electrode.Indicator; e.Setup.Titration != nil && e.Curve.Kind == curve.PH && ind != "glass" {
		e.warnf("the readings are pH, but the setup has a %s electrode", ind)
	}
	v, y := e.Curve.Used()
	if len(v) == 0 {
		return
	}
	e.checkVolumes(v)
	if e.Curve.Kind == curve.Potential {
		e.checkPotentials(y)
	}
}

func (e *Evaluation) warnf(format string, args ...any) {
	e.Warnings = append(e.Warnings, fmt.Sprintf(format, args...))
}

func (e *Evaluation) checkVolumes(v []float64) {
	_, most := span(v)
	capacity := e.Setup.Burette.Capacity.Float()
	if capacity > 0 && most > capacity*(1+1e-9) && e.Setup.Burette.RefillAt.Float() == 0 {
		e.warnf("volumes go to %.4g mL, but the burette holds %.4g mL and is not refilled: are the columns swapped, or is the unit another?", most*1e3, capacity*1e3)
	}
}

// Potentials of titrations lie within leastSpan and mostPotential, V: a jump
// is wider than the one, and water itself is taken apart long before the
// other.
const (
	leastSpan     = 0.005
	mostPotential = 4.0
)

func (e *Evaluation) checkPotentials(y []float64) {
	lo, hi := span(y)
	if most := math.Max(math.Abs(lo), math.Abs(hi)); most > mostPotential {
		e.warnf("potentials go to %.4g V: are they in mV?", most)
	}
	if len(y) > 2 && hi > lo && hi-lo < leastSpan {
		e.warnf("all potentials lie within %.3g mV: are they in V, or did the electrode not answer?", (hi-lo)*1e3)
	}
}

func span(x []float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, q := range x {
		lo, hi = math.Min(lo, q), math.Max(hi, q)
	}
	return lo, hi
}

// blankTold is how many of its standard uncertainties a blank has to be to be
// told from 0, at 95 %.
const blankTold = 1.96

// checkBlank says where a blank may as well be 0, and what its subtraction does
// to the uncertainty of the volume.
func (e *Evaluation) checkBlank() {
	b := e.Setup.Blank
	if !(b.U > 0) || b.Float() == 0 || math.Abs(b.Float()) >= blankTold*b.U || len(e.EquivalencePoints) == 0 {
		return
	}
	p := e.EquivalencePoints[len(e.EquivalencePoints)-1]
	u, more := float64(p.StdUnc), math.Hypot(float64(p.StdUnc), b.U)
	value, spread := uncertainty.Round(b.Float()*1e3, b.U*1e3)
	_, without := uncertainty.Round(0, u*1e3)
	_, with := uncertainty.Round(0, more*1e3)
	text := fmt.Sprintf("the blank, %s ± %s mL (standard uncertainty), is not distinguishable from 0: it is less than 1.96 times its noise. It is subtracted all the same, with its uncertainty: u of the volume is %s mL with it, %s mL without", value, spread, with, without)
	if n := blanksWanted(b.U, u, e.blank); n > 0 {
		text += fmt.Sprintf("; about %d blanks like these would bring its part below that of the end point", n)
	}
	e.warnf("%s", text)
}

// mostBlanks is more than anybody titrates.
const mostBlanks = 20

// blanksWanted is how many blanks make the uncertainty of their mean that of
// the end point, 0 where they are enough, were not measured, or never do.
func blanksWanted(blank, point float64, measured *BlankResult) int {
	if measured == nil || !(point > 0) {
		return 0
	}
	have := float64(len(measured.Volumes))
	n := math.Ceil(have * math.Pow(blank/point, 2))
	if n <= have || n > mostBlanks {
		return 0
	}
	return int(n)
}

// checkZero says which results are not distinguishable from 0: a content that
// lies within its expanded uncertainty of nothing is a limit, not a content.
func (e *Evaluation) checkZero() {
	for _, list := range [][]Result{e.Concentrations, e.Contents} {
		for _, r := range list {
			if u := r.Expanded(); u > 0 && math.Abs(r.Value) < u {
				limit, _ := uncertainty.Round(r.Value+u, u)
				e.warnf("%s is not distinguishable from 0: its expanded uncertainty is larger than the value; what can be said is at most %s %s", r.Name, limit, r.Unit)
			}
		}
	}
}

// farFromGuess is how many times off the guess of the setup a result may be
// without a word. A tenfold wrong guess is nothing unusual.
const farFromGuess = 30

// checkResults warns where a result is far from what the setup expects.
func (e *Evaluation) checkResults() {
	for i, f := range e.Setup.Find {
		if i >= len(e.Concentrations) || e.Concentrations[i].Name != f.Species {
			return
		}
		guess := e.guess(f)
		k := e.Concentrations[i].Value / guess
		if guess > 0 && (k > farFromGuess || k < 1/float64(farFromGuess)) {
			e.warnf("the concentration of %s is %.3g times the %.3g mol/L of the setup: look at the units and columns of the readings", f.Species, k, guess)
		}
	}
}

// guess is the concentration of the setup, 0 where it is no single one.
func (e *Evaluation) guess(f setup.Target) float64 {
	list := e.Setup.Flask.Contents
	if f.InBurette {
		list = e.Setup.Burette.Contents
	}
	sum, n := 0.0, 0
	for _, c := range list {
		for _, ion := range c.Ions {
			if ion.Species.Name == f.Species {
				sum, n = c.Conc.Float()*ion.Coefficient.Float(), n+1
			}
		}
	}
	if n != 1 {
		return 0
	}
	return sum
}
