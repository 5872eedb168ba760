package constants

import (
	"io/fs"
	"math"
	"slices"

	"meniscus/unit"
)

// An IndicatorType says what makes an indicator change.
type IndicatorType string

// The types of indicator.
const (
	RedoxIndicator    IndicatorType = "redox"
	AcidBaseIndicator IndicatorType = "acid-base"
	MetalIndicator    IndicatorType = "metal"
)

// An Indicator is one value of an indicator and its two colours.
type Indicator struct {
	Name     string
	Type     IndicatorType
	Value    Optional // V against SHE, or pKa; not known for metal indicators and starch
	Digits   string   // the value as printed
	From, To Optional // pH: of the change, or where a metal indicator serves
	N        int      // electrons of a redox indicator; 0 if not stated
	Medium   string
	Slope    Optional // V per pH unit
	Colours  [2]Shade // reduced, acid or free form; oxidised, base or metal-bound form
	Source   Source
	Also     string // why there is a further value; "" for the one to use
	Note     string
	File     string
	Line     int
}

// A Shade is a colour word and what a screen shows for it.
type Shade struct {
	Word   string
	Swatch string // #rrggbb
}

// Width returns half the width of the colour change of a redox indicator in V
// at temperature t: RT ln10/(nF), where the forms stand ten to one. It is 0
// where n is not stated. Textbook relation.
func (i Indicator) Width(t unit.Temperature) float64 {
	if i.N == 0 {
		return 0
	}
	return unit.GasConstant * float64(t) * math.Ln10 / (float64(i.N) * unit.Faraday)
}

// Indicators returns the indicators of the types given, all if none is.
func Indicators(types ...IndicatorType) ([]Indicator, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	var out []Indicator
	for _, i := range t.indicators {
		if len(types) == 0 || slices.Contains(types, i.Type) {
			out = append(out, i)
		}
	}
	return out, nil
}

const indicatorColumns = "name | type | value | from | to | n | medium | slope (mV/pH) | colour 1 | swatch 1 | " +
	"colour 2 | swatch 2 | source | flags | note"

func (t *tables) readIndicators(fsys fs.FS) error {
	records, err := readTable(fsys, "indicators.txt", indicatorColumns)
	if err != nil {
		return err
	}
	type key struct {
		name, medium string
		kind         IndicatorType
	}
	first := map[key]bool{}
	for _, r := range records {
		ind, err := t.indicator(r)
		if err != nil {
			return err
		}
		k := key{ind.Name, ind.Medium, ind.Type}
		if first[k] != (ind.Also != "") {
			return r.fail("the flag also: belongs to every value of an indicator and medium but the first")
		}
		first[k] = true
		t.indicators = append(t.indicators, ind)
	}
	return nil
}

func (t *tables) indicator(r record) (Indicator, error) {
	ind := Indicator{
		Name: r.get("name"), Type: IndicatorType(r.get("type")), Digits: r.get("value"), Medium: r.get("medium"),
		Note: r.get("note"), File: r.file, Line: r.line,
		Colours: [2]Shade{{r.get("colour 1"), r.get("swatch 1")}, {r.get("colour 2"), r.get("swatch 2")}},
	}
	var n Optional
	var err error
	for _, c := range []struct {
		column string
		to     *Optional
	}{{"value", &ind.Value}, {"from", &ind.From}, {"to", &ind.To}, {"n", &n}, {"slope (mV/pH)", &ind.Slope}} {
		if *c.to, err = r.number(c.column); err != nil {
			return ind, err
		}
	}
	ind.N = int(n.Value)
	ind.Slope.Value *= 1e-3 // mV to V
	if ind.Source, err = t.source(r); err != nil {
		return ind, err
	}
	for _, f := range splitFlags(r.get("flags")) {
		switch {
		case f.key == "also" && f.why != "":
			ind.Also = f.why
		case f.key == "colours" && f.why == "memory":
		default:
			return ind, r.fail("flag %q is not known", f.key)
		}
	}
	return ind, ind.check(r)
}

func (i Indicator) check(r record) error {
	for _, c := range i.Colours {
		if c.Word == "" || !isSwatch(c.Swatch) {
			return r.fail("two colours are needed, each a word and a swatch such as #c62828")
		}
	}
	switch {
	case i.From.Known != i.To.Known || i.From.Value > i.To.Value:
		return r.fail("a pH range runs from the lower to the higher pH")
	case i.Type == RedoxIndicator && i.Medium == "":
		return r.fail("a redox indicator needs a medium")
	case i.Type == AcidBaseIndicator && !(i.Value.Known && i.From.Value <= i.Value.Value && i.Value.Value <= i.To.Value):
		return r.fail("an acid-base indicator needs a pKa within its range")
	case i.Type == MetalIndicator && !i.From.Known:
		return r.fail("a metal indicator needs a pH range")
	case !slices.Contains([]IndicatorType{RedoxIndicator, AcidBaseIndicator, MetalIndicator}, i.Type):
		return r.fail("type %q is not redox, acid-base or metal", i.Type)
	}
	return nil
}

func isSwatch(s string) bool {
	if len(s) != 7 || s[0] != '#' {
		return false
	}
	for _, c := range s[1:] {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}
