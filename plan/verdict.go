package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/setup"
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
		why, amounts := p.whyNone()
		if why != "" {
			say("%s.", why)
		}
		if !amounts {
			p.nearest(say)
		}
		return nil
	}
	p.obstacles(say)
	p.Against = len(p.Verdict)
	enough := true
	for i, j := range p.Jumps {
		enough = enough && j.Enough
		name := ""
		if len(p.Jumps) > 1 {
			name = fmt.Sprintf("Point %d (%s used up): ", i+1, j.Name)
		}
		p.sayJump(name, j, say)
	}
	p.closeBy(say)
	m := p.main()
	if u, err := p.relU(m.Volume); err == nil && 2*u > p.Accuracy {
		say("the burette alone (class %s, k = 2) gives ±%s %% at %s mL; a weighed titrant, a certificate, or the same burette for the standardisation goes below.", p.Burette.Class, short(200*u), number(m.Volume*1e3))
	}
	p.standing(say)
	p.colours(say)
	p.dilute(say)
	p.blank(say)
	if !enough {
		p.nearest(say)
	}
	return nil
}

// sayJump says what one jump is good for; name stands before it.
func (p *Plan) sayJump(name string, j Jump, say func(string, ...any)) {
	nearest := ""
	if r := reachable(j); r > p.Accuracy {
		nearest = fmt.Sprintf(" The nearest that works as described is %s %%, by whole-curve regression.", number(100*r))
	}
	switch {
	case j.Left > p.Accuracy:
		say("%s%s %% is left at equivalence, more than the %s %% wanted: the jump is slanted there, so that a colour or a preset reading must be met closely; the whole curve carries ±%s %% (k = 2).%s", name, short(100*j.Left), number(100*p.Accuracy), short(200*j.Carried/j.Volume), nearest)
		if why := p.tooClose(j.Point); why != "" {
			say("%s", why)
		}
	case !j.Enough:
		say("%sthe jump with this noise carries ±%s %% (k = 2), less than the %s %% wanted.%s", name, short(200*j.Carried/j.Volume), number(100*p.Accuracy), nearest)
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

// closePart is the part of a volume within which two points are easily taken
// for one.
const closePart = 0.05

// closeBy names points that lie close together, as those of alkali that has
// taken up carbon dioxide.
func (p *Plan) closeBy(say func(string, ...any)) {
	for i := 1; i < len(p.Jumps); i++ {
		a, b := p.Jumps[i-1], p.Jumps[i]
		if d := a.Volume/b.Volume - 1; -d < closePart {
			say("Point %d (%s used up) lies %s %% from point %d: what a colour or a preset reading gives hangs on which of them it changes at.", i, a.Name, three(100*d), i+1)
		}
	}
}

// largeBlank is the part of a volume beyond which a blank is named.
const largeBlank = 0.1

// blank says when the blank rules the result.
func (p *Plan) blank(say func(string, ...any)) {
	b, v := p.Setup.Blank, p.main().Volume
	if x := b.Float() / v; math.Abs(x) > largeBlank {
		say("The blank of %s mL is %s %% of the volume: the result is a small difference. Find out what takes the titrant, or titrate more of the sample.", number(b.Float()*1e3), short(100*math.Abs(x)))
	}
	if u := 2 * b.U / v; u > p.Accuracy {
		say("The blank is known to ± %s mL only, ±%s %% of the volume (k = 2): measure it more often, or titrate more of the sample.", number(b.U*1e3), short(100*u))
	}
}

// dilute says when so little is there that the blank decides.
func (p *Plan) dilute(say func(string, ...any)) {
	sought, _ := p.sought()
	for _, c := range p.Setup.Flask.Contents {
		if x := c.Conc.Float(); sought != nil && c.Species == sought.Species && x > 0 && x < 1e-3 {
			say("At %s mol/L blank and drift rule, whatever the jump: titrate more of it, or a blank beside each run.", number(x))
		}
	}
}

// colours says what indicators can do, those asked for first.
func (p *Plan) colours(say func(string, ...any)) {
	wanted := number(100*p.Accuracy) + " %"
	fits, best := false, -1
	for i, f := range p.Indicators {
		at := ""
		if f.Scale == "V" && f.Of == "" && p.alike(f) {
			at = fmt.Sprintf(" with %s V", number(f.At))
		}
		if len(p.Jumps) > 1 {
			at += fmt.Sprintf(" at point %d", f.Point+1)
		}
		switch {
		case !f.Asked:
		case math.IsNaN(f.Error):
			say("The indicator %s%s: %s.", f.Name, at, f.Note)
		case f.Fits:
			say("The indicator %s%s fits: error %s %%, within %s.", f.Name, at, three(100*f.Part), wanted)
		default:
			say("The indicator %s%s does not fit %s: error %s %%, %s.", f.Name, at, wanted, three(100*f.Part), side(f.Part))
		}
		fits = fits || f.Fits || f.Scale == ""
		if !math.IsNaN(f.Part) && (best < 0 || math.Abs(f.Part) < math.Abs(p.Indicators[best].Part)) {
			best = i
		}
	}
	switch {
	case fits:
	case best < 0:
		say("No indicator of the tables changes on this curve%s. The electrode needs none.", p.flat())
	default:
		f := p.Indicators[best]
		say("No indicator of the tables fits %s%s; the nearest is %s, with an error of %s %%. The electrode needs none.", wanted, p.flat(), f.Name, three(100*f.Part))
	}
}

// flat says that a jump is too small for the eye, or where a colour would have
// to change.
func (p *Plan) flat() string {
	j := p.Jumps[len(p.Jumps)-1]
	if low := leastJump[p.Unit]; j.Height < low {
		return fmt.Sprintf(": the jump within ±%s %% is %s, and an eye wants %s (rule of thumb)", number(100*p.Accuracy), withUnit(j.Height, p.Unit, p.Quantity), withUnit(low, p.Unit, p.Quantity))
	}
	unit := withUnit(j.Within[1], p.Unit, p.Quantity)
	return fmt.Sprintf(": it would have to change between %s and %s of this electrode", number(j.Within[0]), unit)
}

// alike says whether an indicator stands in the list with several values.
func (p *Plan) alike(f IndicatorFit) bool {
	n := 0
	for _, g := range p.Indicators {
		if g.Name == f.Name && g.Point == f.Point {
			n++
		}
	}
	return n > 1
}

func side(x float64) string {
	if x < 0 {
		return "too early"
	}
	return "too late"
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
		g, still := p.Gains[0], ""
		if g.Height < leastJump[p.Unit] {
			still = "; that is still little for a colour: read the whole curve, or take another reaction or a back titration"
		}
		say("What buys most: %s, with a jump of %s%s.", g.What, withUnit(g.Height, p.Unit, p.Quantity), still)
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
		if !m.Here && !math.IsNaN(m.Height) && m.Clash == "" {
			add("the medium "+m.Medium, m.Height)
			break
		}
	}
	for _, c := range p.Titrants {
		if !c.Here && !c.Clashing {
			add(c.Name+" as titrant", c.Height)
		}
	}
	if h, ok := p.stronger(10); ok {
		add("both solutions ten times as concentrated", h)
	}
	p.acidGains(add)
	sortGains(p.Gains)
}

// mostAcid is how strong an acid is proposed, mol/L: common practice.
const mostAcid = 2.0

// acidGains tries another acidity: one pH unit either way where it is held, and
// more of the acid of the flask for couples.
func (p *Plan) acidGains(add func(string, float64)) {
	sensor := p.Setup.Titration.Cell.Sensor
	if sensor == titration.Glass {
		return
	}
	if ph, held := p.heldPH(); held {
		for _, d := range []float64{-1, 1} {
			x := ph + d
			if x < 0 || x > 14 {
				continue
			}
			if h, ok := p.changed(setup.Change{HoldPH: &x}); ok {
				add(fmt.Sprintf("pH %s instead of %s", number(x), number(ph)), h)
			}
		}
	}
	if sensor != titration.Inert {
		return
	}
	for _, c := range p.Setup.Flask.Contents {
		f := math.Min(10, mostAcid/c.Conc.Float())
		if !slices.ContainsFunc(c.Ions, func(t chem.Term) bool { return t.Species.Name == chem.Proton }) || f < 1.5 {
			continue
		}
		if h, ok := p.more(&c, f); ok {
			add(fmt.Sprintf("%s at %s mol/L: more acid", c.Species, number(f*c.Conc.Float())), h)
		}
	}
}

func (p *Plan) heldPH() (float64, bool) {
	for _, h := range p.Setup.Titration.Problem.Held() {
		if p.Setup.System().Species[h.Species].Name == chem.Proton && !h.Concentration {
			return -h.Ln / math.Ln10, true
		}
	}
	return 0, false
}

// changed returns the jump of a variant.
func (p *Plan) changed(c setup.Change) (float64, bool) {
	v, err := p.Setup.With(c)
	if err != nil {
		return 0, false
	}
	q, pt, err := sibling(p, v)
	if err != nil || pt == nil {
		return 0, false
	}
	return q.height(*pt), true
}

// more returns the jump with f times as much of a content of the flask.
func (p *Plan) more(c *setup.Content, f float64) (float64, bool) {
	return p.scaled(func(prob *equilibrium.Problem) {
		part := c.Conc.Float() * (f - 1)
		if v := c.Volume.Float(); v > 0 {
			part *= v
		} else {
			part *= float64(p.Setup.Titration.V0)
		}
		for _, t := range c.Ions {
			if j := p.Setup.System().Index(t.Species.Name); j >= 0 {
				x, _ := unit.DecimalOf(part * t.Coefficient.Float())
				prob.SetFlask(j, prob.Flask(j).Add(x))
			}
		}
	})
}

// stronger returns the jump with all amounts f times as large.
func (p *Plan) stronger(f float64) (float64, bool) {
	x, _ := unit.DecimalOf(f)
	return p.scaled(func(prob *equilibrium.Problem) {
		for j := range prob.System().Species {
			prob.SetFlask(j, prob.Flask(j).Mul(x))
			prob.SetBurette(j, prob.Burette(j).Mul(x))
		}
	})
}

// scaled returns the jump with other amounts.
func (p *Plan) scaled(change func(*equilibrium.Problem)) (float64, bool) {
	t := *p.Setup.Titration
	t.Problem = t.Problem.Clone()
	change(t.Problem)
	s := *p.Setup
	s.Titration = &t
	q, pt, err := sibling(p, &s)
	if err != nil || pt == nil {
		return 0, false
	}
	return q.height(*pt), true
}

func signed(x float64) string { return strings.ReplaceAll(fmt.Sprintf("%+.2g", x), "-", "−") }

// three writes a number with its sign and three figures.
func three(x float64) string { return strings.ReplaceAll(fmt.Sprintf("%+.3g", x), "-", "−") }

// short is a number to two figures, with a typeset power of ten where one is
// needed.
func short(x float64) string {
	text := strconv.FormatFloat(x, 'g', 2, 64)
	digits, power, scientific := strings.Cut(text, "e")
	if !scientific {
		return text
	}
	n, _ := strconv.Atoi(power) // FormatFloat writes a whole number here
	return digits + " × 10" + chem.Raised(strconv.Itoa(n))
}

// capital begins a sentence.
func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func sortGains(list []Gain) {
	slices.SortStableFunc(list, func(a, b Gain) int { return int(math.Copysign(1, b.Height-a.Height)) })
}
