package plan

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

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
	Gains      []Gain
	Titrants   []Candidate // best first
	Refused    []Candidate
	Media      []MediumJump
	Burette    Burette
	Indicators []IndicatorFit
	Conditions []Condition
	Reductors  []Reductor
	Cautions   constants.Cautions
	Notes      []string

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
	{"conditions", (*Plan).conditions},
	{"cautions", (*Plan).cautions},
	{"verdict", (*Plan).verdict},
}

// ErrNoChemistry says that a setup gives only a ratio.
var ErrNoChemistry = errors.New("the setup gives only a ratio; a plan needs the species in flask and burette")

// For plans the titration of a setup. A titration without a jump gives a plan
// too: with a verdict that says so, and what would do instead.
func For(s *setup.Setup, o Options) (*Plan, error) {
	if s.Titration == nil {
		return nil, ErrNoChemistry
	}
	p := &Plan{Setup: s, Accuracy: o.Accuracy, walk: newWalker(s)}
	if p.Accuracy == 0 {
		p.Accuracy = 0.001
	}
	if !(p.Accuracy > 0 && p.Accuracy < 0.2) {
		return nil, fmt.Errorf("an accuracy of %g %% cannot be planned for; it is above 0 and below 20 %%", 100*p.Accuracy)
	}
	p.Unit, p.Quantity = p.walk.scale.unit, p.walk.scale.name
	p.noise()
	if err := p.find(); err != nil {
		return nil, err
	}
	p.guess(o.Guess)
	for _, part := range parts {
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
	put := p.flask(p.Setup.Flask.Contents, "")
	sys := p.Setup.System()
	for i := range p.points {
		pt := &p.points[i]
		pt.Name = pt.Species
		for _, j := range p.forms(sys, sys.Index(pt.Species)) {
			if slices.Contains(put, sys.Species[j].Name) && !slices.Contains(put, pt.Species) {
				pt.Name = sys.Species[j].Name
			}
		}
	}
	return nil
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
