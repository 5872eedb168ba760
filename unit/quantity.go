package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A Quantity is a number with a unit as a chemist writes it, with what was
// said about its uncertainty: "0.1000 ± 0.0002 mol/L (k=2)",
// "50.00 mL ± 0.03 mL (rectangular)", "0.02010(5) mol/L".
type Quantity struct {
	Text   string  // as written
	Value  Decimal // in the unit written
	StdUnc float64 // standard uncertainty in the unit written
	Stated bool    // an uncertainty was written, even if 0
	Shape  Shape   // of the distribution that the uncertainty was stated for
	K      float64 // coverage factor that was written; 0 if none
	N      int     // equivalents per mole, for normality; 0 if not written
	Unit   string  // canonical symbol, "" if none was written
}

// A Shape is the distribution behind a stated uncertainty.
type Shape int

// Shapes; an uncertainty in parentheses, or with k, is Normal. Without either
// the number after ± is one standard uncertainty.
const (
	Normal Shape = iota
	Rectangular
	Triangular
)

// divisor turns a half-width into a standard uncertainty (GUM 4.3.7, 4.3.9,
// from memory).
func (s Shape) divisor() float64 {
	switch s {
	case Rectangular:
		return math.Sqrt(3)
	case Triangular:
		return math.Sqrt(6)
	}
	return 1
}

// A Dimension groups units that convert into one another.
type Dimension string

// The dimensions, each with its base unit.
const (
	DimVolume      Dimension = "volume"                // L
	DimAmount      Dimension = "amount"                // mol
	DimMass        Dimension = "mass"                  // g
	DimConc        Dimension = "concentration"         // mol/L
	DimMassConc    Dimension = "mass concentration"    // g/L
	DimMolality    Dimension = "molality"              // mol/kg
	DimNormality   Dimension = "normality"             // eq/L
	DimPotential   Dimension = "potential"             // V
	DimTemperature Dimension = "temperature"           // K
	DimFraction    Dimension = "fraction"              // 1
	DimDensity     Dimension = "density"               // g/mL
	DimTime        Dimension = "time"                  // s
	DimEnthalpy    Dimension = "enthalpy"              // kJ/mol
	DimTempCoeff   Dimension = "potential coefficient" // V/K
	DimMolarMass   Dimension = "molar mass"            // g/mol
)

// A unitRow is a unit as written, its canonical symbol, and the power of ten
// that turns it into the base unit of its dimension.
type unitRow struct {
	names  string // separated by spaces; the first is canonical
	dim    Dimension
	exp    int
	factor float64 // further factor, 0 for 1
}

var units = []unitRow{
	{"L l litre liter litres liters dm3 dm³ dm^3", DimVolume, 0, 0},
	{"mL ml cm3 cm³ cm^3 millilitre milliliter", DimVolume, -3, 0},
	{"µL uL μL ul microlitre microliter", DimVolume, -6, 0},
	{"mol", DimAmount, 0, 0},
	{"mmol", DimAmount, -3, 0},
	{"µmol umol μmol", DimAmount, -6, 0},
	{"g", DimMass, 0, 0},
	{"mg", DimMass, -3, 0},
	{"µg ug μg", DimMass, -6, 0},
	{"kg", DimMass, 3, 0},
	{"mol/L mol/l M mol/dm3 mol/dm³ mol/dm^3 mol·L⁻¹", DimConc, 0, 0},
	{"mmol/L mmol/l mM mmol/dm3", DimConc, -3, 0},
	{"µmol/L umol/L μmol/L µM uM μM", DimConc, -6, 0},
	{"mol/kg m", DimMolality, 0, 0},
	{"mmol/kg", DimMolality, -3, 0},
	{"g/L g/l", DimMassConc, 0, 0},
	{"mg/L mg/l", DimMassConc, -3, 0},
	{"µg/L ug/L μg/L", DimMassConc, -6, 0},
	{"N eq/L", DimNormality, 0, 0},
	{"V volt", DimPotential, 0, 0},
	{"mV millivolt", DimPotential, -3, 0},
	{"µV uV", DimPotential, -6, 0},
	{"K kelvin", DimTemperature, 0, 0},
	{"°C C ºC ℃ degC", DimTemperature, 0, 0},
	{"% percent", DimFraction, -2, 0},
	{"‰", DimFraction, -3, 0},
	{"ppm", DimFraction, -6, 0},
	{"g/mL g/ml g/cm3 g/cm³ kg/L", DimDensity, 0, 0},
	{"s sec second seconds", DimTime, 0, 0},
	{"min minute minutes", DimTime, 0, 60},
	{"h hour hours", DimTime, 0, 3600},
	{"kJ/mol", DimEnthalpy, 0, 0},
	{"V/K", DimTempCoeff, 0, 0},
	{"mV/K", DimTempCoeff, -3, 0},
	{"g/mol", DimMolarMass, 0, 0},
}

func findUnit(name string) (unitRow, string, bool) {
	for _, u := range units {
		list := strings.Fields(u.names)
		for _, n := range list {
			if n == name {
				return u, list[0], true
			}
		}
	}
	return unitRow{}, "", false
}

// A QuantityError reports text that is not the quantity it should be.
type QuantityError struct{ Text, Reason string }

func (e *QuantityError) Error() string { return fmt.Sprintf("%q: %s", e.Text, e.Reason) }

// ParseQuantity reads a quantity. A bare number is read with an empty Unit;
// whether that will do is for the caller to say (see In).
func ParseQuantity(text string) (Quantity, error) {
	q := Quantity{Text: strings.TrimSpace(text)}
	s := strings.NewReplacer("+/-", "±", "+-", "±", "\u00a0", " ", "\u202f", " ").Replace(q.Text)
	s, err := q.takeRemarks(s)
	if err != nil {
		return Quantity{}, err
	}
	head, tail, hasUnc := strings.Cut(s, "±")
	if err := q.takeValue(strings.TrimSpace(head), hasUnc); err != nil {
		return Quantity{}, err
	}
	if hasUnc {
		if err := q.takeUncertainty(strings.TrimSpace(tail)); err != nil {
			return Quantity{}, err
		}
	}
	return q, nil
}

func (q *Quantity) fail(format string, args ...any) error {
	return &QuantityError{q.Text, fmt.Sprintf(format, args...)}
}

// takeRemarks strips "(k=2)", "(rectangular)", "(triangular)", "(n=5)".
func (q *Quantity) takeRemarks(s string) (string, error) {
	for {
		s = strings.TrimSpace(s)
		open := strings.LastIndexByte(s, '(')
		if !strings.HasSuffix(s, ")") || open < 0 {
			return s, nil
		}
		remark := strings.ToLower(strings.ReplaceAll(s[open+1:len(s)-1], " ", ""))
		switch key, value, _ := strings.Cut(remark, "="); {
		case key == "k":
			k, err := strconv.ParseFloat(strings.Replace(value, ",", ".", 1), 64)
			if err != nil || !(k > 0) || math.IsInf(k, 0) {
				return "", q.fail("coverage factor %q is not a number above 0", value)
			}
			q.K = k
		case key == "n":
			n, err := strconv.Atoi(value)
			if err != nil || n < 1 {
				return "", q.fail("n in normality must be a whole number of equivalents per mole, found %q", value)
			}
			q.N = n
		case remark == "rectangular":
			q.Shape = Rectangular
		case remark == "triangular":
			q.Shape = Triangular
		case remark == "normal":
		default:
			if strings.Trim(remark, "0123456789") == "" {
				return s, nil // 0.02010(5)
			}
			return "", q.fail("remark (%s) is not understood; write (k=2), (rectangular), (triangular) or (n=5)", remark)
		}
		s = s[:open]
	}
}

// takeValue reads "0.1000 mol/L", "0.02010(5) mol/L" or "0.1000".
func (q *Quantity) takeValue(s string, uncFollows bool) error {
	end := 0
	for end < len(s) && (strings.ContainsRune("0123456789.,+-eE()", rune(s[end])) || strings.HasPrefix(s[end:], "−")) {
		if (s[end] == 'e' || s[end] == 'E') && (end == 0 || end+1 >= len(s) || !strings.ContainsRune("0123456789+-", rune(s[end+1]))) {
			break
		}
		if strings.HasPrefix(s[end:], "−") {
			end += len("−")
			continue
		}
		end++
	}
	number, unitText := s[:end], strings.TrimSpace(s[end:])
	if number == "" {
		return q.fail("a number with a unit is needed, such as 25.00 mL")
	}
	if open := strings.IndexByte(number, '('); open >= 0 {
		if uncFollows {
			return q.fail("the uncertainty is written twice, in parentheses and after ±")
		}
		if err := q.takeConcise(number[:open], number[open:]); err != nil {
			return err
		}
		number = number[:open]
	}
	v, err := ParseDecimal(number)
	if err != nil {
		return q.fail("%v", err)
	}
	q.Value = v
	return q.takeUnit(unitText)
}

// takeConcise reads the (5) of 0.02010(5): a standard uncertainty in units of
// the last digit.
func (q *Quantity) takeConcise(number, paren string) error {
	digits := strings.Trim(paren, "()")
	d, err := ParseDecimal(digits)
	if err != nil || digits == "" {
		return q.fail("%s after the number is not an uncertainty in its last digits", paren)
	}
	_, frac, _ := strings.Cut(strings.Replace(number, ",", ".", 1), ".")
	if strings.ContainsAny(number, "eE") {
		return q.fail("write the uncertainty of a number with an exponent after ±")
	}
	q.StdUnc, q.Stated = d.Shift(-len(frac)).Float(), true
	return nil
}

func (q *Quantity) takeUnit(name string) error {
	if name == "" {
		return nil
	}
	_, canonical, ok := findUnit(name)
	if !ok {
		return q.fail("unit %q is not known", name)
	}
	if q.Unit != "" && q.Unit != canonical {
		return q.fail("two units, %s and %s", q.Unit, canonical)
	}
	q.Unit = canonical
	return nil
}

// takeUncertainty reads what follows ±: a number, perhaps with %, perhaps
// with the unit.
func (q *Quantity) takeUncertainty(s string) error {
	end := strings.IndexFunc(s, func(r rune) bool { return !strings.ContainsRune("0123456789.,eE-+", r) })
	if end < 0 {
		end = len(s)
	}
	d, err := ParseDecimal(s[:end])
	if err != nil {
		return q.fail("%v after ±", err)
	}
	u := d.Float()
	rest := strings.TrimSpace(s[end:])
	if rest == "%" && q.Unit != "%" && q.Unit != "" {
		u *= math.Abs(q.Value.Float()) / 100
	} else if err := q.takeUnit(rest); err != nil {
		return err
	}
	if u < 0 {
		return q.fail("an uncertainty cannot be negative")
	}
	if q.K > 0 {
		u /= q.K
	}
	q.StdUnc, q.Stated = u/q.Shape.divisor(), true
	return nil
}

// Dimension returns what kind of quantity the unit belongs to, "" for a bare
// number.
func (q *Quantity) Dimension() Dimension {
	u, _, ok := findUnit(q.Unit)
	if !ok {
		return ""
	}
	return u.dim
}

// In returns the value and standard uncertainty in the base unit of dim (see
// the constants), or an error that says what was found and what was meant.
func (q *Quantity) In(dim Dimension, example string) (Decimal, float64, error) {
	if q.Unit == "" {
		return Decimal{}, 0, q.fail("has no unit; a %s is meant, such as %s", dim, example)
	}
	u, _, _ := findUnit(q.Unit)
	if u.dim != dim {
		return Decimal{}, 0, q.fail("is a %s; a %s is meant, such as %s", u.dim, dim, example)
	}
	v, unc := q.Value.Shift(u.exp), q.StdUnc*math.Pow10(u.exp)
	if u.factor != 0 {
		f, _ := DecimalOf(u.factor)
		v, unc = v.Mul(f), unc*u.factor
	}
	if u.dim == DimTemperature && q.Unit == "°C" {
		v = v.Add(kelvinOffset)
	}
	return v, unc, nil
}

var kelvinOffset, _ = ParseDecimal("273.15")
