package explain

import (
	"fmt"
	"math"

	"meniscus/electrode"
	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/working"
)

// Conversion works out what a reading against one reference electrode would be
// against others.
func Conversion(reading unit.Potential, from electrode.Reference, to []electrode.Reference, t unit.Temperature) (*working.Document, error) {
	d := &working.Document{
		Title: "A reading against other reference electrodes",
		Lead:  working.Plain(fmt.Sprintf("The meter shows the potential of the indicator electrode less that of the reference, at %.4g °C.", t.Celsius())),
	}
	b := &builder{}
	e := working.Symbol{Letter: "E", Sub: "meter", Meaning: "what the meter shows", Value: millivolts(reading)}
	b.add(append(working.P("The meter shows @ against ", e.Value), working.Text(from.Name+".")))
	she := b.step(working.P("The reference stands above or below the standard hydrogen electrode by its potential, so that is added:"),
		working.Symbol{Letter: "E", Sub: "SHE", Meaning: "the potential against the standard hydrogen electrode"}, working.Add(e, standing("ref", from, t)), working.Decimals(1), "mV")
	shown := 0
	for _, other := range to {
		v, u, notes := electrode.Convert(reading, from, other, t)
		q := she
		if x, _, _ := other.Potential(t); x != 0 {
			shown++
			q = b.step(append(working.P("Against "), working.Text(other.Name+" the potential of that electrode is taken off:")),
				working.Symbol{Letter: "E", Sub: fmt.Sprint(shown), Meaning: "what a meter would show against " + other.Name}, working.Less(she, standing(fmt.Sprintf("ref%d", shown), other, t)), working.Decimals(1), "mV")
		}
		if math.Abs(q.Value.Value-v.Millivolts()) > 1e-6 {
			return nil, fmt.Errorf("working out a potential against %s: the steps give %g mV, the conversion %g mV", other.Name, q.Value.Value, v.Millivolts())
		}
		if u > 0 {
			_, text := uncertainty.Round(v.Millivolts(), u.Millivolts())
			b.add(append(working.P("Against "), working.Text(other.Name), working.Text(" that is "), working.Math{Expr: q.Value},
				working.Text(", with a standard uncertainty of "), working.Math{Expr: working.Said(u.Millivolts(), text, "mV")}, working.Text(" from the references; what the junction adds is not in it.")))
		}
		for _, n := range notes {
			b.add(working.Plain("Note: " + n + "."))
		}
	}
	d.Sections = []working.Section{{Kind: Conversions, Title: "From the meter to other references", Blocks: b.out}}
	d.Explain()
	return d, b.err
}

func millivolts(e unit.Potential) working.Number {
	return working.Shortest(math.Round(e.Millivolts()*1e6)/1e6, "mV")
}

func standing(sub string, r electrode.Reference, t unit.Temperature) working.Symbol {
	e, _, _ := r.Potential(t)
	return working.Symbol{Letter: "E", Sub: sub, Meaning: "the potential of " + r.Name + " against the standard hydrogen electrode", Value: millivolts(e)}
}
