package curve_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"meniscus/curve"
	"meniscus/unit"
)

// drawCurve draws any finite curve, extremes included.
func drawCurve(t *rapid.T) curve.Curve {
	any64 := rapid.Float64Range(-1e300, 1e300)
	near := rapid.Float64Range(-2000, 2000)
	number := rapid.OneOf(any64, near, rapid.Map(rapid.IntRange(-5000, 5000), func(n int) float64 { return float64(n) / 100 }))
	c := curve.Curve{
		Name: rapid.StringMatching(`([A-Za-z][A-Za-z0-9:,;.]{0,8})?`).Draw(t, "name"),
		Kind: rapid.SampledFrom([]curve.Kind{curve.Potential, curve.PH, curve.PIon}).Draw(t, "kind"),
	}
	for range rapid.IntRange(1, 8).Draw(t, "n") {
		r := curve.Reading{
			Volume:   unit.Volume(number.Draw(t, "volume")),
			Value:    number.Draw(t, "value"),
			Time:     math.NaN(),
			Excluded: rapid.SampledFrom([]string{"", "", "misread", "a, \"quoted\"; reason", "5"}).Draw(t, "excluded"),
		}
		if rapid.Bool().Draw(t, "timed") {
			r.Time = number.Draw(t, "time")
		}
		if rapid.Bool().Draw(t, "warm") {
			r.Temperature = unit.Temperature(rapid.Float64Range(1e-3, 1e3).Draw(t, "temperature"))
		}
		c.Readings = append(c.Readings, r)
	}
	return c
}

// What is written is read back bit for bit.
func TestWriteReadLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t)
		var buf bytes.Buffer
		if err := curve.WriteCSV(&buf, c); err != nil {
			t.Fatal(err)
		}
		text := buf.String()
		rec, err := curve.Read(&buf, "written", curve.Options{})
		if err != nil {
			t.Fatalf("%v, of\n%s", err, text)
		}
		if len(rec.Curves) != 1 {
			t.Fatalf("%d curves in\n%s", len(rec.Curves), text)
		}
		got := rec.Curves[0]
		for i := range got.Readings {
			got.Readings[i].Row = 0
		}
		if d := cmp.Diff(c, got, cmpopts.EquateNaNs()); d != "" {
			t.Fatalf("(-written +read):\n%s\nin\n%s", d, text)
		}
	})
}

// The same readings with point or comma, comma or semicolon or tab, LF or
// CRLF, and with or without a byte order mark, are the same readings.
func TestReadSpellingLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "n")
		var plain, other strings.Builder
		delim := rapid.SampledFrom([]string{";", "\t"}).Draw(t, "delimiter")
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "line end")
		bom := rapid.SampledFrom([]string{"", "\ufeff"}).Draw(t, "byte order mark")
		plain.WriteString("V (mL),E (mV)\n")
		other.WriteString(bom + "V (mL)" + delim + "E (mV)" + end)
		for i := range n {
			v := fmt.Sprintf("%.2f", float64(i)+float64(rapid.IntRange(0, 99).Draw(t, "v"))/100)
			e := fmt.Sprintf("%.1f", float64(rapid.IntRange(-9999, 9999).Draw(t, "e"))/10)
			fmt.Fprintf(&plain, "%s,%s\n", v, e)
			comma := strings.NewReplacer(".", ",", "-", "−")
			fmt.Fprintf(&other, "%s%s%s%s", comma.Replace(v), delim, comma.Replace(e), end)
		}
		want, err := curve.Read(strings.NewReader(plain.String()), "plain", curve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got, err := curve.Read(strings.NewReader(other.String()), "other", curve.Options{})
		if err != nil {
			t.Fatalf("%v, of\n%s", err, other.String())
		}
		if d := cmp.Diff(want.Curves, got.Curves, cmpopts.EquateNaNs()); d != "" {
			t.Fatalf("(-plain +other):\n%s", d)
		}
	})
}

func TestWriteCSV(t *testing.T) {
	c := curve.Curve{Name: "flask 1", Kind: curve.Potential, Readings: []curve.Reading{
		{Volume: 0.0125, Value: 0.4127, Time: math.NaN()},
		{Volume: 0.02495, Value: 1.0365, Time: 62.5, Temperature: 298.15, Excluded: "two\nlines"},
		{Volume: 0.025, VolumeText: "25.0000000000000001", Value: -1e-12, Time: math.NaN(), Excluded: " "},
	}}
	const want = `# run: flask 1
volume_mL,potential_mV,time_s,temperature_K,excluded
12.5,412.7,,,
24.95,1036.5,62.5,298.15,two lines
25.0000000000000001,-1e-9,,,excluded
`
	var buf bytes.Buffer
	if err := curve.WriteCSV(&buf, c); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, buf.String()); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	for _, x := range []float64{math.NaN(), math.Inf(1)} {
		c.Readings[1].Value = x
		if err := curve.WriteCSV(&buf, c); err == nil || !strings.Contains(err.Error(), "reading 2 is not finite") {
			t.Errorf("value %g: error %v", x, err)
		}
	}
}

func TestExactVolume(t *testing.T) {
	for _, test := range []struct{ text, unit, want, kept string }{
		{"12.50", "mL", "0.0125", ""},
		{"0.1", "mL", "0.0001", ""},
		{"0.3", "L", "0.3", ""},
		{"24.9999999999999999999", "mL", "0.0249999999999999999999", "24.9999999999999999999"},
		{"0.0249999999999999999999", "L", "0.0249999999999999999999", "0.0249999999999999999999e3"},
		{"0.30000000000000004", "L", "0.30000000000000004", ""}, // a float64 of its own
	} {
		rec, err := readText("V ("+test.unit+"),pH\n"+test.text+",7\n", curve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		r := rec.Curves[0].Readings[0]
		want, err := unit.ParseDecimal(test.want)
		if err != nil {
			t.Fatal(err)
		}
		if got := r.ExactVolume(); got != want || r.VolumeText != test.kept {
			t.Errorf("%s %s is %v L with text %q; want %v, %q", test.text, test.unit, got, r.VolumeText, want, test.kept)
		}
	}
}
