package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"meniscus/constants"
	"meniscus/equilibrium"
	"meniscus/report"
	"meniscus/setup"
)

// A tint makes the colour of the solution out of the colours in the tables.
type tint struct {
	list   []dye
	levels [3]uint8 // of the last swatch
	swatch string
}

type dye struct {
	species int
	name    string
	word    string
	tinge   string     // the word where there is little of it
	absorb  [3]float64 // of red, green and blue, L/mol
	full    float64    // mol/L at which it looks as the tables say
	clear   bool       // colourless and not even pale: no word tells of it
}

// newTint looks the colours of a setup's species up, in its medium if the
// tables know the species there.
func newTint(s *setup.Setup) (*tint, error) {
	t := &tint{}
	medium := constants.CleanMedium(s.Flask.Medium)
	for i, sp := range s.System().Species {
		if sp.Kind == equilibrium.Electron {
			continue
		}
		all, err := constants.Colours(sp.Name)
		if err != nil {
			continue // a label of the user's own: the tables cannot know it
		}
		var best *constants.Colour
		for j := range all {
			if c := &all[j]; best == nil && c.Medium == "" || c.Medium != "" && c.Medium == medium {
				best = c
			}
		}
		if best == nil {
			continue
		}
		d := dye{species: i, name: report.Formula(sp.Name), word: best.Shade.Word, tinge: "tinge of " + best.Shade.Word, full: best.At}
		d.clear = strings.Contains(d.word, "colourless") && !strings.Contains(d.word, "pale")
		if sp.Kind == equilibrium.Solid {
			d.word = "cloudy with a " + d.word + " precipitate"
			d.tinge = d.word
		}
		for k := range d.absorb {
			x, err := strconv.ParseUint(best.Shade.Swatch[1+2*k:3+2*k], 16, 8)
			if err != nil {
				return nil, fmt.Errorf("the swatch of %s: %w", sp.Name, err)
			}
			d.absorb[k] = -math.Log(math.Max(float64(x), 4)/255) / d.full
		}
		t.list = append(t.list, d)
	}
	return t, nil
}

// see returns the colour in words and as a swatch. Light is taken away by each
// species in proportion to its concentration, as by filters one behind the
// other; it is a likeness and no measurement.
func (t *tint) see(s *equilibrium.Solver, sys *equilibrium.System) (words, swatch string) {
	var dark [3]float64
	most, word := 0.0, ""
	for i := range t.list {
		d := &t.list[i]
		c := present(s, sys, d.species)
		weight := 0.0
		for k := range dark {
			x := math.Min(c, 1.3*d.full) * d.absorb[k] // deeper than its swatch it is not shown
			dark[k] += x
			weight += x
		}
		if weight > most && !d.clear {
			most, word = weight, d.word
			if c < 0.12*d.full {
				word = d.tinge
			}
		}
	}
	if most < 0.04 {
		word = "colourless"
	}
	var levels [3]uint8
	for k, x := range dark {
		// Steps of eight keep neighbouring points of one colour together.
		levels[k] = uint8(min(max(math.Round(255*math.Exp(-x)/8)*8, 0), 255))
	}
	if levels != t.levels || t.swatch == "" {
		t.levels, t.swatch = levels, fmt.Sprintf("#%02x%02x%02x", levels[0], levels[1], levels[2])
	}
	return word, t.swatch
}
