package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"meniscus/electrode"
	"meniscus/uncertainty"
)

func electrodeCommand(a *app) *cobra.Command {
	var format string
	c := &cobra.Command{
		Use:   "electrode LOG",
		Short: "checks of electrodes by date: what is in order, and where it is going",
		Long: "electrode reads a log of checks (YAML, - for standard input): glass electrodes in\ntwo buffers or more, noble metals in a check solution or in two buffers with\nquinhydrone. Each number is judged, and from three checks on its trend is given\nwith an uncertainty, and the day on which it would leave its limits.\n\n" +
			"  title: bench 4\n  reference: SCE\n  checks:\n    - date: 2026-09-01\n      buffers: [{pH: 4.01, reads: 174 mV}, {pH: 7.00, reads: -1 mV}]\n    - date: 2026-09-01\n      solution: ferrous-ferric\n      reads: 431 mV\n      tolerance: 20 mV         # 10 mV where left out\n    - date: 2026-09-01\n      quinhydrone: [{pH: 4.01, reads: 221 mV}, {pH: 7.00, reads: 44 mV}]",
		Example: "  meniscus electrode bench4.yaml\n  meniscus electrode bench4.yaml --format json",
		Args:    exactly(1, "electrode"),
		RunE: func(_ *cobra.Command, args []string) error {
			if format != "text" && format != "json" {
				return misused("unknown format %q; have text, json", format)
			}
			data, err := a.readFile(args[0], "the log of checks")
			if err != nil {
				return err
			}
			log, err := readElectrodeLog(data, args[0])
			if err != nil {
				return err
			}
			trends := log.trends()
			a.warn(warnings(trends))
			if format == "json" {
				return writeIndented(a.out, log.json(trends))
			}
			_, err = io.WriteString(a.out, log.text(trends))
			return err
		},
	}
	c.Flags().StringVar(&format, "format", "text", "text, json")
	return c
}

// A measureTrend is how one number went over the checks.
type measureTrend struct {
	last  electrode.Measure
	date  time.Time // of the last check
	trend electrode.Trend
	known bool // there are checks enough
}

// trends follows each number through the log. What is judged against moving
// limits, such as by another reference electrode, is followed as the distance
// from the middle of them.
func (l *electrodeLog) trends() []measureTrend {
	var names []string
	days, values := map[string][]float64{}, map[string][]float64{}
	last := map[string]measureTrend{}
	for _, c := range l.checks {
		for _, m := range c.measures {
			if _, ok := last[m.Name]; !ok {
				names = append(names, m.Name)
			}
			last[m.Name] = measureTrend{last: m, date: c.date}
			days[m.Name] = append(days[m.Name], c.date.Sub(l.checks[0].date).Hours()/24)
			values[m.Name] = append(values[m.Name], m.Value-(m.Low+m.High)/2)
		}
	}
	var list []measureTrend
	for _, n := range names {
		t := last[n]
		half := (t.last.High - t.last.Low) / 2
		if tr, err := electrode.TrendOf(days[n], values[n], -half, half); err == nil {
			middle := (t.last.High + t.last.Low) / 2
			tr.Now, tr.Limit = tr.Now+middle, tr.Limit+middle
			t.trend, t.known = tr, true
		}
		list = append(list, t)
	}
	return list
}

// soonDays is how far ahead a limit is warned of.
const soonDays = 90

func warnings(trends []measureTrend) []string {
	var list []string
	for _, t := range trends {
		switch {
		case !t.last.InOrder():
			list = append(list, fmt.Sprintf("%s: %.4g %s on %s is outside %.4g to %.4g", t.last.Name, t.last.Value, t.last.Unit, t.date.Format(time.DateOnly), t.last.Low, t.last.High))
		case t.known && t.trend.Leaves && t.trend.In < soonDays:
			list = append(list, fmt.Sprintf("%s: by its trend it meets %.4g %s about %s, perhaps on %s", t.last.Name, t.trend.Limit, t.last.Unit, after(t.date, t.trend.In), after(t.date, t.trend.Earliest)))
		}
	}
	return list
}

func after(d time.Time, days float64) string { return d.AddDate(0, 0, int(days)).Format(time.DateOnly) }

func judgement(m electrode.Measure) string {
	if m.InOrder() {
		return "in order"
	}
	return "OUTSIDE"
}

func (l *electrodeLog) text(trends []measureTrend) string {
	var s strings.Builder
	if l.title != "" {
		fmt.Fprintf(&s, "%s\n\n", l.title)
	}
	fmt.Fprintf(&s, "%-10s  %-38s  %9s  limits\n", "date", "check", "found")
	notes := map[string]bool{}
	var order []string
	for _, c := range l.checks {
		for _, m := range c.measures {
			fmt.Fprintf(&s, "%s  %-38s  %9s  %-18s  %s\n", c.date.Format(time.DateOnly), m.Name, fmt.Sprintf("%.1f %s", m.Value, m.Unit), fmt.Sprintf("%.1f to %.1f", m.Low, m.High), judgement(m))
			if m.Note != "" && !notes[m.Note] {
				notes[m.Note] = true
				order = append(order, m.Note)
			}
		}
		if c.note != "" {
			fmt.Fprintf(&s, "%12s%s\n", "", c.note)
		}
	}
	s.WriteString("\nTrend\n")
	for _, t := range trends {
		s.WriteString(wrapped("  "+t.words(), 4) + "\n")
	}
	for _, n := range order {
		s.WriteString(wrapped("note: "+n, 2) + "\n")
	}
	return s.String()
}

func (t measureTrend) words() string {
	if !t.known {
		return t.last.Name + ": checks on three days or more are needed"
	}
	if t.trend.PerMonth == 0 && !t.trend.Leaves {
		return fmt.Sprintf("%s: no change over %d checks", t.last.Name, t.trend.N)
	}
	x, u := uncertainty.Round(t.trend.PerMonth, t.trend.StdUnc)
	text := fmt.Sprintf("%s: %s ± %s %s a month (%d checks, ± one standard uncertainty)", t.last.Name, x, u, t.last.Unit, t.trend.N)
	switch {
	case !t.trend.Clear && !t.trend.Leaves:
		return text + ", which scatter explains"
	case t.trend.Leaves && t.trend.In == 0:
		return text + fmt.Sprintf("; it is beyond %.4g %s", t.trend.Limit, t.last.Unit)
	}
	return text + fmt.Sprintf("; it would meet %.4g %s about %s, and at 95 %% not before %s", t.trend.Limit, t.last.Unit, after(t.date, t.trend.In), after(t.date, t.trend.Earliest))
}

type jsonElectrode struct {
	Schema   string             `json:"schema"`
	Title    string             `json:"title"`
	Checks   []jsonCheck        `json:"checks"`
	Trends   []jsonMeasureTrend `json:"trends"`
	Warnings []string           `json:"warnings"`
}

type jsonCheck struct {
	Date    string  `json:"date"`
	Name    string  `json:"name"`
	Value   float64 `json:"value"`
	Unit    string  `json:"unit"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
	InOrder bool    `json:"in_order"`
	Note    string  `json:"note"`
}

type jsonMeasureTrend struct {
	Name     string   `json:"name"`
	N        int      `json:"n"`
	Unit     string   `json:"unit"`
	PerMonth *float64 `json:"per_month"` // null below three checks
	StdUnc   *float64 `json:"standard_uncertainty"`
	Clear    bool     `json:"clear"` // differs from 0 at 95 %
	Meets    *string  `json:"meets_limit_about"`
	Earliest *string  `json:"meets_limit_not_before"`
}

func (l *electrodeLog) json(trends []measureTrend) jsonElectrode {
	out := jsonElectrode{Schema: "meniscus.electrode/1", Title: l.title, Trends: []jsonMeasureTrend{}, Warnings: append([]string{}, warnings(trends)...)}
	for _, c := range l.checks {
		for _, m := range c.measures {
			out.Checks = append(out.Checks, jsonCheck{c.date.Format(time.DateOnly), m.Name, m.Value, m.Unit, m.Low, m.High, m.InOrder(), m.Note})
		}
	}
	for _, t := range trends {
		x := jsonMeasureTrend{Name: t.last.Name, Unit: t.last.Unit}
		if t.known {
			x.N, x.PerMonth, x.StdUnc, x.Clear = t.trend.N, &t.trend.PerMonth, &t.trend.StdUnc, t.trend.Clear
			if t.trend.Leaves {
				about, earliest := after(t.date, t.trend.In), after(t.date, t.trend.Earliest)
				x.Meets, x.Earliest = &about, &earliest
			}
		}
		out.Trends = append(out.Trends, x)
	}
	return out
}
