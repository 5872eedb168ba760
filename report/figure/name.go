package figure

import "slices"

// nameReadings writes "readings" beside one of them, and "left out" beside one
// of those.
func (d *drawing) nameReadings() {
	var kept, out []reading
	for _, r := range d.rs {
		if r.out {
			out = append(out, r)
		} else {
			kept = append(kept, r)
		}
	}
	d.nameOne(kept, or(d.ReadingLabel, "readings"), 0.15)
	d.nameOne(out, Plain("left out"), 0)
}

// mostTries bounds the readings beside which room for a name is looked for.
const mostTries = 200

// nameOne tries the readings from the given share of the way on, then those
// before.
func (d *drawing) nameOne(rs []reading, runs []Run, share float64) {
	if len(rs) == 0 {
		return
	}
	start := int(share * float64(len(rs)))
	order := slices.Concat(rs[start:], rs[:start])
	stride := 1 + len(order)/mostTries
	const upright = 4 // over and under come before the sides
	for _, sides := range []bool{false, true} {
		for i := 0; i < len(order); i += stride {
			options := d.around(d.main.At(order[i].x, d.onScale(order[i].y)), runs, Ink)
			if sides {
				options = options[upright:]
			} else {
				options = options[:upright]
			}
			if t, ok := d.place.first(options); ok {
				d.add("labels", t)
				return
			}
		}
	}
}

// onScale moves a value to the edge of the axis it lies beyond.
func (d *drawing) onScale(y float64) float64 { return min(max(y, d.main.Y.Low), d.main.Y.High) }

// around lists where words may stand beside a point: over, under, both a
// little further off, after, before.
func (d *drawing) around(p Point, runs []Run, role Role) []Text {
	const size = 0.92
	side, up, down := 0.85*d.em, 0.95*d.em, 1.5*d.em
	return []Text{
		d.label(Point{p.X, p.Y - up}, runs, Middle, role, size),
		d.label(Point{p.X, p.Y + down}, runs, Middle, role, size),
		d.label(Point{p.X, p.Y - up - 0.6*d.em}, runs, Middle, role, size),
		d.label(Point{p.X, p.Y + down + 0.6*d.em}, runs, Middle, role, size),
		d.label(Point{p.X + side, p.Y + 0.33*d.em}, runs, Start, role, size),
		d.label(Point{p.X - side, p.Y + 0.33*d.em}, runs, End, role, size),
		d.label(Point{p.X - 0.3*d.em, p.Y - up}, runs, Start, role, size),
		d.label(Point{p.X + 0.3*d.em, p.Y - up}, runs, End, role, size),
	}
}

// nameModel writes the name of the line beside it, in its colour, as far to
// the end as there is room.
func (d *drawing) nameModel() {
	for _, share := range []float64{0.86, 0.8, 0.92, 0.74, 0.68, 0.2, 0.3, 0.12, 0.6, 0.4} {
		x := d.main.X.Low + share*(d.main.X.High-d.main.X.Low)
		y, ok := heightAt(d.model, x)
		if !ok {
			continue
		}
		if t, ok := d.place.first(d.around(d.main.At(x, y), or(d.ModelLabel, "model"), Accent)[:4]); ok {
			d.add("labels", t)
			return
		}
	}
}
