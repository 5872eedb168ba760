package plan

import (
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/fit"
	"meniscus/setup"
	"meniscus/unit"
)

// NextOptions of the next addition. The zero value is sound.
type NextOptions struct {
	ScheduleOptions
	UntilVolume    unit.Volume    // standard uncertainty of V_eq that suffices; 0: as good as the readings allow
	UntilPotential unit.Potential // the same of a potential
}

// A Reached is what the readings so far tell of a quantity wanted, in its unit.
type Reached struct {
	Name   string
	Unit   string // mL, mV, or "" for pH and pIon
	Value  float64
	StdUnc float64
	After  float64 // standard uncertainty expected after the next reading
	Rest   float64 // and after all that are planned
	Until  float64 // what suffices; 0 where not said
}

// A Next says what to do now.
type Next struct {
	Read    int         // readings so far
	Last    unit.Volume // added so far
	Stop    bool
	Why     string
	Add     unit.Volume // 0 with Stop
	Volume  unit.Volume // added then
	Burette unit.Volume // what the burette shows then
	Reached []Reached
	From    string // what Reached rests on
	Ahead   []unit.Volume
	Assumed []string
	// Warnings are what to look at before going on.
	Warnings []string
}

// From which the state of a titration is known.
const (
	FromGuess    = "the guess in the setup"
	FromBoth     = "the guess in the setup and the readings"
	FromReadings = "whole-curve regression of the readings"
)

// leastGain is the part of its standard uncertainty that the readings planned
// next must take from something wanted, or they do not pay.
const leastGain = 0.03

// lookahead is how many readings are planned at least, so that the next one is
// not chosen as if it were the last.
const lookahead = 3

// NewNext plans the rest of a titration anew after the readings so far, which
// may be none, and returns the next addition. The readings are the burette's,
// as in the setup. An error is a *ScheduleError where going on makes no sense.
func NewNext(c *curve.Curve, s *setup.Setup, opt NextOptions) (*Next, error) {
	kind := naturalKind(s)
	v, y := s.Burette.Added(c).Used()
	if len(v) > 0 {
		kind = c.Kind
	}
	b, err := newBench(s, kind, opt.Want, opt.Step)
	if err != nil {
		return nil, err
	}
	n, err := b.count(opt.Readings)
	if err != nil {
		return nil, err
	}
	known, err := b.known(opt.Known)
	if err != nil {
		return nil, err
	}
	if err := checkOrder(v); err != nil {
		return nil, err
	}
	p := &progress{bench: b, v: v, y: y, known: known, planned: n, opt: opt}
	if err := p.learn(s.Burette.Added(c)); err != nil {
		return nil, err
	}
	return p.decide()
}

func checkOrder(v []float64) error {
	for i := 1; i < len(v); i++ {
		if v[i] < v[i-1] {
			return refuse("order of readings", "reading %d is at %.2f mL, after one at %.2f mL: the volume cannot fall. Are the readings of one titration, in the order they were taken?", i+1, v[i]*1e3, v[i-1]*1e3)
		}
	}
	if len(v) > 0 && v[0] < 0 {
		return refuse("order of readings", "the first reading is at %.2f mL, below the start of the burette", v[0]*1e3)
	}
	return nil
}

// A progress is a titration under way.
type progress struct {
	*bench
	v, y    []float64
	known   []float64
	planned int
	opt     NextOptions

	states   []state // what the titration may be, given the guess and the readings
	doubt    []state // the same, were the guess hardly known
	fit      *fit.Result
	from     string
	warnings []string
	held     bool // the next reading is there to see whether the guess is right
}

func (p *progress) last() float64 {
	if len(p.v) == 0 {
		return 0
	}
	return p.v[len(p.v)-1]
}

// decide plans what is left and says whether to go on.
func (p *progress) decide() (*Next, error) {
	volumes := p.candidates(p.last(), p.ahead())
	truths, err := p.readTruths(volumes)
	if err != nil {
		return nil, err
	}
	d := newDesign(volumes, truths, p.wanted)
	out := &Next{Read: len(p.v), Last: unit.Volume(p.last()), From: p.from, Assumed: p.assumed, Warnings: p.warnings}
	now := p.reached(d)
	out.Reached = now
	d.fill(max(p.planned-len(p.v), lookahead))
	for _, j := range d.chosen {
		out.Ahead = append(out.Ahead, unit.Volume(volumes[j]))
	}
	p.hold(out, volumes)
	p.expect(out, d)
	if p.stop(out); out.Stop {
		return out, nil
	}
	if len(out.Ahead) == 0 {
		return nil, refuse("burette empty", "%.2f mL have been added and no more than %.2f mL are planned for; %s so far. Refill (refill at: in the setup) or take another portion", p.last()*1e3, p.limit*1e3, reachedWords(out.Reached))
	}
	out.Volume = out.Ahead[0]
	out.Add = out.Volume - out.Last
	out.Burette = p.s.Burette.Reading(out.Volume)
	out.Why = p.why(out)
	return out, nil
}

// hold puts a reading before the first planned one where that one might pass
// the end point.
func (p *progress) hold(out *Next, volumes []float64) {
	safe := p.safe()
	if len(out.Ahead) == 0 || float64(out.Ahead[0]) <= safe {
		return
	}
	j, _ := slices.BinarySearch(volumes, safe)
	if j > 0 {
		out.Ahead = slices.Insert(out.Ahead, 0, unit.Volume(volumes[j-1]))
		p.held = true
	}
}

// reached lists what is known now.
func (p *progress) reached(d *design) []Reached {
	list := make([]Reached, p.wanted)
	for i, q := range p.quantities[:p.wanted] {
		k, name := scale(q.unit)
		value, u := p.spreadOf(i, q, d)
		list[i] = Reached{Name: q.name, Unit: name, Value: value * k, StdUnc: u * k}
		switch name {
		case "mL":
			list[i].Until = p.opt.UntilVolume.Millilitres()
		case "mV":
			list[i].Until = float64(p.opt.UntilPotential) * 1e3
		}
	}
	return list
}

// spreadOf returns the mean and standard uncertainty of a quantity: by the
// regression where there is one, otherwise over the states.
func (p *progress) spreadOf(i int, q quantity, d *design) (value, u float64) {
	if x, ux, ok := p.fitted(q); ok {
		return x, ux
	}
	mean, square, within := 0.0, 0.0, 0.0
	for m := range d.truths {
		t := &d.truths[m]
		x := t.values[q.param]
		if q.eq >= 0 {
			x = t.at[i]
		}
		mean += t.weight * x
		square += t.weight * x * x
		if q.eq < 0 {
			within += t.weight * t.variance(i)
		}
	}
	return mean, math.Sqrt(math.Max(square-mean*mean, 0) + within)
}

// fitted returns a quantity from the regression, if it frees it.
func (p *progress) fitted(q quantity) (value, u float64, ok bool) {
	if p.fit == nil {
		return 0, 0, false
	}
	if q.eq < 0 {
		for _, e := range p.fit.Estimates {
			if want := p.model.Params[q.param]; e.Kind == want.Kind && e.Index == want.Index {
				return e.Value, e.StdUnc, true
			}
		}
		return 0, 0, false
	}
	seen := 0
	for _, e := range p.eq[:q.eq] {
		if e.Species == p.eq[q.eq].Species {
			seen++
		}
	}
	for _, e := range p.fit.Equivalences {
		if e.Species == p.eq[q.eq].Species {
			if seen == 0 {
				return float64(e.Volume), float64(e.StdUnc), true
			}
			seen--
		}
	}
	return 0, 0, false
}

// expect fills in what the next reading and all planned ones would bring: the
// information that the model says they add, on top of what is known now.
func (p *progress) expect(out *Next, d *design) {
	after, rest := make([]float64, p.wanted), make([]float64, p.wanted)
	for i := range rest {
		rest[i] = d.mean(i)
	}
	for len(d.chosen) > 0 {
		d.remove(len(d.chosen) - 1)
	}
	for i := range out.Reached {
		after[i] = d.mean(i)
	}
	if len(out.Ahead) > 0 {
		j, _ := slices.BinarySearch(d.volumes, float64(out.Ahead[0]))
		d.add(j)
	}
	for i := range out.Reached {
		r, now := &out.Reached[i], after[i]
		k, _ := scale(p.quantities[i].unit)
		added := func(u float64) float64 {
			return 1 / math.Sqrt(1/(r.StdUnc*r.StdUnc)+math.Max(1/(u*u)-1/(now*now), 0)/(k*k))
		}
		r.After, r.Rest = added(d.mean(i)), added(rest[i])
	}
}

// stop says whether enough is known, or no more is to be had.
func (p *progress) stop(out *Next) {
	if p.fit == nil {
		return // V_eq lies ahead, or the regression does not yet tell it
	}
	said, enough, pays := false, true, false
	for _, r := range out.Reached {
		said = said || r.Until > 0
		enough = enough && r.Until > 0 && r.StdUnc <= r.Until
		pays = pays || (r.Until == 0 || r.StdUnc > r.Until) && r.Rest < (1-leastGain)*r.StdUnc
	}
	next := ""
	if len(out.Ahead) > 0 {
		next = fmt.Sprintf("; one more reading, at %.2f mL, would bring %s", out.Ahead[0].Millilitres(), afterWords(out.Reached))
	}
	switch {
	case enough:
		out.Stop, out.Why = true, "what is wanted is reached"+next
	case !pays:
		out.Stop, out.Why = true, fmt.Sprintf("more readings of this portion do not pay: %d more would take less than %.0f %% from any uncertainty wanted%s", len(out.Ahead), 100*leastGain, next)
		if said {
			out.Why += ". What is wanted is not reached; titrate another portion and read closer around the end point"
		}
	case len(p.v) >= p.planned && !said:
		out.Stop, out.Why = true, fmt.Sprintf("the %d readings planned are taken%s", p.planned, next)
	}
}

func (p *progress) why(out *Next) string {
	if p.held {
		return "the end point may come earlier than expected; a reading here shows it before it is passed"
	}
	if r := out.Reached[0]; p.fit == nil && r.Unit == "mL" {
		return fmt.Sprintf("the end point is expected at %.2f mL, give or take %.2g mL; the readings planned lie where they tell most of it", r.Value, r.StdUnc)
	}
	return "this reading takes the uncertainties to " + afterWords(out.Reached)
}

func reachedWords(list []Reached) string {
	return joined(list, func(r Reached) float64 { return r.StdUnc })
}

func afterWords(list []Reached) string {
	return joined(list, func(r Reached) float64 { return r.After })
}

func joined(list []Reached, u func(Reached) float64) string {
	s := ""
	for i, r := range list {
		if i > 0 {
			s += ", "
		}
		s += fmt.Sprintf("u(%s) = %.2g", r.Name, u(r))
		if r.Unit != "" {
			s += " " + r.Unit
		}
	}
	return s
}
