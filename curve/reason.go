package curve

import (
	"strings"
)

// lookalikes are letters typed for digits, as pairs for strings.NewReplacer.
var lookalikes = []struct{ letters, digit, reason string }{
	{"oOОο", "0", "letter O for zero?"}, // Latin, Cyrillic, Greek
	{"lI|", "1", "letter l or I for one?"},
}

// noValue are texts that stand for a missing or impossible number.
var noValue = map[string]string{
	"nan": "not a number (NaN)", "inf": "infinite", "infinity": "infinite", "∞": "infinite",
	"-": "a dash is not a number: no reading?", "–": "a dash is not a number: no reading?",
	"--": "a dash is not a number: no reading?", "n/a": "no reading?", "na": "no reading?",
	"n.a.": "no reading?", "null": "no reading?", "none": "no reading?", "overload": "meter overload",
	"ol": "meter overload", "ovld": "meter overload",
}

// notANumber says why s is not a number, as far as that can be seen.
func notANumber(s string) string {
	low := strings.ToLower(s)
	if r, ok := noValue[strings.TrimLeft(low, "+-")]; ok {
		return r
	}
	if r, ok := noValue[low]; ok {
		return r
	}
	if sheetError(s) {
		return "not a number: an error of the spreadsheet"
	}
	for _, l := range lookalikes {
		fixed := strings.Map(func(r rune) rune {
			if strings.ContainsRune(l.letters, r) {
				return rune(l.digit[0])
			}
			return r
		}, s)
		if fixed != s && looksNumeric(fixed) {
			return "not a number: " + l.reason
		}
	}
	if num, rest, ok := cutUnit(s); ok && looksNumeric(num) {
		return "not a number: write the unit " + rest + " into the header"
	}
	return "not a number"
}

// sheetError reports the text that spreadsheets show for a failed formula, in
// any language: #DIV/0!, #REF!, #WERT!, #NAME?, #N/A, #NV.
func sheetError(s string) bool {
	if len(s) < 3 || s[0] != '#' {
		return false
	}
	switch s {
	case "#N/A", "#NV", "#N/D":
		return true
	}
	return (strings.HasSuffix(s, "!") || strings.HasSuffix(s, "?")) && s == strings.ToUpper(s) && !strings.ContainsAny(s, " :;")
}

// cutUnit splits "12.5 mL" or "12.5mL" where the end is a unit that is known.
func cutUnit(s string) (num, name string, ok bool) {
	i := strings.LastIndexAny(s, "0123456789")
	if i < 0 || i+1 == len(s) {
		return "", "", false
	}
	name = trim(s[i+1:])
	_, ok = lookupUnit(name)
	return s[:i+1], name, ok
}

// looksNumeric reports a plain number with at most points and commas inside:
// the test by which delimiters and headers are found. It is stricter than
// parseNumber about blanks and laxer about marks.
func looksNumeric(s string) bool {
	s = trim(s)
	if len(s) > maxNumber || strings.ContainsAny(s, " \u00A0\u202F\u2009") {
		return false
	}
	var p plain
	return p.takeApart(s) == ""
}

// A marks is what the cells of one column say about its decimal mark.
type marks struct {
	points, commas int // cells that can only be read with this decimal mark
	lonePoints     int // cells with one point that could also group thousands
	loneCommas     int
	firstComma     int // row of the first of loneCommas
	firstText      string
}

// see adds the evidence of one cell.
func (m *marks) see(row int, s string) {
	s = trim(s)
	var p plain
	if p.takeApart(s) != "" || p.points+p.commas == 0 || p.badGroup {
		return
	}
	asPoint, asComma := p.checkMarks('.') == "", p.checkMarks(',') == ""
	switch {
	case p.points == 1 && p.commas == 0 && p.couldGroup('.') && !p.groups:
		m.lonePoints++
	case p.commas == 1 && p.points == 0 && p.couldGroup(',') && !p.groups:
		m.loneCommas++
		if m.firstComma == 0 {
			m.firstComma, m.firstText = row, strings.Clone(s)
		}
	case asPoint && !asComma:
		m.points++
	case asComma && !asPoint:
		m.commas++
	}
}

// decide returns the decimal mark, or 0 where the cells leave it open.
func (m *marks) decide() byte {
	switch {
	case m.points == m.commas:
		return 0
	case m.commas > m.points:
		return ','
	}
	return '.'
}
