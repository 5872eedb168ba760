// Package assay turns readings into a content: end points by every method,
// the one to use and why, concentrations and formal potentials with their
// uncertainty, and what to doubt. Methods are never averaged.
package assay

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/curve"
	"meniscus/endpoint"
	"meniscus/equilibrium"
	"meniscus/fit"
	"meniscus/setup"
	"meniscus/uncertainty"
	"meniscus/unit"
)

// RegressionName is the name of whole-curve regression among the methods.
const RegressionName = "whole-curve-regression"

// A Method is what one method says about one run.
type Method struct {
	Name, Title string
	Points      []Point
	Refused     string
	Warnings    []string
	Detail      *endpoint.Detail // nil for regression
}

// A Point is an end point by one method.
type Point struct {
	Order    int
	Species  string // used up there, where the chemistry is known
	Volume   unit.Volume
	StdUnc   unit.Volume
	Freedom  float64 // degrees of freedom of StdUnc; 0 where not limited
	Points   int
	Value    float64
	Warnings []string
	Bias     *Bias // of a derivative method, where it was asked for
}

// Coverage is the factor that makes StdUnc an interval of 95 %.
func (p Point) Coverage() float64 {
	if p.Freedom > 0 {
		return coverage(p.Freedom)
	}
	return coverage(math.Inf(1))
}

// A Result is a quantity with its uncertainty.
type Result struct {
	Name     string // species, couple
	Value    float64
	Unit     string
	StdUnc   float64
	Freedom  float64 // degrees of freedom; +Inf where not limited
	Coverage float64 // factor for 95 %
	From     string
	Parts    []Part // what the uncertainty is made of
	Note     string
	Working  *Working // of a content; nil otherwise
	Way      *Way     // of a concentration, where the stoichiometry leads there straight; nil otherwise
}

// Expanded returns the expanded uncertainty.
func (r Result) Expanded() float64 { return r.Coverage * r.StdUnc }

// A Part is a contribution to a standard uncertainty, in the unit of the
// result.
type Part struct {
	Name     string
	StdUnc   float64
	Note     string
	Freedom  float64 // degrees of freedom; 0 where not limited
	Random   bool    // differs from run to run; other parts are shared by all runs
	inAmount float64 // what of it is left in an amount, where the volume cancels
}

// addParts adds the parts that are not 0 and makes StdUnc their root sum of
// squares, Freedom what Welch and Satterthwaite make of theirs.
func (r *Result) addParts(parts ...Part) {
	for _, q := range parts {
		if q.StdUnc > 0 {
			r.Parts = append(r.Parts, q)
		}
	}
	sum := 0.0
	us, freedoms := make([]float64, len(r.Parts)), make([]float64, len(r.Parts))
	for i, q := range r.Parts {
		sum += q.StdUnc * q.StdUnc
		us[i], freedoms[i] = q.StdUnc, math.Inf(1)
		if q.Freedom > 0 {
			freedoms[i] = q.Freedom
		}
	}
	r.StdUnc = math.Sqrt(sum)
	r.Freedom = uncertainty.Welch(us, freedoms)
	r.Coverage = coverage(r.Freedom)
}

// An Evaluation is everything about one run.
type Evaluation struct {
	Setup             *setup.Setup
	Curve             *curve.Curve
	Methods           []Method
	Fit               *fit.Result // nil where refused
	Recommended       int         // index into Methods; -1 if every method refuses
	Reason            string
	EquivalencePoints []Point // by the recommended method
	Concentrations    []Result
	Contents          []Result
	FormalPotentials  []Result
	Media             []Medium // of the tables, beside these potentials
	Warnings          []string
	Assumed           []string
	preset            []float64
	blank             *BlankResult // nil where the blank is that of the setup
	Inflections       []Inflection // where bias was asked for
	Diagnosis         []Finding    // where it was asked for
	Diagnosed         bool
	Profiles          []Profile // where they were asked for
	lines             LineOptions
	Outliers          int // readings far off, for which the regression was made robust
}

// Options of an evaluation.
type Options struct {
	Method string // use this method instead of the recommended one; "" recommends
	Robust bool
	Preset []float64 // V, pH or pIon of preset end points
	Quick  bool      // only the regression and what follows from it, where it can be recommended
	// Diagnose asks for causes of what the residuals show: some more fits.
	Diagnose bool
	// Bias asks for that of the derivative methods on these steps, and of the
	// inflection itself. For a wished Method it is worked out anyway.
	Bias bool
	// Profile asks for intervals by the sum of squares of the regression.
	Profile bool
	Lines   LineOptions
	// Like is the regression of another run of a series, from which this one
	// starts: in a long series that of the first. It changes no result by more
	// than what a fit leaves open, far below its uncertainty.
	Like *fit.Result
}

// LineOptions are of Gran's straight lines. The zero value leaves all to the
// rules of the methods.
type LineOptions struct {
	Window [2]float64 // in parts of V_e
	Slope  endpoint.SlopeRule
	Equal  bool // equal weights, as spreadsheets fit
}

// An UnknownMethodError names the methods there are.
type UnknownMethodError struct{ Name string }

func (e *UnknownMethodError) Error() string {
	return fmt.Sprintf("unknown method %q; have %s", e.Name, strings.Join(MethodNames(), ", "))
}

// MethodNames lists all methods.
func MethodNames() []string {
	names := []string{RegressionName}
	for _, m := range endpoint.Methods {
		names = append(names, m.Name)
	}
	return names
}

// Evaluate runs every method on the curve. Only a wrong Method name is an
// error: methods that cannot be trusted refuse in the result.
func Evaluate(c *curve.Curve, s *setup.Setup, opt Options) (*Evaluation, error) {
	return evaluate(c, s, opt, nil)
}

func evaluate(c *curve.Curve, s *setup.Setup, opt Options, blank *BlankResult) (*Evaluation, error) {
	if opt.Method != "" && !known(opt.Method) {
		return nil, &UnknownMethodError{opt.Method}
	}
	e := &Evaluation{Setup: s, Curve: s.Burette.Added(c), Recommended: -1, preset: opt.Preset, lines: opt.Lines, blank: blank}
	e.Warnings = append(e.Warnings, s.Warnings...)
	e.Assumed = append(e.Assumed, s.Notes...)
	e.checkReadings()
	e.regression(opt)
	quick := opt.Quick && opt.Method == "" && e.Fit != nil && e.residualsFit()
	if !quick {
		e.modelFree()
	}
	e.recommend(opt.Method)
	if opt.Bias {
		e.biases("")
		e.inflections()
	} else if opt.Method != "" {
		e.biases(opt.Method)
	}
	if e.Recommended >= 0 {
		e.EquivalencePoints = e.Methods[e.Recommended].Points
		e.takeBias()
		e.concentrations()
		e.checkResults()
		e.checkBlank()
		e.checkZero()
		if !quick {
			e.formalPotentials()
		}
	}
	if opt.Profile {
		e.profiles()
	}
	if opt.Diagnose {
		e.Diagnosis, e.Diagnosed = e.Diagnose(), true
	}
	return e, nil
}

func known(name string) bool {
	if name == RegressionName {
		return true
	}
	_, ok := endpoint.Find(name)
	return ok
}

func (e *Evaluation) targets() []fit.Target {
	var list []fit.Target
	for _, f := range e.Setup.Find {
		if j := e.Setup.System().Index(f.Species); j >= 0 {
			list = append(list, fit.Target{Species: j, InBurette: f.InBurette, Name: f.Species})
		}
	}
	return list
}

func (e *Evaluation) regression(opt Options) {
	m := Method{Name: RegressionName, Title: "Whole-curve regression"}
	defer func() { e.Methods = append(e.Methods, m) }()
	s := e.Setup
	if s.Titration == nil {
		m.Refused = "needs the chemistry; the setup gives only a ratio"
		return
	}
	for _, f := range s.Find {
		if f.Unfound != "" {
			m.Refused = f.Unfound
			return
		}
	}
	noise := fit.Noise{Value: s.Noise.Potential, Volume: s.Noise.Volume}
	if e.Curve.Kind != curve.Potential {
		noise.Value = s.Noise.PH
	}
	t := *s.Titration
	t.Cell.Known = true
	r, err := fit.Curve(e.Curve, &t, e.targets(), fit.Options{Noise: noise, Robust: opt.Robust, Extra: s.Extra, Profile: opt.Profile, Like: opt.Like})
	if err != nil {
		m.Refused = err.Error()
		return
	}
	if far := outliers(r); !opt.Robust && far > 0 && 10*far <= r.Points {
		again, err := fit.Curve(e.Curve, &t, e.targets(), fit.Options{Noise: noise, Robust: true, Extra: s.Extra, Profile: opt.Profile})
		if err == nil {
			r = again
			r.Warnings = append(r.Warnings, fmt.Sprintf("%d of %d readings lie far off the curve, so weights that fall with the residual are used; look at these readings", far, r.Points))
			e.Outliers = far
		}
	}
	e.Fit = r
	if !e.takeExtras() {
		e.lessBlankInFit()
	}
	m.Warnings = r.Warnings
	for i, q := range r.Equivalences {
		m.Points = append(m.Points, Point{Order: i + 1, Species: q.Species, Volume: q.Volume, StdUnc: q.StdUnc, Freedom: limited(q.Freedom), Points: r.Points, Value: q.Value})
	}
}

// farOff is the reduced residual from which a reading is an outlier: chance
// gives one in two million. Where the noise was estimated an outlier hides in
// the noise it makes: among n readings it cannot exceed √n. There the median of
// the others judges, with a wider limit as it is known less well, and only a
// reading far from the mean square too.
const (
	farOff         = 5
	farFromMedian  = 6 * 1.4826 // times the median of absolute values, from which normal σ follows
	farInItsShadow = 3
)

func outliers(r *fit.Result) int {
	limit := float64(farOff)
	if r.Estimated && len(r.Residuals) > 0 {
		sizes := make([]float64, len(r.Residuals))
		for i, x := range r.Residuals {
			sizes[i] = math.Abs(x.Reduced)
		}
		slices.Sort(sizes)
		limit = min(limit, max(farInItsShadow, farFromMedian*sizes[len(sizes)/2]))
	}
	n := 0
	for _, x := range r.Residuals {
		if math.Abs(x.Reduced) > limit {
			n++
		}
	}
	return n
}

func (e *Evaluation) modelFree() {
	opt := e.endpointOptions()
	for _, m := range endpoint.Methods {
		out := Method{Name: m.Name, Title: m.Title}
		switch why := e.notFor(m.Name); {
		case why != "":
			out.Refused = why
		default:
			r := m.Find(e.Curve, opt)
			out.Refused, out.Warnings, out.Detail = r.Refused, r.Warnings, &r.Detail
			for _, p := range r.Points {
				out.Points = append(out.Points, Point{Order: p.Order, Volume: p.Volume, StdUnc: p.StdUnc, Points: p.Points, Value: p.Value, Warnings: p.Warnings})
			}
		}
		e.nameSpecies(&out)
		e.Methods = append(e.Methods, out)
	}
}

// notFor says why a method does not belong to the chemistry of the setup.
func (e *Evaluation) notFor(name string) string {
	t := e.Setup.Titration
	redox := t != nil && t.System().Electron() >= 0
	indicator := e.Setup.Electrode.Indicator
	switch {
	case t == nil && (strings.HasPrefix(name, "gran-redox") || name == "log-plot") && (indicator == "silver" || indicator == "glass" || e.Setup.Electrode.Ion != ""):
		return "for redox titrations; the setup names an electrode for an ion"
	case t == nil && strings.HasPrefix(name, "gran-silver") && indicator != "silver" && e.Setup.Electrode.Ion == "":
		return "for silver titrations; the setup names no silver or ion-selective electrode"
	case name == "straight-line-pair" && e.Curve.Kind == curve.Potential:
		return "a potential is not linear in volume on either side of the end point"
	case t == nil:
		return ""
	case strings.HasPrefix(name, "gran-silver") && redox:
		return "for silver titrations; this is a redox titration"
	case name == "gran-silver-after" && !e.followsTitrant():
		return "for an electrode that follows the titrant's ion after the end point; here nothing precipitates and the titrant does not hold " + e.Setup.Electrode.Ion
	case strings.HasPrefix(name, "gran-redox") && !redox, name == "log-plot" && !redox:
		return "for redox titrations; no half-reaction is in the setup"
	case (strings.HasPrefix(name, "gran-redox") || name == "log-plot") && e.unsymmetrical() != "" && !strings.HasSuffix(name, "after"):
		return ""
	case strings.HasSuffix(name, "redox-after") && e.unsymmetrical() != "":
		return "the line is straight only for a titrant with one species in either form; here " + e.unsymmetrical()
	}
	return ""
}

// followsTitrant says whether the electrode sees the excess of titrant: its own
// ion is added, or a precipitate holds the product of both.
func (e *Evaluation) followsTitrant() bool {
	t := e.Setup.Titration
	for _, sp := range t.System().Species {
		if sp.Kind == equilibrium.Solid {
			return true
		}
	}
	j := t.System().Index(e.Setup.Electrode.Ion)
	return j >= 0 && !t.Problem.Burette(j).Coef.IsZero()
}

// unsymmetrical names a couple whose forms do not stand one to one.
func (e *Evaluation) unsymmetrical() string {
	for _, c := range e.Setup.Titration.Couples {
		if why := e.coupleRule(c.Reaction); why != "" {
			return why
		}
	}
	return ""
}

func (e *Evaluation) endpointOptions() endpoint.Options {
	s := e.Setup
	opt := endpoint.Options{V0: unit.Volume(s.Flask.Volume.Float()), Temperature: s.Temperature}
	opt.Expected = e.expectedJumps()
	opt.Preset = e.preset
	opt.Window, opt.Slope, opt.Equal = e.lines.Window, e.lines.Slope, e.lines.Equal
	opt.Noise.Value, opt.Noise.Volume = s.Noise.Potential, unit.Volume(s.Noise.Volume)
	if e.Curve.Kind != curve.Potential {
		opt.Noise.Value = s.Noise.PH
	}
	opt.Electrons = endpoint.Electrons{Titrand: 1, Titrant: 1}
	if t := s.Titration; t != nil {
		for _, c := range t.Couples {
			n := int(math.Round(math.Abs(c.Electrons)))
			if e.inFlask(c.Reaction) {
				opt.Electrons.Titrand = n
			} else {
				opt.Electrons.Titrant = n
			}
		}
	}
	return opt
}

// expectedJumps is how many end points the chemistry shows: those of the
// regression within the readings, else one for each species sought.
func (e *Evaluation) expectedJumps() int {
	if e.Fit == nil {
		return len(e.Setup.Find)
	}
	v, _ := e.Curve.Used()
	last, n := 0.0, 0
	for _, x := range v {
		last = math.Max(last, x)
	}
	for _, q := range e.Fit.Equivalences {
		if q.Visible && float64(q.Volume) < last {
			n++
		}
	}
	return n
}

// inFlask says whether a partner of a reaction is in the flask.
func (e *Evaluation) inFlask(reaction int) bool {
	t := e.Setup.Titration
	for _, term := range t.System().Reactions[reaction].Terms {
		if !t.Problem.Flask(term.Species).Coef.IsZero() && term.Species != t.System().Index("H^+") {
			return true
		}
	}
	return false
}

// nameSpecies gives end points the species of the equivalence they belong to.
func (e *Evaluation) nameSpecies(m *Method) {
	if e.Fit == nil {
		if len(e.Setup.Find) == 1 && len(m.Points) == 1 {
			m.Points[0].Species = e.Setup.Find[0].Species
		}
		return
	}
	for i := range m.Points {
		best := math.Inf(1)
		for _, q := range e.Fit.Equivalences {
			if d := math.Abs(float64(q.Volume - m.Points[i].Volume)); d < best && d < 0.1*float64(q.Volume) {
				best, m.Points[i].Species = d, q.Species
			}
		}
	}
}

// recommend picks one method and says why: the regression unless it refuses
// or its residuals follow a pattern, otherwise the best ranked of the rest.
func (e *Evaluation) recommend(wish string) {
	if wish != "" {
		for i, m := range e.Methods {
			if m.Name == wish && m.Refused == "" {
				e.Recommended, e.Reason = i, "asked for"
			}
		}
		return
	}
	if reg := &e.Methods[0]; reg.Refused == "" && e.residualsFit() {
		e.Recommended = 0
		e.Reason = "it uses the whole curve, frees the electrode from its offset and slope, and its residuals look like noise"
		if e.Outliers > 0 {
			e.Reason = "it uses the whole curve, frees the electrode from its offset and slope, and its residuals look like noise but for the readings named in the doubts"
		}
		return
	}
	best, few := -1, false
	for i := range e.Methods {
		m := &e.Methods[i]
		if m.Refused != "" || m.Name == "preset" || m.Name == RegressionName || len(m.Points) == 0 {
			continue
		}
		if e.Methods[0].Refused == "" && len(m.Points) < e.soughtInFlask() {
			few = true // the regression tells apart what this one does not
			continue
		}
		if best < 0 || m.Points[0].StdUnc < e.Methods[best].Points[0].StdUnc {
			best = i
		}
	}
	if best >= 0 {
		e.Recommended = best
		why := "the regression refuses (" + e.Methods[0].Refused + ")"
		if e.Methods[0].Refused == "" {
			why = "the residuals of the regression do not look like noise, so its model is in doubt"
		}
		e.Reason = "of the methods that do not refuse it has the smallest uncertainty; " + why
	} else if few {
		e.Recommended, e.Reason = 0, fmt.Sprintf("no other method tells the %d substances that are sought apart; its residuals do not look like noise, so look at them", e.soughtInFlask())
	} else if e.Methods[0].Refused == "" {
		e.Recommended, e.Reason = 0, "no other method gives a number; its residuals do not look like noise, so look at them"
	}
}

func (e *Evaluation) soughtInFlask() int {
	n := 0
	for _, f := range e.Setup.Find {
		if !f.InBurette {
			n++
		}
	}
	return n
}

// residualsFit says whether the residuals of the regression look like noise:
// no pattern of signs, and no reading far off that it was not told to doubt.
func (e *Evaluation) residualsFit() bool {
	if e.Fit.RunsP < 0.001 && e.Fit.Freedom >= 6 {
		return false
	}
	return e.Outliers > 0 || outliers(e.Fit) == 0
}

// ErrAllRefused reports a run from which no method would give a number.
var ErrAllRefused = errors.New("every method refuses")
