package assay

import (
	"fmt"
	"math"

	"meniscus/curve"
	"meniscus/fit"
	"meniscus/titration"
	"meniscus/uncertainty"
)

// measure is a value with its standard uncertainty, rounded by it.
func measure(x, u float64) string {
	v, w := uncertainty.Round(x, u)
	return v + " ± " + w
}

func sayLag(d *diagnosis, x *fit.Extension) (Finding, bool) {
	q := x.Extra
	f := Finding{
		Cause: "lag", Title: "the electrode had not settled when it was read", Size: 100 * q.Value, StdUnc: 100 * q.StdUnc, Unit: "%",
		Advice: "wait longer before each reading, most of all in the jump, until the potential moves by less than 1 mV in a minute; fit: [lag] in the setup takes it into account",
	}
	f.Evidence = fmt.Sprintf("each reading still misses %s %% of the step from the one before", measure(f.Size, f.StdUnc))
	return f, q.Value > 0 && q.Value < 1
}

func sayDrift(d *diagnosis, x *fit.Extension) (Finding, bool) {
	q := x.Extra
	scale, unit := 1e3, "mV"
	if d.e.Curve.Kind != curve.Potential {
		scale, unit = 1, "units"
	}
	per := "over the run"
	if timed(d.e.Curve) {
		unit, per = unit+"/h", "by the times recorded"
	}
	f := Finding{
		Cause: "drift", Title: "the zero of the electrode or meter moved during the run", Size: scale * q.Value, StdUnc: scale * q.StdUnc, Unit: unit,
		Advice: "let the cell come to one temperature, look at the junction of the reference electrode, and read a check solution before and after",
	}
	f.Evidence = fmt.Sprintf("the readings move by %s %s %s", measure(f.Size, f.StdUnc), unit, per)
	return f, true
}

func timed(c *curve.Curve) bool {
	for i := range c.Readings {
		if math.IsNaN(c.Readings[i].Time) {
			return false
		}
	}
	return true
}

// sayShift: a constant volume more or less than was written down. What was
// converted at the start has exactly the effect of titrant added before.
func sayShift(d *diagnosis, x *fit.Extension) (Finding, bool) {
	q, stated := x.Extra, d.e.Setup.Blank
	if u := math.Hypot(q.StdUnc, stated.U); stated.Float() != 0 && math.Abs(q.Value-stated.Float()) < 2*u {
		return Finding{}, false // the blank that the setup tells
	}
	ml, u := q.Value*1e3, q.StdUnc*1e3
	f := Finding{Size: ml, StdUnc: u, Unit: "mL"}
	redox := d.e.Setup.System().Electron() >= 0
	switch {
	case q.Value > 0:
		f.Cause, f.Title = "blank", "reagents used up some titrant, or the burette did not start at 0"
		f.Evidence = fmt.Sprintf("the curve begins at %s mL instead of 0", measure(ml, u))
		f.Alike = []string{"the two causes named have the same effect"}
		f.Advice = "look up the first burette reading (burette: start), and titrate a blank"
	case redox:
		f.Cause, f.Title = "oxidised fraction", "part of what is sought was already converted at the start, or the burette did not start at 0"
		part, up := d.part(-q.Value, q.StdUnc, x)
		f.Evidence = fmt.Sprintf("the curve begins as if %s mL of titrant were in it, %s %% of what was there", measure(-ml, u), measure(100*part, 100*up))
		f.Alike = []string{"the two causes named have the same effect"}
		f.Advice = "look up the first burette reading; reduce again, or keep air away and titrate at once. What was converted is missing in the result: the sum of both forms is larger by this part"
	default:
		f.Cause, f.Title = "blank", "some titrant was in the flask before the first reading, or the burette did not start at 0"
		f.Evidence = fmt.Sprintf("the curve begins as if %s mL of titrant were in it", measure(-ml, u))
		f.Alike = []string{"the two causes named have the same effect"}
		f.Advice = "look up the first burette reading"
	}
	return f, true
}

// part is what a volume before the start is of all.
func (d *diagnosis) part(v, u float64, x *fit.Extension) (part, up float64) {
	for _, q := range x.Result.Equivalences {
		return v / (float64(q.Volume) + v), u / (float64(q.Volume) + v)
	}
	return math.NaN(), math.NaN()
}

func sayCarbonate(d *diagnosis, x *fit.Extension) (Finding, bool) {
	q := x.Extra
	where, advice := "sample", "boil the sample out after acidifying it, or pass nitrogen through it"
	if q.Kind == titration.BuretteConcentration {
		where, advice = "alkali", "make the alkali up with boiled water, keep it under soda lime, and standardise it with the same end point"
	}
	f := Finding{
		Cause: "carbonate in " + where, Title: "carbonate in the " + where, Size: 1e3 * q.Value, StdUnc: 1e3 * q.StdUnc, Unit: "mmol/L",
		Advice: advice,
	}
	f.Evidence = fmt.Sprintf("%s mmol/L of carbon dioxide in the %s", measure(f.Size, f.StdUnc), where)
	return f, q.Value > 0
}

// mostWrong is how far a constant may be off, as a decadic logarithm, to be
// taken for wrong rather than for another reaction.
const mostWrong = 2

func sayConstant(d *diagnosis, x *fit.Extension) (Finding, bool) {
	q := x.Extra
	change, u := (q.Value-q.Start)/math.Ln10, q.StdUnc/math.Ln10
	f := Finding{
		Cause: "constant", Title: "the " + q.Name + " of the setup does not hold here", Size: change, StdUnc: u, Unit: "log units",
		Advice: "look at the ionic strength and temperature that the constant holds at, and at what the sample is",
	}
	f.Evidence = fmt.Sprintf("log K is %s from the value used", measure(change, u))
	if math.Abs(x.Together) > 0.99 {
		f.Alike = append(f.Alike, "a wrong "+x.With+" (correlation "+fmt.Sprintf("%.3f", x.Together)+")")
	}
	return f, math.Abs(change) < mostWrong
}

// sayOutlier: one reading that does not belong.
func (d *diagnosis) sayOutlier(q fit.Residual, rest *curve.Curve) Finding {
	scale, unit := 1e3, "mV"
	if d.e.Curve.Kind != curve.Potential {
		scale, unit = 1, "units"
	}
	f := Finding{
		Cause: "outlier", Title: fmt.Sprintf("the reading at %.6g mL does not belong to the others", q.Volume.Millilitres()),
		Size: q.Residual * scale, StdUnc: math.NaN(), Unit: unit, Confidence: Likely,
		P:      math.Min(1, math.Erfc(math.Abs(q.Reduced)/math.Sqrt2)*float64(d.e.Fit.Points)),
		Advice: "look for a slip in what was written or typed, a bubble, or a drop that fell late; leave it out only with the reason (--leave-out)",
	}
	f.Evidence = fmt.Sprintf("row %d lies %.3g %s, %.0f times its standard deviation, off the curve of the others", q.Row, f.Size, unit, math.Abs(q.Reduced))
	if f.P > likelyBelow {
		f.Confidence = Possible
	}
	return f
}
