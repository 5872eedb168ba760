package curve

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// timeOf reads a time in seconds; NaN where there is none.
func (r *reader) timeOf(l *line, i int) float64 {
	s := trim(r.cell(l, i))
	if s == "" {
		return math.NaN()
	}
	c := &r.lay.columns[i]
	if strings.Contains(s, ":") || c.unit.clock != "" {
		t, reason := clock(s, c.unit.clock)
		if reason != "" {
			r.bad(l, i, reason, false)
		}
		return t
	}
	n, reason := r.number(l, i)
	if reason != "" {
		r.bad(l, i, reason, false)
		return math.NaN()
	}
	return n.value * c.unit.factor
}

// dateTimes are the forms of date and time that are read; without a zone they
// count as UTC, which does not matter for differences.
var dateTimes = []string{"2006-01-02 15:04:05", "2006-01-02T15:04:05", time.RFC3339}

// clock reads h:mm:ss, mm:ss or h:mm, the last two where the header says which,
// and a date with a time. The result is in seconds; NaN with a reason.
func clock(s, form string) (float64, string) {
	for _, f := range dateTimes {
		if t, err := time.Parse(f, strings.Replace(s, ",", ".", 1)); err == nil {
			return float64(t.Unix()) + float64(t.Nanosecond())*1e-9, ""
		}
	}
	parts := strings.Split(s, ":")
	scale := map[string][]float64{"hms": {3600, 60, 1}, "ms": {60, 1}, "hm": {3600, 60}}
	weights := scale[form]
	switch {
	case len(parts) == 3:
		weights = scale["hms"]
	case len(parts) == 2 && form == "":
		return math.NaN(), "minutes and seconds, or hours and minutes? write mm:ss or hh:mm into the header"
	case len(parts) != len(weights):
		return math.NaN(), "not a clock time"
	}
	sum := 0.0
	for i, p := range parts {
		if strings.Trim(p, "0123456789.,") != "" || i < len(parts)-1 && strings.ContainsAny(p, ".,") {
			return math.NaN(), "not a clock time"
		}
		v, err := strconv.ParseFloat(strings.Replace(p, ",", ".", 1), 64)
		if err != nil || i > 0 && v >= 60 {
			return math.NaN(), "not a clock time"
		}
		sum += v * weights[i]
	}
	return sum, ""
}
