// Package endpoint locates the end point in a measured curve by methods that
// need no model of the chemistry. It knows volumes and readings, not what is
// in the flask: see fit for regression with a model and assay for amounts.
//
// Each method is a file and a row of Methods. A method either gives end points
// with a standard uncertainty, or refuses and says why; it never fails
// otherwise. Which result to prefer is not decided here: Method.Needs says
// what each can be trusted with.
package endpoint

import (
	"meniscus/curve"
	"meniscus/unit"
)

// A Method is one way to find end points.
type Method struct {
	Name  string // stored with results, never renamed
	Title string
	Needs string // what it can be trusted with, and what it takes for granted
	Rank  int    // where several can be trusted: 1 is the best, by u over simulated runs
	Find  func(c *curve.Curve, opt Options) Result
}

// Methods lists the methods in the order users are offered them. Names are
// stored with results: add at will, never rename.
var Methods = []Method{
	{
		"steepest-interval", "Steepest interval",
		"small steps at the jump: u is at least step/sqrt(12)", 5, steepestInterval,
	},
	{
		"smoothed-first-derivative", "Smoothed first derivative",
		"a jump that spreads over several readings; with one narrower than the step it is no better than the steepest interval", 4, smoothedFirst,
	},
	{
		"second-derivative", "Zero of the second derivative",
		"small steps at the jump and quiet readings", 3, secondDerivative,
	},
	{
		"gran-redox-before", "Gran's line before the end point, redox",
		"a couple with one species in either form, none of its product in the flask at the start, known electrode slope", 2, granRedoxBefore,
	},
	{
		"gran-redox-after", "Gran's line after the end point, redox",
		"readings up to twice the end point, a titrant couple with one species in either form, known electrode slope", 2, granRedoxAfter,
	},
	{
		"log-plot", "Logarithmic (Nernst) plot",
		"a couple with one species in either form, none of its product in the flask at the start; finds the slope itself", 1, logPlot,
	},
	{
		"gran-acid-base-before", "Gran's line before the end point, acid-base",
		"pH readings with a calibrated electrode; a strong acid or base, or a weak one well inside its buffer range", 2, granAcidBefore,
	},
	{
		"gran-acid-base-after", "Gran's line after the end point, acid-base",
		"pH readings with a calibrated electrode, the volume in the flask, no carbonate or other buffer that still takes part", 2, granAcidAfter,
	},
	{
		"gran-silver-before", "Gran's line before the end point, precipitation",
		"an electrode that follows the ion, the volume in the flask, a salt of one to one", 2, granSilverBefore,
	},
	{
		"gran-silver-after", "Gran's line after the end point, precipitation",
		"an electrode that follows the titrant's ion, the volume in the flask", 2, granSilverAfter,
	},
	{
		"straight-line-pair", "Pair of straight lines",
		"a reading that is linear in volume on either side of a break, such as a detector's; a potential or pH is not", 1, straightLinePair,
	},
	{
		"preset", "Preset end point",
		"a value of pH or potential that was agreed on; its bias against equivalence is not in u", 6, preset,
	},
}

// Find returns the method of that name.
func Find(name string) (Method, bool) {
	for _, m := range Methods {
		if m.Name == name {
			return m, true
		}
	}
	return Method{}, false
}

// A Noise is the standard deviation of one reading.
type Noise struct {
	Value  float64     // V, or units of pH or pIon
	Volume unit.Volume // as read or dispensed, not the burette's calibration
}

// Options of a method. The zero value is sound: everything is found from the
// readings, at 25 °C, with one electron on either side.
type Options struct {
	Expected    int              // number of end points; 0 finds out
	V0          unit.Volume      // in the flask before the first drop; 0 unknown: methods that need it refuse
	Temperature unit.Temperature // 0 is 25 °C
	Electrons   Electrons
	Noise       Noise      // a part that is 0 is estimated, see Detail.Noise
	Slope       SlopeRule  // of the electrode, in Gran's lines
	Window      [2]float64 // of Gran's lines, in parts of V_e; zeros: the rule of Window
	Equal       bool       // Gran's lines with equal weights, as spreadsheets fit them
	Preset      []float64  // V, pH or pIon of preset end points
}

// Electrons exchanged by one titrand and one titrant species; 0 is 1.
type Electrons struct{ Titrand, Titrant int }

// A SlopeRule says where Gran's lines take the electrode slope from.
type SlopeRule int

// Rules for the slope.
const (
	SlopeAuto    SlopeRule = iota // fitted where the readings give it to 1 %, else assumed with a standard uncertainty of 1 %
	SlopeAssumed                  // the theoretical one, taken as exact
	SlopeFitted                   // fitted, however large its uncertainty
)

// A Result is what one method says about one curve.
type Result struct {
	Method   string
	Points   []EndPoint // in order of volume; empty when refused
	Refused  string     // why it gives no number; "" when it does
	Warnings []string   // about the readings as a whole
	Detail   Detail
}

// An EndPoint is where a method puts the end of a titration.
type EndPoint struct {
	Order    int         // which jump of the curve, from 1; for preset, which value
	Volume   unit.Volume // never NaN
	StdUnc   unit.Volume // one standard uncertainty, of the method on these readings
	Points   int         // how many readings took part
	Value    float64     // reading at the end point, V or pH, interpolated; the last one where extrapolated
	Warnings []string    // the value stands, but the chemist should know
}

// A Detail holds the numbers that show the working. Fields that a method does
// not use are zero.
type Detail struct {
	Noise     Noise // of one reading, as used
	Estimated bool  // Noise.Value was estimated from the readings
	Rising    bool  // whether the readings rise along the curve
	Readings  int   // that take part
	Jumps     []Jump
	Lines     []Line
}

// A Jump is where the curve is steep.
type Jump struct {
	From, To  unit.Volume // the steepest interval
	Height    float64     // change of reading over it, V or pH, signed
	Slope     float64     // Height per litre
	Narrow    bool        // the jump is narrower than the interval
	Resamples int         // simulated runs behind the uncertainty
	Table     []Row       // the readings around it
}

// A Row is a line of a derivative table or Gran table.
type Row struct {
	Volume unit.Volume // of the quantity: reading, midpoint of an interval, or centre of a second difference
	Value  float64     // slope, second difference or Gran function
	Fitted float64     // Gran table: the line
}

// A Line is a straight line, Y = A + B V, and where it meets zero (Gran), or
// its partner (pair of lines).
type Line struct {
	Order     int     // which jump
	Name      string  // the function that is linear, such as "V·10^(-E/S)"
	From, To  float64 // first and last volume used, L
	Points    int
	A, B      float64 // Y and Y per litre; Gran: Y is relative to its largest value
	Slope     float64 // S per decade, V or pH; positive
	SlopeUnc  float64 // of Slope; 0 for an assumed slope that is taken as exact
	Fitted    bool    // Slope is from the readings
	Theory    float64 // theoretical Slope
	Intercept float64 // log plot: reading at half the volume; pair: reading where the lines meet
	Misfit    float64 // root of reduced chi-square; 1 is noise only
	Noise     unit.Volume
	Choice    unit.Volume // standard uncertainty from the choice of window
	SlopePart unit.Volume // standard uncertainty from the slope, where assumed
	Low, High unit.Volume // 95 % interval, Fieller; only pair of lines
	Windows   []Window
	Table     []Row
}

// A Window is one stretch of a Gran line and what it gives.
type Window struct {
	Low, High float64 // parts of V_e
	Points    int
	Volume    unit.Volume
	StdUnc    unit.Volume // from noise alone
	Equal     unit.Volume // the same with equal weights; 0 where not worked out
}

func refused(method, why string) Result { return Result{Method: method, Refused: why} }
