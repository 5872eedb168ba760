package assay

import (
	"fmt"
	"math"
	"slices"

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

// knowns lists the contents of both vessels but those that are sought.
func (e *Evaluation) knowns(sought []setup.Target) []knownContent {
	var list []knownContent
	for _, v := range []struct {
		contents []setup.Content
		burette  bool
	}{{e.Setup.Flask.Contents, false}, {e.Setup.Burette.Contents, true}} {
		for _, c := range v.contents {
			if c.Conc.Float() == 0 || c.Trace || slices.ContainsFunc(sought, func(f setup.Target) bool { return v.burette == f.InBurette && holds(c, f.Species) }) {
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
// exact derivatives of the equivalence volumes (GUM 5.1.2, from memory).
type budget struct {
	e       *Evaluation
	r       *Result
	f       setup.Target
	points  []*Point       // the result rests on
	weight  []float64      // its derivative by each of their volumes, mol/L per L
	known   []knownContent // the result rests on
	slope   []float64      // its derivative by each ion of these
	portion setup.Value    // the volume the sought species was in; zero for the burette
}

// scale turns a concentration in the whole flask into one in a portion.
func (b *budget) scale(k float64) {
	b.r.Value *= k
	for _, list := range [][]float64{b.weight, b.slope} {
		for i := range list {
			list[i] *= k
		}
	}
}

// part adds what does not hang on the volume the sought species was in.
func (b *budget) part(p Part) {
	p.StdUnc = math.Abs(p.StdUnc)
	p.inAmount = p.StdUnc
	if p.StdUnc > 0 {
		b.r.Parts = append(b.r.Parts, p)
	}
}

func (b *budget) assume(text string) { b.e.Assumed = append(b.e.Assumed, text) }

// common adds what any concentration rests on: end points, blank, burette. End
// points count as independent of each other, their blank and their burette as
// the same.
func (b *budget) common() {
	m := b.e.Methods[b.e.Recommended]
	perBlank := 0.0
	for i, p := range b.points {
		name := "equivalence volume"
		if len(b.points) > 1 {
			name = fmt.Sprintf("equivalence volume %d", p.Order)
		}
		b.part(Part{Name: name, StdUnc: float64(p.StdUnc) * b.weight[i], Note: m.Title, Freedom: p.Freedom, Random: true})
		perBlank += b.weight[i]
	}
	blank := Part{Name: "blank", StdUnc: b.e.Setup.Blank.U * perBlank, Note: "as stated"}
	if q := b.e.blank; q != nil {
		blank.Note, blank.Freedom = q.How, q.Freedom
	}
	b.part(blank)
	b.burette()
}

// burette adds the calibration of the burette, by its class. Its error counts
// as one of scale, so that volumes of one burette share it: it is in a blank
// measured with the same burette in proportion, and not a second time.
func (b *budget) burette() {
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
	largest, sum, note := 0.0, 0.0, l.Note()+", triangular"
	for i, p := range b.points {
		v := float64(p.Volume)
		largest = math.Max(largest, v)
		if q := b.e.blank; q != nil {
			v -= b.e.Setup.Blank.Float()
			note = l.Note() + ", triangular; the same in the blank"
		}
		sum += b.weight[i] * v
	}
	b.part(Part{Name: "calibration of the burette", StdUnc: float64(u) * sum / largest, Note: note})
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
	slope := b.slope
	for _, k := range b.known {
		s := b.share(k, slope)
		slope = slope[len(k.ions):]
		if s == 0 {
			continue
		}
		if k.Conc.Stated {
			b.part(Part{Name: "concentration of " + k.role() + k.Species, StdUnc: s * k.Conc.U / k.Conc.Float(), Note: "as stated"})
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
func (b *budget) share(k knownContent, slope []float64) float64 {
	s := 0.0
	for i, ion := range k.ions {
		s += slope[i] * ion.Coefficient.Float()
	}
	c := k.Conc.Float()
	if !k.inBurette {
		c *= k.Volume.Float() / b.e.Setup.Flask.Volume.Float()
	}
	return s * c
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
		b.r.Parts = append(b.r.Parts, Part{Name: name, StdUnc: u, Note: "as stated", inAmount: math.Abs(v.s) * rel})
	}
}
