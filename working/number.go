package working

import (
	"math"
	"strconv"
	"strings"
)

// A Number is a value with its unit, in that unit, as it is shown. A number
// without a unit says so: Pure.
type Number struct {
	Value float64
	Text  string // as shown: plain digits, or a mantissa with e and an exponent
	Unit  string // mL, mol/L, mmol, V, ...; "" where Pure
	Pure  bool
}

// IsZero says whether there is no number at all.
func (n Number) IsZero() bool { return n.Text == "" }

// A Format says to how many figures a number is shown.
type Format struct {
	Decimals int // after the point, where Figures is 0
	Figures  int // that count
}

// Decimals shows a number to so many places after the point, Figures to so many
// figures that count.
func Decimals(n int) Format { return Format{Decimals: n} }

// Figures: see Decimals.
func Figures(n int) Format { return Format{Figures: n} }

// Number returns a number shown in this format. The unit "1" makes it pure.
func (f Format) Number(x float64, unit string) Number {
	n := Number{Value: x, Unit: unit}
	if unit == "1" {
		n.Unit, n.Pure = "", true
	}
	switch {
	case f.Figures == 0:
		n.Text = strconv.FormatFloat(x, 'f', f.Decimals, 64)
		if strings.Trim(n.Text, "-0.") == "" {
			n.Text = strings.TrimPrefix(n.Text, "-")
		}
	case x == 0:
		n.Text = "0"
	default:
		n.Text = figures(x, f.Figures)
	}
	return n
}

// figures writes x to n figures, with a power of ten where the plain number
// would need more than three zeros.
func figures(x float64, n int) string {
	t := strconv.FormatFloat(x, 'e', n-1, 64)
	mant, exp, ok := strings.Cut(t, "e")
	if !ok || math.IsInf(x, 0) || math.IsNaN(x) {
		return t
	}
	e, _ := strconv.Atoi(exp)
	if e >= -3 && e < max(n, 4) {
		return strconv.FormatFloat(x, 'f', max(n-1-e, 0), 64)
	}
	return mant + "e" + strconv.Itoa(e)
}

// Said returns a number as someone wrote it: its digits are kept.
func Said(x float64, text, unit string) Number {
	n := Number{Value: x, Text: text, Unit: unit}
	if unit == "1" {
		n.Unit, n.Pure = "", true
	}
	return n
}

// Shortest returns the number with the fewest digits that tell its value.
func Shortest(x float64, unit string) Number {
	return Said(x, shortest(x), unit)
}

func shortest(x float64) string {
	t := strconv.FormatFloat(x, 'g', -1, 64)
	if a := math.Abs(x); a == 0 || a >= 1e-4 && a < 1e6 {
		t = strconv.FormatFloat(x, 'f', -1, 64)
	}
	return t
}

// Count returns a whole or pure number: a stoichiometric coefficient, say.
func Count(x float64) Number { return Shortest(x, "1") }

// mantissa splits the text of a number into digits and power of ten, both with
// a true minus sign.
func (n Number) mantissa() (digits, exp string) {
	digits, exp, _ = strings.Cut(n.Text, "e")
	return strings.ReplaceAll(digits, "-", "−"), strings.ReplaceAll(strings.TrimPrefix(exp, "+"), "-", "−")
}

func (n Number) negative() bool { return strings.HasPrefix(n.Text, "-") }
