package curve

import (
	"fmt"
	"math"
	"strings"

	"meniscus/unit"
)

// A runKey tells the runs of one section apart.
type runKey struct {
	group int
	name  string // of the run column
}

// A run is a Curve being read.
type run struct {
	curve  Curve
	q      quantity
	column string // of the value, for notes
	unit   *unitDef
	blank  bool // a blank row since the last reading
	last   int  // index of the last reading that takes part; -1 if none
}

// line reads one row of the body.
func (r *reader) line(l *line) error {
	switch {
	case l.row > r.opt.MaxRows:
		return r.errorf(ErrTooLarge, "more than %d rows (Options.MaxRows)", r.opt.MaxRows)
	case l.comment:
		r.meta(l)
		return nil
	case l.blank():
		for _, run := range r.last {
			run.blank = true
		}
		return nil
	}
	if first := r.cell(l, r.lay.groups[0].volume); !looksNumeric(first) {
		if r.isHeader(l.cells) {
			above := line{cells: []string{r.title}}
			r.title = ""
			return r.section(*l, above)
		}
		if t := titleOf(*l); t != "" {
			if next, ok := r.src.peek(); ok && !next.comment && r.isHeader(next.cells) {
				r.title = t
				r.meta(l)
				return nil
			}
		}
	}
	if r.tooWide(l) {
		return nil
	}
	for k := range r.lay.groups {
		r.reading(l, k)
	}
	return nil
}

func (r *reader) cell(l *line, i int) string {
	if i < 0 || i >= len(l.cells) {
		return ""
	}
	return l.cells[i]
}

// tooWide reports a row of comma-separated text that has more numbers than the
// header has columns: its commas may be decimal marks.
func (r *reader) tooWide(l *line) bool {
	if r.rec.Delimiter != "comma" || r.lay.width == 0 {
		return false
	}
	for i := r.lay.width; i < len(l.cells); i++ {
		if looksNumeric(l.cells[i]) {
			r.bad(l, i, "more cells than the header: decimal commas between commas?", false)
			return true
		}
	}
	return false
}

// bad records a bad cell, once.
func (r *reader) bad(l *line, i int, reason string, kept bool) {
	b := BadCell{Row: l.row, Column: r.lay.name(i), Found: rowText([]string{r.cell(l, i)}), Reason: reason, Kept: kept}
	for k := len(r.rec.BadCells) - 1; k >= 0 && r.rec.BadCells[k].Row == l.row; k-- {
		if o := &r.rec.BadCells[k]; o.Column == b.Column && o.Reason == reason {
			return // a volume shared by several runs
		}
	}
	if len(r.rec.BadCells) >= r.opt.MaxBad {
		r.rec.MoreBad++
		return
	}
	if !kept {
		b.Text = rowText(l.cells)
	}
	r.rec.BadCells = append(r.rec.BadCells, b)
}

// number reads the cell of column i.
func (r *reader) number(l *line, i int) (number, string) {
	c := &r.lay.columns[i]
	n, reason := parseNumber(r.cell(l, i), c.mark, c.shift)
	if reason == "" {
		c.decimals = max(c.decimals, n.decimals)
		if n.grouped {
			r.notef("column %s has thousands marks, the first in row %d", r.lay.name(i), l.row)
		}
	}
	return n, reason
}

// reading reads the cells of group k in one row.
func (r *reader) reading(l *line, k int) {
	g := &r.lay.groups[k]
	if trim(r.cell(l, g.volume)) == "" && trim(r.cell(l, g.value)) == "" {
		return
	}
	vol, badVolume := r.number(l, g.volume)
	val, badValue := r.number(l, g.value)
	if badVolume != "" {
		r.bad(l, g.volume, badVolume, false)
	}
	if badValue != "" {
		r.bad(l, g.value, badValue, false)
	}
	if badVolume != "" || badValue != "" {
		r.noteDrop(l.row)
		return
	}
	x := Reading{Row: l.row, Volume: unit.Volume(vol.value), Value: val.value, Time: math.NaN()}
	if vol.digits > 15 {
		x.VolumeText = r.longVolume(l, g.volume, x.Volume)
	}
	if g.time >= 0 {
		x.Time = r.timeOf(l, g.time)
	}
	if g.temp >= 0 {
		x.Temperature = r.temperatureOf(l, g.temp)
	}
	if g.left >= 0 {
		x.Excluded = strings.Clone(trim(r.cell(l, g.left)))
	}
	run := r.runFor(l, k, x.Volume)
	r.applyDrop(run, &x)
	if x.Excluded == "" {
		r.doubts(run, l, g, &x)
		run.last = len(run.curve.Readings)
	}
	run.curve.Readings = append(run.curve.Readings, x)
}

// longVolume returns the decimal text in millilitres of a volume that a float64
// does not give back.
func (r *reader) longVolume(l *line, i int, v unit.Volume) string {
	c := &r.lay.columns[i]
	var p plain
	if p.takeApart(trim(r.cell(l, i))) != "" {
		return ""
	}
	text := p.text(c.mark, c.shift+3)
	exact, err := unit.ParseDecimal(text)
	short, ok := unit.DecimalOf(float64(v))
	if err != nil || !ok || exact.Shift(-3) == short {
		return "" // err, !ok: beyond what unit.Decimal holds
	}
	return text
}

// temperatureOf reads a temperature; 0 where there is none.
func (r *reader) temperatureOf(l *line, i int) unit.Temperature {
	if trim(r.cell(l, i)) == "" {
		return 0
	}
	n, reason := r.number(l, i)
	t := unit.Temperature(n.value)
	if u := r.lay.columns[i].unit; u != nil && u.name == "°C" {
		t = unit.Celsius(n.value)
	}
	if reason == "" && t <= 0 {
		reason = "not above absolute zero"
	}
	if reason != "" {
		r.bad(l, i, reason, false)
		return 0
	}
	return t
}

// runFor returns the run that a reading of group k belongs to. A blank row and
// then a volume back at the start of the run (at most its second volume) begin
// another.
func (r *reader) runFor(l *line, k int, v unit.Volume) *run {
	g := &r.lay.groups[k]
	name := g.name
	if g.runs >= 0 {
		if c := trim(r.cell(l, g.runs)); c != "" && c != r.runName[k] {
			r.runName[k] = strings.Clone(c)
		}
		name = r.runName[k]
	}
	key := runKey{k, name}
	got := r.last[key]
	if got != nil && got.blank {
		x := got.curve.Readings
		if v < x[len(x)-1].Volume && v <= x[min(1, len(x)-1)].Volume {
			got = nil
		} else {
			got.blank = false
		}
	}
	if got == nil {
		c := &r.lay.columns[g.value]
		got = &run{curve: Curve{Name: name, Kind: c.q.kind()}, q: c.q, unit: c.unit, column: r.lay.name(g.value), last: -1}
		r.last[key] = got
		r.runs = append(r.runs, got)
	}
	return got
}

// doubts names what is odd about a reading that takes part.
func (r *reader) doubts(run *run, l *line, g *group, x *Reading) {
	if x.Volume < 0 {
		r.bad(l, g.volume, "negative volume", true)
	}
	if run.q == qPH && (x.Value < -2 || x.Value > 16) {
		r.bad(l, g.value, "pH outside -2 to 16", true)
	}
	if run.last < 0 {
		return
	}
	before := &run.curve.Readings[run.last]
	switch {
	case x.Volume == before.Volume && x.Value == before.Value:
		r.bad(l, g.volume, fmt.Sprintf("repeated row: volume and value as in row %d", before.Row), true)
	case x.Volume == before.Volume:
		r.bad(l, g.volume, fmt.Sprintf("repeated volume: as in row %d, with another value", before.Row), true)
	case x.Volume < before.Volume:
		r.bad(l, g.volume, fmt.Sprintf("volume falls from %s to %s mL: second run, reading error or refilled burette?",
			millilitres(before.Volume), millilitres(x.Volume)), true)
	}
	if x.Time < before.Time {
		r.bad(l, g.time, fmt.Sprintf("time falls from %g to %g s", before.Time, x.Time), true)
	}
}

// millilitres shows a volume without the rounding of a float64 division.
func millilitres(v unit.Volume) string { return shiftText(float64(v), 3) }
