// Package chem reads and writes chemical notation: species with charges and
// phases, reactions and their balance, molar masses, and the ions that salts,
// acids and bases give in water.
//
// It knows composition and charge, not equilibrium: constants, activities and
// what dissolves belong to packages above it. A species is identified by its
// canonical Name, so two ways to write one ion compare equal.
package chem

import "fmt"

// A SyntaxError reports text that is not a species or a reaction.
type SyntaxError struct {
	Text   string // as given
	Offset int    // in bytes from 0, of the first character that is wrong
	Reason string
	Meant  string // what was probably meant, "" if nothing comes near
}

func (e *SyntaxError) Error() string {
	s := fmt.Sprintf("%q, character %d: %s", e.Text, len([]rune(e.Text[:e.Offset]))+1, e.Reason)
	if e.Meant != "" {
		s += "; write " + e.Meant
	}
	return s
}
