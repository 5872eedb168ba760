package plan

import (
	"fmt"
	"math"
	"slices"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/setup"
	"meniscus/titration"
)

// A Candidate is a titrant of the tables tried on this flask.
type Candidate struct {
	constants.Titrant
	Height   float64 // within the accuracy wanted, in the unit of the readings
	Strength float64 // mol/L, for the same volume as the titrant of the setup
	Here     bool    // the setup's own
	Points   int     // of demerit, see Reasons
	Reasons  []string
	Refused  string
	Clashing bool // with what is in the flask
}

// titrants tries every titrant of the kind on the flask, at the strength that
// puts its end where the setup's own has it.
func (p *Plan) titrants() error {
	m := p.main()
	if slices.ContainsFunc(p.Setup.Find, func(f setup.Target) bool { return f.InBurette }) {
		p.Notes = append(p.Notes, "other titrants are not tried where the burette's content is sought")
		return nil
	}
	if !slices.ContainsFunc(p.Setup.Reactions, func(r setup.Reaction) bool { return r.FromTable }) {
		p.Notes = append(p.Notes, "the setup uses its own constants only (library: off), so titrants of the tables are not tried")
		return nil
	}
	all, err := constants.Titrants()
	if err != nil {
		return err
	}
	own := p.flask(p.Setup.Burette.Contents, "")
	for _, t := range all {
		if t.Kind != p.kind() {
			continue
		}
		c := Candidate{Titrant: t, Height: math.NaN(), Strength: p.strength()}
		c.Here = p.inUse(t, own)
		v := usualCapacity * 0.7
		if m != nil {
			v = m.Volume
		}
		p.try(&c, v)
		if c.Refused != "" {
			p.Refused = append(p.Refused, c)
			continue
		}
		p.judge(&c)
		p.Titrants = append(p.Titrants, c)
	}
	slices.SortStableFunc(p.Titrants, func(a, b Candidate) int {
		if a.Points != b.Points {
			return a.Points - b.Points
		}
		return int(math.Copysign(1, b.Height-a.Height))
	})
	return nil
}

// kind is the word of the table of titrants for this titration.
func (p *Plan) kind() string {
	c := p.Setup.Titration.Cell
	switch {
	case c.Sensor == titration.Inert:
		return "redox"
	case c.Sensor == titration.Glass:
		return "acid-base"
	case p.Setup.Electrode.Ion == "Ag^+":
		return "silver"
	}
	return "complexometric"
}

// try computes the jump with a titrant, at a strength for the volume v.
func (p *Plan) try(c *Candidate, v float64) {
	q, pt, err := p.with(c)
	if err == nil && pt != nil {
		c.Strength *= pt.Volume / v
		q, pt, err = p.with(c)
	}
	switch {
	case err != nil:
		c.Refused = firstLine(err.Error())
	case pt == nil:
		c.Refused = p.whyNot(q)
	default:
		c.Height = q.height(*pt)
	}
}

// inUse says whether a titrant is what the burette has.
func (p *Plan) inUse(t constants.Titrant, own []string) bool {
	for _, c := range p.Setup.Burette.Contents {
		if sp, err := chem.ParseSpecies(t.Species); err == nil && sp.Name == c.Species {
			return true
		}
	}
	list := ions(t.Species)
	return p.kind() != "acid-base" && len(list) == 1 && slices.Contains(own, list[0])
}

// whyNot says why a titrant gives no jump.
func (p *Plan) whyNot(q *Plan) string {
	const plainly = "gives no jump: it does not react with what is in the flask, too weakly, or with other things too"
	if !p.redox() || q == nil {
		return plainly
	}
	m := p.main()
	b := q.titrantCouple()
	if m == nil || b == nil {
		return plainly
	}
	a := q.couple(m.Name, m.Next)
	if a == nil || a == b {
		return plainly
	}
	// Reductions have the electrons and the oxidised form on the left.
	reducing := coefficient(q.Setup.System(), a.Reaction, m.Name) > 0
	for _, c := range q.flask(q.Setup.Burette.Contents, "") {
		x := coefficient(q.Setup.System(), b.Reaction, c)
		switch {
		case x == 0 || c == chem.Proton:
			continue
		case x > 0 && reducing:
			return "it is a reductant, and so is " + m.Name
		case x < 0 && !reducing:
			return "it is an oxidant, and so is " + m.Name
		case reducing == (b.Potential < a.Potential):
			return plainly
		}
		return fmt.Sprintf("too weak: %s has %.3f V against SHE, %s has %.3f V", b.Name, b.Potential, a.Name, a.Potential)
	}
	return plainly
}

func (p *Plan) with(c *Candidate) (*Plan, *Point, error) {
	ch := setup.Change{Titrant: []setup.Portion{{Species: c.Species, Conc: fmt.Sprintf("%.6g mol/L", c.Strength)}}}
	for _, a := range c.With {
		ch.Titrant = append(ch.Titrant, setup.Portion{Species: a.Species, Conc: fmt.Sprintf("%.6g mol/L", a.PerMole*c.Strength)})
	}
	if ph, ok := acidity(constants.CleanMedium(p.Setup.Flask.Medium)); ok {
		ch.HoldPH = &ph
	}
	v, err := p.Setup.With(ch)
	if err != nil {
		return nil, nil, err
	}
	q, pt, err := sibling(p, v)
	if pt == nil || err != nil {
		return q, pt, err
	}
	return q, p.sameUsedUp(q), nil
}

// sameUsedUp is the last point of a variant at which something of the flask is
// used up.
func (p *Plan) sameUsedUp(q *Plan) *Point {
	have := p.flask(p.Setup.Flask.Contents, "")
	var elems []string
	for _, n := range have {
		elems = append(elems, elements(n)...)
	}
	if p.Setup.Titration.Cell.Sensor == titration.Glass {
		return q.main()
	}
	for i := len(q.points) - 1; i >= 0; i-- {
		if overlaps(elements(q.points[i].Species), elems) {
			return &q.points[i]
		}
	}
	return nil
}

// judge counts what speaks against a titrant; the reasons say what was
// counted. Jumps that do not carry the accuracy count most.
func (p *Plan) judge(c *Candidate) {
	add := func(n int, format string, args ...any) {
		c.Points += n
		c.Reasons = append(c.Reasons, fmt.Sprintf(format, args...))
	}
	if low := leastJump[p.Unit]; c.Height < low {
		add(6, "jump below %s", withUnit(low, p.Unit, p.Quantity))
	}
	for _, x := range c.Clashes {
		// Silver is what cyanide is titrated with, however it spoils halides.
		if c.Here && p.kind() == "silver" && slices.ContainsFunc(p.points, func(pt Point) bool { return pt.Name == x.Species }) {
			continue
		}
		if slices.Contains(p.flask(p.Setup.Flask.Contents, p.Setup.Flask.Medium), x.Species) {
			c.Clashing = true
			add(4, "%s in the flask: %s", x.Species, x.Why)
		}
	}
	switch {
	case c.Standard == "primary standard":
		add(0, "primary standard")
	case c.Keeps >= 90:
		add(1, "titre keeps for months; against %s", c.Standard)
	case c.Keeps >= 7:
		add(2, "titre keeps about %d days; against %s", c.Keeps, c.Standard)
	default:
		add(4, "unstable: standardise on the day; against %s", c.Standard)
	}
	if c.Speed > 0 {
		add(c.Speed, "%s", []string{"", "slow near the end: wait for each reading", "slow: warm, or add a catalyst"}[min(c.Speed, 2)])
	}
	if c.Care > 1 {
		add(c.Care-1, "asks for care: %s", orElse(c.Note, "see cautions"))
	} else if c.Note != "" {
		add(0, "%s", c.Note)
	}
	add(0, "%s", []string{"", "cheap", "fair price", "dear"}[c.Cost])
	if c.Conditions != "" {
		add(0, "%s", c.Conditions)
	}
}

// leastJump is what the eye and the meter want within the accuracy: common
// practice, a rule of thumb.
var leastJump = map[string]float64{"mV": 100, "": 0.5}

func orElse(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

func withUnit(x float64, unit, quantity string) string {
	if unit == "" {
		return number(x) + " " + quantity
	}
	return number(x) + " " + unit
}

// flask returns the particles that contents give, and those of a medium.
func (p *Plan) flask(list []setup.Content, medium string) []string {
	var out []string
	for _, c := range list {
		for _, t := range c.Ions {
			out = append(out, t.Species.Name)
		}
	}
	for _, m := range mediumParts.FindAllStringSubmatch(medium, -1) {
		out = append(out, ions(m[1])...)
	}
	return out
}

// ions returns what a substance gives in water, itself if nothing is known.
func ions(name string) []string {
	sp, err := chem.ParseSpecies(name)
	if err != nil {
		return []string{name}
	}
	terms, err := chem.Dissociate(sp)
	if err != nil {
		return []string{sp.Name}
	}
	var list []string
	for _, t := range terms {
		if n := t.Species.Name; n != "Na^+" && n != "K^+" && n != "NO3^-" || len(terms) == 1 {
			list = append(list, n)
		}
	}
	return list
}

func overlaps(a, b []string) bool {
	return slices.ContainsFunc(a, func(x string) bool { return slices.Contains(b, x) })
}
