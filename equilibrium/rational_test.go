package equilibrium

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// TestFractions: every operation is that of math/big where the result fits 53
// bits, and is marked as overflown, or right, where it does not; fractions
// stay in lowest terms.
func TestFractions(t *testing.T) {
	whole := rapid.OneOf(rapid.Int64Range(-50, 50), rapid.Int64Range(-1<<30, 1<<30))
	part := rapid.OneOf(rapid.Int64Range(1, 50), rapid.Int64Range(1, 1<<24))
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) rat { return newRat(whole.Draw(t, name), part.Draw(t, "over")) }
		a, b, c := draw("a"), draw("b"), draw("c")
		bc := new(big.Rat).Mul(b.big(), c.big())
		// a close to b c, so that the difference fits though the product may not
		if near := new(big.Rat).Sub(bc, a.big()); near.Num().IsInt64() && near.Denom().IsInt64() && abs64(near.Num().Int64()) <= ratLimit && near.Denom().Int64() <= ratLimit {
			a = rat{near.Num().Int64(), near.Denom().Int64()}
		}
		check := func(name string, got rat, want *big.Rat, must bool) {
			fits := want.Num().IsInt64() && abs64(want.Num().Int64()) <= ratLimit && want.Denom().IsInt64() && want.Denom().Int64() <= ratLimit
			switch {
			case got.ok() && got.big().Cmp(want) != 0:
				t.Fatalf("%s of %v, %v, %v is %v, want %v", name, a, b, c, got, want)
			case got.ok() && big.NewInt(got.d).Cmp(want.Denom()) != 0:
				t.Fatalf("%s: %v is not in lowest terms", name, got)
			case !got.ok() && fits && must:
				t.Fatalf("%s of %v, %v, %v overflows; %v fits", name, a, b, c, want)
			}
		}
		check("a+b", a.add(b), new(big.Rat).Add(a.big(), b.big()), false)
		check("a-b", a.sub(b), new(big.Rat).Sub(a.big(), b.big()), false)
		check("b c", b.mul(c), bc, false)
		check("a-b c", a.subMul(b, c), new(big.Rat).Sub(a.big(), bc), true)
		if b.n != 0 {
			check("1/b", b.inv(), new(big.Rat).Inv(b.big()), true)
		}
	})
}

func TestFractionOverflow(t *testing.T) {
	big := rat{1<<52 + 1, 1}
	third := rat{1, 1<<52 - 1}
	for name, r := range map[string]rat{
		"product": big.mul(big), "sum": third.add(rat{1, 1<<52 - 3}), "difference of product": ratOne.subMul(big, big),
		"after overflow": ratBad.add(ratOne), "times overflow": ratBad.mul(ratZero), "inverse of zero": ratZero.inv(),
	} {
		if r.ok() {
			t.Errorf("%s is %v, should have overflown", name, r)
		}
	}
}
