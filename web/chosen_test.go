package web

import (
	"strings"
	"testing"

	"meniscus/curve"
	"meniscus/examples"
	"meniscus/store"
)

// The worked example comes back from the store as the readings of its file.
func TestFileBecomesRunsAndBack(t *testing.T) {
	rec, err := curve.Read(strings.NewReader(string(examples.Readings())), "readings.csv", curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	run := store.RunReadings{Run: store.Run{Name: "readings", Unit: readingUnit(rec.Curves[0].Kind)}}
	for i := range rec.Curves[0].Readings {
		e := entry(&rec.Curves[0], i)
		run.Readings = append(run.Readings, store.Reading{No: int64(i + 1), Volume: e.Volume, Value: e.Value, Time: e.Time, Temperature: e.Temperature, State: e.State, Why: e.Why})
	}
	back, _, err := readRun(run)
	if err != nil {
		t.Fatal(err)
	}
	if len(back.Readings) != len(rec.Curves[0].Readings) || back.Kind != rec.Curves[0].Kind {
		t.Fatalf("%d readings of kind %v, want %d of %v", len(back.Readings), back.Kind, len(rec.Curves[0].Readings), rec.Curves[0].Kind)
	}
	for i, want := range rec.Curves[0].Readings {
		if got := back.Readings[i]; got.Volume != want.Volume || got.Value != want.Value {
			t.Errorf("reading %d is %v, %v; want %v, %v", i+1, got.Volume, got.Value, want.Volume, want.Value)
		}
	}
}

func TestPIonGoesThroughTheStore(t *testing.T) {
	for _, unit := range []string{"mV", "pH", "pIon"} {
		c, _, err := readRun(store.RunReadings{Run: store.Run{Unit: unit}, Readings: []store.Reading{{Volume: "1", Value: "4.2", State: store.Kept}, {Volume: "2", Value: "4.5", State: store.Kept}}})
		if err != nil || c == nil || readingUnit(c.Kind) != unit {
			t.Errorf("%s: %+v, %v", unit, c, err)
		}
	}
}
