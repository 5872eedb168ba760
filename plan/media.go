package plan

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"meniscus/constants"
	"meniscus/setup"
)

// A MediumJump is the same titration in another medium.
type MediumJump struct {
	Medium   string
	Height   float64 // within the accuracy wanted, mV; NaN where refused
	Analyte  float64 // V against SHE, potential of the titrand's couple
	Titrant  float64 // V against SHE
	Refused  string
	Here     bool // the medium of the setup
	PHTaken  float64
	HasTaken bool   // pH was taken from the strength of the acid
	Clash    string // what the medium does to the titrant of the setup
}

// strongAcid finds an acid of a medium that gives all, or its first, proton.
var strongAcid = regexp.MustCompile(`^([0-9.]+) mol/L (HCl|HClO4|HNO3|H2SO4)\b`)

// acidity is the nominal pH of a medium: minus log of the concentration of its
// strong acid, as the tables count it.
func acidity(medium string) (float64, bool) {
	m := strongAcid.FindStringSubmatch(medium)
	if m == nil {
		return 0, false
	}
	c, err := strconv.ParseFloat(m[1], 64)
	if err != nil || c <= 0 {
		return 0, false
	}
	return -math.Log10(c), true
}

// media computes the jump in every medium for which the tables hold a formal
// potential of the titrand's couple and of the titrant's, where it has any.
func (p *Plan) media() error {
	if !p.redox() || p.main() == nil {
		return nil
	}
	a, b := p.couple(p.points[0].Name, p.points[0].Next), p.titrantCouple()
	if a == nil || b == nil {
		return nil
	}
	if !p.Setup.Reactions[a.Reaction].FromTable {
		p.Notes = append(p.Notes, "the potential of "+a.Name+" is the setup's own, so other media are not tried")
		return nil
	}
	list, err := constants.Media(p.Setup.Reactions[a.Reaction].Equation)
	if err != nil {
		return nil // a couple of the chemist's own, with labels
	}
	other, err := constants.Media(p.Setup.Reactions[b.Reaction].Equation)
	if err != nil {
		return nil
	}
	here := constants.CleanMedium(p.Setup.Flask.Medium)
	for _, m := range list {
		j := MediumJump{Medium: m, Here: m == here, Height: math.NaN()}
		if len(other) > 0 && !slices.Contains(other, m) {
			j.Refused = "no potential of the titrant"
		} else {
			p.inMedium(&j)
			j.Clash = p.clashIn(m)
		}
		p.Media = append(p.Media, j)
	}
	slices.SortStableFunc(p.Media, func(x, y MediumJump) int {
		switch {
		case math.IsNaN(x.Height) && math.IsNaN(y.Height):
			return 0
		case math.IsNaN(x.Height):
			return 1
		case math.IsNaN(y.Height):
			return -1
		}
		return int(math.Copysign(1, y.Height-x.Height))
	})
	return nil
}

// clashIn says what a medium does to the titrant in use.
func (p *Plan) clashIn(medium string) string {
	all, err := constants.Titrants()
	if err != nil {
		return ""
	}
	own := p.flask(p.Setup.Burette.Contents, "")
	for _, t := range all {
		if t.Kind != p.kind() || !p.inUse(t, own) {
			continue
		}
		for _, x := range t.Clashes {
			if slices.Contains(p.flask(nil, medium), x.Species) {
				return x.Species + ": " + x.Why
			}
		}
	}
	return ""
}

func (p *Plan) inMedium(j *MediumJump) {
	c := setup.Change{Medium: j.Medium}
	if ph, ok := acidity(j.Medium); ok {
		c.HoldPH, j.PHTaken, j.HasTaken = &ph, ph, true
	}
	v, err := p.Setup.With(c)
	if err != nil {
		j.Refused = firstLine(err.Error())
		return
	}
	q, pt, err := sibling(p, v)
	switch {
	case err != nil:
		j.Refused = firstLine(err.Error())
		return
	case pt == nil:
		j.Refused = "no jump"
		return
	}
	if a := q.couple(pt.Name, pt.Next); a != nil {
		if !a.Formal {
			j.Refused = "the formal potential there is held back: the medium attacks the titrand"
			return
		}
		j.Analyte = a.Potential
	}
	if b := q.titrantCouple(); b != nil {
		j.Titrant = b.Potential
	}
	j.Height = q.height(*pt)
}

// sibling is the same plan for a variant, as far as its points.
func sibling(p *Plan, s *setup.Setup) (*Plan, *Point, error) {
	q := &Plan{Setup: s, Accuracy: p.Accuracy, Guess: p.Guess, walk: newWalker(s)}
	if err := q.find(); err != nil {
		return nil, nil, err
	}
	return q, q.main(), nil
}

// height is the size of a jump within the accuracy wanted.
func (p *Plan) height(pt Point) float64 {
	a, err := p.walk.read(pt.Volume, -p.Accuracy*pt.Volume)
	if err != nil {
		return math.NaN()
	}
	b, err := p.walk.read(pt.Volume, p.Accuracy*pt.Volume)
	if err != nil {
		return math.NaN()
	}
	return math.Abs(b - a)
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	return s
}
