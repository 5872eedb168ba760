package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/plan"
	"meniscus/unit"
)

// PlanFormats lists the formats of a plan.
var PlanFormats = FormatTable[plan.Plan]{{"text", planText}, {"json", planJSON}, {"html", planHTML}}

// A planBody is what a section says: paragraphs, then tables, then a list.
type planBody struct {
	Say    []string
	Tables []planTable
	Items  []string
}

// A planTable has its header as first row; Align has l or r for each column.
// Swatches, if any, are CSS colours of each row below the header.
type planTable struct {
	Rows     [][]string
	Align    string
	Swatches [][2]string
}

func (b *planBody) say(format string, args ...any) {
	b.Say = append(b.Say, fmt.Sprintf(format, args...))
}

// planSections are the sections of a plan in text and page. One without
// anything to say is left out.
var planSections = []struct {
	key, heading string
	body         func(*plan.Plan) planBody
}{
	{"verdict", "Verdict", verdictSection},
	{"feasibility", "The jump", feasibilitySection},
	{"gains", "What would make it larger", gainsSection},
	{"burette", "Aliquot, sample and burette", buretteSection},
	{"indicators", "Indicators against the jump", indicatorSection},
	{"additions", "Where to read", additionsSection},
	{"titrants", "Titrants that could do it, best first", titrantSection},
	{"media", "The same titration in other media", mediaSection},
	{"conditions", "Conditions to keep", conditionSection},
	{"reductors", "Prereduction", reductorSection},
	{"notes", "Notes", notesSection},
	{"cautions", "Cautions", cautionSection},
}

// planClosing is what every page ends with.
const planClosing = "Written by meniscus. The program advises; it does not claim conformance to any standard."

func cautionSection(p *plan.Plan) planBody {
	var b planBody
	c := p.Cautions
	for _, h := range c.Hazards {
		s := orElse(h.Name, h.Reagent)
		if w := h.Words(); len(w) > 0 {
			s += " (" + orElse(h.Signal, "as bought") + "): " + strings.Join(w, "; ")
		} else {
			s += ": usually not classified"
		}
		b.Items = append(b.Items, s)
	}
	if len(c.Unknown) > 0 {
		b.Items = append(b.Items, "not in the tables, which does not mean harmless: "+strings.Join(c.Unknown, ", "))
	}
	b.Items = append(b.Items, c.Precautions...)
	for _, w := range c.Waste {
		b.Items = append(b.Items, "waste, "+w.Name+": "+w.Say)
	}
	if len(c.Protection) > 0 {
		b.say("Wear %s.", strings.Join(c.Protection, "; "))
	}
	b.say("%s", c.Closing)
	return b
}

func orElse(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

func verdictSection(p *plan.Plan) planBody { return planBody{Say: p.Verdict} }

func notesSection(p *plan.Plan) planBody {
	return planBody{Items: append(append([]string{}, p.Notes...), p.Setup.Notes...)}
}

// inUnit writes a reading, or a height, with its unit.
func inUnit(p *plan.Plan, x float64) string {
	if p.Unit == "mV" {
		return minus(fmt.Sprintf("%.1f mV", x))
	}
	return minus(fmt.Sprintf("%s %.3f", p.Quantity, x))
}

func height(p *plan.Plan, x float64) string {
	switch {
	case math.IsNaN(x):
		return "–"
	case p.Unit == "mV":
		return fmt.Sprintf("%.1f mV", x)
	}
	return fmt.Sprintf("%.3f %s", x, p.Quantity)
}

func feasibilitySection(p *plan.Plan) planBody {
	var b planBody
	acc := plain(100*p.Accuracy, 3) + " %"
	for _, j := range p.Jumps {
		b.say("%s used up at %s mL, reading %s. Within ±%s of it the reading goes from %s to %s: a jump of %s.",
			j.Name, plain(j.Volume*1e3, 6), inUnit(p, j.Reading), acc, inUnit(p, j.Within[0]), inUnit(p, j.Within[1]), height(p, j.Height))
		if !math.IsNaN(j.Left) {
			s := fmt.Sprintf("Of it %s %% is left at equivalence", plain(100*j.Left, 2))
			if !math.IsNaN(j.LogK) {
				s += fmt.Sprintf("; log K = %.2f %s", j.LogK, j.LogKNote)
			}
			b.say("%s.", s)
		}
		if !math.IsNaN(j.Inflection) {
			b.say("The curve is steepest %s from equivalence, at %s.", smallPart(j.Inflection/j.Volume), inUnit(p, j.InflectionReading))
		}
		b.say("20 readings with %s give u(V) = %s mL, %s %% of V. Rule: 5 evenly before, 10 at steps of V/250 across, 5 evenly after; inverse of the Fisher information with the potentials or the offset unknown.",
			p.Noise, plain(j.Carried*1e3, 2), plain(100*j.Carried/j.Volume, 2))
		b.say("One drop of 0.05 mL (common practice) is %s %% of V.", plain(100*j.Drop, 2))
	}
	if len(p.Rules) > 0 {
		b.say("Rules of thumb, common practice, beside the exact numbers above:")
		b.Items = p.Rules
	}
	return b
}

// leastPart of a volume is what no burette tells: 0.05 μL in 50 mL.
const leastPart = 1e-6

// smallPart writes how far something is from a volume, as a part of that, in
// percent or ppm, and no number where no volume is known so well.
func smallPart(x float64) string {
	switch size := math.Abs(x); {
	case size < leastPart:
		return "less than 1 ppm"
	case size < 10e-6:
		return minus(fmt.Sprintf("%+.1f ppm", 1e6*x))
	case size < 5e-4:
		return minus(fmt.Sprintf("%+.0f ppm", 1e6*x))
	}
	return minus(fmt.Sprintf("%+.2f %%", 100*x))
}

func gainsSection(p *plan.Plan) planBody {
	var b planBody
	if len(p.Gains) == 0 {
		return b
	}
	rows := [][]string{{"change", "jump"}}
	for _, g := range p.Gains {
		rows = append(rows, []string{g.What, height(p, g.Height)})
	}
	b.Tables = []planTable{{Rows: rows, Align: "lr"}}
	return b
}

func buretteSection(p *plan.Plan) planBody {
	var b planBody
	u := p.Burette
	given := "assumed, as the setup names none"
	if u.Given {
		given = "as the setup says"
	}
	if len(p.Jumps) > 0 {
		b.say("Burette of %s mL, class %s (%s). The content is known to ± %s %% (standard uncertainty, %s). As described the end is at %s mL, %.0f %% of the burette, and in 95 of 100 cases between %s and %s mL; u(V)/V = %s %%.",
			plain(u.Capacity*1e3, 4), u.Class, given, plain(100*p.Guess, 2), p.GuessIs, plain(u.Here.Volume*1e3, 4), 100*u.Here.Volume/u.Capacity,
			plain(u.Here.Low*1e3, 3), plain(u.Here.High*1e3, 3), plain(100*u.Here.RelU, 2))
		if u.HereOK {
			b.say("That is between 60 and 90 %% with the range on the scale: keep it.")
		} else {
			b.say("Better: aim at %s mL, between 60 and 90 %% with the range on the scale.", plain(u.Aim*1e3, 3))
		}
	}
	if u.Mass > 0 {
		b.say("Sample for %s mL: %s g in the same flask, with the same aliquot.", plain(u.Aim*1e3, 3), plain(u.Mass, 4))
	}
	if u.Note != "" {
		b.say("%s.", u.Note)
	}
	if len(u.Ways) > 0 {
		rows := [][]string{{"pipette/mL", "titrant/(mol/L)", "end/mL", "95 % range/mL", "u(V)/V"}}
		for _, w := range u.Ways {
			rows = append(rows, []string{
				plain(w.Pipette*1e3, 4), plain(w.Strength, 4), fmt.Sprintf("%.1f", w.Volume*1e3),
				fmt.Sprintf("%.1f to %.1f", w.Low*1e3, w.High*1e3), plain(100*w.RelU, 2) + " %",
			})
		}
		b.Tables = append(b.Tables, planTable{Rows: rows, Align: "rrrrr"})
	}
	rows := [][]string{{"reading/mL", "u(V)/V"}}
	for _, x := range u.Scale {
		rows = append(rows, []string{plain(x.Volume*1e3, 3), plain(100*x.RelU, 2) + " %"})
	}
	b.Tables = append(b.Tables, planTable{Rows: rows, Align: "rr"})
	return b
}

func indicatorSection(p *plan.Plan) planBody {
	var b planBody
	if len(p.Indicators) == 0 {
		return b
	}
	t := planTable{Rows: [][]string{{"indicator", "changes at", "colour before to after", "error/mL", "error", ""}}, Align: "lrlrrl"}
	several := len(p.Jumps) > 1
	if several {
		t.Rows[0], t.Align = append([]string{"point"}, t.Rows[0]...), "l"+t.Align
		b.say("Best eight for each point.")
	}
	for k, j := range p.Jumps {
		n := 0
		for _, f := range p.Indicators {
			if f.Point != k || n >= 8 && !f.Asked {
				continue
			}
			n++
			row := indicatorRow(f)
			if several {
				row = append([]string{fmt.Sprintf("%d, %s", k+1, j.Name)}, row...)
			}
			t.Rows = append(t.Rows, row)
			t.Swatches = append(t.Swatches, [2]string{f.Colour[0].Swatch, f.Colour[1].Swatch})
			if x := f.Name + ": " + f.Note; f.Note != "" && !slices.Contains(b.Items, x) {
				b.Items = append(b.Items, x)
			}
		}
	}
	b.Tables = append(b.Tables, t)
	b.say("Error: volume of the change (transition potential against SHE, pKa, half of a metal indicator free, the solid or colour just seen) less the equivalence volume, from the exact curve; minus is too early. The indicator's own consumption is not counted: a blank takes it off.")
	return b
}

func indicatorRow(f plan.IndicatorFit) []string {
	fits := ""
	if f.Fits {
		fits = "fits"
	}
	return []string{f.Name, changesAt(f), changesColour(f), millis(f.Error), percentError(f.Part), fits}
}

// changesAt writes where an indicator changes.
func changesAt(f plan.IndicatorFit) string {
	switch {
	case math.IsNaN(f.At):
		return "–"
	case f.Scale == "V":
		return minus(fmt.Sprintf("%.2f V", f.At))
	case f.Scale == "mol/L":
		return fmt.Sprintf("%s mol/L %s", plain(f.At, 2), f.Of)
	}
	return fmt.Sprintf("%s %.2f", f.Scale, f.At)
}

func changesColour(f plan.IndicatorFit) string {
	if f.Colour[0].Word == "" {
		return "–"
	}
	return f.Colour[0].Word + " to " + f.Colour[1].Word
}

func percentError(x float64) string {
	if math.IsNaN(x) {
		return "–"
	}
	if math.Abs(x) < 1e-6 {
		return "below 0.0001 %"
	}
	return minus(fmt.Sprintf("%+.3g %%", 100*x))
}

// millis is a small volume in mL with its sign.
func millis(v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	if math.Abs(v) < 5e-9 {
		return "0.0000"
	}
	if math.Abs(v) < 1e-6 {
		return minus(fmt.Sprintf("%+.1g", v*1e3))
	}
	return minus(fmt.Sprintf("%+.3f", v*1e3))
}

func titrantSection(p *plan.Plan) planBody {
	var b planBody
	if len(p.Titrants)+len(p.Refused) == 0 {
		return b
	}
	rows := [][]string{{"titrant", "mol/L", "jump", "against it", "why"}}
	for _, c := range p.Titrants {
		name := c.Name
		if c.Here {
			name += " (this setup)"
		}
		rows = append(rows, []string{name, plain(c.Strength, 3), height(p, c.Height), fmt.Sprint(c.Points), joined(c.Reasons)})
	}
	if len(p.Titrants) > 0 {
		b.say("Strengths put the end at the same volume. Ranked by points against (small jump 6, clash in the flask 4, titre that does not keep up to 4, slow up to 2, care up to 2), then by the jump; the facts are common practice.")
		b.Tables = []planTable{{Rows: rows, Align: "lrrrl"}}
	}
	for _, c := range p.Refused {
		b.Items = append(b.Items, c.Name+" refused: "+c.Refused)
	}
	return b
}

func joined(list []string) string {
	s := ""
	for i, x := range list {
		if i > 0 {
			s += "; "
		}
		s += x
	}
	return s
}

func mediaSection(p *plan.Plan) planBody {
	var b planBody
	if len(p.Media) == 0 {
		return b
	}
	rows := [][]string{{"medium", "titrand/V", "titrant/V", "jump", ""}}
	for _, m := range p.Media {
		if m.Refused != "" {
			b.Items = append(b.Items, m.Medium+": "+m.Refused)
			continue
		}
		note := m.Clash
		if m.Here {
			note = strings.TrimSuffix("this setup; "+note, "; ")
		}
		rows = append(rows, []string{m.Medium, fmt.Sprintf("%.3f", m.Analyte), fmt.Sprintf("%.3f", m.Titrant), height(p, m.Height), note})
	}
	if len(rows) > 1 {
		b.say("Potentials against SHE; jump within ±%s %%. Where an acid is named its nominal pH is held.", plain(100*p.Accuracy, 3))
		b.Tables = []planTable{{Rows: rows, Align: "lrrrl"}}
	}
	return b
}

func conditionSection(p *plan.Plan) planBody {
	var b planBody
	for _, c := range p.Conditions {
		b.Items = append(b.Items, c.Keep+": "+c.Why)
	}
	return b
}

func reductorSection(p *plan.Plan) planBody {
	var b planBody
	for _, r := range p.Reductors {
		s := r.Reductor + " gives " + r.Product
		if r.Note != "" {
			s += " (" + r.Note + ")"
		}
		for i, o := range r.Others {
			if i == 0 {
				s += ". Reduces too, each mmol/L in the flask taking:"
			} else {
				s += ","
			}
			s += fmt.Sprintf(" %s to %s, %s mL", o.Element, o.Product, plain(unit.Volume(o.Extra).Millilitres(), 3))
		}
		b.Items = append(b.Items, s)
	}
	return b
}
