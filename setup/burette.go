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
	if b.showsAdded() {
		return c
	}
	out := *c
	out.Readings = append([]curve.Reading(nil), c.Readings...)
	f := b.Follow()
	for i := range out.Readings {
		r := &out.Readings[i]
		r.Volume, r.VolumeText = f.Added(r.Volume), ""
	}
	return &out
}

// showsAdded says that the burette shows what was added.
func (b *Burette) showsAdded() bool {
	return b.Start.X.Coef.IsZero() && !b.ReadsDown && b.RefillAt.Float() == 0
}

// Follow is Added for readings that come one at a time, from the first one on.
func (b *Burette) Follow() *Fillings { return &Fillings{b: b} }

// Fillings is how far a burette has been emptied and refilled.
type Fillings struct {
	b            *Burette
	before, last unit.Volume // of earlier fillings, and within this one
}

// Added is the volume added in all when the burette shows the next reading.
func (f *Fillings) Added(reading unit.Volume) unit.Volume {
	if f.b.showsAdded() {
		return reading
	}
	v := f.b.delivered(reading)
	if refill := unit.Volume(f.b.RefillAt.Float()); refill > 0 {
		if full := f.b.delivered(refill); v < f.last-full/2 {
			f.before += full
		}
	}
	f.last = v
	return f.before + v
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
