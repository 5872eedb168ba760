package assay

import (
	"math"

	"meniscus/chem"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
	"meniscus/volumetric"
)

// A knownContent is a content whose concentration the result rests on.
type knownContent struct {
	setup.Content
	inBurette bool
	ions      []chem.Term // those in the system
}

// knowns lists the contents of both vessels but the one that is sought.
func (e *Evaluation) knowns(f setup.Target) []knownContent {
	var list []knownContent
	for _, v := range []struct {
		contents []setup.Content
		burette  bool
	}{{e.Setup.Flask.Contents, false}, {e.Setup.Burette.Contents, true}} {
		for _, c := range v.contents {
			if v.burette == f.InBurette && holds(c, f.Species) || c.Conc.Float() == 0 {
				continue
			}
			k := knownContent{Content: c, inBurette: v.burette}
			for _, ion := range c.Ions {
				if e.Setup.System().Index(ion.Species.Name) >= 0 {
					k.ions = append(k.ions, ion)
				}
			}
			list = append(list, k)
		}
	}
	return list
}

func (k knownContent) parameters(t *titration.Titration) []titration.Parameter {
	var list []titration.Parameter
	for _, ion := range k.ions {
		list = append(list, titration.Parameter{Kind: side(k.inBurette), Index: t.System().Index(ion.Species.Name), Name: "c(" + ion.Species.Name + ")", Unit: "mol/L"})
	}
	return list
}

// A budget gathers the parts of the uncertainty of a concentration by the
// exact derivatives of the equivalence volume (GUM 5.1.2, from memory).
type budget struct {
	e         *Evaluation
	r         *Result
	f         setup.Target
	eq        *titration.Equivalence // gradient by the sought, then each ion of the knowns
	known     []knownContent
	perVolume float64     // |dc/dV_eq|, mol/L per L
	portion   setup.Value // the volume the sought species was in; zero for the burette
}

// scale turns a concentration in the whole flask into one in a portion.
func (b *budget) scale(k float64) {
	b.r.Value *= k
	b.perVolume *= k
}

func (b *budget) part(name string, u float64, note string) {
	if u = math.Abs(u); u > 0 {
		b.r.Parts = append(b.r.Parts, Part{name, u, note, u})
	}
}

func (b *budget) assume(text string) { b.e.Assumed = append(b.e.Assumed, text) }

func (b *budget) add(p *Point) {
	b.common(p)
	b.concentrations()
	b.finish(p)
}

// common adds what any concentration rests on: end point, blank, burette.
func (b *budget) common(p *Point) {
	b.part("equivalence volume", float64(p.StdUnc)*b.perVolume, b.e.Methods[b.e.Recommended].Title)
	b.part("blank", b.e.Setup.Blank.U*b.perVolume, "as stated")
	b.burette(float64(p.Volume))
}

func (b *budget) finish(p *Point) {
	b.r.addParts()
	if end := float64(p.StdUnc) * b.perVolume; end > 0 && !math.IsInf(b.r.Freedom, 1) {
		// Welch and Satterthwaite with one limited part (GUM G.4, from memory)
		b.r.Freedom *= math.Pow(b.r.StdUnc/end, 4)
	}
	b.r.Coverage = coverage(b.r.Freedom)
}

// burette adds the calibration of the burette, by its class.
func (b *budget) burette(v float64) {
	d := &b.e.Setup.Burette
	if d.Class == "" || d.Capacity.Float() <= 0 {
		what := "class"
		if d.Class != "" {
			what = "capacity"
		}
		b.assume("the burette is taken as exact: no " + what + " is given")
		return
	}
	l, err := volumetric.FindLimit(volumetric.Burette, unit.Volume(d.Capacity.Float()), 0, d.Class, "")
	if err != nil {
		b.assume("the burette is taken as exact: " + err.Error())
		return
	}
	u, err := l.StdUnc("")
	if err != nil {
		b.assume("the burette is taken as exact: " + err.Error())
		return
	}
	b.part("calibration of the burette", float64(u)*b.perVolume, l.Note()+", triangular")
}

// concentrations adds those of the knowns and the volumes in the flask. By
// each ion's share of V_eq the relative change of the result is found, so a
// salt that takes no part adds nothing. Contents with the same volume are
// taken to have been measured with the same pipette: its error is shared.
func (b *budget) concentrations() {
	var volumes []*measured
	touch := func(v setup.Value) *measured {
		for _, q := range volumes {
			if q.Text == v.Text && q.X == v.X {
				return q
			}
		}
		volumes = append(volumes, &measured{Value: v})
		return volumes[len(volumes)-1]
	}
	if !b.f.InBurette {
		touch(b.portion).sought = true
	}
	g := b.eq.Gradient[1:]
	for _, k := range b.known {
		s := b.share(k, g)
		g = g[len(k.ions):]
		if s == 0 {
			continue
		}
		if k.Conc.Stated {
			b.part("concentration of "+k.role()+k.Species, s*k.Conc.U/k.Conc.Float(), "as stated")
		} else {
			b.assume("the concentration of the " + k.role() + k.Species + " is taken as exact: no uncertainty is stated")
		}
		if !k.inBurette {
			touch(k.Volume).s += s
		}
	}
	for _, v := range volumes {
		b.volume(v)
	}
}

func (k knownContent) role() string {
	if k.inBurette {
		return "titrant "
	}
	return "titrand "
}

// A measured volume of the flask: s is the change of the result for a relative
// change of it, through the contents of known concentration in it.
type measured struct {
	setup.Value
	s      float64
	sought bool // what is sought was in it, too
}

// share returns the change of the result for a relative change of a known
// concentration, mol/L.
func (b *budget) share(k knownContent, gradient []float64) float64 {
	s := 0.0
	for i, ion := range k.ions {
		s += gradient[i] * ion.Coefficient.Float()
	}
	c := k.Conc.Float()
	if !k.inBurette {
		c *= k.Volume.Float() / b.e.Setup.Flask.Volume.Float()
	}
	return -s * c * b.perVolume * math.Copysign(1, b.eq.Gradient[0])
}

// volume adds a measured volume. The concentration sought is an amount over
// its volume; in the amount itself that volume cancels.
func (b *budget) volume(v *measured) {
	if !v.Stated {
		b.assume("the volume in the flask is taken as exact: no uncertainty is stated")
		return
	}
	rel := v.U / v.Float()
	name := "volume in the flask"
	if v.Text != b.e.Setup.Flask.Volume.Text {
		name = "volume of " + v.Text
	}
	s := v.s
	if v.sought {
		s -= b.r.Value
	}
	if u := math.Abs(s) * rel; u > 0 {
		b.r.Parts = append(b.r.Parts, Part{name, u, "as stated", math.Abs(v.s) * rel})
	}
}
