package explain

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"meniscus/setup"
	"meniscus/unit"
	"meniscus/working"
)

// inMillilitres are the digits of a volume that was written in mL, or the
// shortest.
func inMillilitres(v setup.Value) string {
	if text, _, ok := strings.Cut(v.Text, " mL"); ok {
		if d, err := unit.ParseDecimal(strings.TrimSpace(text)); err == nil && d.Shift(-3).Float() == v.Float() {
			return strings.ReplaceAll(strings.TrimSpace(text), ",", ".")
		}
	}
	return working.Shortest(round9(v.Float()*1e3), "mL").Text
}

func bracket(species string, c float64) working.Symbol {
	return working.Symbol{Letter: "[", Of: species, Meaning: "the concentration of {" + species + "} in the flask", Value: working.Figures(4).Number(c, "mol/L")}
}

func amount(species, sub, meaning string) working.Symbol {
	return working.Symbol{Letter: "n", Sub: sub, Of: species, Meaning: meaning}
}

func (b *builder) flaskVolume() working.Symbol {
	return working.Symbol{Letter: "V", Sub: "0", Meaning: "the volume in the flask before the first drop", Value: working.Said(b.s.Flask.Volume.Float()*1e3, inMillilitres(b.s.Flask.Volume), "mL")}
}

func (b *builder) added() working.Symbol {
	return working.Symbol{Letter: "V", Meaning: "the volume of titrant added", Value: atLeastTwo(round9(b.v), "mL")}
}

func (b *builder) total() working.Expr { return working.Add(b.flaskVolume(), b.added()) }

func (b *builder) slope() working.Symbol {
	return working.Symbol{
		Letter: "S", Meaning: fmt.Sprintf("the Nernst slope for one electron, RT ln 10 / F, at %.4g °C", b.t.Temperature.Celsius()),
		Value: working.Decimals(6).Number(b.t.Thermal()*math.Ln10, "V"),
	}
}

func (b *builder) titrantConc(species string, c float64, text string) working.Symbol {
	return working.Symbol{Letter: "c", Sub: "t", Of: species, Meaning: "the concentration of {" + species + "} in the burette", Value: working.Said(c, text, "mol/L")}
}

func (b *builder) flaskConc(species string, c float64, text string) working.Symbol {
	return working.Symbol{Letter: "c", Of: species, Meaning: "the concentration of {" + species + "} in the flask before the first drop", Value: working.Said(c, text, "mol/L")}
}

// measured is the quantity that the electrode follows, with the exact value.
// ok is false where it is undefined.
func (b *builder) measured() (q working.Symbol, exact float64, ok bool) {
	switch {
	case b.redox():
		return working.Symbol{Letter: "E", Meaning: "the potential of the indicator electrode against the standard hydrogen electrode", Value: working.Decimals(4).Number(b.pt.Standard, "V")}, b.pt.Standard, !math.IsNaN(b.pt.Standard)
	case b.glass():
		return working.Symbol{Letter: "pH", Meaning: "minus the decadic logarithm of the activity of {H^+}", Value: working.Decimals(3).Number(b.pt.PH, "1")}, b.pt.PH, !math.IsNaN(b.pt.PH)
	}
	ion := b.t.System().Species[b.t.Cell.Species].Name
	return working.Symbol{Letter: "p", Of: ion, Meaning: "minus the decadic logarithm of the activity of {" + ion + "}", Value: working.Decimals(3).Number(b.pt.PIon, "1")}, b.pt.PIon, !math.IsNaN(b.pt.PIon)
}

// atLeastTwo shows a number with the digits that it has, and at least two after
// the point: what a burette reads to, and tables of potentials have.
func atLeastTwo(x float64, unitName string) working.Number {
	n := working.Shortest(x, unitName)
	if _, after, _ := strings.Cut(n.Text, "."); len(after) < 2 && !strings.Contains(n.Text, "e") {
		return working.Decimals(2).Number(x, unitName)
	}
	return n
}

// apart is a format that shows two nearly equal numbers with at least so many
// figures, and with as many more as their difference needs to be followed.
func apart(x, y float64, figures int) working.Format {
	d := math.Abs(x - y)
	if d == 0 {
		return working.Figures(figures)
	}
	const difference, most = 4, 12 // figures of the difference; what a float64 surely holds
	before := math.Ceil(math.Log10(math.Max(math.Abs(x), math.Abs(y)) / d))
	n := min(max(figures, int(before)+difference), most)
	if n == figures {
		return working.Figures(n)
	}
	// Zeros at the end of both say nothing: the difference is followed without.
	for n > 4 && exactly(x, n-1) && exactly(y, n-1) {
		n--
	}
	return working.Figures(n)
}

// exactly says whether so many figures tell all of x, but for the rounding of
// the calculation that gave it.
func exactly(x float64, figures int) bool {
	told, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', figures-1, 64), 64)
	return err == nil && math.Abs(told-x) <= 1e-13*math.Abs(x)
}
