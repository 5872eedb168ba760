package lsq

import (
	"math/big"
	"testing"

	"meniscus/num/dd"
)

// decimal reads a decimal number without rounding it to a float64.
func decimal(t testing.TB, s string) dd.Num {
	t.Helper()
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		t.Fatalf("%q is not a number", s)
	}
	return dd.FromRat(r)
}
