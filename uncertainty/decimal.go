package uncertainty

import (
	"math"
	"strconv"
	"strings"
)

// decimal writes x, rounded to a multiple of 10^place, in units of 10^shift,
// without an exponent.
func decimal(x float64, place, shift int) string {
	digits := wholeMultiple(math.Abs(x), place)
	point := shift - place // decimals to show
	text := digits
	switch {
	case digits == "0" && point <= 0:
	case point <= 0:
		text += strings.Repeat("0", -point)
	default:
		if missing := point + 1 - len(digits); missing > 0 {
			digits = strings.Repeat("0", missing) + digits
		}
		cut := len(digits) - point
		text = digits[:cut] + "." + digits[cut:]
	}
	if x < 0 && strings.Trim(text, "0.") != "" {
		return "-" + text
	}
	return text
}

// wholeMultiple returns x/10^place, x >= 0, rounded to a whole number, as
// decimal digits.
func wholeMultiple(x float64, place int) string {
	if x == 0 {
		return "0"
	}
	keep := exponent(x, 16) - place // decimals after the first digit
	if keep < -1 {
		return "0"
	}
	if keep == -1 { // below one unit of the place: 0 or 1
		if x >= 0.5*math.Pow10(place) {
			return "1"
		}
		return "0"
	}
	mantissa, exp, _ := strings.Cut(strconv.FormatFloat(x, 'e', keep, 64), "e")
	digits := strings.Replace(mantissa, ".", "", 1)
	if e, _ := strconv.Atoi(exp); e-place > keep { // 9.96 became 10.0
		digits += "0"
	}
	return digits
}
