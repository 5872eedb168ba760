package explain

import (
	"math"
	"slices"
	"sort"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/setup"
	"meniscus/titration"
)

// A stage is one reaction of the titration: species from becomes species to.
type stage struct {
	from, to    string
	reaction    int     // in the system: the couple, or the acid
	put         string  // the form that was put in: from, or another state of protonation, or what holder makes from of
	holder      string  // what from is held by: I- where I3- reacts; "" for none
	conc        float64 // of from in the flask, mol/L; 0 where an earlier stage makes it
	text        string  // conc as written
	amount      float64 // of from that reacts, mmol
	made        float64 // to per from
	perTitrant  float64 // from per titrant
	volume      float64 // of titrant that it takes, mL
	strength    float64 // sorts the stages: V, or pKa
	titrant     string
	titrantConc float64
	titrantText string
}

func (b *builder) redox() bool { return b.t.Cell.Sensor == titration.Inert }
func (b *builder) glass() bool { return b.t.Cell.Sensor == titration.Glass }

// plan finds the stages where one titrant meets couples or acids of one form
// each, and keeps them only where their volumes are equivalence points of the
// whole stoichiometry.
func (b *builder) plan() {
	var list []stage
	switch {
	case b.redox():
		list = b.redoxStages()
	case b.glass():
		b.mix = b.settle()
		list = b.protonStages()
	default:
		list = b.ionStages()
	}
	if b.areEnds(list) {
		b.ways = list
	}
}

func (b *builder) isEnd(mL float64) bool {
	for _, e := range b.ends {
		if math.Abs(e.Volume*1e3-b.s.Blank.Float()*1e3-mL) < 1e-6*mL {
			return true
		}
	}
	return false
}

// coefficient of a species in a reaction, negative on the left.
func (b *builder) coefficient(reaction int, species string) float64 {
	for _, t := range b.t.System().Reactions[reaction].Terms {
		if b.t.System().Species[t.Species].Name == species {
			return float64(t.Num) / math.Max(float64(t.Den), 1)
		}
	}
	return 0
}

// sides returns the one species on either side, H+ and e- aside; ok is false
// where there are more, or a solid.
func (b *builder) sides(reaction int) (left, right string, ok bool) {
	ok = true
	for _, t := range b.t.System().Reactions[reaction].Terms {
		sp := b.t.System().Species[t.Species]
		if sp.Name == chem.Proton || sp.Name == chem.Electron {
			continue
		}
		side := &left
		if t.Num > 0 {
			side = &right
		}
		ok = ok && *side == "" && sp.Kind == equilibrium.Dissolved
		*side = sp.Name
	}
	return left, right, ok && left != "" && right != ""
}

func ionConc(list []setup.Content, species string) (x float64, text string) {
	n := 0
	for _, c := range list {
		for _, ion := range c.Ions {
			if ion.Species.Name == species {
				x, text, n = x+c.Conc.Float()*ion.Coefficient.Float(), digits(c.Conc), n+1
				if ion.Coefficient.Float() != 1 {
					n = 2
				}
			}
		}
	}
	if n != 1 {
		text = shortText(x)
	}
	return x, text
}

// A reagent is a species of the burette with the couple in which it reacts.
type reagent struct {
	couple   int
	name     string
	put      string // as it stands in the burette
	holder   string // of name, in the burette; "" for none
	oxidises bool
	reach    float64 // potential of the couple of what was put in, V: what lies on the other side of it can react
}

// heldAs says which species an oxidant becomes with what it is reduced to, where
// enough of that stands beside it: I2 with I- is I3-, whose couple takes as
// many electrons and one I- more. At least nine tenths must be held.
func (b *builder) heldAs(contents []setup.Content, couple int, x string) (z reagent, ok bool) {
	c := b.t.Couples[couple]
	_, l, _ := b.sides(c.Reaction)
	free, _ := ionConc(contents, l)
	all, _ := ionConc(contents, x)
	if free -= all; !(free > 0) {
		return z, false
	}
	for i, d := range b.t.Couples {
		left, right, fine := b.sides(d.Reaction)
		if !fine || right != l || left == x || d.Electrons != c.Electrons || b.coefficient(d.Reaction, left) != -1 ||
			b.coefficient(d.Reaction, l) != b.coefficient(c.Reaction, l)+1 {
			continue
		}
		lgK := (c.Potential - d.Potential) * c.Electrons / (b.t.Thermal() * math.Ln10)
		if math.Pow(10, lgK)*free > mostlyHeld {
			return reagent{couple: i, name: left, put: x, holder: l, oxidises: true}, true
		}
	}
	return z, false
}

// mostlyHeld is the ratio of held to free from which a species counts as held.
const mostlyHeld = 9

// reagents are the species of the burette that can give or take electrons.
func (b *builder) reagents() []reagent {
	var list []reagent
	for i, c := range b.t.Couples {
		left, right, ok := b.sides(c.Reaction)
		if !ok {
			continue
		}
		if x, _ := ionConc(b.s.Burette.Contents, left); x > 0 {
			r := reagent{i, left, left, "", true, c.Potential}
			if z, ok := b.heldAs(b.s.Burette.Contents, i, left); ok {
				r.couple, r.name, r.holder = z.couple, z.name, right
			}
			list = append(list, r)
		}
		if x, _ := ionConc(b.s.Burette.Contents, right); x > 0 {
			list = append(list, reagent{i, right, right, "", false, c.Potential})
		}
	}
	return list
}

// redoxStages are those of the reagent of the burette whose stages end where
// the stoichiometry of the whole has its equivalence points.
func (b *builder) redoxStages() []stage {
	for _, t := range b.reagents() {
		b.bound = map[string]float64{}
		if list := b.stagesBy(t); len(list) > 0 && b.areEnds(list) {
			b.reagent = t
			return list
		}
	}
	b.bound = nil
	return nil
}

func (b *builder) areEnds(list []stage) bool {
	sum := 0.0
	for _, w := range list {
		if sum += w.volume; !b.isEnd(sum) {
			return false
		}
	}
	return true
}

// stagesBy follows what is sought along the couples that a titrant can change.
func (b *builder) stagesBy(t reagent) []stage {
	tc := b.t.Couples[t.couple]
	ct, text := ionConc(b.s.Burette.Contents, t.put)
	perT := tc.Electrons / math.Abs(b.coefficient(tc.Reaction, t.name))
	var list []stage
	for _, f := range b.targets() {
		c0, t0 := ionConc(b.s.Flask.Contents, f.Species)
		if f.InBurette || c0 == 0 {
			return nil
		}
		n := c0 * b.s.Flask.Volume.Float() * 1e3
		first, holder := b.formInCouple(f.Species), ""
		for i, c := range b.t.Couples {
			left, right, ok := b.sides(c.Reaction)
			if !ok || left != first || holder != "" {
				continue
			}
			if z, ok := b.heldAs(b.s.Flask.Contents, i, left); ok {
				first, holder, b.bound[right] = z.name, right, b.bound[right]+c0
			}
		}
		for form, guard := first, 0; guard < 9; guard++ {
			w, ok := b.nextRedox(form, t)
			if !ok {
				break
			}
			electrons := b.electronsOf(w.reaction) / math.Abs(b.coefficient(w.reaction, w.from))
			w.amount, w.perTitrant = n, perT/electrons
			w.titrant, w.titrantConc, w.titrantText = t.name, ct, text
			w.volume = n / w.perTitrant / ct
			if guard == 0 {
				w.conc, w.text, w.put, w.holder = c0, t0, f.Species, holder
			}
			list = append(list, w)
			n, form = n*w.made, w.to
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return (list[i].strength < list[j].strength) == t.oxidises })
	return list
}

// formInCouple is the state of protonation of a species that a couple names:
// oxalate reacts as oxalic acid.
func (b *builder) formInCouple(species string) string {
	for _, gives := range []bool{false, true} {
		for form, ok := species, true; ok; _, form, _, ok = b.acid(form, gives) {
			for _, c := range b.t.Couples {
				if b.coefficient(c.Reaction, form) != 0 {
					return form
				}
			}
		}
	}
	return species
}

// targets are what is sought, or where the setup does not say, everything that
// was put into the flask.
func (b *builder) targets() []setup.Target {
	if len(b.s.Find) > 0 {
		return b.s.Find
	}
	var list []setup.Target
	for _, c := range b.s.Flask.Contents {
		for _, ion := range c.Ions {
			if !slices.ContainsFunc(list, func(f setup.Target) bool { return f.Species == ion.Species.Name }) {
				list = append(list, setup.Target{Species: ion.Species.Name})
			}
		}
	}
	return list
}

func (b *builder) electronsOf(reaction int) float64 { return -b.coefficient(reaction, chem.Electron) }

func (b *builder) nextRedox(form string, t reagent) (stage, bool) {
	best, found := stage{}, false
	for i, c := range b.t.Couples {
		left, right, ok := b.sides(c.Reaction)
		if !ok || i == t.couple {
			continue
		}
		from, to := right, left
		if !t.oxidises {
			from, to = left, right
		}
		if from != form || (c.Potential < t.reach) != t.oxidises {
			continue
		}
		w := stage{from: from, to: to, reaction: c.Reaction, strength: c.Potential}
		w.made = math.Abs(b.coefficient(c.Reaction, to) / b.coefficient(c.Reaction, from))
		if !found || (w.strength < best.strength) == t.oxidises {
			best, found = w, true
		}
	}
	return best, found
}

// protonStages lists the acids, or bases, of the flask from the strongest on.
func (b *builder) protonStages() []stage {
	base, text := ionConc(b.s.Burette.Contents, "OH^-")
	titrant, oh := "OH^-", base > 0
	if !oh {
		titrant = chem.Proton
		if base, text = ionConc(b.s.Burette.Contents, chem.Proton); base == 0 {
			return nil
		}
	}
	var list []stage
	put := func(w stage) {
		w.made, w.perTitrant, w.titrant, w.titrantConc, w.titrantText = 1, 1, titrant, base, text
		w.volume = w.amount / base
		list = append(list, w)
	}
	v0 := b.s.Flask.Volume.Float() * 1e3
	strong := chem.Proton
	if !oh {
		strong = "OH^-"
	}
	if c, t := b.inFlask(strong); c > 0 {
		put(stage{from: strong, put: strong, to: "H2O", reaction: -1, conc: c, text: t, amount: c * v0, strength: math.Inf(-1)})
	}
	for _, start := range b.formsInFlask() {
		c, t := b.inFlask(start)
		form := start
		for first := true; c > 0; first = false {
			r, to, pK, ok := b.acid(form, oh)
			if !ok {
				break
			}
			w := stage{from: form, to: to, reaction: r, amount: c * v0, strength: pK}
			if !oh {
				w.strength = -pK
			}
			if first {
				w.conc, w.text, w.put = c, t, form
			}
			put(w)
			form = to
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].strength < list[j].strength })
	return b.throughLast(merged(list))
}

// merged joins stages of one reaction: an acid that was put in, and that a
// stage before makes as well.
func merged(list []stage) []stage {
	var out []stage
	for _, w := range list {
		if n := len(out); n > 0 && out[n-1].reaction == w.reaction && w.reaction >= 0 {
			last := &out[n-1]
			if last.conc == 0 {
				last.conc, last.text, last.put = w.conc, w.text, w.put
			}
			last.amount, last.volume = last.amount+w.amount, last.volume+w.volume
			continue
		}
		out = append(out, w)
	}
	return out
}

// formsInFlask are the species that may be titrated, strong acid and base
// aside: those put in, and those they made there.
func (b *builder) formsInFlask() []string {
	list := b.flaskIons()
	if b.mix != nil {
		for _, f := range b.mix.changed() {
			if !slices.Contains(list, f) {
				list = append(list, f)
			}
		}
	}
	return slices.DeleteFunc(list, func(f string) bool { return f == chem.Proton || f == "OH^-" })
}

// throughLast cuts the stages behind the last that is an equivalence point: the
// others are too weak to run.
func (b *builder) throughLast(list []stage) []stage {
	sum, last := 0.0, 0
	for i, w := range list {
		if sum += w.volume; b.isEnd(sum) {
			last = i + 1
		}
	}
	return list[:last]
}

// acid returns the reaction in which form gives H+ (or takes it).
func (b *builder) acid(form string, gives bool) (reaction int, to string, pK float64, ok bool) {
	for i, r := range b.t.System().Reactions {
		left, right, fine := b.sides(i)
		if !fine || b.coefficient(i, chem.Proton) != 1 || b.coefficient(i, left) != -1 || b.coefficient(i, right) != 1 || b.coefficient(i, chem.Electron) != 0 {
			continue
		}
		if gives && left == form {
			return i, right, -r.LnK / math.Ln10, true
		}
		if !gives && right == form {
			return i, left, -r.LnK / math.Ln10, true
		}
	}
	return 0, "", 0, false
}
