package curve

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxNumber is the longest text read as a number, in bytes.
const maxNumber = 60

// A number is a cell that was read.
type number struct {
	value    float64 // times ten to the shift that was asked for, rounded once
	decimals int     // digits after the decimal mark
	digits   int     // significant digits, leading zeros not counted
	grouped  bool    // had thousands marks
}

// trim removes blanks of every kind, byte order marks included.
func trim(s string) string {
	if s == "" || (s[0] > ' ' && s[0] < utf8.RuneSelf && s[len(s)-1] > ' ' && s[len(s)-1] < utf8.RuneSelf) {
		return s
	}
	return strings.TrimFunc(s, func(r rune) bool { return unicode.IsSpace(r) || r == '\uFEFF' || r == '\u200B' })
}

// A plain is a number taken apart: marks resolved, digits still text.
type plain struct {
	buf      [maxNumber + 16]byte
	n        int // bytes used
	exp      int
	decimals int
	digits   int
	points   int
	commas   int
	groups   bool // spaces or apostrophes between digits
	lastMark byte
	after    int // digits since the last mark or group sign
	badGroup bool
}

// parseNumber reads s with the decimal mark '.' or ',' and multiplies by ten
// to the shift before it rounds to a float64. The reason is "" when all is
// well.
func parseNumber(s string, mark byte, shift int) (number, string) {
	s = trim(s)
	if s == "" {
		return number{}, "blank"
	}
	var p plain
	reason := p.takeApart(s)
	if reason == "" {
		reason = p.checkMarks(mark)
	}
	if reason != "" {
		return number{}, reason
	}
	text := p.text(mark, shift)
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(v, 0) {
		return number{}, "too large for a number"
	}
	return number{v, p.decimals, p.digits, p.groups || p.points+p.commas > min(1, p.count(mark))}, ""
}

// count returns how often the mark was seen.
func (p *plain) count(mark byte) int {
	if mark == ',' {
		return p.commas
	}
	return p.points
}

// takeApart checks the characters of a number and counts its marks. Anything
// but sign, digits, marks and exponent gives the reason.
func (p *plain) takeApart(s string) string {
	if len(s) > maxNumber {
		return "not a number: " + strconv.Itoa(len(s)) + " characters long"
	}
	body := s
	if r, n := utf8.DecodeRuneInString(s); r == '+' || isMinus(r) {
		if isMinus(r) {
			p.put('-')
		}
		body = s[n:]
	}
	mant, exp, hasExp := cutExponent(body)
	if hasExp {
		e, err := strconv.Atoi(strings.Replace(exp, "−", "-", 1))
		if err != nil || e < -400 || e > 400 {
			return notANumber(s)
		}
		p.exp = e
	}
	for _, r := range mant {
		if !p.add(r) {
			return notANumber(s)
		}
	}
	if p.n == 0 || p.buf[p.n-1] == '-' || p.seen() == 0 {
		return notANumber(s)
	}
	return ""
}

func (p *plain) put(c byte) {
	p.buf[p.n] = c
	p.n++
}

// seen returns how many digits have been put.
func (p *plain) seen() int {
	n := 0
	for _, c := range p.buf[:p.n] {
		if c >= '0' && c <= '9' {
			n++
		}
	}
	return n
}

// add takes the next character of the mantissa.
func (p *plain) add(r rune) bool {
	switch {
	case r >= '0' && r <= '9':
		p.put(byte(r))
		p.after++
		if p.digits > 0 || r != '0' {
			p.digits++
		}
	case r == '.' || r == ',':
		p.mark(byte(r))
	case isGroupSign(r):
		if p.lastMark == 0 && p.groups && p.after != 3 || p.lastMark != 0 || p.after == 0 || p.after > 3 {
			p.badGroup = true
		}
		p.groups = true
		p.after = 0
	default:
		return false
	}
	return true
}

// mark takes a point or comma.
func (p *plain) mark(c byte) {
	if p.groups && p.lastMark == 0 && p.after != 3 {
		p.badGroup = true
	}
	if c == '.' {
		p.points++
	} else {
		p.commas++
	}
	p.put(c)
	p.lastMark = c
	p.after = 0
}

// checkMarks says what is wrong with the points and commas of a number whose
// column has the given decimal mark.
func (p *plain) checkMarks(mark byte) string {
	other, name, otherName := byte(','), "point", "comma"
	if mark == ',' {
		other, name, otherName = '.', "comma", "point"
	}
	mine, theirs := p.count(mark), p.count(other)
	switch {
	case p.groups && p.lastMark == 0 && p.after != 3, p.badGroup:
		return "blank or apostrophe inside a number"
	case mine > 1:
		return "two decimal marks"
	case theirs == 0:
		return ""
	case theirs == 1 && mine == 0 && p.couldGroup(other):
		return otherName + " in a column with decimal " + name + "s: thousands mark or decimal " + otherName + "?"
	case theirs == 1 && mine == 0:
		return "decimal " + otherName + " in a column with decimal " + name + "s"
	case p.groups || !p.wellGrouped(mark, other):
		return otherName + " in the wrong place for a thousands mark"
	}
	return ""
}

// couldGroup reports that a single mark has three digits behind it and one to
// three, the first not 0, before it.
func (p *plain) couldGroup(mark byte) bool {
	whole, frac, _ := strings.Cut(strings.TrimPrefix(string(p.buf[:p.n]), "-"), string(mark))
	return len(frac) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0'
}

// wellGrouped reports that other divides the digits before mark into threes.
func (p *plain) wellGrouped(mark, other byte) bool {
	whole, frac, _ := strings.Cut(strings.TrimPrefix(string(p.buf[:p.n]), "-"), string(mark))
	parts := strings.Split(whole, string(other))
	for _, g := range parts[1:] {
		if len(g) != 3 {
			return false
		}
	}
	return len(parts[0]) >= 1 && len(parts[0]) <= 3 && parts[0][0] != '0' && strings.IndexByte(frac, other) < 0
}

// text returns the number in Go's notation with its exponent shifted, and
// counts the decimals.
func (p *plain) text(mark byte, shift int) string {
	out := p.buf[:0]
	past := false
	for _, c := range p.buf[:p.n] {
		switch {
		case c == mark:
			past = true
			out = append(out, '.')
		case c == '.' || c == ',':
		default:
			out = append(out, c)
			if past {
				p.decimals++
			}
		}
	}
	if e := p.exp + shift; e != 0 {
		out = append(out, 'e')
		out = strconv.AppendInt(out, int64(e), 10)
	}
	p.decimals = max(0, p.decimals-p.exp)
	return string(out)
}

// isMinus reports a hyphen or one of the signs that typesetting puts for it.
func isMinus(r rune) bool { return r == '-' || r == '−' || r == '–' || r == '－' || r == '﹣' }

// isGroupSign reports a sign that can only be a thousands mark.
func isGroupSign(r rune) bool {
	switch r {
	case ' ', '\u00A0', '\u202F', '\u2009', '\u2007', '\'', '’':
		return true
	}
	return false
}

// cutExponent splits at an e or E that stands behind the first character.
func cutExponent(s string) (mant, exp string, found bool) {
	if i := strings.IndexAny(s, "eE"); i > 0 {
		return s[:i], s[i+1:], true
	}
	return s, "", false
}
