package report

import (
	"fmt"
	"math"
	"strings"

	"meniscus/assay"
)

// jsonMedium is a medium of the tables beside the formal potentials found.
type jsonMedium struct {
	Medium  string             `json:"medium"`
	Stated  bool               `json:"stated"`
	Agrees  bool               `json:"agrees"`
	P       *float64           `json:"probability_by_chance"`
	Couples []jsonMediumCouple `json:"couples"`
}

type jsonMediumCouple struct {
	Couple     string   `json:"couple"`
	Table      *float64 `json:"table_mV"`
	Difference *float64 `json:"difference_mV"`
	StdUnc     *float64 `json:"difference_standard_uncertainty_mV"`
	Source     string   `json:"source"`
}

func jsonMedia(e *assay.Evaluation) []jsonMedium {
	out := []jsonMedium{}
	for _, m := range e.Media {
		x := jsonMedium{Medium: m.Name, Stated: m.Stated, Agrees: m.Agrees(), P: optional(m.P)}
		for _, c := range m.Couples {
			x.Couples = append(x.Couples, jsonMediumCouple{c.Name, optional(1e3 * c.Table), optional(1e3 * (c.Found - c.Table)), optional(1e3 * c.StdUnc), c.Source})
		}
		out = append(out, x)
	}
	return out
}

// mediaWords says which media of the tables the potentials found agree with,
// and which not.
func mediaWords(e *assay.Evaluation) []string {
	if len(e.Media) == 0 {
		return nil
	}
	most := 0
	for _, m := range e.Media {
		most = max(most, len(m.Couples))
	}
	var agree, part, not []string
	fewer := 0
	for _, m := range e.Media {
		full := len(m.Couples) == most
		switch {
		case m.Agrees() && full:
			agree = append(agree, typeset(m.Name)+" ("+lessTables(m)+")")
		case m.Agrees():
			part = append(part, typeset(m.Name)+" ("+lessTables(m)+")")
		case full || m.Stated:
			not = append(not, typeset(m.Name)+" ("+farthest(m)+")")
		default:
			fewer++
		}
	}
	var list []string
	say := func(what string, media []string, more string) {
		if len(media) > 0 {
			list = append(list, what+strings.Join(media, "; ")+more)
		}
	}
	say("Medium: the tables agree for ", agree, "; the numbers are found less tabulated, with standard uncertainty")
	if len(agree) == 0 {
		list = append(list, "Medium: none agrees of those for which the tables have the most of these couples.")
	}
	say("Agrees too, with fewer of the couples in the tables: ", part, "")
	more := ""
	if fewer > 0 {
		more = fmt.Sprintf("; and %d %s with fewer of the couples", fewer, several(fewer, "medium", "media"))
	}
	say("Does not agree (less than 5 % by chance): ", not, more)
	return list
}

func lessTables(m assay.Medium) string {
	var list []string
	for _, c := range m.Couples {
		list = append(list, typeset(c.Name)+" "+lessTable(c))
	}
	return strings.Join(list, ", ")
}

func farthest(m assay.Medium) string {
	worst := m.Couples[0]
	for _, c := range m.Couples {
		if math.Abs(c.Found-c.Table)/c.StdUnc > math.Abs(worst.Found-worst.Table)/worst.StdUnc {
			worst = c
		}
	}
	return typeset(worst.Name) + " " + lessTable(worst)
}

func lessTable(c assay.MediumCouple) string {
	d, u := rounded(1e3*(c.Found-c.Table), 1e3*c.StdUnc)
	return fmt.Sprintf("%s ± %s mV", d, u)
}
