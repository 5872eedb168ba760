package chem

import (
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits that no species of a titration comes near; they keep counts and
// recursion bounded whatever the text.
const (
	maxDepth  = 8
	maxCount  = 99999
	maxCharge = 99
	maxLength = 300 // bytes
)

// A node is an element symbol, another word, or a group in brackets, with its
// count.
type node struct {
	word  string
	group []node
	count int64
}

// A formulaPart is what stands between two dots: CuSO4 and 5H2O.
type formulaPart struct {
	times Ratio
	nodes []node
}

// A reader walks through the text of one species.
type reader struct {
	text  string
	pos   int
	known func(name string) bool // ions that may be written without ^
	label bool                   // a word was not an element symbol
}

func parseSpecies(text string, known func(string) bool) (Species, error) {
	p := &reader{text: text, known: known}
	if !utf8.ValidString(text) {
		return Species{}, p.fail(0, "is not valid UTF-8", "")
	}
	if len(text) > maxLength {
		return Species{}, p.fail(0, "is longer than any species", "")
	}
	p.skipSpace()
	parts, err := p.formula()
	if err != nil {
		return Species{}, err
	}
	charge, err := p.charge()
	if err != nil {
		return Species{}, err
	}
	phase, err := p.phase()
	if err != nil {
		return Species{}, err
	}
	p.skipSpace()
	if p.pos < len(text) {
		return Species{}, p.fail(p.pos, p.leftOver(), "")
	}
	return p.species(parts, charge, phase)
}

func (p *reader) fail(at int, reason, meant string) error {
	return &SyntaxError{Text: p.text, Offset: at, Reason: reason, Meant: meant}
}

// peek returns the next character, 0 at the end.
func (p *reader) peek() rune {
	if p.pos >= len(p.text) {
		return 0
	}
	c, _ := utf8.DecodeRuneInString(p.text[p.pos:])
	return c
}

// take consumes the next character if it is one of set.
func (p *reader) take(set string) bool {
	c := p.peek()
	if c == 0 || !strings.ContainsRune(set, c) {
		return false
	}
	p.pos += utf8.RuneLen(c)
	return true
}

func (p *reader) skipSpace() {
	for unicode.IsSpace(p.peek()) {
		p.pos += utf8.RuneLen(p.peek())
	}
}

// skipSpaceBefore skips blanks if one of set follows them.
func (p *reader) skipSpaceBefore(set string) {
	start := p.pos
	p.skipSpace()
	if c := p.peek(); c == 0 || !strings.ContainsRune(set, c) {
		p.pos = start
	}
}

func (p *reader) leftOver() string {
	rest := strings.TrimSpace(p.text[p.pos:])
	if strings.ContainsAny(rest[:1], "+-") || strings.HasPrefix(rest, "=") {
		return strconv.Quote(rest) + " is left over: terms are separated by a + with blanks around it"
	}
	return strconv.Quote(rest) + " is left over"
}

// dots are the characters read as the dot before water of crystallisation.
const dots = "·.*•∙⋅"

// formula reads parts separated by dots.
func (p *reader) formula() ([]formulaPart, error) {
	if c := p.peek(); '0' <= c && c <= '9' {
		return nil, p.fail(p.pos, "a species does not begin with a number: coefficients belong into reactions", "")
	}
	var parts []formulaPart
	for {
		part := formulaPart{times: Whole(1)}
		if len(parts) > 0 {
			m, err := p.multiplier()
			if err != nil {
				return nil, err
			}
			part.times = m
		}
		nodes, err := p.nodes(0)
		if err != nil {
			return nil, err
		}
		part.nodes = nodes
		parts = append(parts, part)
		p.skipSpaceBefore(dots)
		if !p.take(dots) {
			return parts, nil
		}
		p.skipSpace()
	}
}

// multiplier reads the number in front of a part; none means 1.
func (p *reader) multiplier() (Ratio, error) {
	n := numberPrefix(p.text[p.pos:])
	if n == 0 {
		return Whole(1), nil
	}
	r, ok := parseRatio(p.text[p.pos : p.pos+n])
	if !ok || r.Sign() == 0 || r.Num() > maxCount || r.Den() > maxCount {
		return Ratio{}, p.fail(p.pos, "this number cannot be a multiplier", "")
	}
	p.pos += n
	p.skipSpace()
	return r, nil
}

// nodes reads symbols and groups up to what cannot belong to a formula.
func (p *reader) nodes(depth int) ([]node, error) {
	var list []node
	for {
		var (
			n   node
			err error
			at  = p.pos
		)
		switch c := p.peek(); {
		case isLetter(c):
			n.word = p.word()
		case c == '(' && depth == 0 && len(list) > 0 && p.atPhase():
			return list, nil
		case c == '(' || c == '[':
			n.group, err = p.group(depth)
		case len(list) == 0:
			return nil, p.fail(at, expectFormula(c), "")
		default:
			return list, nil
		}
		if err != nil {
			return nil, err
		}
		if n.count, err = p.count(); err != nil {
			return nil, err
		}
		if n.group != nil && n.count == 1 && isPhaseWord(n.group) {
			return nil, p.fail(at, "a phase stands at the end, behind the charge", "")
		}
		list = append(list, n)
	}
}

// isPhaseWord says whether a group holds what would be a phase elsewhere.
func isPhaseWord(group []node) bool {
	if len(group) != 1 || group[0].count != 1 {
		return false
	}
	w := group[0].word
	_, other := otherPhases[w]
	return other || w != "" && slices.Contains(phases, Phase(w))
}

func expectFormula(c rune) string {
	if c == 0 {
		return "a formula is missing here"
	}
	return "a formula is expected here, not " + strconv.QuoteRune(c)
}

// isLetter accepts what formulas and labels are written in.
func isLetter(c rune) bool {
	return 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || unicode.In(c, unicode.Greek) && unicode.IsLetter(c)
}

// word reads a capital with the small letters behind it, or small letters.
func (p *reader) word() string {
	start := p.pos
	p.pos += utf8.RuneLen(p.peek())
	for c := p.peek(); isLetter(c) && !unicode.IsUpper(c); c = p.peek() {
		p.pos += utf8.RuneLen(c)
	}
	w := p.text[start:p.pos]
	if _, ok := standardWeights[w]; !ok {
		p.label = true
	}
	return w
}

// romans are the oxidation numbers that must not be read as iodine and
// vanadium.
var romans = []string{"I", "II", "III", "IV", "V", "VI", "VII", "VIII"}

func (p *reader) group(depth int) ([]node, error) {
	at := p.pos
	closing := ")"
	if p.take("[") {
		closing = "]"
	} else {
		p.take("(")
	}
	if depth >= maxDepth {
		return nil, p.fail(at, "brackets are nested too deeply", "")
	}
	list, err := p.nodes(depth + 1)
	if err != nil {
		return nil, err
	}
	inside := p.text[at+1 : p.pos]
	if !p.take(closing) {
		return nil, p.fail(p.pos, "the bracket opened at character "+strconv.Itoa(utf8.RuneCountInString(p.text[:at])+1)+" is not closed here", "")
	}
	if i := slices.Index(romans, inside); i >= 0 && !isCountDigit(p.peek()) {
		element := strings.TrimSpace(p.text[:at])
		meant := ""
		if _, ok := standardWeights[element]; ok {
			meant = "the ion, such as " + element + chargeText(i+1)
		}
		return nil, p.fail(at, "("+inside+") is an oxidation number", meant)
	}
	return list, nil
}

func isCountDigit(c rune) bool { return '0' <= c && c <= '9' || '₀' <= c && c <= '₉' }

// count reads the number behind a symbol or bracket; none means 1.
func (p *reader) count() (int64, error) {
	at := p.pos
	n := int64(0)
	for c := p.peek(); isCountDigit(c); c = p.peek() {
		if c >= '₀' {
			c = c - '₀' + '0'
			p.pos += len("₀")
		} else {
			p.pos++
		}
		n = min(10*n+int64(c-'0'), maxCount+1)
		if n == 0 {
			return 0, p.fail(at, "a count does not begin with 0", "")
		}
	}
	if p.pos == at {
		return 1, nil
	}
	if n > maxCount {
		return 0, p.fail(at, "this count is too large", "")
	}
	if c := p.peek(); n == 1 && isLetter(c) && !unicode.IsUpper(c) {
		// Names leave out a count of 1, which would join C1a to Ca.
		return 0, p.fail(at, "a count of 1 is not written", "")
	}
	return n, nil
}

// otherPhases maps what else is found in parentheses to what is meant.
var otherPhases = map[string]Phase{
	"c": Solid, "cr": Solid, "solid": Solid, "liq": Liquid, "liquid": Liquid,
	"v": Gas, "gas": Gas, "soln": Aqueous, "sln": Aqueous,
}

// atPhase says whether the rest of the text is a phase, or one written
// otherwise.
func (p *reader) atPhase() bool {
	word, ok := phaseWord(p.text[p.pos:])
	_, other := otherPhases[word]
	return ok && (other || slices.Contains(phases, Phase(word)))
}

func phaseWord(rest string) (string, bool) {
	rest = strings.TrimSpace(rest)
	word, opened := strings.CutPrefix(rest, "(")
	word, closed := strings.CutSuffix(word, ")")
	return word, opened && closed
}

// phase reads a phase at the end of the text.
func (p *reader) phase() (Phase, error) {
	p.skipSpaceBefore("(")
	if !p.atPhase() {
		return Unmarked, nil
	}
	word, _ := phaseWord(p.text[p.pos:])
	if meant, ok := otherPhases[word]; ok {
		return "", p.fail(p.pos, "phases are (s), (l), (g) and (aq)", strings.TrimSpace(p.text[:p.pos])+"("+string(meant)+")")
	}
	p.pos = len(p.text)
	return Phase(word), nil
}
