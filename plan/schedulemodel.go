package plan

import (
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/fit"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

// Standard uncertainties that a parameter has before the first reading, in its
// own unit. They only matter while the readings tell less: regression itself
// starts from nothing.
const (
	priorPotential = 0.1  // V: a formal potential in a medium that is near the one of the table
	priorOffset    = 0.5  // pH or pIon
	priorSlope     = 0.02 // of the theoretical slope
	priorContent   = 0.25 // relative, of what is sought; wide, as the guess may be wrong
	leastBlank     = 1e-9 // L: a blank that is stated without an uncertainty
)

// Noise of a reading where the setup states none: common practice.
const (
	usualPotential = 1e-3 // V
	usualPH        = 0.02
	usualVolume    = 1e-5 // L
)

// A bench is what a schedule is computed from: the model with the parameters
// that the evaluation will free, each in units of its prior uncertainty.
type bench struct {
	s          *setup.Setup
	t          titration.Titration
	kind       curve.Kind
	noise      fit.Noise
	assumed    []string // what was not said
	targets    []fit.Target
	model      *titration.Model
	start      []float64
	prior      []float64 // standard uncertainties
	sought     []int     // indices of the parameters sought
	blank      int       // index of the parameter that is the blank, -1 for none
	eq         []titration.Equivalence
	quantities []quantity // those wanted first
	wanted     int        // how many of them
	limit      float64    // L, last volume that can be added
	step       float64    // L, smallest addition
}

// A quantity is something wanted: an equivalence volume, or a parameter.
type quantity struct {
	name  string
	unit  string // base unit
	eq    int    // index of the equivalence point; -1 for a parameter
	param int
}

func newBench(s *setup.Setup, kind curve.Kind, want Wanted, step unit.Volume) (*bench, error) {
	if s.Titration == nil {
		return nil, refuse("no chemistry", "where to read follows from the predicted curve, and the setup gives only a ratio; add the species under contains, or read in equal steps")
	}
	c := &bench{s: s, t: *s.Titration, kind: kind, step: float64(step)}
	c.t.Cell.Known = true
	if err := c.free(); err != nil {
		return nil, err
	}
	c.setNoise()
	if err := c.points(); err != nil {
		return nil, err
	}
	c.burette()
	return c, c.choose(want)
}

// naturalKind is what the electrode of a setup is read in.
func naturalKind(s *setup.Setup) curve.Kind {
	if s.Titration != nil && s.Titration.Cell.Sensor == titration.Glass {
		return curve.PH
	}
	return curve.Potential
}

func (c *bench) free() error {
	for _, f := range c.s.Find {
		if j := c.s.System().Index(f.Species); j >= 0 {
			c.targets = append(c.targets, fit.Target{Species: j, InBurette: f.InBurette, Name: f.Species})
		}
	}
	for _, f := range c.s.Find {
		if f.Unfound != "" && len(c.targets) == 0 {
			return refuse("nothing sought", "%s", f.Unfound)
		}
	}
	if len(c.targets) == 0 {
		return refuse("nothing sought", "the setup does not say what is to be found; name it, such as find: Fe^2+")
	}
	out := map[curve.Kind]titration.Output{curve.Potential: titration.Potential, curve.PH: titration.PH, curve.PIon: titration.PIon}[c.kind]
	params := fit.DefaultParameters(&c.t, c.targets, c.kind, false)
	c.blank = -1
	if b := c.s.Blank; b.Float() != 0 || b.U != 0 {
		c.blank = len(params)
		params = append(params, titration.Parameter{Kind: titration.Blank, Name: "blank", Unit: "L"})
	}
	m, err := c.t.NewModel(params, out)
	if err != nil {
		return fmt.Errorf("making the model: %w", err)
	}
	c.model, c.start = m, m.Start()
	if c.blank >= 0 {
		c.start[c.blank] = c.s.Blank.Float()
		if err := m.Set(c.start); err != nil {
			return fmt.Errorf("setting the blank: %w", err)
		}
		c.assumed = append(c.assumed, fmt.Sprintf("the blank of %s mL is in the volumes here: the burette shows the end point that much later", number(c.s.Blank.Float()*1e3)))
	}
	for k, p := range params {
		u := priorPotential
		switch {
		case p.Kind == titration.FlaskConcentration || p.Kind == titration.BuretteConcentration:
			u = priorContent * c.start[k]
			c.sought = append(c.sought, k)
		case p.Kind == titration.Offset && c.kind != curve.Potential:
			u = priorOffset
		case p.Kind == titration.SlopeFraction:
			u = priorSlope
		case p.Kind == titration.Blank:
			u = math.Max(c.s.Blank.U, leastBlank)
		}
		c.prior = append(c.prior, u)
	}
	return nil
}

func (c *bench) setNoise() {
	c.noise = fit.Noise{Value: c.s.Noise.Potential, Volume: c.s.Noise.Volume}
	if c.kind != curve.Potential {
		c.noise.Value = c.s.Noise.PH
	}
	switch {
	case c.noise.Value > 0:
	case c.kind == curve.Potential:
		c.noise.Value = usualPotential
		c.assumed = append(c.assumed, "a reading is good to 1 mV (readings: {potential: ...} in the setup says otherwise)")
	default:
		c.noise.Value = usualPH
		c.assumed = append(c.assumed, "a reading is good to 0.02 in pH (readings: {pH: ...} in the setup says otherwise)")
	}
	if c.noise.Volume == 0 {
		c.noise.Volume = usualVolume
		c.assumed = append(c.assumed, "a volume is read to 0.01 mL (readings: {volume: ...} in the setup says otherwise)")
	}
}

// points finds the equivalence points that show as a jump and depend on what is
// sought.
func (c *bench) points() error {
	list, err := c.model.Equivalences(1e3)
	if err != nil {
		return fmt.Errorf("finding the equivalence points: %w", err)
	}
	c.eq = list
	for i, e := range list {
		depends := false
		for _, k := range c.sought {
			depends = depends || e.Gradient[k] != 0
		}
		if depends && c.jumps(i) {
			c.quantities = append(c.quantities, quantity{name: "V_eq of " + e.Species, unit: "L", eq: i})
		}
	}
	if n := len(c.quantities); n > 0 && c.eq[c.quantities[n-1].eq].Volume <= 0 {
		return refuse("blank", "the blank of %s mL puts the end point before the first drop: it is subtracted from what the burette shows, and is below 0 only where the reagents bring titrant along", number(c.s.Blank.Float()*1e3))
	}
	if len(c.quantities) == 0 {
		return refuse("no jump", "the predicted curve has no jump at an equivalence point of what is sought, so that no place of the readings helps; a stronger titrant, another medium or a more concentrated flask may")
	}
	return nil
}

// jumps says whether the curve at equivalence i is three times as steep as half
// way to its neighbours, by the rule that the evaluation uses, within a
// hundredth of it.
func (c *bench) jumps(i int) bool {
	v := c.eq[i].Volume
	before, after := 0.0, 2*v
	if i > 0 {
		before = c.eq[i-1].Volume
	}
	if i+1 < len(c.eq) {
		after = c.eq[i+1].Volume
	}
	here := 0.0
	for k := -4; k <= 4; k++ { // a solid that begins early moves the steepest place
		if _, s, ok, err := c.model.Eval(v*(1+0.0025*float64(k)), nil); err == nil && ok {
			here = math.Max(here, math.Abs(s))
		}
	}
	for _, w := range []float64{(v + before) / 2, (v + after) / 2} {
		_, s, ok, err := c.model.Eval(w, nil)
		if err == nil && ok && math.Abs(here) < 3*math.Abs(s) {
			return false
		}
	}
	return true
}

// usualBurette is taken where the setup states no capacity.
const usualBurette = 0.050

// usualStep is the smallest addition that a person makes on purpose with a
// burette of 25 or 50 mL: one drop, a graduation to the half.
const usualStep = 5e-5

// burette sets the last volume and the smallest addition. Nothing is planned
// beyond twice the last jump and a tenth: the curve is flat from there on.
func (c *bench) burette() {
	b := c.s.Burette
	capacity := b.Capacity.Float()
	if capacity == 0 && c.eq[c.quantities[0].eq].Volume <= 0.9*usualBurette {
		capacity = usualBurette
		c.assumed = append(c.assumed, "the burette holds 50 mL (burette: {capacity: ...} in the setup says otherwise)")
	}
	last := 0.0
	for _, q := range c.quantities {
		if v := c.eq[q.eq].Volume; capacity == 0 || b.RefillAt.Float() > 0 || v <= capacity {
			last = math.Max(last, v)
		}
	}
	c.limit = 2.1 * last
	if last == 0 {
		c.limit = capacity
	}
	if capacity > 0 && b.RefillAt.Float() == 0 {
		if up := b.Start.Float(); !b.ReadsDown && up < capacity {
			capacity -= up
		} else if b.ReadsDown && up > 0 {
			capacity = up
		}
		c.limit = math.Min(c.limit, capacity)
	}
	if c.step == 0 {
		c.step = usualStep
		if capacity > 0 && capacity <= 0.0101 {
			c.step = 1e-5 // a burette of 10 mL or less is divided to 0.02 mL or finer
		}
	}
	c.limit = math.Floor(c.limit/c.step+1e-6) * c.step
}

// choose puts the quantities that are wanted first; the others stay, to say
// what a reading is for.
func (c *bench) choose(want Wanted) error {
	var wanted, others []quantity
	for _, q := range c.quantities {
		v := c.eq[q.eq].Volume
		switch {
		case v > c.limit && want != Potential:
			c.assumed = append(c.assumed, fmt.Sprintf("%s is expected at %.2f mL, beyond the burette's %.2f mL; it is left out of the plan", q.name, v*1e3, c.limit*1e3))
		case v > c.limit:
		case want == Potential:
			others = append(others, q)
		default:
			wanted = append(wanted, q)
		}
	}
	if want != Potential && len(wanted) == 0 {
		v := c.eq[c.quantities[0].eq].Volume
		return refuse("burette too small", "the equivalence point is expected at %.2f mL and the burette gives %.2f mL; take a smaller aliquot or a stronger titrant", v*1e3, c.limit*1e3)
	}
	for k, p := range c.model.Params {
		q := quantity{name: p.Name, unit: p.Unit, eq: -1, param: k}
		potential := p.Kind == titration.CouplePotential || p.Kind == titration.Offset
		switch {
		case slices.Contains(c.sought, k) || k == c.blank || !c.sees(k):
		case potential && want != Equivalence:
			wanted = append(wanted, q)
		default:
			others = append(others, q)
		}
	}
	if len(wanted) == 0 {
		return refuse("no potential", "no reading that this burette reaches tells a potential of this titration")
	}
	c.quantities, c.wanted = append(wanted, others...), len(wanted)
	return nil
}

// sees says whether a reading within reach tells parameter k at all: it moves
// somewhere by a tenth of what a potential moves, or by its noise when the
// slope moves by its prior uncertainty.
func (c *bench) sees(k int) bool {
	grad := make([]float64, len(c.prior))
	for i := 1; i <= 40; i++ {
		_, _, ok, err := c.model.Eval(float64(i)/40*c.limit, grad)
		if err == nil && ok && (math.Abs(grad[k]) > 0.1 || (c.model.Params[k].Kind == titration.SlopeFraction && math.Abs(grad[k])*c.prior[k] > c.noise.Value)) {
			return true
		}
	}
	return false
}

// A truth is one way the titration may be: the parameters, and what readings
// would tell there. inv is the covariance of the parameters in units of their
// prior uncertainty.
type truth struct {
	weight float64
	values []float64
	grad   []float64 // rows of the candidates, over the noise of a reading there
	want   []float64 // rows of the quantities
	at     []float64 // their equivalence volumes, L; 0 of a parameter
	inv    []float64
}

// truth makes a truth at the values of the parameters, with candidate volumes v.
// It reports false where these values have other equivalence points.
func (c *bench) truth(values []float64, weight float64, v []float64) (truth, bool) {
	n := len(values)
	t := truth{weight: weight, values: values, grad: make([]float64, n*len(v)), want: make([]float64, n*len(c.quantities)), at: make([]float64, len(c.quantities))}
	if c.model.Set(values) != nil {
		return t, false
	}
	list, err := c.model.Equivalences(1e3)
	if err != nil {
		return t, false
	}
	for i, q := range c.quantities {
		row := t.want[i*n : i*n+n]
		if q.eq < 0 {
			row[q.param] = c.prior[q.param]
			continue
		}
		if q.eq >= len(list) || list[q.eq].Species != c.eq[q.eq].Species {
			return t, false
		}
		t.at[i] = list[q.eq].Volume
		for k, g := range list[q.eq].Gradient {
			row[k] = g * c.prior[k]
		}
	}
	for i, x := range v {
		c.score(x, t.grad[i*n:i*n+n])
	}
	t.begin()
	return t, true
}

// begin forgets all readings.
func (t *truth) begin() {
	n := len(t.values)
	t.inv = make([]float64, n*n)
	for k := range n {
		t.inv[k*n+k] = 1
	}
}

// split gives the first n candidates and the rest to two truths without
// readings.
func (t truth) split(n int) (first, rest truth) {
	first, rest = t, t
	at := n * len(t.values)
	first.grad, rest.grad = t.grad[:at], t.grad[at:]
	first.begin()
	rest.begin()
	return first, rest
}

// score writes what one reading at v tells: the derivatives of the reading in
// units of its noise, volume errors included, and of the prior uncertainties.
// A reading that is undefined tells nothing.
func (c *bench) score(v float64, grad []float64) {
	_, slope, ok, err := c.model.Eval(v, grad)
	if err != nil || !ok || math.IsNaN(slope) {
		clear(grad)
		return
	}
	s := math.Hypot(c.noise.Value, slope*c.noise.Volume)
	for k := range grad {
		grad[k] *= c.prior[k] / s
	}
}

// times returns inv g.
func (t *truth) times(g []float64) []float64 {
	n := len(g)
	h := make([]float64, n)
	for i := range h {
		h[i] = dot(t.inv[i*n:i*n+n], g)
	}
	return h
}

// update adds (sign 1) or takes out (sign -1) a reading with score g, by the
// formula of Sherman and Morrison.
func (t *truth) update(g []float64, sign float64) {
	n := len(g)
	h := t.times(g)
	d := 1 + sign*dot(g, h)
	for i := range n {
		for k := range n {
			t.inv[i*n+k] -= sign * h[i] * h[k] / d
		}
	}
}

func dot(a, b []float64) float64 {
	x := 0.0
	for i, y := range b {
		x += a[i] * y
	}
	return x
}

// variance returns that of a quantity.
func (t *truth) variance(q int) float64 {
	n := len(t.values)
	w := t.want[q*n : q*n+n]
	x := 0.0
	for i := range n {
		for k := range n {
			x += w[i] * t.inv[i*n+k] * w[k]
		}
	}
	return x
}
