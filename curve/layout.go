package curve

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// A column is one column of a layout.
type column struct {
	heading
	letter   string
	assumed  bool
	decimals int
	shift    int  // power of ten to the unit of package unit
	mark     byte // decimal mark
	days     bool // clock times that a workbook keeps in days
	read     bool
}

// A group is the columns of one run; time and temperature are -1 where absent.
type group struct {
	name                   string
	volume, value          int
	time, temp, left, runs int
}

// A layout says which columns hold what, from one header to the next.
type layout struct {
	columns []column
	groups  []group
	width   int // cells of the header; 0 without one
	header  int // row of the header; 0 without one
}

// name of a column in messages: its header, or its letter where there is none
// or another column has the same.
func (l *layout) name(i int) string {
	if i >= len(l.columns) || l.columns[i].text == "" {
		return letter(i)
	}
	text := l.columns[i].text
	for j := range l.columns {
		if j != i && l.columns[j].text == text {
			return letter(i)
		}
	}
	return text
}

// headings takes the cells of a header row apart; units is the row of units
// under it, or nil.
func headings(cells, units []string) []column {
	cols := make([]column, len(cells))
	for i, text := range cells {
		if i < len(units) && bareUnit(units[i]) != "" {
			text = trim(text) + " (" + bareUnit(units[i]) + ")"
		}
		cols[i] = column{heading: parseHeading(text), letter: letter(i)}
	}
	settleSymbolV(cols)
	return cols
}

// bareUnit takes the brackets off a cell of a row of units.
func bareUnit(s string) string {
	return trim(strings.Trim(trim(s), "()[]{}/"))
}

// unitRow reports a row in which every cell that is not blank is a unit.
func unitRow(cells []string) bool {
	n := 0
	for _, c := range cells {
		if trim(c) == "" {
			continue
		}
		if _, ok := lookupUnit(bareUnit(c)); !ok || looksNumeric(c) {
			return false
		}
		n++
	}
	return n > 0
}

// settleSymbolV reads a bare V as the volt beside another volume, and as the
// volume otherwise.
func settleSymbolV(cols []column) {
	volume := false
	for i := range cols {
		volume = volume || cols[i].q == qVolume
	}
	for i := range cols {
		switch c := &cols[i]; {
		case c.q == qSymbolV && volume:
			c.q = qPotential
			if c.unit == nil {
				c.unit, _ = lookupUnit("V")
			}
		case c.q == qSymbolV:
			c.q = qVolume
		}
	}
}

// layoutOf makes the layout of a header row.
func (r *reader) layoutOf(head, units, above line) (*layout, error) {
	cells := slices.Clone(head.cells)
	for i, c := range cells {
		cells[i] = strings.Clone(c)
	}
	l := &layout{columns: headings(cells, units.cells), width: len(cells), header: head.row}
	for i := range l.columns {
		l.columns[i].days = r.src.src.clock(i)
		l.columns[i].mark = r.mark
		if r.lay != nil && i < len(r.lay.columns) {
			l.columns[i].mark = r.lay.columns[i].mark
		}
	}
	if err := r.force(l); err != nil {
		return nil, err
	}
	volumes, values, err := r.pick(l)
	if err != nil {
		return nil, err
	}
	l.pair(volumes, values, above)
	for _, g := range l.groups {
		for _, i := range []int{g.volume, g.value, g.time, g.temp} {
			if err := r.unitOf(l, i); err != nil {
				return nil, err
			}
		}
	}
	return l, nil
}

// force applies Options.Volume and Options.Value.
func (r *reader) force(l *layout) error {
	for _, f := range []struct {
		want string
		q    quantity
	}{{r.opt.Volume, qVolume}, {r.opt.Value, qValue}} {
		if f.want == "" || f.q == qValue && l.kindNamed(f.want) {
			continue
		}
		at := l.find(f.want)
		if at < 0 {
			return r.errorf(ErrOption, "no column %q; columns are %s", f.want, l.names())
		}
		for i := range l.columns {
			c := &l.columns[i]
			switch {
			case i == at && f.q == qValue && !c.q.isValue(), i == at && f.q == qVolume:
				c.q, c.strength = f.q, byName
			case i != at && (c.q == f.q || f.q == qValue && c.q.isValue()):
				c.q = qNone
			}
		}
	}
	return nil
}

// kindNamed keeps only the values of one kind, if want names one that is
// there and no header says the same.
func (l *layout) kindNamed(want string) bool {
	if l.find(want) >= 0 {
		return false
	}
	found := false
	for i := range l.columns {
		found = found || l.columns[i].q.isValue() && strings.EqualFold(string(l.columns[i].q), want)
	}
	for i := range l.columns {
		if c := &l.columns[i]; found && c.q.isValue() && !strings.EqualFold(string(c.q), want) {
			c.q = qNone
		}
	}
	return found
}

// find returns the column with this header, or this letter; -1 if none.
func (l *layout) find(want string) int {
	for i := range l.columns {
		if strings.EqualFold(fold(l.columns[i].text), fold(want)) {
			return i
		}
	}
	for i := range l.columns {
		if strings.EqualFold(l.columns[i].letter, trim(want)) {
			return i
		}
	}
	return -1
}

// names lists the columns for a message.
func (l *layout) names() string {
	var s []string
	for i := range l.columns {
		s = append(s, strconv.Quote(l.name(i)))
	}
	return strings.Join(s, ", ")
}

// pick returns the columns of volumes and of values: those that say so best.
func (r *reader) pick(l *layout) (volumes, values []int, err error) {
	volumes = l.best(func(q quantity) bool { return q == qVolume })
	values = l.best(quantity.isValue)
	if len(values) > 0 {
		first := l.columns[values[0]].q
		rest := slices.DeleteFunc(slices.Clone(values), func(i int) bool { return l.columns[i].q == first })
		values = slices.DeleteFunc(values, func(i int) bool { return l.columns[i].q != first })
		if len(rest) > 0 {
			r.notef("column %s is read as the value; %s (%s) is not read: Options.Value chooses it",
				l.name(values[0]), l.name(rest[0]), l.columns[rest[0]].q)
		}
	}
	const cure = `write a header such as "V (mL)" and "E (mV)", or "V (mL)" and "pH"`
	switch {
	case len(l.columns) < 2:
		return nil, nil, r.errorf(ErrOneColumn, "%s; %s", l.names(), cure)
	case len(volumes) == 0:
		return nil, nil, r.errorf(ErrColumns, "row %d: no volume among %s; %s", l.header, l.names(), cure)
	case len(values) == 0:
		return nil, nil, r.errorf(ErrColumns, "row %d: no potential, pH or pIon among %s; %s", l.header, l.names(), cure)
	case len(volumes) > 1 && len(volumes) != len(values):
		return nil, nil, r.errorf(ErrColumns, "row %d: %d columns of volume and %d of values among %s; side-by-side runs need pairs",
			l.header, len(volumes), len(values), l.names())
	}
	return volumes, values, nil
}

// best returns the columns whose quantity passes, of the best strength.
func (l *layout) best(pass func(quantity) bool) []int {
	most := 0
	for i := range l.columns {
		if c := &l.columns[i]; pass(c.q) {
			most = max(most, c.strength)
		}
	}
	var out []int
	for i := range l.columns {
		if c := &l.columns[i]; pass(c.q) && c.strength == most {
			out = append(out, i)
		}
	}
	return out
}

// pair makes the groups: the k-th volume with the k-th value, or one volume
// for all values. Times and temperatures pair if there are as many, and one
// serves all.
func (l *layout) pair(volumes, values []int, above line) {
	pass := func(q quantity) []int { return l.best(func(x quantity) bool { return x == q }) }
	times, temps, runs, left := pass(qTime), pass(qTemperature), pass(qRun), pass(qExcluded)
	kth := func(of []int, k int) int {
		switch {
		case len(of) == 1:
			return of[0]
		case len(of) == len(values):
			return of[k]
		}
		return -1
	}
	for k := range values {
		g := group{
			volume: kth(volumes, k), value: values[k],
			time: kth(times, k), temp: kth(temps, k), left: kth(left, k), runs: kth(runs, k),
		}
		g.name = l.groupName(g, len(values), above)
		l.groups = append(l.groups, g)
		for _, i := range []int{g.volume, g.value, g.time, g.temp, g.left, g.runs} {
			if i >= 0 {
				l.columns[i].read = true
			}
		}
	}
}

// groupName names a run after the cell above its header, or its number in the
// header; "" if there is neither.
func (l *layout) groupName(g group, of int, above line) string {
	if of == 1 {
		if t := titleOf(above); index[strings.ToLower(firstWord(t))] == qRun {
			return t
		}
		return l.columns[g.value].run
	}
	for _, i := range []int{g.value, g.volume} {
		if above.filled() >= of && i < len(above.cells) && trim(above.cells[i]) != "" {
			return strings.Clone(trim(above.cells[i]))
		}
	}
	return l.columns[g.value].run
}

// titleOf returns the text of a row that has only one cell, a text.
func titleOf(l line) string {
	if l.filled() != 1 || l.numeric() != 0 {
		return ""
	}
	i := slices.IndexFunc(l.cells, func(c string) bool { return trim(c) != "" })
	return strings.Clone(trim(l.cells[i]))
}

// unitOf settles the unit of column i and notes what was assumed.
func (r *reader) unitOf(l *layout, i int) error {
	if i < 0 {
		return nil
	}
	c := &l.columns[i]
	if c.days && c.q == qTime {
		c.unit, _ = lookupUnit("day")
		r.notef("column %s has clock times of the workbook: read in seconds from the start of its day count", l.name(i))
	}
	if c.unit == nil && c.sure || c.unit != nil && !fits(c.q, c.unit) {
		found := c.unknown
		if c.unit != nil {
			found = c.unit.name
		}
		return &CellError{
			r.rec.Source,
			BadCell{Row: l.header, Column: l.name(i), Found: c.text, Reason: fmt.Sprintf("unit %q is not known for a %s", found, c.q)},
			accepted(c.q),
		}
	}
	if c.unit == nil && !c.assumed {
		r.assumeUnit(l, i)
	}
	if c.unit != nil {
		c.shift = c.unit.shift
	}
	return nil
}

// fits reports a unit that belongs to the quantity.
func fits(q quantity, u *unitDef) bool {
	return q == u.of || q == qPIon && u.of == qPH || q == qValue && (u.of == qPotential || u.of == qPH)
}

// assumeUnit takes the usual unit where none is written, and says so. A
// potential waits until all its numbers are known.
func (r *reader) assumeUnit(l *layout, i int) {
	c := &l.columns[i]
	usual := map[quantity]string{qVolume: "mL", qTime: "s", qTemperature: "°C"}[c.q]
	c.assumed = usual != "" || c.q == qPotential || c.q == qValue
	if usual == "" {
		return
	}
	c.unit, _ = lookupUnit(usual)
	if c.q == qTime {
		usual += ", or clock times as h:mm:ss"
	}
	r.notef("column %s has no unit: %s assumed to be in %s", l.name(i), c.q, usual)
}
