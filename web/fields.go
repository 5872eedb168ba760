package web

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"meniscus/constants"
	"meniscus/electrode"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/unit"
)

// A field is one quantity of a setup that the plan page turns, with where it
// stands in the text.
type field struct {
	Place   []string `json:"place" doc:"keys from the root of the setup; indices of lists as digits"`
	Group   string   `json:"group" enum:"flask,burette,cell"`
	Label   string   `json:"label"`
	Value   string   `json:"value" doc:"the number as written, or the choice"`
	Unit    string   `json:"unit"`
	Rest    string   `json:"rest" doc:"what follows the number in the text: uncertainty and unit"`
	Min     float64  `json:"min"`
	Max     float64  `json:"max"`
	Step    float64  `json:"step"`
	Choices []string `json:"choices,omitempty"`
	Sought  bool     `json:"sought" doc:"what is to be determined: the value is a guess"`
}

// leading is the number that a quantity begins with.
var leading = regexp.MustCompile(`^[-+−]?[0-9]+(?:[.,][0-9]+)?(?:[eE][-+]?[0-9]+)?`)

// fields lists what can be turned, as it stands in the text.
func fields(text []byte, s *setup.Setup) []field {
	f := fielder{text: setup.NewOutline(text), s: s}
	f.vessel("flask", []string{"flask"})
	for i := 0; ; i++ {
		place := []string{"flask", "portions", strconv.Itoa(i)}
		if !f.vessel("flask", place) {
			break
		}
	}
	if s.Flask.Medium != "" {
		f.choice("flask", "medium", s.Flask.Medium, media(s), "flask", "medium")
	}
	f.number("flask", "pH, held", "pH", 0, 14, "hold", "pH")
	f.contents("burette", []string{"burette"})
	f.choice("cell", "indicator electrode", s.Electrode.Indicator, []string{"platinum", "gold", "carbon", "glass", "silver"}, "electrode", "indicator")
	if _, written := f.text.Text("electrode", "reference"); written || s.Titration == nil || s.Titration.Cell.Known {
		f.choice("cell", "reference", s.Electrode.Reference, references(), "electrode", "reference")
	}
	if !f.number("cell", "temperature", "°C", 0, 60, "temperature") {
		f.list = append(f.list, field{
			Place: []string{"temperature"}, Group: "cell", Label: "temperature", Value: plainNumber(s.Temperature.Celsius()),
			Unit: "°C", Rest: " °C", Min: 0, Max: 60, Step: 1,
		})
	}
	return f.list
}

type fielder struct {
	text setup.Outline
	s    *setup.Setup
	list []field
}

// vessel adds the volume and contents of a flask or portion; false if there is
// none at that place.
func (f *fielder) vessel(group string, place []string) bool {
	volume := f.number(group, "volume", "", 0, 0, append(slices.Clone(place), "volume")...)
	contents := f.contents(group, place)
	return volume || contents
}

func (f *fielder) contents(group string, place []string) bool {
	found := false
	for _, key := range f.text.Keys(append(slices.Clone(place), "contains")...) {
		if !f.number(group, report.Formula(key), "", 0, 0, append(slices.Clone(place), "contains", key)...) {
			continue
		}
		found = true
		last := &f.list[len(f.list)-1]
		for _, t := range f.s.Find {
			last.Sought = last.Sought || (t.InBurette == (group == "burette") && sameSpecies(t.Text, key))
		}
	}
	return found
}

func sameSpecies(target, key string) bool {
	name, _, _ := strings.Cut(target, " in ")
	return strings.TrimSpace(name) == key
}

// number adds a field for a quantity that is in the text.
func (f *fielder) number(group, label, unitText string, low, high float64, place ...string) bool {
	text, ok := f.text.Text(place...)
	if !ok {
		return false
	}
	num := leading.FindString(text)
	d, err := unit.ParseDecimal(strings.ReplaceAll(num, "−", "-"))
	if num == "" || err != nil {
		return false
	}
	x := d.Float()
	if q, err := unit.ParseQuantity(text); err == nil && q.Unit != "" {
		unitText = q.Unit
	}
	n := field{Place: place, Group: group, Label: label, Value: num, Unit: unitText, Rest: text[len(num):], Min: low, Max: high}
	if high == 0 {
		n.Min, n.Max = around(x)
	}
	n.Step = niceStep((n.Max - n.Min) / 500)
	f.list = append(f.list, n)
	return true
}

// around is a range to slide a positive quantity over.
func around(x float64) (low, high float64) {
	if x <= 0 {
		return 0, 1
	}
	power := math.Pow(10, math.Floor(math.Log10(2*x)))
	high = math.Ceil(2*x/power) * power
	return high / 100, high
}

func (f *fielder) choice(group, label, value string, from []string, place ...string) {
	if value == "" {
		return
	}
	if !slices.Contains(from, value) {
		from = append([]string{value}, from...)
	}
	f.list = append(f.list, field{Place: place, Group: group, Label: label, Value: value, Choices: from})
}

// media lists where the tables have formal potentials for every couple of s.
func media(s *setup.Setup) []string {
	var list []string
	first := true
	for _, r := range s.Reactions {
		if r.Kind != "formal potential" {
			continue
		}
		found, err := constants.Media(r.Equation)
		if err != nil {
			continue // no half-reaction
		}
		if first {
			list, first = found, false
			continue
		}
		list = slices.DeleteFunc(slices.Clone(list), func(m string) bool { return !slices.Contains(found, m) })
	}
	return slices.DeleteFunc(list, func(m string) bool { return m == "" })
}

func references() []string {
	var list []string
	for _, r := range electrode.References {
		list = append(list, r.Name)
	}
	return list
}

func plainNumber(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// turn changes one field in the text of a setup: a number keeps what followed
// it, its unit and uncertainty.
func turn(text []byte, place []string, value string) ([]byte, error) {
	outline := setup.NewOutline(text)
	old, ok := outline.Text(place...)
	num := leading.FindString(old)
	value = strings.TrimSpace(value)
	if ok && num != "" && leading.FindString(value) == value {
		value += old[len(num):]
	} else if !ok && len(place) == 1 && place[0] == "temperature" && leading.FindString(value) == value {
		value += " °C"
	}
	return outline.Edit(value, place...)
}
