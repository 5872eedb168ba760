package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"meniscus/plan"
	"meniscus/unit"
)

// NextFormats lists the formats, the default first.
var NextFormats = FormatTable[plan.Next]{{"text", writeNextText}, {"json", writeNextJSON}}

func writeNextText(w io.Writer, x *plan.Next) error {
	var t typist
	if x.Stop {
		t.paragraph(0, 0, "Stop: "+typeset(x.Why)+".")
	} else {
		t.paragraph(0, 0, fmt.Sprintf("Add %.2f mL: the burette then shows %.2f mL, %.2f mL added in all.", x.Add.Millilitres(), x.Burette.Millilitres(), x.Volume.Millilitres()))
		t.paragraph(0, 0, "Why: "+typeset(x.Why)+".")
	}
	t.heading(fmt.Sprintf("So far: readings %d, %.2f mL added; by %s", x.Read, x.Last.Millilitres(), x.From))
	rows := [][]string{{"wanted", "value", "u now", "u after next", "u after all", "u wanted", "unit"}}
	for _, r := range x.Reached {
		want := "–"
		if r.Until > 0 {
			want = strconv.FormatFloat(r.Until, 'g', -1, 64)
		}
		value, _ := rounded(r.Value, r.StdUnc)
		rows = append(rows, []string{typeset(r.Name), value, twoFigures(r.StdUnc), twoFigures(r.After), twoFigures(r.Rest), want, r.Unit})
	}
	t.table(rows, "lrrrrrl")
	if len(x.Ahead) > 0 && !x.Stop {
		t.heading("Planned from here, to be planned anew after each reading (mL added in all)")
		t.paragraph(2, 2, volumeList(x.Ahead))
	}
	if len(x.Assumed) > 0 {
		t.heading("Taken as usual, as the setup does not say")
		t.items(x.Assumed)
	}
	_, err := io.WriteString(w, t.String())
	return err
}

func volumeList(list []unit.Volume) string {
	var s []string
	for _, v := range list {
		s = append(s, fmt.Sprintf("%.2f", v.Millilitres()))
	}
	return strings.Join(s, ", ")
}

// jsonNext is a contract: keys may be added.
type jsonNext struct {
	Schema   string        `json:"schema"`
	Read     int           `json:"readings"`
	Last     float64       `json:"added_mL"`
	Stop     bool          `json:"stop"`
	Why      string        `json:"why"`
	Add      *float64      `json:"add_mL"`
	Volume   *float64      `json:"volume_mL"`
	Burette  *float64      `json:"burette_mL"`
	From     string        `json:"from"`
	Reached  []jsonReached `json:"reached"`
	Ahead    []float64     `json:"planned_mL"`
	Assumed  []string      `json:"assumptions"`
	Warnings []string      `json:"warnings"`
}

type jsonReached struct {
	Name   string   `json:"name"`
	Unit   string   `json:"unit"`
	Value  float64  `json:"value"`
	StdUnc float64  `json:"standard_uncertainty"`
	After  float64  `json:"after_next"`
	Rest   float64  `json:"after_all"`
	Until  *float64 `json:"wanted"`
}

func writeNextJSON(w io.Writer, x *plan.Next) error {
	out := jsonNext{
		Schema: "meniscus.next/1", Read: x.Read, Last: tidy(x.Last), Stop: x.Stop, Why: x.Why, From: x.From,
		Reached: []jsonReached{}, Ahead: []float64{}, Assumed: append([]string{}, x.Assumed...), Warnings: append([]string{}, x.Warnings...),
	}
	if !x.Stop {
		a, v, b := tidy(x.Add), tidy(x.Volume), tidy(x.Burette)
		out.Add, out.Volume, out.Burette = &a, &v, &b
	}
	for _, r := range x.Reached {
		j := jsonReached{r.Name, r.Unit, r.Value, r.StdUnc, r.After, r.Rest, nil}
		if r.Until > 0 {
			j.Until = &r.Until
		}
		out.Reached = append(out.Reached, j)
	}
	for _, v := range x.Ahead {
		out.Ahead = append(out.Ahead, tidy(v))
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(out)
}

// tidy returns millilitres without the dust of binary fractions, far below any
// mark of a burette.
func tidy(v unit.Volume) float64 { return math.Round(v.Millilitres()*1e6) / 1e6 }
