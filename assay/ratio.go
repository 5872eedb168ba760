package assay

import (
	"meniscus/setup"
	"meniscus/unit"
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
	case len(s.Burette.Contents) > 1 || s.Flask.Volume.Float() <= 0 && s.Sample == nil || len(e.EquivalencePoints) == 0:
		e.Assumed = append(e.Assumed, "no concentration is reported: that takes one titrant and the volume in the flask")
		return
	}
	volume := s.Flask.Volume
	if volume.Float() <= 0 { // the amount is all that the sample needs
		volume.X, _ = unit.DecimalOf(1)
		volume.Stated = true
	}
	p, titrant := &e.EquivalencePoints[0], s.Burette.Contents[0].Conc
	net := float64(p.Volume) - s.Blank.Float()
	perVolume := titrant.Float() * s.Ratio.Titrand / s.Ratio.Titrant / volume.Float()
	r := Result{Name: "titrand", Value: net * perVolume, Unit: "mol/L", From: e.Methods[e.Recommended].Name}
	f := setup.Target{}
	if len(s.Find) > 0 {
		f, r.Name = s.Find[0], s.Find[0].Species
	}
	if f.InBurette || !(r.Value > 0) {
		e.Assumed = append(e.Assumed, "no concentration is reported: a ratio alone gives that in the flask, from an end point beyond the blank")
		return
	}
	r.Way = e.ratioWay(*p)
	b := budget{e: e, r: &r, f: f, points: []*Point{p}, weight: []float64{perVolume}, portion: volume}
	b.common()
	if titrant.Stated {
		b.part(Part{Name: "concentration of titrant " + s.Burette.Contents[0].Species, StdUnc: r.Value * titrant.U / titrant.Float(), Note: "as stated"})
	} else {
		b.assume("the concentration of the titrant is taken as exact: no uncertainty is stated")
	}
	b.volume(&measured{Value: volume, sought: true})
	r.addParts()
	if s.Flask.Volume.Float() > 0 {
		e.Concentrations = append(e.Concentrations, r)
	}
	if f.Species != "" && s.Sample != nil {
		e.contentsOf(f, r, volume)
	}
}
