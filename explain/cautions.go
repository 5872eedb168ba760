package explain

import (
	"fmt"
	"regexp"
	"strings"

	"meniscus/constants"
	"meniscus/setup"
	"meniscus/working"
)

// mediumParts finds "1 mol/L H2SO4" in a description of a medium.
var mediumParts = regexp.MustCompile(`mol/L\s+(\S+)`)

// reagents are what stands in flask and burette, the medium with them.
func reagents(s *setup.Setup) []string {
	var names []string
	for _, list := range [][]setup.Content{s.Flask.Contents, s.Burette.Contents} {
		for _, c := range list {
			if !c.Trace {
				names = append(names, c.Species)
			}
		}
	}
	for _, m := range mediumParts.FindAllStringSubmatch(s.Flask.Medium, -1) {
		names = append(names, strings.TrimRight(m[1], ",;"))
	}
	return names
}

// cautions are those of the reagents: what each does, what must never meet and
// where the waste goes.
func cautions(s *setup.Setup) ([]working.Block, error) {
	names := reagents(s)
	if len(names) == 0 {
		return nil, nil
	}
	c, err := constants.CautionsFor(names...)
	if err != nil {
		return nil, fmt.Errorf("looking up cautions: %w", err)
	}
	var list working.List
	for _, h := range c.Hazards {
		name := h.Name
		if name == "" {
			name = h.Reagent
		}
		words := "usually not classified"
		if w := h.Words(); len(w) > 0 {
			words = strings.Join(w, "; ")
		}
		list = append(list, working.Plain(name+": "+words+"."))
	}
	for _, u := range c.Unknown {
		list = append(list, append(working.Paragraph{working.Chem(u)}, working.Text(": not in the table, which does not mean harmless.")))
	}
	for _, p := range c.Precautions {
		list = append(list, working.Plain(p+"."))
	}
	for _, w := range c.Waste {
		list = append(list, working.Plain("Waste, "+w.Name+": "+w.Say+"."))
	}
	blocks := []working.Block{working.Caution(working.Plain("wear " + strings.Join(c.Protection, "; ") + ". " + c.Closing))}
	if len(list) > 0 {
		blocks = append(blocks, working.P("What is known of the reagents as bought; dilute solutions are often milder:"), list)
	}
	return blocks, nil
}
