package curve

import "strings"

// delimiters in the order in which a tie is settled.
var delimiters = []struct {
	char byte
	name string
}{{'\t', "tab"}, {';', "semicolon"}, {',', "comma"}, {' ', "space"}}

// sniffDelimiter finds the delimiter by trying each on the first rows: the
// best one parts most of them into cells that are numbers. Rows of words only
// count where no row has two numbers.
func sniffDelimiter(text string) (byte, string) {
	if first, _ := cutLine(text); strings.HasPrefix(strings.ToLower(first), "sep=") && len(trim(first)) == 5 {
		for _, d := range delimiters {
			if d.char == first[4] {
				return d.char, d.name
			}
		}
	}
	best, bestScore, bestCells := 3, 0.0, 0
	for i, d := range delimiters {
		score, cells := tryDelimiter(text, d.char)
		if d.char == ' ' {
			cells = 0 // blanks part words of one cell, too
		}
		if score > bestScore || score == bestScore && bestScore == 0 && cells > bestCells {
			best, bestScore, bestCells = i, score, cells
		}
	}
	return delimiters[best].char, delimiters[best].name
}

// sniffRows is how many rows with text settle the delimiter.
const sniffRows = 200

// tryDelimiter sums over rows the share of cells that are numbers, where at
// least two are, and counts the rows with two cells of any kind.
func tryDelimiter(text string, delim byte) (score float64, cells int) {
	src := &textSource{rest: text, delim: delim}
	for n := 0; n < sniffRows; {
		l, err := src.next()
		if err != nil {
			break
		}
		if l.comment || l.blank() {
			continue
		}
		n++
		filled, numeric := l.filled(), l.numeric()
		if numeric >= 2 {
			score += float64(numeric) / float64(filled)
		}
		if filled >= 2 {
			cells++
		}
	}
	return score, cells
}

// settleMarks gives each column its decimal mark: from its own cells, else from
// the others, else the point.
func (r *reader) settleMarks(l *layout, head []line) error {
	per := make([]marks, len(l.columns))
	var all marks
	for _, ln := range head {
		if ln.comment || ln.row <= l.header {
			continue
		}
		for i := range min(len(ln.cells), len(per)) {
			if q := l.columns[i].q; q != qRun && q != qExcluded {
				per[i].see(ln.row, ln.cells[i])
				all.see(ln.row, ln.cells[i])
			}
		}
	}
	r.mark = all.decide()
	if r.mark == 0 {
		r.mark = '.'
	}
	for i := range per {
		c := &l.columns[i]
		switch own := per[i].decide(); {
		case r.opt.Decimal != "":
			c.mark = r.opt.Decimal[0]
		case own != 0:
			c.mark = own
		case per[i].loneCommas > 0 && all.decide() == 0 && c.read:
			return &CellError{
				r.rec.Source,
				BadCell{
					Row: per[i].firstComma, Column: l.name(i), Found: per[i].firstText,
					Reason: "the comma could be a decimal mark or group thousands, and no other cell tells",
				},
				`Options.Decimal "," or "."`,
			}
		default:
			c.mark = r.mark
		}
	}
	r.rec.Decimal = l.markNames()
	return nil
}

// markNames describes the decimal marks of the columns that are read.
func (l *layout) markNames() string {
	var point, comma bool
	for i := range l.columns {
		if c := &l.columns[i]; c.read && c.mark == ',' {
			comma = true
		} else if c.read && c.mark == '.' {
			point = true
		}
	}
	switch {
	case point && comma:
		return "point and comma"
	case comma:
		return "comma"
	}
	return "point"
}
