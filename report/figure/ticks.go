package figure

import (
	"math"
	"strconv"
	"strings"
)

// Ticks are the numbers of an axis.
type Ticks struct {
	Values   []float64 // rising, each a whole multiple of Step
	Step     float64   // 1, 2 or 5 times a power of ten
	Decimals int       // digits after the point that tell neighbours apart
}

// maxTicks bounds what any caller may ask for.
const maxTicks = 1000

// NiceTicks returns the multiples of a round step that lie in [low, high]: the
// smallest step of 1, 2 or 5 times a power of ten that gives at most most of
// them. There is less than one step between the ends and the outermost ticks.
// A range that is empty, not finite, or narrower than 1e-6 of its ends gives
// no ticks.
func NiceTicks(low, high float64, most int) Ticks {
	span := high - low
	if !(span > 0) || math.IsInf(span, 0) || most < 1 {
		return Ticks{}
	}
	most = min(most, maxTicks)
	// Beyond these, neighbouring ticks would not differ as float64, or powers
	// of ten would leave its range.
	if size := max(math.Abs(low), math.Abs(high)); span < size*1e-6 || span < 1e-290 || size > 1e290 {
		return Ticks{}
	}
	power := int(math.Floor(math.Log10(span / float64(most))))
	for ; ; power++ {
		for _, m := range [...]float64{1, 2, 5} {
			step := m * math.Pow(10, float64(power))
			first, last := math.Ceil(low/step-1e-9), math.Floor(high/step+1e-9)
			if last-first+1 > float64(most) {
				continue
			}
			return ticksAt(int(last-first)+1, first, m, power)
		}
	}
}

// ticksAt lists n multiples of m times ten to the power, from the first-th.
func ticksAt(n int, first, m float64, power int) Ticks {
	t := Ticks{Step: m * math.Pow(10, float64(power)), Decimals: max(0, -power)}
	for i := range max(n, 0) {
		k := (first + float64(i)) * m
		v := k * math.Pow(10, float64(power))
		if power < 0 {
			v = k / math.Pow(10, float64(-power)) // 3/10, not 3*0.1: prints as 0.3
		}
		t.Values = append(t.Values, v)
	}
	return t
}

// Number writes v with the digits after the point, the minus sign U+2212 and,
// if asked, a decimal comma. Very large and small numbers get a power of ten.
func Number(v float64, decimals int, comma bool) []Run {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Plain("–")
	}
	a := math.Abs(v)
	if a >= 1e7 || decimals > 6 {
		return scientific(v, comma)
	}
	text := strconv.FormatFloat(v, 'f', max(decimals, 0), 64)
	return Plain(sign(text, comma))
}

func scientific(v float64, comma bool) []Run {
	// Fourteen figures tell neighbouring ticks apart and hide the noise of
	// float64 behind them.
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(v, 'e', 13, 64), "e")
	mantissa = strings.TrimSuffix(strings.TrimRight(mantissa, "0"), ".")
	if v == 0 {
		return Plain("0")
	}
	power := strings.TrimLeft(strings.TrimPrefix(exponent, "+"), "0")
	if rest, ok := strings.CutPrefix(power, "-"); ok {
		power = "−" + strings.TrimLeft(rest, "0")
	}
	if power == "" {
		return Plain(sign(mantissa, comma))
	}
	return []Run{{Text: sign(mantissa, comma) + "×10"}, {Text: power, Shift: Sup}}
}

// sign gives a number made by strconv its minus sign and decimal comma, and
// takes the sign from a zero.
func sign(text string, comma bool) string {
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	text = strings.Replace(text, "-", "−", 1)
	if comma {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}
