package plan

import (
	"regexp"
	"slices"

	"meniscus/constants"
)

// mediumParts finds the substances of a medium.
var mediumParts = regexp.MustCompile(`mol/(?:L|kg) ([A-Z][A-Za-z0-9()]*)`)

// A Condition is one to keep in this titration.
type Condition = constants.Condition

// A Reductor is a way to bring the titrand into its lower state, and what else
// it reduces.
type Reductor struct {
	constants.Reduction
	Others []Interference
}

// An Interference is a metal that the reductor reduces too: Extra is the volume
// of titrant that one millimole of it in a litre of the flask takes.
type Interference struct {
	constants.Reduction
	Extra float64 // L
}

// conditions picks the rows that speak of what is in flask and burette, and
// the reductors where the titrand must be in a lower state.
func (p *Plan) conditions() error {
	rows, err := constants.Conditions()
	if err != nil {
		return err
	}
	flask, burette := p.flask(p.Setup.Flask.Contents, p.Setup.Flask.Medium), p.flask(p.Setup.Burette.Contents, "")
	met := func(want, have []string) bool { return len(want) == 0 || overlaps(want, have) }
	for _, c := range rows {
		if met(c.Flask, flask) && met(c.Burette, burette) {
			p.Conditions = append(p.Conditions, c)
		}
	}
	if !p.redox() || p.main() == nil {
		return nil
	}
	return p.reductors(flask)
}

func (p *Plan) reductors(flask []string) error {
	rows, err := constants.Reductions()
	if err != nil {
		return err
	}
	for _, r := range rows {
		if r.Electrons == 0 || !slices.Contains(flask, r.Product) || p.usedUp(r.Product) == nil {
			continue
		}
		w := Reductor{Reduction: r}
		for _, o := range rows {
			if o.Reductor == r.Reductor && o.Element != r.Element && o.Electrons > 0 {
				w.Others = append(w.Others, Interference{o, p.extra(o, r)})
			}
		}
		p.Reductors = append(p.Reductors, w)
	}
	return nil
}

func (p *Plan) usedUp(name string) *Point {
	for i := range p.points {
		if overlaps(elements(p.points[i].Species), elements(name)) {
			return &p.points[i]
		}
	}
	return nil
}

// extra is the volume of titrant that 1 mmol/L of a metal takes: the volume of
// the titrand's own point, by its amount and its electrons.
func (p *Plan) extra(o, own constants.Reduction) float64 {
	pt := p.usedUp(own.Product)
	for _, c := range p.Setup.Flask.Contents {
		for _, t := range c.Ions {
			if t.Species.Name == own.Product {
				return pt.Volume * 1e-3 * float64(o.Electrons) / (c.Conc.Float() * t.Coefficient.Float() * float64(own.Electrons))
			}
		}
	}
	return 0
}

// cautions names what is to know about the reagents of flask and burette.
func (p *Plan) cautions() error {
	var names []string
	for _, c := range append(slices.Clone(p.Setup.Flask.Contents), p.Setup.Burette.Contents...) {
		names = append(names, c.Species)
	}
	for _, m := range mediumParts.FindAllStringSubmatch(p.Setup.Flask.Medium, -1) {
		names = append(names, m[1])
	}
	var err error
	p.Cautions, err = constants.CautionsFor(names...)
	return err
}
