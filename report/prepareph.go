package report

import (
	"slices"
	"strconv"
	"strings"

	"meniscus/chem"
	"meniscus/setup"
	"meniscus/solution"
	"meniscus/unit"
)

// HoldPH adds the buffer for a pH that the setup holds, unless it names what
// holds it.
func (p *Preparation) HoldPH(o setup.Outline, volume unit.Volume) {
	text, ok := o.Text("hold", "pH")
	if !ok {
		return
	}
	pH, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil {
		return // a word of the setup's own; the setup was read
	}
	b, err := solution.BufferFor(pH, volume)
	if err == nil {
		p.Buffer = &b
		return
	}
	acid := func(s Prepared) bool { return s.Place == "flask" && s.Recipe.Gives(chem.Proton) }
	if !slices.ContainsFunc(p.Solutions, acid) { // otherwise the acid of the solution holds it
		p.Notes = append(p.Notes, "the setup holds its pH: "+err.Error())
	}
}
