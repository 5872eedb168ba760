package chem

import (
	"errors"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A Term is a species with its coefficient: positive for products, negative
// for reactants, never 0.
type Term struct {
	Species     Species
	Coefficient Ratio
}

// A Reaction is a list of terms, reactants first, each species once.
type Reaction struct {
	Terms []Term
}

// arrows are read as the sign between the sides; the longest that fits counts.
var arrows = []string{"<=>", "<->", "==", "=", "⇌", "⇄", "↔", "→", "⟶", "⟷", "->"}

// maxReaction bounds the length of a reaction in bytes.
const maxReaction = 4000

// ParseReaction reads a reaction such as
// "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O". Between the sides stands =, ->, →
// or ⇌; a + between terms has a blank before it. Coefficients are whole
// numbers, decimals or fractions ("1/2 O2"). A species that occurs twice on
// one side is added up; on both sides it is an error. Balance is not checked
// here: see Check. Errors are of type *SyntaxError.
func ParseReaction(text string) (Reaction, error) { return parseReaction(text, ParseSpecies) }

func parseReaction(text string, species func(string) (Species, error)) (Reaction, error) {
	if !utf8.ValidString(text) {
		return Reaction{}, &SyntaxError{Text: text, Reason: "is not valid UTF-8"}
	}
	if len(text) > maxReaction {
		return Reaction{}, &SyntaxError{Text: text, Reason: "is longer than any reaction"}
	}
	at, size, err := findArrow(text)
	if err != nil {
		return Reaction{}, err
	}
	var r Reaction
	for _, side := range []struct {
		start, end int
		sign       int64
	}{{0, at, -1}, {at + size, len(text), 1}} {
		for _, span := range splitTerms(text, side.start, side.end) {
			t, err := parseTerm(text, span[0], span[1], species)
			if err != nil {
				return Reaction{}, err
			}
			if side.sign < 0 {
				t.Coefficient = t.Coefficient.Neg()
			}
			if reason := r.add(t); reason != "" {
				return Reaction{}, &SyntaxError{Text: text, Offset: span[0], Reason: reason}
			}
		}
	}
	if slices.ContainsFunc(r.tallies(), func(t Tally) bool { return t.overflow }) {
		return Reaction{}, &SyntaxError{Text: text, Reason: "the numbers are too large to count atoms with"}
	}
	return r, nil
}

// findArrow returns where the one arrow of text is, and its length.
func findArrow(text string) (at, size int, err error) {
	at = -1
	for i := 0; i < len(text); {
		a := arrowAt(text[i:])
		if a == "" {
			i++
			continue
		}
		if at >= 0 {
			return 0, 0, &SyntaxError{Text: text, Offset: i, Reason: "a second " + a + ": write one reaction at a time"}
		}
		at, size = i, len(a)
		i += size
	}
	if at < 0 {
		return 0, 0, &SyntaxError{Text: text, Offset: len(text), Reason: "no = between reactants and products"}
	}
	return at, size, nil
}

func arrowAt(s string) string {
	for _, a := range arrows {
		if strings.HasPrefix(s, a) {
			return a
		}
	}
	return ""
}

// splitTerms returns the spans between those + that have a blank before them
// or begin a side.
func splitTerms(text string, start, end int) [][2]int {
	var spans [][2]int
	blank := false
	from := start
	for i, c := range text[start:end] {
		if c == '+' && blank {
			spans = append(spans, [2]int{from, start + i})
			from = start + i + 1
		}
		blank = unicode.IsSpace(c)
	}
	return append(spans, [2]int{from, end})
}

// parseTerm reads text[start:end]; its errors point into text.
func parseTerm(text string, start, end int, species func(string) (Species, error)) (Term, error) {
	body := text[start:end]
	trimmed := strings.TrimLeftFunc(body, unicode.IsSpace)
	start += len(body) - len(trimmed)
	body = strings.TrimRightFunc(trimmed, unicode.IsSpace)
	if body == "" {
		return Term{}, &SyntaxError{Text: text, Offset: start, Reason: "a species is missing here"}
	}
	t := Term{Coefficient: Whole(1)}
	if n := numberPrefix(body); n > 0 {
		c, ok := parseRatio(body[:n])
		if !ok || c.Sign() == 0 || c.Num() > maxCount || c.Den() > maxCount {
			return Term{}, &SyntaxError{Text: text, Offset: start, Reason: body[:n] + " cannot be a coefficient"}
		}
		t.Coefficient = c
		rest := strings.TrimLeftFunc(body[n:], unicode.IsSpace)
		start += len(body) - len(rest)
		body = rest
	}
	s, err := species(body)
	if err != nil {
		if e := (*SyntaxError)(nil); errors.As(err, &e) {
			err = &SyntaxError{Text: text, Offset: start + e.Offset, Reason: e.Reason, Meant: e.Meant}
		}
		return Term{}, err
	}
	t.Species = s
	return t, nil
}

// add appends t or adds it to the term of its species; it returns what speaks
// against it.
func (r *Reaction) add(t Term) string {
	i := r.index(t.Species.Name)
	if i < 0 {
		r.Terms = append(r.Terms, t)
		return ""
	}
	old := &r.Terms[i]
	if old.Coefficient.Sign() != t.Coefficient.Sign() {
		return t.Species.Name + " stands on both sides: cancel it"
	}
	sum, ok := plus(old.Coefficient, t.Coefficient)
	if !ok {
		return "the coefficients of " + t.Species.Name + " are too large"
	}
	old.Coefficient = sum
	return ""
}

func (r Reaction) index(name string) int {
	return slices.IndexFunc(r.Terms, func(t Term) bool { return t.Species.Name == name })
}

// Coefficient returns the coefficient of the species with this canonical name,
// negative for a reactant, 0 if it takes no part.
func (r Reaction) Coefficient(name string) Ratio {
	if i := r.index(name); i >= 0 {
		return r.Terms[i].Coefficient
	}
	return Ratio{}
}

// Reverse returns the reaction read from right to left.
func (r Reaction) Reverse() Reaction {
	var out Reaction
	for _, sign := range []int{1, -1} {
		for _, t := range r.Terms {
			if t.Coefficient.Sign() == sign {
				out.Terms = append(out.Terms, Term{t.Species, t.Coefficient.Neg()})
			}
		}
	}
	return out
}

// rank puts what water brings along behind the other species of a side, in
// the order chemists write them.
var rank = map[string]int{Proton: 1, Hydroxide: 1, Water: 2, Electron: 3}

// Ordered returns the reaction with reactants before products and, on each
// side, H^+ or OH^-, H2O and e^- behind the others.
func (r Reaction) Ordered() Reaction {
	terms := slices.Clone(r.Terms)
	slices.SortStableFunc(terms, func(a, b Term) int {
		if d := a.Coefficient.Sign() - b.Coefficient.Sign(); d != 0 {
			return d
		}
		return rank[a.Species.Name] - rank[b.Species.Name]
	})
	return Reaction{terms}
}

// String returns the reaction as ParseReaction reads it, with canonical names.
func (r Reaction) String() string { return r.format(" = ", Species.String) }

// Unicode returns the reaction with raised and lowered digits and ⇌.
func (r Reaction) Unicode() string { return r.format(" ⇌ ", Species.Unicode) }

func (r Reaction) format(arrow string, name func(Species) string) string {
	var left, right []string
	for _, t := range r.Terms {
		s := name(t.Species)
		if c := t.Coefficient.abs(); c != Whole(1) {
			s = c.String() + " " + s
		}
		if t.Coefficient.Sign() < 0 {
			left = append(left, s)
		} else {
			right = append(right, s)
		}
	}
	return strings.Join(left, " + ") + arrow + strings.Join(right, " + ")
}

// Parts returns the reaction in pieces to typeset.
func (r Reaction) Parts() []Part {
	var parts []Part
	side := -1
	for i, t := range r.Ordered().Terms {
		switch {
		case t.Coefficient.Sign() != side:
			side = 1
			parts = appendPart(parts, " ⇌ ", Normal)
		case i > 0:
			parts = appendPart(parts, " + ", Normal)
		}
		if c := t.Coefficient.abs(); c != Whole(1) {
			parts = appendPart(parts, c.String()+" ", Normal)
		}
		for _, p := range t.Species.Parts() {
			parts = appendPart(parts, p.Text, p.Script)
		}
	}
	return parts
}
