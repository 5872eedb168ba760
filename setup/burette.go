package setup

import (
	"meniscus/curve"
	"meniscus/unit"
)

// filled is what the burette shows before the first drop.
func (b *Burette) filled() unit.Volume {
	start := unit.Volume(b.Start.Float())
	if b.ReadsDown && start == 0 {
		start = unit.Volume(b.Capacity.Float())
	}
	return start
}

// delivered turns a reading of the burette into the volume that left this
// filling.
func (b *Burette) delivered(reading unit.Volume) unit.Volume {
	if b.ReadsDown {
		return b.filled() - reading
	}
	return reading - b.filled()
}

// Added turns burette readings into volumes added: a start other than 0, a
// burette read downwards, or refilled when its scale ends. The curve itself
// stays.
func (b *Burette) Added(c *curve.Curve) *curve.Curve {
	refill := unit.Volume(b.RefillAt.Float())
	if b.Start.X.Coef.IsZero() && !b.ReadsDown && refill == 0 {
		return c
	}
	out := *c
	out.Readings = append([]curve.Reading(nil), c.Readings...)
	var before, last unit.Volume // of earlier fillings, and within this one
	for i := range out.Readings {
		r := &out.Readings[i]
		v := b.delivered(r.Volume)
		if full := b.delivered(refill); refill > 0 && v < last-full/2 {
			before += full
		}
		last = v
		r.Volume, r.VolumeText = before+v, ""
	}
	return &out
}

// Reading returns what the burette shows after a volume was added in all.
func (b *Burette) Reading(added unit.Volume) unit.Volume {
	if refill := unit.Volume(b.RefillAt.Float()); refill > 0 {
		for full := b.delivered(refill); full > 0 && added > full; {
			added -= full
		}
	}
	if b.ReadsDown {
		return b.filled() - added
	}
	return b.filled() + added
}
