package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"meniscus/titration"
	"meniscus/unit"
)

// A Gain is what the jump would become with one thing changed.
type Gain struct {
	What   string
	Height float64
}

// verdict puts the findings into words, what is impossible first with the
// nearest thing that works.
func (p *Plan) verdict() error {
	p.gains()
	say := func(format string, args ...any) { p.Verdict = append(p.Verdict, capital(fmt.Sprintf(format, args...))) }
	if len(p.Jumps) == 0 {
		say("Not possible as described: no equivalence point shows as a jump.")
		p.nearest(say)
		return nil
	}
	enough := true
	for i, j := range p.Jumps {
		enough = enough && j.Enough
		name := ""
		if len(p.Jumps) > 1 {
			name = fmt.Sprintf("Point %d (%s used up): ", i+1, j.Name)
		}
		switch {
		case j.Left > p.Accuracy:
			say("%s%s %% is left at equivalence, more than the %s %% wanted: the jump is slanted there, so that a colour or a preset reading must be met closely; the whole curve carries ±%s %% (k = 2).", name, short(100*j.Left), number(100*p.Accuracy), short(200*j.Carried/j.Volume))
		case !j.Enough:
			say("%sthe jump with this noise carries ±%s %% (k = 2), less than the %s %% wanted.", name, short(200*j.Carried/j.Volume), number(100*p.Accuracy))
		default:
			say("%sgood enough for %s %%: the jump carries ±%s %% (k = 2) when all readings are used.", name, number(100*p.Accuracy), short(200*j.Carried/j.Volume))
		}
		if b := math.Abs(j.Inflection / j.Volume); b > p.Accuracy/3 {
			say("%sthe steepest point is %s %% from equivalence: use whole-curve regression, not a derivative.", name, signed(100*j.Inflection/j.Volume))
		}
		if j.Drop > p.Accuracy {
			say("%sone drop (0.05 mL) is %s %% of the volume: stopping at a drop cannot reach %s %%; an end point read from the curve can, or a larger volume.", name, number(100*j.Drop), number(100*p.Accuracy))
		}
	}
	m := p.main()
	if u, err := p.relU(m.Volume); err == nil && 2*u > p.Accuracy {
		say("the burette alone (class %s, k = 2) gives ±%s %% at %s mL; a weighed titrant, a certificate, or the same burette for the standardisation goes below.", p.Burette.Class, short(200*u), number(m.Volume*1e3))
	}
	p.unreachable(say)
	if !enough {
		p.nearest(say)
	}
	return nil
}

// unreachable says what else cannot be had.
func (p *Plan) unreachable(say func(string, ...any)) {
	b, m := p.Burette, p.main()
	if m.Volume > b.Capacity {
		say("The burette of %s mL is too small: the end falls at %s mL. %s", number(b.Capacity*1e3), number(m.Volume*1e3), p.firstWay())
	}
	for _, c := range p.Titrants {
		if c.Here && c.Keeps < 7 {
			say("The titrant (%s) is unstable: its titre holds for %d day; standardise it on the day of use, before and after.", c.Name, c.Keeps)
		}
	}
	fits := 0
	for _, f := range p.Indicators {
		if f.Fits {
			fits++
		}
	}
	switch {
	case fits == 0 && len(p.Indicators) > 0:
		f := p.Indicators[0]
		say("No indicator of the tables fits %s %%; the nearest is %s, with an error of %s %%. The electrode needs none.", number(100*p.Accuracy), f.Name, signed(100*f.Part))
	case p.Setup.Titration.Cell.Sensor == titration.Ion:
		say("Indicators of metals and of silver are not computed; the electrode needs none.")
	}
	sought, _ := p.sought()
	for _, c := range p.Setup.Flask.Contents {
		if x := c.Conc.Float(); sought != nil && c.Species == sought.Species && x > 0 && x < 1e-3 {
			say("At %s mol/L blank and drift rule, whatever the jump: titrate more of it, or a blank beside each run.", number(x))
		}
	}
}

func (p *Plan) firstWay() string {
	if len(p.Burette.Ways) == 0 {
		return "Take less of the sample, or a stronger titrant."
	}
	w := p.Burette.Ways[0]
	return fmt.Sprintf("A pipette of %s mL and %s mol/L bring it to %s mL.", number(w.Pipette*1e3), number(w.Strength), number(w.Volume*1e3))
}

// nearest names what buys most.
func (p *Plan) nearest(say func(string, ...any)) {
	switch {
	case len(p.Gains) > 0:
		g := p.Gains[0]
		say("What buys most: %s, with a jump of %s.", g.What, withUnit(g.Height, p.Unit, p.Quantity))
	default:
		say("Nothing in the tables helps: another reaction is needed, or a back titration.")
	}
}

// gains computes what a change of medium, titrant or concentration would do.
func (p *Plan) gains() {
	now := 0.0
	if m := p.main(); m != nil {
		now = p.height(*m)
	}
	add := func(what string, h float64) {
		if h > now*1.02+1e-9 {
			p.Gains = append(p.Gains, Gain{what, h})
		}
	}
	for _, m := range p.Media {
		if !m.Here && !math.IsNaN(m.Height) {
			add("the medium "+m.Medium, m.Height)
			break
		}
	}
	for _, c := range p.Titrants {
		if !c.Here {
			add(c.Name+" as titrant", c.Height)
		}
	}
	if h, ok := p.stronger(10); ok {
		add("both solutions ten times as concentrated", h)
	}
	sortGains(p.Gains)
}

// stronger returns the jump with all amounts f times as large.
func (p *Plan) stronger(f float64) (float64, bool) {
	t := *p.Setup.Titration
	t.Problem = t.Problem.Clone()
	x, _ := unit.DecimalOf(f)
	for j := range t.System().Species {
		t.Problem.SetFlask(j, t.Problem.Flask(j).Mul(x))
		t.Problem.SetBurette(j, t.Problem.Burette(j).Mul(x))
	}
	s := *p.Setup
	s.Titration = &t
	q, pt, err := sibling(p, &s)
	if err != nil || pt == nil {
		return 0, false
	}
	return q.height(*pt), true
}

func signed(x float64) string { return strings.ReplaceAll(fmt.Sprintf("%+.2g", x), "-", "−") }

// short writes a number with two figures.
func short(x float64) string { return strconv.FormatFloat(x, 'g', 2, 64) }

// capital begins a sentence.
func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func sortGains(list []Gain) {
	slices.SortStableFunc(list, func(a, b Gain) int { return int(math.Copysign(1, b.Height-a.Height)) })
}
