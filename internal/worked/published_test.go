package worked_test

import (
	"math"
	"strings"
	"testing"

	"meniscus/internal/worked"
)

// The counts are those of the collection; a record lost in copying shows here.
func TestPublishedIsComplete(t *testing.T) {
	want := map[string]int{"redox": 13, "electrolyte": 37, "acid-base": 14, "complexometric": 9, "precipitation": 5}
	seen := map[string]bool{}
	for _, topic := range worked.Topics {
		records, err := worked.Published(topic)
		if err != nil {
			t.Fatal(err)
		}
		if len(records) != want[topic] {
			t.Errorf("%s: %d records, want %d", topic, len(records), want[topic])
		}
		for _, r := range records {
			if seen[r.ID] {
				t.Errorf("%s: twice", r.ID)
			}
			seen[r.ID] = true
			checkRecord(t, topic, r)
		}
	}
}

func checkRecord(t *testing.T, topic string, r worked.Record) {
	t.Helper()
	if r.Topic != topic || r.Source == "" || len(r.Inputs) == 0 || len(r.Expected) == 0 {
		t.Errorf("%s: topic %q, source %q, %d inputs, %d values", r.ID, r.Topic, r.Source, len(r.Inputs), len(r.Expected))
	}
	if r.Origin != worked.Read && r.Origin != worked.Memory {
		t.Errorf("%s: origin %q", r.ID, r.Origin)
	}
	for _, e := range r.Expected {
		if e.Quantity == "" || e.Unit == "" || e.Tolerance < 0 {
			t.Errorf("%s: %+v", r.ID, e)
		}
	}
}

func TestUnknownNamesAreErrors(t *testing.T) {
	if _, err := worked.Published("alchemy"); err == nil || !strings.Contains(err.Error(), "complexometric") {
		t.Errorf("unknown topic: %v", err)
	}
	if _, err := worked.Find("no-such-record"); err == nil {
		t.Error("unknown record: no error")
	}
	if _, err := worked.Reference("no-such-system"); err == nil {
		t.Error("unknown system: no error")
	}
}

func TestInputs(t *testing.T) {
	r, err := worked.Find("redox-harvey-fe-ce-hclo4")
	if err != nil {
		t.Fatal(err)
	}
	if v, err := r.Number("c_Fe2+_M"); err != nil || v != 0.1 {
		t.Errorf("c_Fe2+_M = %v, %v", v, err)
	}
	if s, err := r.Text("V0_mL"); err != nil || s != "50.0" {
		t.Errorf("V0_mL = %q, %v", s, err)
	}
	if s, err := r.Text("medium"); err != nil || s != "1 M HClO4" {
		t.Errorf("medium = %q, %v", s, err)
	}
	if _, err := r.Number("medium"); err == nil {
		t.Error("a text read as a number: no error")
	}
	if r, err = worked.Find("edta-alpha-harris"); err != nil {
		t.Fatal(err)
	}
	if v, err := r.Numbers("pKa"); err != nil || len(v) != 6 || v[4] != 6.13 {
		t.Errorf("pKa = %v, %v", v, err)
	}
	if _, err := r.Number("pKa"); err == nil {
		t.Error("a list read as one number: no error")
	}
}

func TestParsePlace(t *testing.T) {
	for _, c := range []struct {
		quantity string
		want     worked.Place
	}{
		{"E vs SHE at V=5.0 mL", worked.Place{What: "E", Reference: "SHE", VolumeML: "5.0"}},
		{"E vs SCE at V=63.0 mL", worked.Place{What: "E", Reference: "SCE", VolumeML: "63.0"}},
		{"pH at V=30.0 mL (worked text)", worked.Place{What: "pH", VolumeML: "30.0"}},
		{"pCl at V=0", worked.Place{What: "pCl", VolumeML: "0"}},
		{"[Cd2+] at 25.00 mL", worked.Place{What: "[Cd2+]", VolumeML: "25.00"}},
	} {
		if got, err := worked.ParsePlace(c.quantity); err != nil || got != c.want {
			t.Errorf("%q: %+v, %v", c.quantity, got, err)
		}
	}
	for _, q := range []string{"Eeq at pH 0", "S at 25 C", "gamma at I=0.01", "Eeq", "E vs SCE", "pH with x=67.0 mL"} {
		if p, err := worked.ParsePlace(q); err == nil {
			t.Errorf("%q: read as %+v", q, p)
		}
	}
}

// Nernst slope at 25 °C against the record computed from the SI constants; it
// checks that value and tolerance are read into the right fields.
func TestSlopeRecord(t *testing.T) {
	r, err := worked.Find("nernst-slope")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range r.Expected {
		if e.Quantity == "S at 25 C" {
			s := 1e3 * 1.380649e-23 / 1.602176634e-19 * 298.15 * math.Ln10
			if math.Abs(e.Value-s) > e.Tolerance || e.Unit != "mV" || e.Tolerance != 0.0005 {
				t.Errorf("%+v, want %.4f mV", e, s)
			}
			return
		}
	}
	t.Error("no slope at 25 °C")
}
