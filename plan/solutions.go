package plan

import (
	"fmt"
	"strings"

	"meniscus/setup"
	"meniscus/solution"
	"meniscus/titration"
	"meniscus/unit"
)

// Solutions lists the solutions of a setup, with what a titration takes of each.
// salts names the bottle for a species, where one is chosen; a species that is in
// neither vessel is an error. volume is how much of each is made.
func Solutions(s *setup.Setup, salts map[string]string, volume unit.Volume) ([]solution.Use, error) {
	var list []solution.Use
	used := map[string]bool{}
	var contained []string
	for _, v := range []struct {
		place    string
		contents []setup.Content
		medium   string
		each     unit.Volume
	}{{"flask", s.Flask.Contents, s.Flask.Medium, FlaskVolume(s)}, {"burette", s.Burette.Contents, buretteMedium(s), BuretteVolume(s)}} {
		if len(v.contents) == 0 {
			continue
		}
		u := solution.Use{Place: v.place, Wanted: solution.Wanted{Medium: v.medium, Volume: volume}, Each: v.each}
		for _, c := range v.contents {
			x := solution.Solute{Name: c.Species, Conc: unit.Concentration(c.Conc.Float()), From: salts[c.Species]}
			contained = append(contained, c.Species)
			used[c.Species] = used[c.Species] || x.From != ""
			u.Wanted.Solutes = append(u.Wanted.Solutes, x)
		}
		list = append(list, u)
	}
	for name := range salts {
		if !used[name] {
			return nil, fmt.Errorf("%s: neither flask nor burette contains it; they contain %s", name, strings.Join(contained, ", "))
		}
	}
	return list, nil
}

// AddGear adds to what a class is set out what the electrode of a setup wants
// beside its meter: common practice.
func AddGear(room *solution.Stockroom, s *setup.Setup) {
	switch {
	case s.Titration == nil:
	case s.Titration.Cell.Sensor == titration.Glass:
		room.AddGear("set of calibration buffers, 50 mL of each", "the glass electrode is calibrated on the day, with two that enclose the end point, such as pH 4, 7 and 10")
	case s.Electrode.Ion == "Ag^+":
		room.AddGear("double-junction reference or nitrate bridge", "chloride of the reference would be titrated too")
	}
}

// FlaskVolume is what the flask holds before the first drop.
func FlaskVolume(s *setup.Setup) unit.Volume { return unit.Volume(s.Flask.Volume.Float()) }

// BuretteVolume is the burette's capacity, 50 mL where none is named.
func BuretteVolume(s *setup.Setup) unit.Volume {
	if c := unit.Volume(s.Burette.Capacity.Float()); c > 0 {
		return c
	}
	return 50 * unit.Millilitre
}

// buretteMedium is the flask's medium for a titrant that hydrolyses without
// acid; others are made in water.
func buretteMedium(s *setup.Setup) string {
	for _, c := range s.Burette.Contents {
		for _, t := range c.Ions {
			if t.Species.Charge >= 3 {
				return s.Flask.Medium
			}
		}
	}
	return ""
}
