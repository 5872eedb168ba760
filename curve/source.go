package curve

import (
	"errors"
	"io"
	"slices"
	"strings"
)

// A line is one row of a source. The cells hold until the next one is read.
type line struct {
	row     int
	cells   []string
	comment bool // cells is then one cell, the text behind the #
}

// maxCells is the widest row that can be a table of readings. Without a limit
// one row of a small file could fill the memory.
const maxCells = 1000

var errTooWide = errors.New("a row of more than 1000 cells")

// blank reports a row without any text.
func (l *line) blank() bool {
	return !slices.ContainsFunc(l.cells, func(c string) bool { return trim(c) != "" })
}

// filled counts the cells that are not blank.
func (l *line) filled() int {
	n := 0
	for _, c := range l.cells {
		if trim(c) != "" {
			n++
		}
	}
	return n
}

// numeric counts the cells that look like numbers.
func (l *line) numeric() int {
	n := 0
	for _, c := range l.cells {
		if looksNumeric(c) {
			n++
		}
	}
	return n
}

// A rowSource gives the rows of text or of a sheet; io.EOF ends them.
type rowSource interface {
	next() (line, error)
	// clock reports a column whose cells the source shows as clock times and
	// keeps in days.
	clock(column int) bool
}

// headRows is how many rows are looked at for a header and a decimal mark.
const headRows = 500

// A peeker gives the rows of a source after a look at the first ones.
type peeker struct {
	src  rowSource
	head []line // read, not yet given
	err  error  // after head
	all  []line // the head as first read
}

// look reads the head.
func (p *peeker) look() {
	for len(p.head) < headRows && p.err == nil {
		var l line
		if l, p.err = p.src.next(); p.err == nil {
			l.cells = slices.Clone(l.cells)
			p.head = append(p.head, l)
		}
	}
	p.all = p.head
}

// next gives the next row.
func (p *peeker) next() (line, error) {
	if len(p.head) > 0 {
		l := p.head[0]
		p.head = p.head[1:]
		return l, nil
	}
	if p.err != nil {
		return line{}, p.err
	}
	return p.src.next()
}

// peek returns a copy of the next row without taking it.
func (p *peeker) peek() (line, bool) {
	if len(p.head) == 0 && p.err == nil {
		var l line
		if l, p.err = p.src.next(); p.err == nil {
			l.cells = slices.Clone(l.cells)
			p.head = []line{l}
		}
	}
	if len(p.head) == 0 {
		return line{}, false
	}
	return p.head[0], true
}

// A textSource splits text into rows and cells.
type textSource struct {
	rest  string
	row   int
	delim byte // ' ' is any run of blanks and tabs
	buf   []string
}

func (t *textSource) clock(int) bool { return false }

func (t *textSource) next() (line, error) {
	if t.rest == "" {
		return line{}, io.EOF
	}
	t.row++
	l := line{row: t.row}
	text, rest := cutLine(t.rest)
	body := trim(text)
	switch {
	case body == "":
		t.rest = rest
	case body[0] == '#' && !t.startsWithError(body):
		l.comment, l.cells = true, append(t.buf[:0], trim(body[1:]))
		t.rest = rest
	case t.delim == ' ':
		l.cells, t.rest = splitBlanks(t.buf[:0], text), rest
	default:
		l.cells = t.split(t.buf[:0])
	}
	t.buf = l.cells
	if len(l.cells) > maxCells {
		return line{}, errTooWide
	}
	return l, nil
}

// startsWithError reports a first cell such as #DIV/0!, which is no comment.
func (t *textSource) startsWithError(body string) bool {
	first, _, _ := strings.Cut(body, string(t.delim))
	return sheetError(trim(first))
}

// cutLine splits at LF, CR or CRLF.
func cutLine(s string) (text, rest string) {
	i := strings.IndexAny(s, "\r\n")
	if i < 0 {
		return s, ""
	}
	if strings.HasPrefix(s[i:], "\r\n") {
		return s[:i], s[i+2:]
	}
	return s[:i], s[i+1:]
}

// split takes one row off the rest: cells parted by the delimiter, quoted
// where they begin with a quotation mark.
func (t *textSource) split(cells []string) []string {
	for {
		lead := len(t.rest) - len(strings.TrimLeft(t.rest, " "))
		cell, rest, ok := t.quoted(t.rest[lead:])
		if !ok {
			i := strings.IndexAny(t.rest, string(t.delim)+"\r\n")
			if i < 0 {
				i = len(t.rest)
			}
			cell, rest = t.rest[:i], t.rest[i:]
		}
		cells = append(cells, cell)
		if rest == "" || rest[0] != t.delim || len(cells) > maxCells {
			_, t.rest = cutLine(rest)
			return cells
		}
		t.rest = rest[1:]
	}
}

// maxQuotedLines is how far a quoted cell may run on: a header with line
// breaks is common, a forgotten quotation mark must not swallow the file.
const maxQuotedLines = 10

// quoted reads a cell in quotation marks; doubled marks inside stand for one.
// It fails, and the marks count as text, where the end is not followed by a
// delimiter or the end of the row.
func (t *textSource) quoted(s string) (cell, rest string, ok bool) {
	if s == "" || s[0] != '"' {
		return "", "", false
	}
	breaks, doubled := 0, false
	for i := 1; i < len(s); i++ {
		switch {
		case s[i] == '\n' || s[i] == '\r' && !strings.HasPrefix(s[i:], "\r\n"):
			if breaks++; breaks > maxQuotedLines {
				return "", "", false
			}
		case s[i] == '"' && i+1 < len(s) && s[i+1] == '"':
			doubled = true
			i++
		case s[i] == '"':
			rest = strings.TrimLeft(s[i+1:], " ")
			if rest != "" && rest[0] != t.delim && rest[0] != '\r' && rest[0] != '\n' {
				return "", "", false
			}
			if cell = s[1:i]; doubled {
				cell = strings.ReplaceAll(cell, `""`, `"`)
			}
			t.row += breaks
			return cell, rest, true
		}
	}
	return "", "", false
}

// splitBlanks splits pasted text. A row of words keeps "V / mL" and "E (mV)"
// together, and prefers two blanks or a tab as the parting.
func splitBlanks(cells []string, text string) []string {
	start := len(cells)
	words := false
	for f := range strings.FieldsSeq(strings.ReplaceAll(text, "\u00A0", " ")) {
		words = words || !looksNumeric(f)
		cells = append(cells, strings.Trim(f, `"`))
		if len(cells) > maxCells {
			return cells
		}
	}
	if !words || slices.ContainsFunc(cells[start:], looksNumeric) {
		return cells
	}
	if wide := splitWide(text); len(wide) > 1 {
		return append(cells[:start], wide...)
	}
	text = strings.NewReplacer(" / ", "/", " /", "/", "/ ", "/", " (", "(", " [", "[", " in ", "/").Replace(strings.Join(strings.Fields(text), " "))
	return append(cells[:start], strings.Fields(text)...)
}

// splitWide splits at tabs and at two or more blanks.
func splitWide(text string) []string {
	var out []string
	for part := range strings.SplitSeq(strings.ReplaceAll(text, "\t", "  "), "  ") {
		if p := trim(part); p != "" {
			out = append(out, p)
		}
	}
	return out
}
