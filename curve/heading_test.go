package curve

import "testing"

func TestParseHeading(t *testing.T) {
	tests := []struct {
		text string
		q    quantity
		unit string // "" for none
		run  string
	}{
		{"V/mL", qVolume, "mL", ""},
		{"V (mL)", qVolume, "mL", ""},
		{"V_mL", qVolume, "mL", ""},
		{"V, mL", qVolume, "mL", ""},
		{"mL", qVolume, "mL", ""},
		{"VOL (ML)", qVolume, "mL", ""},
		{"Vol. [µL]", qVolume, "µL", ""},
		{"volume/\u03bcl", qVolume, "µL", ""},
		{"Volume of titrant added (cm³)", qVolume, "mL", ""},
		{"volume (dm3)", qVolume, "L", ""},
		{"V(NaOH) / mL", qVolume, "mL", ""},
		{"V_Ce (mL)", qVolume, "mL", ""},
		{"Titration volume (mL)", qVolume, "mL", ""},
		{"Titration volume", qVolume, "", ""},
		{"Volumen in mL", qVolume, "mL", ""},
		{"Volume versé (mL)", qVolume, "mL", ""},
		{"Volumen añadido (mL)", qVolume, "mL", ""},
		{"Bürette", qVolume, "", ""},
		{"V 2 (mL)", qVolume, "mL", "2"},
		{"Run 3: V / mL", qVolume, "mL", "Run 3"},
		{"E (V)", qPotential, "V", ""},
		{"V (V)", qPotential, "V", ""},
		{"E / V", qPotential, "V", ""},
		{"E_mV", qPotential, "mV", ""},
		{"U [mV]", qPotential, "mV", ""},
		{"mV", qPotential, "mV", ""},
		{"emf", qPotential, "", ""},
		{"E vs. Ag/AgCl / mV", qPotential, "mV", ""},
		{"E vs Ag/AgCl", qPotential, "", ""},
		{"E (mV vs SCE)", qPotential, "mV", ""},
		{"E (vs SCE)", qPotential, "", ""},
		{"Potentiel, mV", qPotential, "mV", ""},
		{"Spannung\u00a0(mV)", qPotential, "mV", ""},
		{"E1/mV", qPotential, "mV", "1"},
		{"pH", qPH, "", ""},
		{"pH-Wert", qPH, "", ""},
		{"pAg", qPIon, "", ""},
		{"pCa 2", qPIon, "", "2"},
		{"pI", qPIon, "", ""},
		{"t", qTime, "", ""},
		{"t / s", qTime, "s", ""},
		{"t (min)", qTime, "min", ""},
		{"Zeit [hh:mm:ss]", qTime, "hh:mm:ss", ""},
		{"T", qTemperature, "", ""},
		{"T / K", qTemperature, "K", ""},
		{"t (°C)", qTemperature, "°C", ""},
		{"°C", qTemperature, "°C", ""},
		{"Température (°C)", qTemperature, "°C", ""},
		{"Burette temperature (°C)", qTemperature, "°C", ""},
		{"Lauf", qRun, "", ""},
		{"dE/dV (mV/mL)", qIgnored, "", ""},
		{"ΔV (mL)", qIgnored, "", ""},
		{"mean volume (mL)", qIgnored, "mL", ""},
		{"pKa", qNone, "", ""},
		{"E0", qNone, "", ""},
		{"remark", qNone, "", ""},
		{"12.5", qNone, "", ""},
		{"V", qSymbolV, "", ""},
	}
	for _, test := range tests {
		h := parseHeading(test.text)
		unit := ""
		if h.unit != nil {
			unit = h.unit.name
		}
		if h.q != test.q || unit != test.unit || h.run != test.run {
			t.Errorf("%q is %q in %q, run %q; want %q in %q, run %q", test.text, h.q, unit, h.run, test.q, test.unit, test.run)
		}
	}
}

func TestSymbolVNextToVolume(t *testing.T) {
	for _, test := range []struct {
		cells []string
		want  []quantity
	}{
		{[]string{"V", "E"}, []quantity{qVolume, qPotential}},
		{[]string{"mL", "V"}, []quantity{qVolume, qPotential}},
		{[]string{"V", "mV"}, []quantity{qVolume, qPotential}},
		{[]string{"V", "pH"}, []quantity{qVolume, qPH}},
		{[]string{"Vol", "V"}, []quantity{qVolume, qPotential}},
	} {
		for i, c := range headings(test.cells, nil) {
			if c.q != test.want[i] {
				t.Errorf("%q in %q is %q, want %q", test.cells[i], test.cells, c.q, test.want[i])
			}
		}
	}
}

func TestParseNumber(t *testing.T) {
	tests := []struct {
		text     string
		mark     byte
		shift    int
		want     float64
		decimals int
		reason   string
	}{
		{"12.50", '.', -3, 0.0125, 2, ""},
		{"12,50", ',', -3, 0.0125, 2, ""},
		{" \u00a0−12.5 ", '.', 0, -12.5, 1, ""},
		{"+3", '.', 0, 3, 0, ""},
		{".5", '.', 0, 0.5, 1, ""},
		{"5.", '.', 0, 5, 0, ""},
		{"1.25e-2", '.', 0, 0.0125, 4, ""},
		{"1,25E+1", ',', 0, 12.5, 1, ""},
		{"1,234.5", '.', 0, 1234.5, 1, ""},
		{"1.234,5", ',', 0, 1234.5, 1, ""},
		{"1,234,567", '.', 0, 1234567, 0, ""},
		{"1\u00a0234,5", ',', 0, 1234.5, 1, ""},
		{"1'234.5", '.', 0, 1234.5, 1, ""},
		{"1,234", '.', 0, 0, 0, "comma in a column with decimal points: thousands mark or decimal comma?"},
		{"1.234", ',', 0, 0, 0, "point in a column with decimal commas: thousands mark or decimal point?"},
		{"12,5", '.', 0, 0, 0, "decimal comma in a column with decimal points"},
		{"0,125", '.', 0, 0, 0, "decimal comma in a column with decimal points"},
		{"12.5.1", '.', 0, 0, 0, "two decimal marks"},
		{"12,34.5", '.', 0, 0, 0, "comma in the wrong place for a thousands mark"},
		{"12 5", '.', 0, 0, 0, "blank or apostrophe inside a number"},
		{"", '.', 0, 0, 0, "blank"},
		{"\u00a0", '.', 0, 0, 0, "blank"},
		{"-", '.', 0, 0, 0, "a dash is not a number: no reading?"},
		{"--5", '.', 0, 0, 0, "not a number"},
		{"1e", '.', 0, 0, 0, "not a number"},
		{"0x10", '.', 0, 0, 0, "not a number"},
		{"1_000", '.', 0, 0, 0, "not a number"},
		{"+Inf", '.', 0, 0, 0, "infinite"},
		{"1e400", '.', 0, 0, 0, "too large for a number"},
		{"25.O", '.', 0, 0, 0, "not a number: letter O for zero?"},
		{"l2.5", '.', 0, 0, 0, "not a number: letter l or I for one?"},
		{"12.5 mL", '.', 0, 0, 0, "not a number: write the unit mL into the header"},
		{"<0.1", '.', 0, 0, 0, "not a number"},
		{"#WERT!", '.', 0, 0, 0, "not a number: an error of the spreadsheet"},
	}
	for _, test := range tests {
		n, reason := parseNumber(test.text, test.mark, test.shift)
		if reason != test.reason || n.value != test.want || n.decimals != test.decimals {
			t.Errorf("%q with %q: %g with %d decimals, %q; want %g, %d, %q",
				test.text, test.mark, n.value, n.decimals, reason, test.want, test.decimals, test.reason)
		}
	}
}

func TestClock(t *testing.T) {
	for _, test := range []struct {
		text, form string
		want       float64 // -1 for an error
	}{
		{"1:02:03", "", 3723},
		{"0:00:01,5", "", 1.5},
		{"2:30", "ms", 150},
		{"2:30", "hm", 9000},
		{"2:30", "", -1},
		{"2:75", "ms", -1},
		{"a:b:c", "", -1},
		{"1.5:30", "ms", -1},
		{"1970-01-02 00:00:01", "", 86401},
		{"1970-01-01T01:00:00+01:00", "", 0},
	} {
		got, reason := clock(test.text, test.form)
		if (reason != "") != (test.want == -1) || reason == "" && got != test.want {
			t.Errorf("%q as %q: %g s, %q; want %g", test.text, test.form, got, reason, test.want)
		}
	}
}

func TestLetter(t *testing.T) {
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 701: "ZZ", 702: "AAA"} {
		if got := letter(i); got != want {
			t.Errorf("column %d is %s, want %s", i, got, want)
		}
	}
}
