package unit

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"meniscus/num/dd"
)

// A Decimal is an exact decimal number, Coef times ten to the Exp. Coef is an
// integer; up to 31 digits are held exactly. The zero value is 0.
//
// Quantities read from text keep this form into the mass balances, because
// the difference of two amounts near an equivalence point must not lose the
// digits that a float64 of 0.1 has already lost.
type Decimal struct {
	Coef dd.Num
	Exp  int
}

// maxDigits is the number of decimal digits that a Decimal holds exactly:
// 10^31 is below 2^106, the integers a double-double can hold.
const maxDigits = 31

// ParseDecimal reads a plain decimal number such as "0.0500", "-12.3" or
// "1.5e-3". A decimal comma is read as a point.
func ParseDecimal(text string) (Decimal, error) {
	s := strings.Replace(strings.TrimSpace(text), "−", "-", 1)
	s = strings.Replace(s, ",", ".", 1)
	mant, expText, hasExp := strings.Cut(strings.ToLower(s), "e")
	exp := 0
	if hasExp {
		e, err := strconv.Atoi(expText)
		if err != nil || e < -300 || e > 300 {
			return Decimal{}, fmt.Errorf("number %q: the exponent is not a whole number from -300 to 300", text)
		}
		exp = e
	}
	neg := strings.HasPrefix(mant, "-")
	mant = strings.TrimLeft(mant, "+-")
	whole, frac, _ := strings.Cut(mant, ".")
	digits := strings.TrimLeft(whole+frac, "0")
	for _, c := range whole + frac {
		if c < '0' || c > '9' {
			return Decimal{}, fmt.Errorf("number %q: %q is not a digit", text, c)
		}
	}
	if whole+frac == "" || len(s)-len(strings.TrimLeft(s, "+-")) > 1 {
		return Decimal{}, fmt.Errorf("%q is not a number", text)
	}
	exp -= len(frac)
	trimmed := strings.TrimRight(digits, "0")
	exp += len(digits) - len(trimmed)
	if trimmed == "" {
		return Decimal{}, nil
	}
	if len(trimmed) > maxDigits {
		return Decimal{}, fmt.Errorf("number %q has %d digits; at most %d are kept exactly", text, len(trimmed), maxDigits)
	}
	n := wholeNumber(trimmed)
	if neg {
		n = n.Neg()
	}
	return Decimal{n, exp}, nil
}

// wholeNumber reads digits; up to 18 of them fit an int64, which is quicker.
func wholeNumber(digits string) dd.Num {
	if len(digits) <= 18 {
		n, _ := strconv.ParseInt(digits, 10, 64)
		hi := float64(n)
		return dd.Num{Hi: hi, Lo: float64(n - int64(hi))}
	}
	n, _ := new(big.Rat).SetString(digits)
	return dd.FromRat(n)
}

// DecimalOf returns the shortest decimal that reads back as f: what a person
// who wrote f meant. NaN and infinities give 0 and false.
func DecimalOf(f float64) (Decimal, bool) {
	if math.IsNaN(f) || math.IsInf(f, 0) {
		return Decimal{}, false
	}
	d, err := ParseDecimal(strconv.FormatFloat(f, 'e', -1, 64))
	return d, err == nil
}

// Float returns the float64 nearest to d.
func (d Decimal) Float() float64 {
	if d.Coef.IsZero() {
		return 0
	}
	if d.Exp >= -22 && d.Exp <= 0 && d.Coef.Lo == 0 {
		return d.Coef.Hi / pow10[-d.Exp] // both exact: correctly rounded
	}
	return d.Scaled(0).Float()
}

// pow10 are the powers of ten that a float64 holds exactly.
var pow10 = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// Scaled returns d in units of ten to the exp: exactly where the result is an
// integer of at most 106 bits, to double-double precision otherwise.
func (d Decimal) Scaled(exp int) dd.Num {
	x := d.Coef
	for k := d.Exp - exp; k != 0; {
		step := min(max(k, -22), 22)
		if step > 0 {
			x = x.MulFloat(pow10[step])
		} else {
			x = x.Div(dd.From(pow10[-step]))
		}
		k -= step
	}
	return x
}

// Mul returns the product, exactly while it has at most 106 bits.
func (d Decimal) Mul(e Decimal) Decimal {
	return Decimal{d.Coef.Mul(e.Coef), d.Exp + e.Exp}
}

// Add returns the sum, exactly while it has at most 106 bits.
func (d Decimal) Add(e Decimal) Decimal {
	if d.Coef.IsZero() {
		return e
	}
	if e.Coef.IsZero() {
		return d
	}
	exp := min(d.Exp, e.Exp)
	return Decimal{d.Scaled(exp).Add(e.Scaled(exp)), exp}
}

// Shift returns d times ten to the k.
func (d Decimal) Shift(k int) Decimal { return Decimal{d.Coef, d.Exp + k} }
