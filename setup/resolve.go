package setup

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/titration"
	"meniscus/unit"
)

// resolve makes the titration: species, reactions, amounts, cell.
func (r *reader) resolve() error {
	for _, step := range []func() error{r.chemistry, r.vesselIons, r.library, r.build} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// mentions says whether any reaction has the species.
func (r *reader) mentions(name string) bool {
	return slices.ContainsFunc(r.s.Reactions, func(rx Reaction) bool {
		return rx.parsed.Coefficient(name).Sign() != 0
	})
}

// vesselIons splits salts, acids and bases into what they give in water.
// A species that a reaction of the file mentions stays as it is.
func (r *reader) vesselIons() error {
	if len(r.s.Flask.Contents) == 0 {
		return r.fail([]any{"flask"}, "has no contains; write what is titrated, such as Fe^2+: 0.0500 mol/L")
	}
	if len(r.s.Burette.Contents) == 0 {
		return r.fail([]any{"burette"}, "has no contains; write the titrant, such as Ce^4+: 0.1000 mol/L")
	}
	for _, side := range []struct {
		list  []Content
		place string
	}{{r.s.Flask.Contents, "flask"}, {r.s.Burette.Contents, "burette"}} {
		for i := range side.list {
			c := &side.list[i]
			sp, err := chem.ParseSpecies(c.Species)
			if err != nil {
				return r.fail([]any{side.place, "contains", c.Species}, "%v", err)
			}
			c.Ions = []chem.Term{{Species: sp, Coefficient: chem.Whole(1)}}
			if sp.Name == chem.Water || sp.Name == chem.Electron {
				return r.fail([]any{side.place, "contains", c.Species}, "%s cannot be put in", sp.Name)
			}
			if sp.Charge != 0 || r.mentions(sp.Name) || sp.Phase == chem.Solid || sp.Phase == chem.Aqueous {
				continue
			}
			if ions, err := chem.Dissociate(sp); err == nil {
				c.Ions = ions
			} else if !r.libraryOff() && sp.IsLabel {
				return r.fail([]any{side.place, "contains", c.Species}, "%v", err)
			}
		}
	}
	return nil
}

func (r *reader) libraryOff() bool {
	switch strings.ToLower(text(r.f.Library)) {
	case "off", "false", "no":
		return true
	}
	return false
}

// A builder collects species and reactions for the engine.
type builder struct {
	species []equilibrium.Species
	index   map[string]int
	rx      []equilibrium.Reaction
}

func (b *builder) add(sp chem.Species) int {
	if i, ok := b.index[sp.Name]; ok {
		return i
	}
	e := equilibrium.Species{Name: sp.Name, Charge: sp.Charge}
	switch {
	case sp.Name == chem.Electron:
		e.Kind = equilibrium.Electron
	case sp.Phase == chem.Solid || sp.Phase == chem.Liquid: // a pure liquid, like a solid, has activity 1
		e.Kind = equilibrium.Solid
	}
	b.index[sp.Name] = len(b.species)
	b.species = append(b.species, e)
	return b.index[sp.Name]
}

func (b *builder) reaction(rx Reaction) {
	out := equilibrium.Reaction{Name: rx.Equation, LnK: rx.lnK}
	for _, t := range rx.parsed.Terms {
		if t.Species.Name == chem.Water {
			continue
		}
		out.Terms = append(out.Terms, equilibrium.Term{Species: b.add(t.Species), Num: t.Coefficient.Num(), Den: t.Coefficient.Den()})
	}
	b.rx = append(b.rx, out)
}

func (r *reader) build() error {
	s := r.s
	if err := r.protonSource(); err != nil {
		return err
	}
	act, err := r.activity()
	if err != nil {
		return err
	}
	if err := r.thermodynamic(act); err != nil {
		return err
	}
	b := &builder{index: map[string]int{}}
	for _, rx := range s.Reactions {
		b.reaction(rx)
	}
	mix := equilibrium.Mixture{Volume: s.Flask.Volume.X}
	for _, c := range s.Flask.Contents {
		mix.Flask = append(mix.Flask, b.amounts(c, c.Volume.X)...)
	}
	one, _ := unit.DecimalOf(1)
	for _, c := range s.Burette.Contents {
		mix.Burette = append(mix.Burette, b.amounts(c, one)...)
	}
	held, err := r.held(b)
	if err != nil {
		return err
	}
	mix.Held = held
	r.ionSizes(b)
	sys, err := equilibrium.NewSystem(b.species, b.rx)
	if err != nil {
		return r.systemError(err)
	}
	p, err := sys.NewProblem(mix, act)
	if err != nil {
		return r.fail([]any{"hold"}, "%v", err)
	}
	t := &titration.Titration{Problem: p, V0: unit.Volume(s.Flask.Volume.Float()), Temperature: s.Temperature}
	r.couples(t)
	if t.Cell, err = r.cell(sys); err != nil {
		return err
	}
	s.Titration = t
	return r.checkFinds(sys)
}

// amounts gives the ions of a content times the volume they are in.
func (b *builder) amounts(c Content, volume unit.Decimal) []equilibrium.Amount {
	var list []equilibrium.Amount
	for _, t := range c.Ions {
		if t.Species.Name == chem.Water {
			continue
		}
		n, _ := unit.DecimalOf(float64(t.Coefficient.Num()))
		x := c.Conc.X.Mul(volume).Mul(n)
		if d := t.Coefficient.Den(); d != 1 {
			f, _ := unit.DecimalOf(x.Float() / float64(d))
			x = f
		}
		list = append(list, equilibrium.Amount{Species: b.add(t.Species), Value: x})
	}
	return list
}

func (r *reader) systemError(err error) error {
	var c *equilibrium.ContradictionError
	if errors.As(err, &c) {
		return r.fail([]any{"chemistry"}, "%v", err)
	}
	return r.fail(nil, "%v", err)
}

// held reads hold: pH, or the free concentration of a species.
func (r *reader) held(b *builder) ([]equilibrium.Held, error) {
	var list []equilibrium.Held
	for _, item := range r.f.Hold {
		key := text(item.Key)
		if key == "pH" {
			x, err := r.number(item.Value, "hold", "pH")
			if err != nil {
				return nil, err
			}
			if x < -2 || x > 16 {
				return nil, r.fail([]any{"hold", "pH"}, "pH %g is outside -2 to 16", x)
			}
			h, _ := chem.ParseSpecies(chem.Proton)
			list = append(list, equilibrium.Held{Species: b.add(h), Ln: -x * math.Ln10})
			continue
		}
		sp, err := chem.ParseSpecies(key)
		if err != nil {
			return nil, r.fail([]any{"hold", key}, "%v", err)
		}
		v, err := r.value(item.Value, unit.DimConc, "0.0100 mol/L", "hold", key)
		if err != nil {
			return nil, err
		}
		if v.X.Coef.Sign() <= 0 {
			return nil, r.fail([]any{"hold", key}, "a held concentration must be above 0")
		}
		list = append(list, equilibrium.Held{Species: b.add(sp), Ln: math.Log(v.Float()), Concentration: true})
	}
	return list, nil
}

// activity reads ideal, davies, debye-huckel, or {model: davies, A: 0.509}.
func (r *reader) activity() (equilibrium.Activity, error) {
	var a equilibrium.Activity
	name := "ideal"
	place := []any{"activity"}
	a.A, a.B = debyeHuckel(r.s.Temperature)
	switch v := r.f.Activity.(type) {
	case nil:
	case string:
		name = v
	default:
		m, ok := mapping(v)
		if !ok {
			return a, r.fail(place, "is neither a model nor {model: davies, A: 0.509}")
		}
		for _, item := range m {
			var err error
			switch k := text(item.Key); k {
			case "model":
				name = text(item.Value)
			case "A":
				a.A, err = r.number(item.Value, "activity", "A")
			case "B":
				a.B, err = r.number(item.Value, "activity", "B")
			case "limit":
				var l Value
				l, err = r.value(item.Value, unit.DimConc, "2 mol/L", "activity", "limit")
				a.Limit = l.Float()
			default:
				err = r.fail(place, "%q is not model, A, B or limit", k)
			}
			if err != nil {
				return a, err
			}
		}
	}
	switch strings.ToLower(name) {
	case "ideal":
		a = equilibrium.Activity{}
		r.mixedKinds()
	case "davies":
		a.Model = equilibrium.Davies
	case "debye-huckel", "debye-hückel":
		a.Model = equilibrium.DebyeHuckel
	default:
		return a, r.fail(place, "%q is not ideal, davies or debye-huckel", name)
	}
	if a.Model != equilibrium.Ideal {
		return a, r.noFormal()
	}
	return a, nil
}

// noFormal refuses formal potentials under an activity model: they already
// contain the activity coefficients of their medium.
func (r *reader) noFormal() error {
	for i, rx := range r.s.Reactions {
		if rx.Kind == "formal potential" {
			place := []any{"activity"}
			if !rx.FromTable && i < len(r.f.Chemistry) {
				place = []any{"chemistry", i, "formal potential"}
			}
			return r.fail(place, "%s has a formal potential, which already contains the activity coefficients of its medium; use activity: ideal, or a standard potential", rx.Equation)
		}
	}
	return nil
}

// mixedKinds warns of formal and standard potentials side by side.
func (r *reader) mixedKinds() {
	var formal, standard []string
	for _, rx := range r.s.Reactions {
		switch rx.Kind {
		case "formal potential":
			formal = append(formal, rx.Equation)
		case "standard potential":
			standard = append(standard, rx.Equation)
		}
	}
	if len(formal) > 0 && len(standard) > 0 {
		r.s.Warnings = append(r.s.Warnings, fmt.Sprintf("formal and standard potentials are mixed: %s is a standard potential, used as if it held in this medium", strings.Join(standard, "; ")))
	} else if len(standard) > 0 {
		r.s.Notes = append(r.s.Notes, "standard potentials are used with concentrations in place of activities")
	}
}

// couples records which reactions were given as potentials.
func (r *reader) couples(t *titration.Titration) {
	for i, rx := range r.s.Reactions {
		if rx.Unit != "V" {
			continue
		}
		n := -rx.parsed.Coefficient(chem.Electron).Float()
		c := titration.Couple{
			Reaction: i, Electrons: n, Formal: rx.Kind == "formal potential",
			Potential: rx.lnK * t.Thermal() / n,
			Protons:   -rx.parsed.Coefficient(chem.Proton).Float(),
		}
		c.Name = coupleName(rx.parsed)
		t.Couples = append(t.Couples, c)
	}
}

// coupleName writes oxidised/reduced, without H+, e- and water.
func coupleName(rx chem.Reaction) string {
	side := func(sign int) string {
		var names []string
		for _, t := range rx.Terms {
			switch t.Species.Name {
			case chem.Electron, chem.Proton, chem.Water, chem.Hydroxide:
				continue
			}
			if t.Coefficient.Sign() == sign {
				names = append(names, t.Species.Name)
			}
		}
		return strings.Join(names, "+")
	}
	e := rx.Coefficient(chem.Electron).Sign() // oxidised form stands with the electrons
	return side(e) + "/" + side(-e)
}

// checkFinds makes sure that what is to be found is there, and takes the ion
// that the titration follows for a salt, an acid or a base that was split.
func (r *reader) checkFinds(sys *equilibrium.System) error {
	for i := range r.s.Find {
		f := &r.s.Find[i]
		place := []any{"find"}
		if len(r.s.Find) > 1 {
			place = append(place, i)
		}
		list, where := r.s.Flask.Contents, "flask"
		if f.InBurette {
			list, where = r.s.Burette.Contents, "burette"
		}
		at := slices.IndexFunc(list, func(c Content) bool {
			return c.Species == f.Species || slices.ContainsFunc(c.Ions, func(t chem.Term) bool { return t.Species.Name == f.Species })
		})
		switch {
		case at < 0:
			return r.fail(place, "%s is not under contains of the %s; give a guess of its concentration there", f.Species, where)
		case sys.Index(f.Species) >= 0:
		default:
			if err := r.findBy(f, list[at], sys, place); err != nil {
				return err
			}
		}
	}
	return nil
}

// findBy replaces a salt by the one of its ions that an equivalence point
// hangs on. Where more than one does, a single concentration would not be that of
// the salt: it can be predicted and planned for, but not found.
func (r *reader) findBy(f *Target, c Content, sys *equilibrium.System, place []any) error {
	points, err := r.s.Titration.Problem.Equivalences(mostVolume)
	if err != nil {
		return r.fail(place, "%s: its equivalence points cannot be told: %v", f.Species, err)
	}
	var taken, given []string
	for _, t := range c.Ions {
		name := t.Species.Name
		j := sys.Index(name)
		if name == chem.Water || j < 0 {
			continue
		}
		given = append(given, name)
		if slices.ContainsFunc(points, func(e equilibrium.Equivalence) bool { return hangsOn(e, j, f.InBurette) }) {
			taken = append(taken, name)
		}
	}
	switch len(taken) {
	case 1:
		r.s.Notes = append(r.s.Notes, fmt.Sprintf("%s is found by its %s: concentrations are of that ion", f.Species, taken[0]))
		f.Species = taken[0]
	case 0:
		f.Unfound = fmt.Sprintf("no equivalence point hangs on %s, which gives %s here; name under find what the titrant reacts with", f.Species, strings.Join(given, " and "))
	default:
		f.Unfound = fmt.Sprintf("%s gives %s, and the equivalence points hang on both: name one of them under find; what stands under contains for the other then counts as known", f.Species, strings.Join(taken, " and "))
	}
	return nil
}

// mostVolume is beyond any titration, L.
const mostVolume = 1e3

// hangsOn says whether an equivalence volume changes with what there is of a
// species.
func hangsOn(e equilibrium.Equivalence, species int, inBurette bool) bool {
	per := e.PerFlask
	if inBurette {
		per = e.PerBurette
	}
	return math.Abs(per[species]) > 0
}
