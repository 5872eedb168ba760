package setup

import (
	"math"
	"strings"

	"github.com/goccy/go-yaml"

	"meniscus/chem"
	"meniscus/unit"
)

// chemistry reads the reactions listed in the file.
func (r *reader) chemistry() error {
	for i := range r.f.Chemistry {
		rx, err := r.reaction(i)
		if err != nil {
			return err
		}
		for _, other := range r.s.Reactions {
			if sameReaction(other.parsed, rx.parsed) {
				return r.fail([]any{"chemistry", i, "reaction"}, "%s is listed twice", rx.Equation)
			}
		}
		r.s.Reactions = append(r.s.Reactions, rx)
	}
	return nil
}

// sameReaction compares terms, also the other way round.
func sameReaction(a, b chem.Reaction) bool {
	if len(a.Terms) != len(b.Terms) {
		return false
	}
	same, reverse := true, true
	for _, t := range a.Terms {
		c := b.Coefficient(t.Species.Name)
		same = same && c == t.Coefficient
		reverse = reverse && c == t.Coefficient.Neg()
	}
	return same || reverse
}

// constantKinds lists the keys that hold a constant, in one place.
var constantKinds = []struct {
	key  string
	unit string
	of   func(c *constantRow) any
}{
	{"formal potential", "V", func(c *constantRow) any { return c.Formal }},
	{"standard potential", "V", func(c *constantRow) any { return c.Standard }},
	{"pKa", "", func(c *constantRow) any { return c.PKa }},
	{"log beta", "", func(c *constantRow) any { return c.LogBeta }},
	{"log K", "", func(c *constantRow) any { return c.LogK }},
	{"pKsp", "", func(c *constantRow) any { return c.PKsp }},
}

func (r *reader) reaction(i int) (Reaction, error) {
	c := &r.f.Chemistry[i]
	place := []any{"chemistry", i, "reaction"}
	if c.Reaction == "" {
		return Reaction{}, r.fail([]any{"chemistry", i}, "has no reaction")
	}
	parsed, err := chem.ParseReaction(c.Reaction)
	if err != nil {
		return Reaction{}, r.fail(place, "%v", err)
	}
	if parsed, err = r.balanced(parsed, c, place); err != nil {
		return Reaction{}, err
	}
	rx := Reaction{Equation: parsed.String(), parsed: parsed, Medium: c.Medium, Source: c.Source}
	for _, k := range constantKinds {
		v := k.of(c)
		if v == nil {
			continue
		}
		if rx.Kind != "" {
			return Reaction{}, r.fail([]any{"chemistry", i, k.key}, "the reaction already has a %s; give one constant", rx.Kind)
		}
		rx.Kind, rx.Unit = k.key, k.unit
		if k.unit == "V" {
			val, err := r.value(v, unit.DimPotential, "0.68 V", "chemistry", i, k.key)
			if err != nil {
				return Reaction{}, err
			}
			rx.Value = val.Float()
		} else if rx.Value, err = r.number(v, "chemistry", i, k.key); err != nil {
			return Reaction{}, err
		}
	}
	if rx.Kind == "" {
		return Reaction{}, r.fail([]any{"chemistry", i}, "%s has no constant; give a formal potential, standard potential, pKa, log beta, log K or pKsp", rx.Equation)
	}
	if err := r.kindFits(&rx, i); err != nil {
		return Reaction{}, err
	}
	return rx, r.constant(&rx, c, i)
}

// balanced checks elements and charge, and fills in water.
func (r *reader) balanced(rx chem.Reaction, c *constantRow, place []any) (chem.Reaction, error) {
	if text(c.Unbalanced) == "allowed" {
		return rx, nil
	}
	err := rx.Check()
	if err == nil {
		return rx, nil
	}
	if filled, ok := rx.FillWater(); ok && filled.Check() == nil {
		r.s.Notes = append(r.s.Notes, "H2O filled in: "+filled.String())
		return filled, nil
	}
	hint := ""
	for _, t := range rx.Terms {
		if t.Species.IsLabel {
			hint = "; for labels that are not formulas add unbalanced: allowed"
		}
	}
	return rx, r.fail(place, "%v%s", err, hint)
}

// kindFits checks that the constant is of a kind the reaction can have.
func (r *reader) kindFits(rx *Reaction, i int) error {
	electrons := rx.parsed.Coefficient(chem.Electron).Sign()
	solid, acid := false, rx.parsed.Coefficient(chem.Proton).Sign()
	for _, t := range rx.parsed.Terms {
		solid = solid || t.Species.Phase == chem.Solid && t.Coefficient.Sign() < 0
		if t.Species.Phase == chem.Gas {
			return r.fail([]any{"chemistry", i, "reaction"}, "%s is a gas; write the dissolved form, such as %s(aq), as gases are not followed", t.Species.Name, strings.TrimSuffix(t.Species.Name, "(g)"))
		}
	}
	place := []any{"chemistry", i, rx.Kind}
	switch {
	case rx.Unit == "V" && electrons == 0:
		return r.fail(place, "%s has no electrons, so it has no potential; give pKa, log beta, log K or pKsp", rx.Equation)
	case rx.Unit == "" && rx.Kind != "log K" && electrons != 0:
		return r.fail(place, "%s is a half-reaction; give its formal or standard potential, or log K", rx.Equation)
	case rx.Kind == "pKsp" && !solid:
		return r.fail(place, "a pKsp belongs to a solid that dissolves, such as AgCl(s) = Ag^+ + Cl^-")
	case rx.Kind == "pKa" && acid <= 0:
		return r.fail(place, "a pKa belongs to an acid that gives off H^+, such as CH3COOH = CH3COO^- + H^+")
	}
	return nil
}

// constant turns the value into ln K of the reaction as written, at the
// temperature of the titration.
func (r *reader) constant(rx *Reaction, c *constantRow, i int) error {
	rx.line = rx.Equation
	pH, err := r.atPH(c.At, i)
	if err != nil {
		return err
	}
	ionic, err := r.value(c.Ionic, unit.DimConc, "0.1 mol/L", "chemistry", i, "ionic strength")
	if err != nil {
		return err
	}
	rx.ionic = ionic.Float()
	t := float64(r.s.Temperature)
	value := rx.Value
	if c.DEDT != nil {
		d, err := r.value(c.DEDT, unit.DimTempCoeff, "1.2 mV/K", "chemistry", i, "dE/dT")
		if err != nil {
			return err
		}
		value += d.Float() * (t - 298.15)
	}
	rx.lnK = lnConstant(rx.Kind, value, rx.parsed, t)
	if c.Enthalpy != nil {
		h, err := r.value(c.Enthalpy, unit.DimEnthalpy, "-0.4 kJ/mol", "chemistry", i, "enthalpy")
		if err != nil {
			return err
		}
		rx.lnK -= h.Float() * 1000 / unit.GasConstant * (1/t - 1/298.15)
	}
	if c.Temperature != nil {
		at, err := r.value(c.Temperature, unit.DimTemperature, "25 °C", "chemistry", i, "temperature")
		if err != nil {
			return err
		}
		if math.Abs(at.Float()-t) > 0.5 && c.Enthalpy == nil && c.DEDT == nil {
			r.s.Warnings = append(r.s.Warnings, rx.Equation+": the constant was measured at "+at.Text+" and is used as it is; no enthalpy or dE/dT is given")
		}
	}
	if !math.IsNaN(pH) {
		rx.lnK -= rx.parsed.Coefficient(chem.Proton).Float() * math.Ln10 * pH
	}
	return nil
}

// lnConstant turns a constant into ln K of the reaction as written. A
// potential is that of the reduction: ln K = -nu(e-) E / (RT/F), nu positive
// on the right.
func lnConstant(kind string, x float64, rx chem.Reaction, t float64) float64 {
	switch kind {
	case "formal potential", "standard potential":
		return -rx.Coefficient(chem.Electron).Float() * x / (unit.GasConstant * t / unit.Faraday)
	case "pKa", "pKsp":
		return -x * math.Ln10
	}
	return x * math.Ln10
}

// atPH reads at: {pH: 0}, the acidity a potential was measured at; NaN if it
// is not given.
func (r *reader) atPH(m yaml.MapSlice, i int) (float64, error) {
	x := math.NaN()
	for _, item := range m {
		if text(item.Key) != "pH" {
			return x, r.fail([]any{"chemistry", i, "at"}, "%q is not pH", text(item.Key))
		}
		var err error
		if x, err = r.number(item.Value, "chemistry", i, "at", "pH"); err != nil {
			return x, err
		}
	}
	return x, nil
}
