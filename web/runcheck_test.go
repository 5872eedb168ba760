package web

import (
	"encoding/json"
	"strconv"
	"strings"
	"testing"
	"time"

	"meniscus/examples"
	"meniscus/store"
)

// What is asked about the last of some readings. The potentials are of a
// titration of iron(II) with cerium(IV) as anybody sees it: they rise.
func TestDoubtfulEntries(t *testing.T) {
	for _, c := range []struct {
		name, unit string
		rows       []string
		want       string // in the question; "" asks nothing
	}{
		{"sound", "mV", []string{"1.5 405", "3.0 425"}, ""},
		{"the volume falls", "mV", []string{"12.5 470", "1.30 474"}, "falls from 12.5 to 1.30 mL"},
		{"repeated", "mV", []string{"1.5 405", "1.5 405"}, "same reading again"},
		{"the same volume", "mV", []string{"1.5 405", "1.5 408"}, "Was nothing added?"},
		{"a huge step", "mV", []string{"1.5 405", "2.5 418", "3.5 427", "45.0 1230"}, "more than ten times"},
		{"beyond the burette", "mV", []string{"40 1220", "125 1250"}, "burette of 50 mL"},
		{"volt for millivolt", "mV", []string{"1.5 405", "3.0 0,425"}, "Was it read in V?"},
		{"volt at the first", "mV", []string{"1.5 0.405"}, "Was it read in V?"},
		{"a potential falls", "mV", []string{"1.5 405", "3.0 352"}, "where the curve rises"},
		{"within the noise", "mV", []string{"1.5 405", "1.6 403"}, ""},
		{"the letter O", "mV", []string{"1.5 4O5"}, "Is 405 meant?"},
		{"no number", "mV", []string{"1.5 abc"}, "is no number"},
		{"nothing read", "mV", []string{"1.5 "}, "no reading"},
		{"pH of 400", "pH", []string{"1.5 400"}, "mV?"},
		{"in volt throughout", "V", []string{"1.5 0.405", "3.0 0.425"}, ""},
		{"in volt, it falls", "V", []string{"1.5 0.405", "3.0 0.352"}, "where the curve rises"},
	} {
		r := store.RunReadings{Run: store.Run{No: 1, Unit: c.unit, Kind: store.Sample}}
		for i, text := range c.rows {
			v, y, _ := strings.Cut(text, " ")
			r.Readings = append(r.Readings, store.Reading{No: int64(i + 1), Volume: v, Value: y, State: store.Kept})
		}
		rows := newRunState("r", r, string(examples.Worked().Setup), time.Now()).Rows
		got := strings.Join(rows[len(rows)-1].Asks, " ")
		if (c.want == "") != (got == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: asks %q, want %q", c.name, got, c.want)
		}
		last := &r.Readings[len(r.Readings)-1]
		last.Why = confirmed
		rows = newRunState("r", r, string(examples.Worked().Setup), time.Now()).Rows
		if len(rows[len(rows)-1].Asks) > 0 {
			t.Errorf("%s: asked again after it was confirmed", c.name)
		}
	}
}

// 6 mV in 40 s are 9 mV in a minute.
func TestDriftInWords(t *testing.T) {
	r := store.RunReadings{Run: store.Run{Unit: "mV"}, Readings: []store.Reading{
		{Volume: "12,50", Value: "470", Time: "100", State: store.Kept}, {Volume: "12,50", Value: "476", Time: "140", State: store.Kept},
	}}
	st := newRunState("r", r, string(examples.Worked().Setup), time.Now())
	if !strings.Contains(st.Drift, "+9.00 mV in a minute") || len(st.Rows[1].Asks) > 0 {
		t.Errorf("%q, %q", st.Drift, st.Rows[1].Asks)
	}
}

// A comma and a point in one run mean the same.
func TestMixedDecimals(t *testing.T) {
	r := store.RunReadings{Run: store.Run{Unit: "mV"}, Readings: []store.Reading{
		{Volume: "1,50", Value: "405,7", State: store.Kept}, {Volume: "3.00", Value: "425.4", State: store.Kept},
	}}
	c, rec, err := readRun(r)
	if err != nil || len(rec.BadCells) > 0 || len(c.Readings) != 2 || c.Readings[0].Value != 0.4057 || c.Readings[1].Value != 0.4254 {
		t.Errorf("%+v, %v", rec, err)
	}
}

func TestPlainName(t *testing.T) {
	for in, want := range map[string]string{
		"../../etc/passwd": "passwd", `C:\lab\run 1.csv`: "run 1.csv", "..": "readings", "": "readings", "a\x00b\".csv": "ab.csv", "/": "readings",
	} {
		if got := plainName(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

// A run longer than the page lists: the newest rows are listed, the others drawn
// in part, and a burette that was refilled before the list begins counts on. Of
// 1000 readings at 0.1, 0.2 ... 50.0 and again to 50.0 mL the last is at 100 mL.
func TestLongRun(t *testing.T) {
	text := strings.Replace(string(examples.Worked().Setup), "capacity: 50 mL", "capacity: 50 mL\n  refill at: 50 mL", 1)
	r := store.RunReadings{Run: store.Run{Unit: "mV"}}
	for i := range 1000 {
		r.Readings = append(r.Readings, store.Reading{No: int64(i + 1), Volume: strconv.FormatFloat(float64(i%500+1)/10, 'f', 1, 64), Value: "400", State: store.Kept})
	}
	st := newRunState("r", r, text, time.Now())
	if st.Earlier != 600 || len(st.Rows) != 400 || st.Rows[399].X == nil || *st.Rows[399].X != 100 {
		t.Fatalf("%d listed after %d, the last %+v", len(st.Rows), st.Earlier, st.Rows[len(st.Rows)-1])
	}
	if n := len(st.Before); n < 300 || n > 800 || st.Before[0] != (point{0.1, 400, false}) {
		t.Errorf("%d are drawn of those before, from %+v", n, st.Before[0])
	}
}

// What is no number a burette or a meter shows is asked about in words that
// show what was found, and gives an answer that JSON can carry.
func TestHostileCells(t *testing.T) {
	for text, want := range map[string]string{
		"NaN": "is no number", "inf": "is no number", "1e400": "is no number", "1e308": "is no number", "-1e308": "is no number",
		"😀": "“😀” is no number", "\u202e12.5": "“⟨U+202E⟩12.5” is no number", "<b>x</b>": "“<b>x</b>” is no number", "12.5 mL": "is no number",
		"-5": "less than nothing",
	} {
		r := store.RunReadings{Run: store.Run{Unit: "V", Kind: store.Sample}, Readings: []store.Reading{
			{No: 1, Volume: "1", Value: "0.4", State: store.Kept}, {No: 2, Volume: text, Value: "0.41", State: store.Kept}, {No: 3, Volume: "3", Value: text, State: store.Kept},
		}}
		st := newRunState("r", r, string(examples.Worked().Setup), time.Now())
		if _, err := json.Marshal(st); err != nil {
			t.Errorf("%q: %v", text, err)
		}
		if got := strings.Join(st.Rows[1].Asks, " "); !strings.Contains(got, want) {
			t.Errorf("%q: asks %q, want %q", text, got, want)
		}
	}
}
