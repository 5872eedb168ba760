package report

import (
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"

	"meniscus/curve"
	"meniscus/plan"
)

// ScheduleFormats lists the formats, the default first.
var ScheduleFormats = FormatTable[plan.Schedule]{{"text", writeScheduleText}, {"json", writeScheduleJSON}}

func writeScheduleText(w io.Writer, x *plan.Schedule) error {
	var t typist
	t.schedule(x)
	_, err := io.WriteString(w, t.String())
	return err
}

func writeScheduleJSON(w io.Writer, x *plan.Schedule) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(scheduleJSON(x))
}

// schedule writes where to read.
func (t *typist) schedule(x *plan.Schedule) {
	t.heading("Where to read")
	t.items(scheduleSteps(x))
	places, gain := scheduleTables(x)
	t.table(typesetRows(places.Rows), places.Align)
	t.heading(scheduleBasis(x))
	t.table(typesetRows(gain.Rows), gain.Align)
	if len(x.Assumed) > 0 {
		t.heading("Taken as usual, as the setup does not say")
		t.items(x.Assumed)
	}
}

func scheduleSteps(x *plan.Schedule) []string {
	var list []string
	for i, s := range x.Words {
		if i > 0 {
			s = "then " + s
		}
		list = append(list, s)
	}
	return list
}

// scheduleTables lists where to read, and what that gains over equal steps.
func scheduleTables(x *plan.Schedule) (places, gain planTable) {
	rows := [][]string{{"", "added mL", "step mL", "burette mL", "tells mainly"}}
	for i, r := range x.Readings {
		rows = append(rows, []string{
			strconv.Itoa(i + 1), fmt.Sprintf("%.2f", r.Volume.Millilitres()), fmt.Sprintf("%.2f", r.Add.Millilitres()),
			fmt.Sprintf("%.2f", r.Burette.Millilitres()), r.For,
		})
	}
	places = planTable{Rows: rows, Align: "rrrrl"}
	rows = [][]string{{"wanted", "u", "u in equal steps", "times smaller", "unit"}}
	for _, p := range x.Wanted {
		rows = append(rows, []string{p.Name, twoFigures(p.StdUnc), twoFigures(p.Equal), fmt.Sprintf("%.1f", p.Ratio()), p.Unit})
	}
	return places, planTable{Rows: rows, Align: "lrrrl"}
}

// scheduleBasis says under which conditions a schedule tells what it does.
func scheduleBasis(x *plan.Schedule) string {
	noise := fmt.Sprintf("%.2g mV", x.Noise.Value*1e3)
	if x.Kind != curve.Potential {
		noise = fmt.Sprintf("%.2g in %s", x.Noise.Value, x.Kind)
	}
	return fmt.Sprintf("What it tells, with readings good to %s and %.2g mL, averaged over an end point known to %.2g %%", noise, x.Noise.Volume*1e3, x.Known*100)
}

// additionsSection is where to read as a section of a plan.
func additionsSection(p *plan.Plan) planBody {
	var b planBody
	x := p.Additions
	if x == nil {
		if p.NoAdditions != "" {
			b.say("No schedule: %s.", p.NoAdditions)
		}
		return b
	}
	b.say("%s.", strings.Join(scheduleSteps(x), "; "))
	b.say("%s:", scheduleBasis(x))
	places, gain := scheduleTables(x)
	b.Tables = []planTable{gain, places}
	for _, a := range x.Assumed {
		b.Items = append(b.Items, "taken as usual: "+a)
	}
	b.Items = append(b.Items, "at the bench, `meniscus next` plans what is left anew after each reading")
	return b
}

// jsonSchedule is the part of a plan that says where to read.
type jsonSchedule struct {
	Want     string           `json:"want"`
	Known    float64          `json:"known_relative"`
	Readings []jsonScheduled  `json:"readings"`
	Wanted   []jsonPrediction `json:"wanted"`
	Words    []string         `json:"words"`
	Assumed  []string         `json:"assumptions"`
}

type jsonScheduled struct {
	Volume  float64 `json:"volume_mL"`
	Add     float64 `json:"add_mL"`
	Burette float64 `json:"burette_mL"`
	For     string  `json:"for"`
}

type jsonPrediction struct {
	Name   string  `json:"name"`
	Unit   string  `json:"unit"`
	StdUnc float64 `json:"standard_uncertainty"`
	Equal  float64 `json:"standard_uncertainty_equal_steps"`
}

func scheduleJSON(x *plan.Schedule) jsonSchedule {
	out := jsonSchedule{Want: x.Want.String(), Known: x.Known, Words: append([]string{}, x.Words...), Assumed: append([]string{}, x.Assumed...)}
	for _, r := range x.Readings {
		out.Readings = append(out.Readings, jsonScheduled{tidy(r.Volume), tidy(r.Add), tidy(r.Burette), r.For})
	}
	for _, p := range x.Wanted {
		out.Wanted = append(out.Wanted, jsonPrediction{p.Name, p.Unit, p.StdUnc, p.Equal})
	}
	return out
}
