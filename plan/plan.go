package plan

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/equilibrium"
	"meniscus/setup"
	"meniscus/titration"
)

// Options say what is wanted of a titration.
type Options struct {
	Accuracy float64 // relative, such as 0.001; 0 is 0.001
	// Guess is the relative standard uncertainty of the content that the setup
	// guesses; 0 takes what the setup states, and else 0.1.
	Guess float64
	// Indicators to judge whatever their error: a potential against SHE
	// ("0.85 V"), a pH ("pH 8.3"), or a name of the tables. See CheckIndicator.
	Indicators []string
	Additions  ScheduleOptions // where to read; its zero value is sound
	// Going is asked before each part of the plan; an error ends the work and
	// is what For returns. nil never ends it.
	Going func() error
}

// A Plan is what can be said before the first drop. Its parts are filled one
// after another by a table.
type Plan struct {
	Setup    *setup.Setup
	Accuracy float64
	Guess    float64
	GuessIs  string // where Guess comes from

	Unit     string // of readings: mV, or "" for pH and pIon
	Quantity string // potential, pH, pCa
	Noise    string // what was taken for it, in words

	Jumps      []Jump
	Rules      []string // of thumb, beside the exact numbers
	Verdict    []string
	Against    int // how many of Verdict, from the first, stand against the titration as described, whatever its jump
	Gains      []Gain
	Titrants   []Candidate // best first
	Refused    []Candidate
	Media      []MediumJump
	Burette    Burette
	Indicators []IndicatorFit
	Additions  *Schedule // nil where none can be made: NoAdditions says why
	// NoAdditions is why there is no schedule, and what would help.
	NoAdditions string
	Conditions  []Condition
	Reductors   []Reductor
	Cautions    constants.Cautions
	Notes       []string

	asked  []string        // indicators
	where  ScheduleOptions // of additions
	points []Point
	eq     []equilibrium.Equivalence
	walk   *walker
}

// parts fill a plan, in this order.
var parts = []struct {
	name string
	fill func(*Plan) error
}{
	{"feasibility", (*Plan).feasibility},
	{"rules", (*Plan).rules},
	{"medium", (*Plan).media},
	{"titrants", (*Plan).titrants},
	{"burette", (*Plan).burette},
	{"indicators", (*Plan).indicators},
	{"additions", (*Plan).additions},
	{"conditions", (*Plan).conditions},
	{"cautions", (*Plan).cautions},
	{"verdict", (*Plan).verdict},
}

// ErrNoChemistry says that a setup gives only a ratio.
var ErrNoChemistry = errors.New("the setup gives only a ratio; a plan needs the species in flask and burette")

// Accuracies that can be planned for.
const (
	usualAccuracy = 1e-3
	leastAccuracy = 1e-5
	mostAccuracy  = 0.2
)

// For plans the titration of a setup. A titration without a jump gives a plan
// too: with a verdict that says so, and what would do instead.
func For(s *setup.Setup, o Options) (*Plan, error) {
	if s.Titration == nil {
		return nil, ErrNoChemistry
	}
	p := &Plan{Setup: s, Accuracy: o.Accuracy, walk: newWalker(s)}
	if p.Accuracy == 0 {
		p.Accuracy = usualAccuracy
	}
	if !(p.Accuracy >= leastAccuracy && p.Accuracy < mostAccuracy) {
		return nil, fmt.Errorf("an accuracy of %g %% cannot be planned for; from %g %% and below %g %% is meant", 100*p.Accuracy, 100*leastAccuracy, 100*mostAccuracy)
	}
	if !(o.Guess >= 0 && o.Guess <= 1) {
		return nil, fmt.Errorf("a guess that is uncertain by %g %% cannot be planned for; from 0 to 100 %% is meant", 100*o.Guess)
	}
	if n := o.Additions.Readings; n > MostReadings {
		return nil, fmt.Errorf("%d readings cannot be planned; up to %d can", n, MostReadings)
	}
	for _, a := range o.Indicators {
		if err := CheckIndicator(a); err != nil {
			return nil, err
		}
	}
	p.asked, p.where = o.Indicators, o.Additions
	p.Unit, p.Quantity = p.walk.scale.unit, p.walk.scale.name
	p.noise()
	if err := p.find(); err != nil {
		return nil, err
	}
	p.guess(o.Guess)
	for _, part := range parts {
		if o.Going != nil {
			if err := o.Going(); err != nil {
				return nil, fmt.Errorf("planning, before %s: %w", part.name, err)
			}
		}
		if err := part.fill(p); err != nil {
			return nil, fmt.Errorf("planning, %s: %w", part.name, err)
		}
	}
	return p, nil
}

// noise puts the noise taken into words.
func (p *Plan) noise() {
	n, said := p.Setup.Noise, "as the setup says"
	y, unit := n.Potential*1e3, " mV"
	if p.Unit == "" {
		y, unit = n.PH, " "+p.Quantity
	}
	if y == 0 {
		said = "assumed, as the setup does not say"
		if y = assumedPotential * 1e3; p.Unit == "" {
			y = assumedPH
		}
	}
	v := n.Volume
	if v == 0 {
		v = assumedVolume
	}
	p.Noise = fmt.Sprintf("%s%s and %s mL a reading (%s)", number(y), unit, number(v*1e3), said)
}

// guess settles how well the content is known beforehand.
func (p *Plan) guess(asked float64) {
	p.Guess, p.GuessIs = 0.1, "assumed"
	if asked > 0 {
		p.Guess, p.GuessIs = asked, "as asked for"
		return
	}
	if c, _ := p.sought(); c != nil && c.Conc.U > 0 {
		p.Guess, p.GuessIs = c.Conc.U/c.Conc.Float(), "from the setup"
	}
}

// find finds the equivalence points. Of several, those of what is sought are
// kept if there are any: a bystander that is used up far outside is nobody's
// end point.
func (p *Plan) find() error {
	var err error
	if p.eq, err = p.Setup.Titration.Problem.Equivalences(farthest); err != nil {
		return fmt.Errorf("finding the equivalence points: %w", err)
	}
	all, err := p.walk.points(p.Setup)
	if err != nil {
		return err
	}
	p.points = all
	if p.Setup.Titration.Cell.Sensor != titration.Glass {
		var core []string
		for _, f := range p.Setup.Find {
			core = append(core, elements(f.Species)...)
		}
		own := slices.DeleteFunc(slices.Clone(all), func(x Point) bool { return !overlaps(elements(x.Species), core) })
		if len(own) > 0 {
			p.points = own
		}
	}
	for i := range p.points {
		p.points[i].Name = p.name(p.points[i])
	}
	return nil
}

// name is what a point is called by: what was put into the flask, for a form
// of it that it turns into at once.
func (p *Plan) name(pt Point) string {
	put := p.flask(p.Setup.Flask.Contents, "")
	if slices.Contains(put, pt.Species) {
		return pt.Species
	}
	sys := p.Setup.System()
	j := sys.Index(pt.Species)
	for _, k := range p.forms(sys, j) {
		if slices.Contains(put, sys.Species[k].Name) {
			return sys.Species[k].Name
		}
	}
	// A complex or ion pair of it, such as NaCO3^- of carbonate: its volume hangs
	// on the one and not on the other.
	// A solid of the same elements, such as I2(s) of triiodide, likewise.
	for _, e := range p.eq {
		if math.Abs(e.Volume-pt.Volume) > 1e-9 {
			continue
		}
		for _, name := range put {
			k := sys.Index(name)
			if k >= 0 && e.PerFlask[k] != 0 && sys.Species[j].Kind == equilibrium.Solid && slices.Equal(elements(name), elements(pt.Species)) {
				return name
			}
			if k >= 0 && e.PerFlask[k] != 0 && overlaps(elements(name), elements(pt.Species)) && linked(sys, j, k, []int{sys.Electron(), sys.Index(chem.Proton), sys.Index(chem.Hydroxide)}) {
				return name
			}
		}
	}
	return pt.Species
}

// additions makes the schedule for the same guess as the burette. A titration
// for which no schedule can be made has a plan all the same.
func (p *Plan) additions() error {
	if p.main() == nil {
		return nil
	}
	o := p.where
	if o.Known == 0 && p.Guess <= mostKnown {
		o.Known = p.Guess
	}
	s := *p.Setup
	s.Find = p.particles()
	var refused *ScheduleError
	var err error
	if p.Additions, err = NewSchedule(&s, o); errors.As(err, &refused) {
		p.Additions, p.NoAdditions = nil, strings.TrimSuffix(refused.Error(), ".")
		return nil
	}
	if err != nil {
		return err
	}
	for _, pt := range p.points { // called as in the rest of the plan
		for i := range p.Additions.Wanted {
			p.Additions.Wanted[i].Name = strings.ReplaceAll(p.Additions.Wanted[i].Name, pt.Species, pt.Name)
		}
		for i := range p.Additions.Readings {
			p.Additions.Readings[i].For = strings.ReplaceAll(p.Additions.Readings[i].For, pt.Species, pt.Name)
		}
	}
	return nil
}

// particles is what is to be found, salts and acids by the particle that the end
// points hang on; where the setup does not say, what the plan takes for it.
func (p *Plan) particles() []setup.Target {
	var list []setup.Target
	for _, f := range p.Setup.Find {
		t := f
		contents := p.Setup.Flask.Contents
		if f.InBurette {
			contents = p.Setup.Burette.Contents
		}
		for i := range contents {
			if c := &contents[i]; c.Species == f.Species && p.Setup.System().Index(f.Species) < 0 {
				if j := p.weighs(c, f.InBurette); j >= 0 {
					t.Species = p.Setup.System().Species[j].Name
				}
			}
		}
		list = append(list, t)
	}
	if c, inBurette := p.sought(); len(list) == 0 && c != nil {
		if j := p.weighs(c, inBurette); j >= 0 {
			list = []setup.Target{{Species: p.Setup.System().Species[j].Name, InBurette: inBurette}}
		}
	}
	return list
}

// main is the point that a burette is planned for: the last one, as all must
// be on the scale.
func (p *Plan) main() *Point {
	if len(p.points) == 0 {
		return nil
	}
	return &p.points[len(p.points)-1]
}

// redox says whether the electrode follows electrons.
func (p *Plan) redox() bool { return p.Setup.Titration.Cell.Sensor == titration.Inert }

// number writes a number with up to four figures.
func number(x float64) string {
	if math.IsNaN(x) {
		return "–"
	}
	return strconv.FormatFloat(x, 'g', 4, 64)
}
