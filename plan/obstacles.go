package plan

import (
	"fmt"
	"math"
	"slices"

	"meniscus/chem"
	"meniscus/setup"
)

// Days that a titre holds, as the verdict counts them: common practice.
const (
	unstable = 7  // shorter: standardised before and after
	lasting  = 90 // longer: nothing is said
)

// obstacles says what stands against the titration as described, whatever the
// jump is, each with the nearest thing that works.
func (p *Plan) obstacles(say func(string, ...any)) {
	b, m := p.Burette, p.main()
	if m.Volume > b.Capacity {
		say("The burette of %s mL is too small: the end falls at %s mL. %s", number(b.Capacity*1e3), number(m.Volume*1e3), p.firstWay())
	}
	for _, c := range p.Titrants {
		if c.Here {
			p.spoilt(c, say)
			if c.Keeps < unstable {
				p.keeping(c, say)
			}
		}
	}
}

// standing says how long the titre holds of a titrant that lasts for days.
func (p *Plan) standing(say func(string, ...any)) {
	for _, c := range p.Titrants {
		if c.Here && c.Keeps >= unstable {
			p.keeping(c, say)
		}
	}
}

// spoilt says what in flask or burette destroys the titrant.
func (p *Plan) spoilt(c Candidate, say func(string, ...any)) {
	flask := p.flask(p.Setup.Flask.Contents, p.Setup.Flask.Medium)
	burette := p.flask(p.Setup.Burette.Contents, "")
	own := ions(c.Species)
	cure := ""
	if o := p.other(func(o Candidate) bool { return true }); o != nil {
		cure = fmt.Sprintf(" Of the tables %s does it here.", o.Name)
	}
	for _, x := range c.Clashes {
		switch {
		case slices.Contains(own, x.Species):
		case slices.Contains(burette, x.Species):
			say("The titrant (%s) does not last with %s beside it in the burette: %s. Leave it out of the burette.", c.Name, x.Species, x.Why)
		case c.Clashing && slices.Contains(flask, x.Species):
			say("The titrant (%s) and %s in the flask do not agree: %s.%s", c.Name, x.Species, x.Why, cure)
		}
	}
}

// keeping says how long the titre holds, and which titrant holds longer.
func (p *Plan) keeping(c Candidate, say func(string, ...any)) {
	if c.Keeps >= lasting {
		return
	}
	longer := ""
	if o := p.other(func(o Candidate) bool { return o.Keeps >= lasting }); o != nil {
		longer = fmt.Sprintf(" Of the tables %s keeps longer and does it here.", o.Name)
	}
	why := ""
	if c.Note != "" {
		why = " (" + c.Note + ")"
	}
	if c.Keeps < unstable {
		say("The titrant (%s) is unstable%s: its titre holds for %s; standardise it on the day of use, before and after.%s", c.Name, why, days(c.Keeps), longer)
		return
	}
	say("The titre of the titrant (%s) holds for about %s%s: standardise again after that, whatever is left in the bottle.%s", c.Name, days(c.Keeps), why, longer)
}

func days(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}

// other is the best titrant of the tables besides the one in use that gives a
// jump worth having and agrees with the flask; nil if there is none.
func (p *Plan) other(serves func(Candidate) bool) *Candidate {
	for i := range p.Titrants {
		if c := &p.Titrants[i]; !c.Here && !c.Clashing && c.Height >= leastJump[p.Unit] && serves(*c) {
			return c
		}
	}
	return nil
}

// whyNone says why no equivalence point shows; "" where nothing more is known.
// amounts says that the amounts are to be changed, and not the chemistry.
func (p *Plan) whyNone() (why string, amounts bool) {
	if idle := p.idle(); idle != "" {
		return fmt.Sprintf("%s of the burette takes part in no reaction here: the tables have none for it in this medium. Add one under chemistry, or take another titrant", idle), false
	}
	if why := p.outOfReach(); why != "" {
		return why, true
	}
	return p.whyNoCouples(), false
}

// whyNoCouples says what is wrong with two couples; "" where nothing is seen.
func (p *Plan) whyNoCouples() string {
	if !p.redox() {
		return ""
	}
	a, b := p.coupleOf(p.Setup.Flask.Contents), p.titrantCouple()
	if a == nil || b == nil || a == b {
		return ""
	}
	need := Separation(int(a.Electrons), int(b.Electrons), -math.Log10(p.Accuracy), p.Setup.Temperature)
	switch {
	case p.reduced(a.Reaction, p.Setup.Flask.Contents) == p.reduced(b.Reaction, p.Setup.Burette.Contents):
		return fmt.Sprintf("what is in flask and burette are both %s: one has to be brought into its other state first", map[bool]string{true: "reductants", false: "oxidants"}[p.reduced(a.Reaction, p.Setup.Flask.Contents)])
	case math.Abs(b.Potential-a.Potential) < float64(need):
		return fmt.Sprintf("the potentials are too close: %s with %.3f V and %s with %.3f V against SHE lie %.3f V apart, and %.3f V are wanted for %s %% (one species in either form)",
			a.Name, a.Potential, b.Name, b.Potential, math.Abs(b.Potential-a.Potential), float64(need), number(100*(1-p.Accuracy)))
	}
	return ""
}

// outOfReach says why the amounts alone leave no end point: nothing is there, too
// little, or more than any burette reaches.
func (p *Plan) outOfReach() string {
	list := p.Setup.Flask.Contents
	if len(p.Setup.Find) > 0 && !p.Setup.Find[0].InBurette {
		list = slices.DeleteFunc(slices.Clone(list), func(c setup.Content) bool { return c.Species != p.Setup.Find[0].Species })
	}
	if len(list) == 0 || !(p.strength() > 0) {
		return ""
	}
	c, v0 := list[0], float64(p.Setup.Titration.V0)
	switch x := c.Conc.Float(); {
	case x == 0:
		return fmt.Sprintf("%s is 0 in the flask: give a guess of its concentration, and the end point can be looked for", c.Species)
	case x < tooDilute:
		return fmt.Sprintf("%s mol/L %s is too dilute: from about %s mol/L a titration finds it; take more of the sample, or another method", number(x), c.Species, number(tooDilute))
	case x*v0/p.strength() > farthest:
		return fmt.Sprintf("%s mL of %s mol/L %s would take more than %s L of this titrant: take an aliquot", number(v0*1e3), number(x), c.Species, number(farthest))
	}
	return ""
}

// tooDilute is below what titrations find, mol/L: common practice.
const tooDilute = 1e-6

// reduced says whether contents hold the reduced form of a couple, which is
// written as a reduction.
func (p *Plan) reduced(reaction int, contents []setup.Content) bool {
	for _, n := range p.flask(contents, "") {
		if x := coefficient(p.Setup.System(), reaction, n); x != 0 && n != chem.Proton {
			return x > 0
		}
	}
	return false
}

// idle is the titrant where no reaction names anything that it gives; "" if one
// does.
func (p *Plan) idle() string {
	if len(p.Setup.Burette.Contents) == 0 {
		return ""
	}
	sys, c := p.Setup.System(), p.Setup.Burette.Contents[0]
	for _, t := range c.Ions {
		for i := range sys.Reactions {
			if j := sys.Index(t.Species.Name); j >= 0 && coefficient(sys, i, t.Species.Name) != 0 {
				return ""
			}
		}
	}
	return c.Species
}

// tooClose says by how much potentials would have to be apart, for a jump that
// leaves too much; "" where the point is no reaction of two couples.
func (p *Plan) tooClose(pt Point) string {
	if !p.redox() {
		return ""
	}
	a, b := p.couple(pt.Name, pt.Next), p.titrantCouple()
	if a == nil || b == nil || a == b {
		return ""
	}
	need := Separation(int(a.Electrons), int(b.Electrons), -math.Log10(p.Accuracy), p.Setup.Temperature)
	have := math.Abs(b.Potential - a.Potential)
	if have >= float64(need) {
		return ""
	}
	return fmt.Sprintf("The potentials are too close: %.3f V apart, and %.3f V are wanted for %s %% at equivalence with couples of %s and %s electrons (one species in either form).",
		have, float64(need), number(100*(1-p.Accuracy)), number(a.Electrons), number(b.Electrons))
}

// reachable is the accuracy that the whole curve carries, rounded up to 1, 2 or
// 5 times a power of ten; 0 if that is no accuracy to plan for.
func reachable(j Jump) float64 {
	x := 2 * j.Carried / j.Volume
	if !(x > 0) {
		return 0
	}
	ten := math.Pow(10, math.Floor(math.Log10(x)))
	for _, k := range []float64{1, 2, 5, 10} {
		if k*ten >= x {
			x = k * ten
			break
		}
	}
	if x >= mostAccuracy {
		return 0
	}
	return x
}
