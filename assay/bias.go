package assay

import (
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/endpoint"
	"meniscus/titration"
	"meniscus/unit"
)

// A Bias is what a derivative method makes of a curve without noise, read at
// the same volumes, less the equivalence volume of that curve.
type Bias struct {
	Volume    unit.Volume
	StdUnc    unit.Volume // from where the equivalence point lies between readings
	Applied   bool        // the bias is twice its uncertainty at least; else where the readings fell decides, and nothing is corrected
	Corrected unit.Volume
	CorrUnc   unit.Volume // standard uncertainty of Corrected
}

// derivativeMethods are the methods that take the steepest place of the curve.
var derivativeMethods = []string{"steepest-interval", "smoothed-first-derivative", "second-derivative"}

// biases works out the bias of the derivative methods on these steps, from
// the fitted curve; only where that is one to trust. A wished method only, or
// all of them.
func (e *Evaluation) biases(only string) {
	if e.Fit == nil || len(e.Setup.Extra) > 0 || !e.residualsFit() {
		return
	}
	for i := range e.Methods {
		m := &e.Methods[i]
		if slices.Contains(derivativeMethods, m.Name) && (only == "" || only == m.Name) {
			e.bias(m)
		}
	}
}

// biasPlaces of the equivalence point on either side of the fitted one, out to
// two standard deviations of a volume.
const biasPlaces = 4

// bias fills in that of one method: the mean over where the equivalence point
// may lie between the readings, moved by moving the curve, and its scatter.
func (e *Evaluation) bias(m *Method) {
	f, ok := endpoint.Find(m.Name)
	if !ok || len(m.Points) == 0 {
		return
	}
	opt := e.endpointOptions()
	opt.Noise = endpoint.Noise{Value: e.Fit.Noise.Value, Volume: unit.Volume(e.Fit.Noise.Volume)}
	opt.Expected = len(m.Points)
	for k := range m.Points {
		p := &m.Points[k]
		eq := e.equivalenceOf(p)
		if eq == nil {
			continue
		}
		spread := math.Hypot(float64(eq.StdUnc), e.Fit.Noise.Volume)
		var sum, first, second float64
		for j := -biasPlaces; j <= biasPlaces; j++ {
			x := 2 * float64(j) / biasPlaces
			r := f.Find(e.withoutNoise(x*spread), opt)
			if len(r.Points) != len(m.Points) {
				continue
			}
			b, w := float64(r.Points[k].Volume-eq.Volume)-x*spread, math.Exp(-x*x/2)
			sum, first, second = sum+w, first+w*b, second+w*b*b
		}
		if sum == 0 {
			continue
		}
		b := first / sum
		u := math.Sqrt(math.Max(0, second/sum-b*b))
		p.Bias = &Bias{Volume: unit.Volume(b), StdUnc: unit.Volume(u), Corrected: p.Volume, CorrUnc: p.StdUnc}
		if math.Abs(b) > 2*u {
			p.Bias.Applied = true
			p.Bias.Corrected = p.Volume - unit.Volume(b)
			p.Bias.CorrUnc = unit.Volume(math.Hypot(float64(p.StdUnc), u))
		}
	}
}

// equivalenceOf is the fitted equivalence point that an end point belongs to.
func (e *Evaluation) equivalenceOf(p *Point) *Point {
	best, at := 0.1*float64(p.Volume), -1
	for i, q := range e.Fit.Equivalences {
		if d := math.Abs(float64(q.Volume - p.Volume)); q.Visible && d < best {
			best, at = d, i
		}
	}
	if at < 0 {
		return nil
	}
	q := e.Fit.Equivalences[at]
	return &Point{Volume: q.Volume, StdUnc: q.StdUnc}
}

// mostForBias readings tell the bias of a longer record, too: the methods
// average its readings in some hundred groups, and the mean of a group without
// noise is that of a part of it.
const mostForBias = 20_000

// withoutNoise is the fitted curve at the volumes of the readings that take
// part, of every so many of a long record, moved by shift along the volume.
func (e *Evaluation) withoutNoise(shift float64) *curve.Curve {
	out := *e.Curve
	out.Readings = nil
	for i := 0; i < len(e.Curve.Readings); i += 1 + len(e.Curve.Readings)/mostForBias {
		if e.Curve.Readings[i].Excluded == "" {
			out.Readings = append(out.Readings, e.Curve.Readings[i])
		}
	}
	for i := range out.Readings {
		r := &out.Readings[i]
		y, _, ok, err := e.Fit.Model.Eval(math.Max(float64(r.Volume)-shift, 0), nil)
		if err != nil || !ok {
			r.Excluded = "the model is undefined here"
			continue
		}
		r.Value = y
	}
	return &out
}

// An Inflection is where the fitted curve is steepest, against equivalence.
type Inflection struct {
	Order   int
	Species string
	Volume  unit.Volume
	Beyond  unit.Volume // from the equivalence point
	Value   float64     // reading there, V, pH or pIon
	At      float64     // reading at the equivalence point
}

// inflections are those of the fitted curve near its equivalence points.
func (e *Evaluation) inflections() {
	if e.Fit == nil {
		return
	}
	list, err := e.Fit.Model.Equivalences(1e4)
	if err != nil {
		return
	}
	for i, q := range e.Fit.Equivalences {
		k := slices.IndexFunc(list, func(x titration.Equivalence) bool { return x.Volume == float64(q.Volume) })
		if k < 0 || !q.Visible {
			continue
		}
		f, ok, err := e.Fit.Model.Inflection(list, k)
		if err != nil || !ok {
			continue
		}
		e.Inflections = append(e.Inflections, Inflection{i + 1, q.Species, unit.Volume(f.Volume), unit.Volume(f.Beyond), f.Value, f.At})
	}
}

// takeBias puts the corrected volume into the end points of the method used.
func (e *Evaluation) takeBias() {
	e.EquivalencePoints = slices.Clone(e.EquivalencePoints)
	for i := range e.EquivalencePoints {
		p := &e.EquivalencePoints[i]
		if p.Bias == nil || !p.Bias.Applied {
			continue
		}
		p.Volume, p.StdUnc = p.Bias.Corrected, p.Bias.CorrUnc
	}
}
