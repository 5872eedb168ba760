package setup

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

const editable = `# kept
title: "A: b"   # so is this
flask:
  volume: 50.00 ± 0.05 mL (triangular)
  contains:
    "Fe^2+": 0.045 mol/L          # a guess
    Na²⁺: 1 mol/L   # no ion, but wide letters before the value
  portions:
    - volume: 10 mL
    - {volume: 5 mL, water: yes}

hold: {pH: 1}
burette:
  contains: {Ce^4+: 0.1 mol/L, "HCl": '0.5 mol/L'}
`

// What stands around the value must stay, byte for byte.
func TestEdit(t *testing.T) {
	for _, c := range []struct {
		name, value string
		place       []string
		from, to    string
	}{
		{"plain", "0.05 mol/L", []string{"flask", "contains", "Fe^2+"}, "0.045 mol/L ", "0.05 mol/L "},
		{"wide letters before it", "2 mol/L", []string{"flask", "contains", "Na²⁺"}, ": 1 mol/L", ": 2 mol/L"},
		{"with an uncertainty", "25 mL", []string{"flask", "volume"}, "50.00 ± 0.05 mL (triangular)", "25 mL"},
		{"quoted", `c "d"`, []string{"title"}, `"A: b"`, `"c \"d\""`},
		{"in a list", "11 mL", []string{"flask", "portions", "0", "volume"}, "10 mL", "11 mL"},
		{"in braces", "6 mL", []string{"flask", "portions", "1", "volume"}, "5 mL, w", "6 mL, w"},
		{"a number", "2.5", []string{"hold", "pH"}, "pH: 1", "pH: 2.5"},
		{"single quotes", "0.6 mol/L", []string{"burette", "contains", "HCl"}, "'0.5 mol/L'", "'0.6 mol/L'"},
		{"a comma in braces", "0,2 mol/L", []string{"burette", "contains", "Ce^4+"}, "0.1 mol/L", `"0,2 mol/L"`},
		{"added to a map", "1 mol/L H2SO4", []string{"flask", "medium"}, "water: yes}\n", "water: yes}\n  medium: 1 mol/L H2SO4\n"},
		{"added at the end", "20 °C", []string{"temperature"}, "mol/L'}\n", "mol/L'}\ntemperature: 20 °C\n"},
		{
			"added with its map", "Ag/AgCl, 3 mol/L KCl",
			[]string{"electrode", "reference"},
			"mol/L'}\n", "mol/L'}\nelectrode:\n  reference: Ag/AgCl, 3 mol/L KCl\n",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Edit([]byte(editable), c.value, c.place...)
			if err != nil {
				t.Fatal(err)
			}
			want := replaceOnce(t, editable, c.from, c.to)
			if diff := cmp.Diff(want, string(got)); diff != "" {
				t.Error(diff)
			}
			if text, ok := NewOutline(got).Text(c.place...); !ok || text != c.value {
				t.Errorf("reads back as %q, %v", text, ok)
			}
		})
	}
}

func replaceOnce(t *testing.T, s, from, to string) string {
	t.Helper()
	for i := 0; i+len(from) <= len(s); i++ {
		if s[i:i+len(from)] == from {
			return s[:i] + to + s[i+len(from):]
		}
	}
	t.Fatalf("no %q", from)
	return ""
}

func TestEditRefuses(t *testing.T) {
	for _, place := range [][]string{
		{"flask", "contains"},
		{"flask", "portions", "7", "volume"},
		{"hold", "Cl^-"},
		{"title", "x"},
	} {
		if got, err := Edit([]byte(editable), "1", place...); err == nil {
			t.Errorf("%v: no error:\n%s", place, got)
		}
	}
	if _, err := Edit([]byte(editable), "1\ntitle: x", "title"); err == nil {
		t.Error("a value of two lines was taken")
	}
}

func TestKeys(t *testing.T) {
	for _, c := range []struct {
		place []string
		want  []string
	}{
		{[]string{"flask", "contains"}, []string{"Fe^2+", "Na²⁺"}},
		{[]string{"burette", "contains"}, []string{"Ce^4+", "HCl"}},
		{[]string{"hold"}, []string{"pH"}},
		{[]string{"title"}, nil},
		{[]string{"sample"}, nil},
	} {
		if diff := cmp.Diff(c.want, NewOutline([]byte(editable)).Keys(c.place...)); diff != "" {
			t.Errorf("%v: %s", c.place, diff)
		}
	}
}
