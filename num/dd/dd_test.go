package dd

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// num draws a double-double: two float64 far enough apart, of any sign.
func num() *rapid.Generator[Num] {
	return rapid.Custom(func(t *rapid.T) Num {
		hi := rapid.Float64Range(1e-3, 1e3).Draw(t, "hi")
		lo := hi * 0x1p-53 * rapid.Float64Range(-1, 1).Draw(t, "lo")
		if rapid.Bool().Draw(t, "negative") {
			hi = -hi
		}
		return From(hi).Add(From(lo))
	})
}

func big300(a Num) *big.Float {
	hi := new(big.Float).SetPrec(300).SetFloat64(a.Hi)
	return hi.Add(hi, new(big.Float).SetFloat64(a.Lo))
}

// TestAgainstBig compares with 300-bit arithmetic. Sums and products carry 106
// bits, less a few of rounding; a sum is compared with its larger term,
// because cancellation leaves no more than that.
func TestAgainstBig(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := num().Draw(t, "a"), num().Draw(t, "b")
		f := b.Hi
		x, y := big300(a), big300(b)
		new300 := func() *big.Float { return new(big.Float).SetPrec(300) }
		terms := math.Max(math.Abs(a.Hi), math.Abs(b.Hi))
		for _, c := range []struct {
			op   string
			got  Num
			want *big.Float
			size float64
		}{
			{"+", a.Add(b), new300().Add(x, y), terms},
			{"-", a.Sub(b), new300().Sub(x, y), terms},
			{"*", a.Mul(b), new300().Mul(x, y), math.Abs(a.Hi * b.Hi)},
			{"* float", a.MulFloat(f), new300().Mul(x, big300(From(f))), math.Abs(a.Hi * f)},
			{"/", a.Div(b), new300().Quo(x, y), math.Abs(a.Hi / b.Hi)},
		} {
			off, _ := new300().Sub(big300(c.got), c.want).Float64()
			if math.Abs(off) > 0x1p-101*c.size {
				t.Fatalf("%v %s %v: off by %g of %g", a, c.op, b, off, c.size)
			}
			if c.got.Hi != c.got.Hi+c.got.Lo {
				t.Fatalf("%v %s %v = %v: Lo reaches into Hi", a, c.op, b, c.got)
			}
		}
	})
}

// TestIntegersAreExact: sums and products that fit 106 bits have no error.
func TestIntegersAreExact(t *testing.T) {
	a, b := FromRat(big.NewRat(1<<52+1, 1)), FromRat(big.NewRat(1<<53-1, 1))
	want := new(big.Int).Mul(big.NewInt(1<<52+1), big.NewInt(1<<53-1))
	product := a.Mul(b)
	if got, _ := big300(product).Int(nil); got.Cmp(want) != 0 {
		t.Errorf("product %v, want %v", got, want)
	}
	if rest := product.Sub(FromRat(new(big.Rat).SetInt(want))); !rest.IsZero() {
		t.Errorf("the product less itself is %v", rest)
	}
}

func TestFromRat(t *testing.T) {
	third := FromRat(big.NewRat(1, 3))
	off, _ := new(big.Float).Sub(big300(third.MulFloat(3)), big.NewFloat(1)).Float64()
	if math.Abs(off) > 0x1p-104 {
		t.Errorf("3 x 1/3 is off by %g", off)
	}
	huge := new(big.Rat).SetInt(new(big.Int).Lsh(big.NewInt(1), 2000))
	if got := FromRat(huge); !math.IsInf(got.Hi, 1) || got.Lo != 0 {
		t.Errorf("2^2000 is %v, want infinity", got)
	}
}

func TestSign(t *testing.T) {
	for _, c := range []struct {
		a    Num
		want int
	}{{Num{}, 0}, {Num{1, -1e-20}, 1}, {Num{-1, 1e-20}, -1}, {Num{0, 1e-300}, 1}, {Num{0, -1e-300}, -1}} {
		if got := c.a.Sign(); got != c.want {
			t.Errorf("sign of %v: %d, want %d", c.a, got, c.want)
		}
		if c.a.IsZero() != (c.want == 0) {
			t.Errorf("%v: IsZero is %v", c.a, c.a.IsZero())
		}
	}
}
