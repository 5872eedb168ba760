package assay

import (
	"math"

	"meniscus/setup"
)

// ratioOnly reports the concentration in the flask of a setup without
// chemistry, by its ratio alone: the amount of titrant times titrand over
// titrant, over the volume in the flask.
func (e *Evaluation) ratioOnly() {
	s := e.Setup
	switch {
	case len(s.Burette.Contents) == 0:
		e.Assumed = append(e.Assumed, "no concentration is reported: the setup names no titrant")
		return
	case len(s.Burette.Contents) > 1 || s.Flask.Volume.Float() <= 0 || len(e.EquivalencePoints) == 0:
		e.Assumed = append(e.Assumed, "no concentration is reported: that takes one titrant and the volume in the flask")
		return
	}
	p, titrant := &e.EquivalencePoints[0], s.Burette.Contents[0].Conc
	net := float64(p.Volume) - s.Blank.Float()
	perVolume := titrant.Float() * s.Ratio.Titrand / s.Ratio.Titrant / s.Flask.Volume.Float()
	r := Result{Name: "titrand", Value: net * perVolume, Unit: "mol/L", From: e.Methods[e.Recommended].Name, Freedom: math.Inf(1)}
	f := setup.Target{}
	if len(s.Find) > 0 {
		f, r.Name = s.Find[0], s.Find[0].Species
	}
	if f.InBurette || !(r.Value > 0) {
		e.Assumed = append(e.Assumed, "no concentration is reported: a ratio alone gives that in the flask, from an end point beyond the blank")
		return
	}
	b := budget{e: e, r: &r, f: f, perVolume: perVolume, portion: s.Flask.Volume}
	b.common(p)
	if titrant.Stated {
		b.part("concentration of titrant "+s.Burette.Contents[0].Species, r.Value*titrant.U/titrant.Float(), "as stated")
	} else {
		b.assume("the concentration of the titrant is taken as exact: no uncertainty is stated")
	}
	b.volume(&measured{Value: s.Flask.Volume, sought: true})
	b.finish(p)
	e.Concentrations = append(e.Concentrations, r)
}
