package chem

import (
	"math/big"
	"strings"
	"unicode/utf8"
)

// vulgar are the fractions that keyboards offer.
var vulgar = map[rune]Ratio{
	'½': {1, 1}, '⅓': {1, 2}, '⅔': {2, 2}, '¼': {1, 3}, '¾': {3, 3},
	'⅕': {1, 4}, '⅙': {1, 5}, '⅛': {1, 7},
}

// numberPrefix returns the length in bytes of the number that s begins with:
// "2", "0.5", "1/2" or "½"; 0 if there is none.
func numberPrefix(s string) int {
	if c, size := utf8.DecodeRuneInString(s); vulgar[c] != (Ratio{}) {
		return size
	}
	n := digitsPrefix(s)
	if n == 0 || n+1 >= len(s) || s[n] != '.' && s[n] != '/' {
		return n
	}
	if m := digitsPrefix(s[n+1:]); m > 0 {
		return n + 1 + m
	}
	return n
}

func digitsPrefix(s string) int { return len(s) - len(strings.TrimLeft(s, digits)) }

// parseRatio reads what numberPrefix found; ok is false if a term of the
// fraction has more than nine characters or begins with an idle 0.
func parseRatio(s string) (r Ratio, ok bool) {
	if c, _ := utf8.DecodeRuneInString(s); vulgar[c] != (Ratio{}) {
		return vulgar[c], true
	}
	num, den, _ := strings.Cut(s, "/")
	if len(num) > 9 || len(den) > 9 || padded(num) || padded(den) {
		return Ratio{}, false
	}
	x, ok := new(big.Rat).SetString(s)
	if !ok {
		return Ratio{}, false
	}
	return ratioOf(x)
}

// padded says whether s begins with a 0 that means nothing, or is a 0.
func padded(s string) bool { return strings.HasPrefix(s, "0") && !strings.HasPrefix(s, "0.") }
