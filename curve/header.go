package curve

import (
	"slices"
	"strings"
)

// findHeader returns the first row that names a volume and a value: among the
// rows above the first numbers, else the last comment above them. -1 if none.
func (r *reader) findHeader(head []line) (at int, commented bool) {
	last := -1
	for i := range head {
		l := &head[i]
		switch {
		case l.comment:
			last = i
		case r.isHeader(l.cells):
			return i, false
		case l.numeric() >= 2:
			if last >= 0 {
				cells := commentCells(head[last].cells[0])
				if len(cells) == len(l.cells) && r.isHeader(cells) {
					return last, true
				}
			}
			return -1, false
		}
	}
	return -1, false
}

// commentCells splits a comment as if it were a header.
func commentCells(text string) []string {
	for _, d := range delimiters[:3] {
		if strings.IndexByte(text, d.char) >= 0 {
			src := &textSource{rest: text, delim: d.char}
			return src.split(nil)
		}
	}
	return splitBlanks(nil, text)
}

// isHeader reports a row of words that names a volume and a value, and holds
// no number. A column that Options names counts as named.
func (r *reader) isHeader(cells []string) bool {
	volume, value := false, false
	for i, c := range headings(cells, nil) {
		if looksNumeric(cells[i]) {
			return false
		}
		name := fold(cells[i])
		volume = volume || c.q == qVolume || name != "" && strings.EqualFold(name, fold(r.opt.Volume))
		value = value || c.q.isValue() || name != "" && strings.EqualFold(name, fold(r.opt.Value))
	}
	return volume && value
}

// startHeader takes the rows up to the header in row at of the head.
func (r *reader) startHeader(at int) error {
	above, err := r.skip(at)
	if err != nil {
		return err
	}
	l, err := r.src.next()
	if err != nil {
		return err
	}
	return r.section(l, above)
}

// skip takes n rows into Record.Meta and returns the last that has text.
func (r *reader) skip(n int) (above line, err error) {
	for range n {
		l, err := r.src.next()
		if err != nil {
			return line{}, err
		}
		r.meta(&l)
		if !l.comment && !l.blank() {
			above = l
		}
	}
	return above, nil
}

// section begins a new layout at a header row, with its row of units.
func (r *reader) section(head, above line) error {
	head.cells = slices.Clone(head.cells)
	var units line
	if next, ok := r.src.peek(); ok && !next.comment && unitRow(next.cells) {
		units = next
		if _, err := r.src.next(); err != nil {
			return err
		}
	}
	lay, err := r.layoutOf(head, units, above)
	if err != nil {
		return err
	}
	r.setLayout(lay)
	return nil
}

// setLayout ends the section before.
func (r *reader) setLayout(lay *layout) {
	r.keepColumns()
	r.lay = lay
	clear(r.last)
	clear(r.runName)
}

// keepColumns records the columns of the first layout.
func (r *reader) keepColumns() {
	if r.lay == nil || r.rec.Columns != nil {
		return
	}
	for i := range r.lay.columns {
		c := &r.lay.columns[i]
		out := Column{Letter: c.letter, Header: c.text}
		if c.read {
			out.Quantity, out.Assumed, out.Decimals = string(c.q), c.assumed, c.decimals
			if c.unit != nil {
				out.Unit = c.unit.name
			}
		}
		r.rec.Columns = append(r.rec.Columns, out)
	}
}

// startBare makes the layout of a source whose header is a comment (in row at
// of the head), is not understood, or is missing.
func (r *reader) startBare(head []line, at int) error {
	if at >= 0 {
		if _, err := r.skip(at + 1); err != nil {
			return err
		}
		r.notef("the header is taken from the comment in row %d", head[at].row)
		return r.section(line{row: head[at].row, cells: commentCells(head[at].cells[0])}, line{})
	}
	body, words := bodyStart(head)
	if words >= 0 {
		return r.startHeader(words) // the error says what is not understood, or Options does
	}
	if _, err := r.skip(body); err != nil {
		return err
	}
	lay, err := r.bareLayout(head[body:])
	if err != nil {
		return err
	}
	r.setLayout(lay)
	return nil
}

// bodyStart returns the first row that has a number, and the last row above it
// that has several cells and no number; -1 if there is none.
func bodyStart(head []line) (body, words int) {
	words = -1
	for i := range head {
		l := &head[i]
		switch {
		case l.comment || l.blank():
		case l.numeric() > 0:
			return i, words
		case l.filled() > 1:
			words = i
		}
	}
	return 0, words
}

// bareLayout takes two columns of numbers as volume and value.
func (r *reader) bareLayout(body []line) (*layout, error) {
	filled, numeric := usedColumns(body)
	cols := filled
	if len(filled) != 2 {
		cols = numeric
	}
	l := &layout{}
	for i := range filled[len(filled)-1] + 1 {
		l.columns = append(l.columns, column{letter: letter(i)})
	}
	const cure = `write a first row such as "V (mL)" and "E (mV)", or "V (mL)" and "pH"`
	switch {
	case len(filled) < 2:
		return nil, r.errorf(ErrOneColumn, "column %s; a volume and a potential or pH are needed", l.columns[len(l.columns)-1].letter)
	case r.opt.Volume != "" && r.opt.Value != "":
		if err := r.force(l); err != nil {
			return nil, err
		}
	case len(cols) != 2:
		return nil, r.errorf(ErrColumns, "%d columns of numbers and no header: %s", len(numeric), cure)
	default:
		l.columns[cols[0]].q, l.columns[cols[0]].strength = qVolume, byName
		l.columns[cols[1]].q, l.columns[cols[1]].strength = qValue, byName
	}
	volumes, values, err := r.pick(l)
	if err != nil {
		return nil, err
	}
	l.pair(volumes, values, line{})
	c := &l.columns[volumes[0]]
	c.unit, _ = lookupUnit("mL")
	c.shift, c.assumed = c.unit.shift, true
	l.columns[values[0]].assumed = true
	return l, nil
}

// usedColumns returns the columns with any text, and those with any number.
func usedColumns(body []line) (filled, numeric []int) {
	for _, l := range body {
		for i, c := range l.cells {
			if l.comment || trim(c) == "" {
				continue
			}
			if !slices.Contains(filled, i) {
				filled = append(filled, i)
			}
			if looksNumeric(c) && !slices.Contains(numeric, i) {
				numeric = append(numeric, i)
			}
		}
	}
	slices.Sort(filled)
	slices.Sort(numeric)
	return filled, numeric
}

// meta records a comment, or a row above the header.
func (r *reader) meta(l *line) {
	if l.blank() {
		return
	}
	m := Meta{Row: l.row}
	var cells []string
	for _, c := range l.cells {
		if c = trim(c); c != "" {
			cells = append(cells, c)
		}
	}
	key, value, found := strings.Cut(cells[0], ":")
	switch {
	case len(cells) > 1:
		m.Key, m.Value = strings.TrimSuffix(cells[0], ":"), strings.Join(cells[1:], " ")
	case found:
		m.Key, m.Value = trim(key), trim(value)
	default:
		m.Value = cells[0]
	}
	m.Key, m.Value = strings.Clone(m.Key), strings.Clone(m.Value)
	r.rec.Meta = append(r.rec.Meta, m)
}
