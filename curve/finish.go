package curve

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// finish settles what all numbers together decide, and hands over the record.
func (r *reader) finish() (*Record, error) {
	r.keepColumns()
	readings := 0
	for _, run := range r.runs {
		readings += len(run.curve.Readings)
	}
	switch {
	case readings == 0 && len(r.rec.BadCells) > 0:
		return nil, &InputError{Source: r.rec.Source, Problem: ErrNoReadings, Detail: "no row has both a volume and a value", BadCells: r.rec.BadCells}
	case readings == 0:
		return nil, r.errorf(ErrHeaderOnly, "row %d is the header", r.lay.header)
	}
	if err := r.checkDrop(); err != nil {
		return nil, err
	}
	if err := r.settleKind(); err != nil {
		return nil, err
	}
	r.settlePotential()
	r.lookAtRanges()
	r.nameRuns()
	if r.rec.MoreBad > 0 {
		r.notef("%d further bad cells are counted and not listed (Options.MaxBad)", r.rec.MoreBad)
	}
	for _, run := range r.runs {
		r.rec.Curves = append(r.rec.Curves, run.curve)
	}
	return r.rec, nil
}

// nameRuns gives runs that the source does not name their number, where there
// are several.
func (r *reader) nameRuns() {
	if len(r.runs) == 1 && r.runs[0].curve.Name == "" {
		for _, m := range r.rec.Meta {
			if strings.EqualFold(m.Key, "run") {
				r.runs[0].curve.Name = m.Value
			}
		}
		return
	}
	for i, run := range r.runs {
		if run.curve.Name == "" && len(r.runs) > 1 {
			run.curve.Name = fmt.Sprintf("run %d", i+1)
		}
	}
}

// applyDrop sets Excluded on a reading that Options.Drop names.
func (r *reader) applyDrop(run *run, x *Reading) {
	for _, d := range r.opt.Drop {
		if d.Row != x.Row || d.Run != "" && d.Run != run.curve.Name {
			continue
		}
		r.dropped[d.Row] = true
		if x.Excluded = d.Reason; d.Reason == "" {
			x.Excluded = "left out by the user"
		}
	}
}

// noteDrop marks a row of Options.Drop as met although it could not be read.
func (r *reader) noteDrop(row int) {
	for _, d := range r.opt.Drop {
		if d.Row == row {
			r.dropped[row] = true
		}
	}
}

// checkDrop reports a row of Options.Drop that no reading has.
func (r *reader) checkDrop() error {
	for _, d := range r.opt.Drop {
		if r.dropped[d.Row] {
			continue
		}
		if d.Run != "" {
			return r.errorf(ErrDrop, "row %d of run %q", d.Row, d.Run)
		}
		return r.errorf(ErrDrop, "row %d", d.Row)
	}
	return nil
}

// extent returns the largest and smallest value of the runs that pass, and
// whether there were any.
func (r *reader) extent(pass func(*run) bool) (lo, hi float64, any bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, run := range r.runs {
		if !pass(run) {
			continue
		}
		for i := range run.curve.Readings {
			x := run.curve.Readings[i].Value
			lo, hi, any = min(lo, x), max(hi, x), true
		}
	}
	return lo, hi, any
}

// settleKind decides between potential and pH where no header does.
func (r *reader) settleKind() error {
	lo, hi, found := r.extent(func(x *run) bool { return x.q == qValue && x.unit == nil })
	why := "no header"
	if r.lay.header > 0 {
		why = "the header does not say what was read"
	}
	var q quantity
	switch {
	case !found:
		return nil
	case max(-lo, hi) > 20 || hi-lo > 20:
		q = qPotential
		r.notef("%s: column %s read as potential in mV (values %g to %g)", why, r.valueColumn(), lo, hi)
	case lo >= 0 && hi <= 14 && hi > 2:
		q = qPH
		r.notef("%s: column %s read as pH (values %g to %g)", why, r.valueColumn(), lo, hi)
	default:
		return r.errorf(ErrColumns,
			`%s, and values from %g to %g could be pH, V or mV: write a first row such as "V (mL)" and "E (V)"`, why, lo, hi)
	}
	if r.lay.header == 0 {
		r.notef("no header: column %s read as volume in mL", r.lay.name(r.lay.groups[0].volume))
	}
	for _, run := range r.runs {
		if run.q != qValue || run.unit != nil {
			continue
		}
		run.q, run.curve.Kind = q, q.kind()
		if q == qPotential {
			run.scale(-3)
			run.unit, _ = lookupUnit("mV")
		}
	}
	r.fillColumn(q, map[quantity]string{qPotential: "mV"}[q])
	return nil
}

// valueColumn names the column of the first run's value.
func (r *reader) valueColumn() string { return r.runs[0].column }

// fillColumn puts what was settled late into the record's columns.
func (r *reader) fillColumn(q quantity, unit string) {
	for i := range r.rec.Columns {
		c := &r.rec.Columns[i]
		if c.Quantity == string(qValue) || c.Quantity == string(q) && c.Assumed && c.Unit == "" {
			c.Quantity, c.Unit = string(q), unit
		}
	}
}

// settlePotential reads potentials without a unit as mV if any is beyond ±5,
// as V otherwise: no electrode pair gives 5 V.
func (r *reader) settlePotential() {
	bare := func(x *run) bool { return x.q == qPotential && x.unit == nil }
	lo, hi, found := r.extent(bare)
	if !found {
		return
	}
	name, shift := "V", 0
	if max(-lo, hi) > 5 {
		name, shift = "mV", -3
	}
	for _, run := range r.runs {
		if !bare(run) {
			continue
		}
		r.notef("column %s has no unit: potential assumed to be in %s (values %g to %g)", run.column, name, lo, hi)
		run.unit, _ = lookupUnit(name)
		if shift != 0 {
			run.scale(shift)
		}
	}
	r.fillColumn(qPotential, name)
}

// scale multiplies the values by ten to the shift, as if they had been written
// so: the result is the float64 nearest to the decimal.
func (x *run) scale(shift int) {
	for i := range x.curve.Readings {
		v := &x.curve.Readings[i].Value
		*v = shiftFloat(*v, shift)
	}
}

// shiftFloat multiplies the shortest decimal of f by ten to the shift.
func shiftFloat(f float64, shift int) float64 {
	v, err := strconv.ParseFloat(shiftText(f, shift), 64)
	if err != nil {
		return f * math.Pow10(shift) // beyond the range of a float64
	}
	return v
}

// lookAtRanges notes volumes and potentials that suggest another unit.
func (r *reader) lookAtRanges() {
	largest := math.Inf(-1)
	for _, run := range r.runs {
		for i := range run.curve.Readings {
			largest = max(largest, run.curve.Readings[i].Volume.Millilitres())
		}
	}
	assumed := r.lay.columns[r.lay.groups[0].volume].assumed
	switch {
	case assumed && largest > 1000:
		r.notef("the largest volume is %.6g mL, by the assumed unit: are they µL?", largest)
	case assumed && largest > 0 && largest < 0.2:
		r.notef("the largest volume is %.6g mL, by the assumed unit: are they litres?", largest)
	}
	lo, hi, found := r.extent(func(x *run) bool { return x.q == qPotential })
	switch most := max(-lo, hi); {
	case found && most > 20:
		r.notef("potentials reach %.6g V: are they mV?", most)
	case found && most < 2e-3 && most > 0:
		r.notef("potentials stay within %.3g mV: are they V?", most*1e3)
	}
}
