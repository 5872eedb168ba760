package assay

import (
	"math"

	"meniscus/setup"
)

// A Way is how a concentration follows from end points: by the stoichiometry
// of the titration, which the derivatives of its equivalence volumes are. An
// amount in the flask is the sum of what was added up to each end point, the
// blank taken off, and of what else stands in the flask, each times PerMole.
// A titrant's concentration is the amount that the reagents in the flask take
// over the volume, the blank taken off.
type Way struct {
	Titrant  Reagent   // whose PerMole is not used
	Points   []Point   // the end points
	PerMole  []float64 // mol of what is sought for 1 mol of titrant, by end point; nil for a titrant that is sought
	Reagents []Reagent // what else counts in the flask
}

// A Reagent is a species that counts, with the entry of the setup that it
// comes from.
type Reagent struct {
	Species string
	Content setup.Content
	Ions    float64 // of the species in one formula unit of the entry
	PerMole float64 // mol of what is sought for 1 mol of the species
}

// way reads the stoichiometry off the derivatives; nil where more than one
// species of the burette counts, or nothing does.
func (b *budget) way() *Way {
	w := &Way{}
	for _, p := range b.points {
		w.Points = append(w.Points, *p)
	}
	k, counted := 0, false
	for _, known := range b.known {
		for _, ion := range known.ions {
			per := b.slope[k]
			k++
			if math.Abs(per*known.Conc.Float()*ion.Coefficient.Float()) < 1e-12*math.Abs(b.r.Value) {
				continue
			}
			r := Reagent{Species: ion.Species.Name, Content: known.Content, Ions: ion.Coefficient.Float(), PerMole: per}
			switch {
			case !known.inBurette:
				w.Reagents = append(w.Reagents, r)
			case counted || b.f.InBurette:
				return nil
			default:
				w.Titrant, counted = r, true
			}
		}
	}
	if b.f.InBurette {
		return b.titrantWay(w)
	}
	if !counted {
		return nil
	}
	conc := w.Titrant.Content.Conc.Float() * w.Titrant.Ions
	for _, x := range b.weight {
		w.PerMole = append(w.PerMole, x*b.e.Setup.Flask.Volume.Float()/conc)
	}
	return w
}

// titrantWay turns the change of the titrant's concentration with what stands
// in the flask into mol for mol.
func (b *budget) titrantWay(w *Way) *Way {
	if len(w.Points) != 1 || len(w.Reagents) == 0 {
		return nil
	}
	w.Titrant = Reagent{Species: b.f.Species, Ions: 1}
	net := float64(w.Points[0].Volume) - b.e.Setup.Blank.Float()
	for i := range w.Reagents {
		w.Reagents[i].PerMole *= net / b.e.Setup.Flask.Volume.Float()
	}
	return w
}

// ratioWay is the way by the ratio that the setup states.
func (e *Evaluation) ratioWay(p Point) *Way {
	c := e.Setup.Burette.Contents[0]
	return &Way{
		Titrant: Reagent{Species: c.Species, Content: c, Ions: 1}, Points: []Point{p},
		PerMole: []float64{e.Setup.Ratio.Titrand / e.Setup.Ratio.Titrant},
	}
}
