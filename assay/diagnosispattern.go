package assay

import (
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/electrode"
	"meniscus/fit"
	"meniscus/titration"
	"meniscus/unit"
)

// Noise of a reading that no electrode in order has, V and pH: the curve then
// is not the one the setup tells.
const (
	poorNoise   = 0.010
	poorNoisePH = 0.2
)

// poorFit says whether the readings are not those of the titration at all.
func (e *Evaluation) poorFit() bool {
	limit := poorNoise
	if e.Curve.Kind != curve.Potential {
		limit = poorNoisePH
	}
	return e.Fit == nil || e.Fit.Noise.Value*math.Sqrt(math.Max(1, e.Fit.ChiSquare)) > limit
}

// A misreading is a way in which good readings turn into these.
type misreading struct {
	cause, title, advice string
	undo                 func(c *curve.Curve) bool // false where it cannot be
}

var misreadings = []misreading{
	{"sign", "the sign of the readings is reversed", "change the leads of the two electrodes, or write the readings with the other sign; or titrand and titrant stand the wrong way round in the setup", negate},
	{"swapped columns", "the columns of volume and reading are swapped", "name the columns in the file, or say which holds the readings (--column)", swapColumns},
	{"reversed burette", "the burette was read from the top of what was left, downwards", "write reads: down under burette in the setup", reverse},
	{"pH scale", "the meter was set to pH", "set it to mV; what it showed can be turned back with its slope and zero", fromPH},
	{"unit", "the readings are in V where mV are written", "write the unit at the head of the column", func(c *curve.Curve) bool { return times(c, 1e3) }},
	{"unit", "the readings are in mV where V are written", "write the unit at the head of the column", func(c *curve.Curve) bool { return times(c, 1e-3) }},
}

func negate(c *curve.Curve) bool { return c.Kind == curve.Potential && times(c, -1) }

func times(c *curve.Curve, k float64) bool {
	for i := range c.Readings {
		c.Readings[i].Value *= k
	}
	return c.Kind == curve.Potential
}

// swapColumns takes numbers written as mL for mV, and the reverse.
func swapColumns(c *curve.Curve) bool {
	last := math.Inf(-1)
	for i := range c.Readings {
		r := &c.Readings[i]
		r.Volume, r.Value, r.VolumeText = unit.Volume(r.Value), float64(r.Volume), ""
		if r.Volume < 0 || float64(r.Volume) < last {
			return false
		}
		last = float64(r.Volume)
	}
	return c.Kind == curve.Potential
}

// reverse takes the first reading for the full burette.
func reverse(c *curve.Curve) bool {
	if len(c.Readings) < 2 || c.Readings[0].Volume <= c.Readings[len(c.Readings)-1].Volume {
		return false
	}
	top := c.Readings[0].Volume
	for i := range c.Readings {
		c.Readings[i].Volume, c.Readings[i].VolumeText = top-c.Readings[i].Volume, ""
	}
	return true
}

// fromPH turns a pH scale with its zero at pH 7 back into potentials.
func fromPH(c *curve.Curve) bool {
	slope := float64(electrode.NernstSlope(1, unit.Celsius(25)))
	for i := range c.Readings {
		r := &c.Readings[i]
		pH := r.Value
		if c.Kind == curve.Potential {
			pH *= 1e3
		}
		if math.Abs(pH) > 30 {
			return false
		}
		r.Value = (7 - pH) * slope
	}
	c.Kind = curve.Potential
	return true
}

// otherReading looks for a misreading whose reversal gives a sound curve.
func (d *diagnosis) otherReading() bool {
	e := d.e
	var sound []misreading
	var noise float64
	for _, m := range misreadings {
		c := *e.Curve
		c.Readings = slices.Clone(c.Readings)
		if !m.undo(&c) || m.cause == "pH scale" && e.Setup.Titration.Cell.Sensor == titration.Glass {
			continue
		}
		if r, ok := d.soundCurve(&c); ok {
			sound, noise = append(sound, m), r.Noise.Value
		}
	}
	if len(sound) == 0 {
		return false
	}
	m := sound[0]
	f := Finding{Cause: m.cause, Title: m.title, Advice: m.advice, Confidence: Likely, Size: math.NaN(), StdUnc: math.NaN(), P: math.NaN()}
	before := "as they stand the readings fit no curve of this chemistry"
	if e.Fit != nil {
		before = "as they stand the readings are " + figures(1e3*e.Fit.Noise.Value) + " mV off the best curve of this chemistry"
		if e.Curve.Kind != curve.Potential {
			before = "as they stand the readings are " + figures(e.Fit.Noise.Value) + " units off the best curve of this chemistry"
		}
	}
	f.Evidence = fmt.Sprintf("%s; with this undone they lie on one, to %s mV", before, figures(1e3*noise))
	for _, o := range sound[1:] {
		f.Alike, f.Confidence = append(f.Alike, o.title), Possible
	}
	d.add(f)
	return true
}

// enough is how many readings, spread over all, tell whether they lie on a curve.
const enough = 80

// spread leaves every k-th reading, so that about so many are left.
func spread(c *curve.Curve, most int) *curve.Curve {
	k := (len(c.Readings) + most - 1) / most
	if k < 2 {
		return c
	}
	less := *c
	less.Readings = nil
	for i := 0; i < len(c.Readings); i += k {
		less.Readings = append(less.Readings, c.Readings[i])
	}
	return &less
}

// soundCurve says whether readings lie on a curve with an equivalence point
// among them.
func (d *diagnosis) soundCurve(c *curve.Curve) (*fit.Result, bool) {
	e := d.e
	c = spread(c, enough)
	t := *e.Setup.Titration
	t.Cell.Known = true
	r, err := fit.Curve(c, &t, e.targets(), fit.Options{Noise: fit.Noise{Volume: e.Setup.Noise.Volume}})
	if err != nil || r.Freedom < 3 || r.RunsP < 1e-3 || c.Kind == curve.Potential && r.Noise.Value > poorNoise/2 {
		return nil, false
	}
	for _, q := range r.Estimates {
		if q.Kind == titration.SlopeFraction && (q.Value < 0.85 || q.Value > 1.1) {
			return nil, false
		}
	}
	v, _ := c.Used()
	for _, q := range r.Equivalences {
		if q.Visible && float64(q.Volume) < slices.Max(v) {
			return r, true
		}
	}
	return nil, false
}

// The electrode slope is told where it is off by more than slopeOff and by
// more than four standard uncertainties.
const slopeOff = 0.01

func (d *diagnosis) slope() {
	stated := d.e.Setup.Titration.Cell.Slope
	if stated == 0 {
		stated = 1
	}
	for _, q := range d.e.Fit.Estimates {
		off := q.Value - stated
		if q.Kind != titration.SlopeFraction || math.Abs(off) < slopeOff || math.Abs(off) < 4*q.StdUnc {
			continue
		}
		f := Finding{
			Cause: "slope", Title: "the electrode does not have the slope that is stated", Confidence: Likely,
			Size: 100 * q.Value, StdUnc: 100 * q.StdUnc, Unit: "%", P: math.Erfc(math.Abs(off) / q.StdUnc / math.Sqrt2),
			Evidence: fmt.Sprintf("the curve gives %s %% of the theoretical slope, %s %% was stated or taken", measure(100*q.Value, 100*q.StdUnc), figures(100*stated)),
			Advice:   "the regression takes it into account; Gran's lines with a slope assumed do not. Clean and check the electrode if it is below 95 %",
		}
		if slices.ContainsFunc(d.found, func(x Finding) bool { return x.Cause != "outlier" }) {
			f.Confidence = Possible
			f.Alike = []string{"what is found above bends the curve in a like way"}
		}
		d.add(f)
	}
}

// Limits of a common shift of all couples against the potentials used, V.
const (
	leastShift = 0.025 // below it the medium explains it
	apartShift = 0.012 // couples differ by this at most
	nearShift  = 0.008 // a pair of references differs by the shift to within this
)

// reference looks for potentials that are all off by the difference of two
// reference electrodes.
func (d *diagnosis) reference() {
	e, slope := d.e, 1.0
	for _, q := range e.Fit.Estimates {
		if q.Kind == titration.SlopeFraction {
			slope = q.Value
		}
	}
	var shifts []float64
	for _, q := range e.Fit.Estimates {
		if q.Kind == titration.CouplePotential {
			shifts = append(shifts, slope*q.Value-q.Start)
		}
	}
	if len(shifts) < 2 {
		return
	}
	lo, hi := span(shifts)
	mid := (lo + hi) / 2
	if hi-lo > apartShift || math.Abs(mid) < leastShift {
		return
	}
	f := Finding{
		Cause: "reference", Title: "the potentials are all off by one amount", Confidence: Possible, Size: 1e3 * mid, StdUnc: 1e3 * math.Hypot(e.Setup.Electrode.ReferenceU, e.Setup.Electrode.JunctionU), Unit: "mV", P: math.NaN(),
		Evidence: fmt.Sprintf("all formal potentials come out %.0f mV from those used (within %.0f mV)", 1e3*mid, 1e3*(hi-lo)),
		Alike:    []string{"the zero of the meter", "a medium that shifts all couples alike"},
		Advice:   "look at what stands on the reference electrode, and read a check solution; the end point does not depend on it",
	}
	for _, r := range electrode.References {
		if v, _, _ := r.Potential(e.Setup.Temperature); math.Abs(e.Setup.Electrode.ReferenceV-float64(v)-mid) < nearShift && r.Name != e.Setup.Electrode.Reference {
			f.Title = "the reference electrode may be another one than stated: " + r.Name + " instead of " + e.Setup.Electrode.Reference
			break
		}
	}
	d.add(f)
}

// mistakenRatios are factors that slips in stoichiometry and in the aliquot
// leave behind.
var mistakenRatios = []float64{2, 3, 4, 5, 6, 10}

// ratio tells where a result is a simple multiple of what was expected.
func (d *diagnosis) ratio() {
	for i, t := range d.e.Setup.Find {
		if i >= len(d.e.Concentrations) || d.e.Concentrations[i].Name != t.Species {
			continue
		}
		c, guess := d.e.Concentrations[i].Value, d.e.guess(t)
		for _, k := range mistakenRatios {
			for _, r := range []float64{k, 1 / k} {
				if guess > 0 && math.Abs(c/guess/r-1) < 0.015 {
					d.add(Finding{
						Cause: "ratio", Title: "the result is a simple multiple of what was expected", Confidence: Possible, Size: c / guess, StdUnc: math.NaN(), Unit: "1", P: math.NaN(),
						Evidence: fmt.Sprintf("found %s mol/L where %s mol/L was expected, %s times as much", figures(c), figures(guess), figures(c/guess)),
						Alike:    []string{"an expected value that was only a guess"},
						Advice:   "look at the stoichiometry (5 for permanganate, 6 for dichromate, 2 for two protons or electrons), at a dilution or aliquot forgotten, and at the hydrate that was weighed",
					})
				}
			}
		}
	}
}

// The readings near the end point: fewNear of them at least within nearPart
// of it.
const (
	fewNear  = 3
	nearPart = 0.02
)

// placement tells where the readings leave the end point badly held.
func (d *diagnosis) placement() {
	v, _ := d.e.Curve.Used()
	_, last := span(v)
	for _, q := range d.e.Fit.Equivalences {
		ve, near := float64(q.Volume), 0
		if !q.Visible || ve > last {
			continue
		}
		for _, x := range v {
			if math.Abs(x-ve) <= nearPart*ve {
				near++
			}
		}
		if near < fewNear {
			d.add(Finding{
				Cause: "few readings", Title: "few readings at the jump", Confidence: Likely, Size: float64(near), StdUnc: math.NaN(), Unit: "readings", P: math.NaN(),
				Evidence: fmt.Sprintf("%d of %d readings lie within %.0f %% of V_e = %.4g mL, where a reading tells most about it", near, len(v), 100*nearPart, ve*1e3),
				Advice:   fmt.Sprintf("in a repeat add 0.1 mL at a time from %.4g to %.4g mL", ve*980, ve*1020),
			})
		}
	}
}
