package constants

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
)

func TestFind(t *testing.T) {
	for _, c := range []struct {
		word, read string
		row        string // a reaction that must be among the rows, "" for no rows at all
		not        string // one that must not
	}{
		{"Fe", "element Fe", "Fe^3+ + e^- = Fe^2+", "Ce^4+ + e^- = Ce^3+"},
		{"iron", "element Fe", "Fe^2+ + Y^4- = FeY^2-", "Ce^4+ + e^- = Ce^3+"},
		{"Cerium", "element Ce", "Ce^4+ + e^- = Ce^3+", "Fe^3+ + e^- = Fe^2+"},
		{"sulphur", "element S", "HSO4^- = SO4^2- + H^+", "Fe^3+ + e^- = Fe^2+"},
		{"iron(III)", "species Fe^3+", "Fe^3+ + e^- = Fe^2+", "Fe^2+ + Y^4- = FeY^2-"},
		{"Iron (II)", "species Fe^2+", "Fe^2+ + Y^4- = FeY^2-", "Fe^3+ + Y^4- = FeY^-"},
		{"permanganate", "species MnO4^-", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", "MnO2(s) + 4 H^+ + 2 e^- = Mn^2+ + 2 H2O"},
		{"MnO₄⁻", "species MnO4^-", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", "Fe^3+ + e^- = Fe^2+"},
		{"KMnO4", "species K^+, MnO4^-", "MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", "Fe^3+ + e^- = Fe^2+"},
		{"acetic acid", "species CH3COOH, CH3COO^-", "CH3COOH = CH3COO^- + H^+", "HCOOH = HCOO^- + H^+"},
		{"phosphoric acid", "species H3PO4, H2PO4^-, HPO4^2-, PO4^3-", "HPO4^2- = PO4^3- + H^+", "HCOOH = HCOO^- + H^+"},
		{"AgCl", "species AgCl", "AgCl(s) = Ag^+ + Cl^-", "AgBr(s) = Ag^+ + Br^-"},
		{"AgCl(s)", "species AgCl(s)", "AgCl(s) = Ag^+ + Cl^-", "Ag^+ + Cl^- = AgCl(aq)"},
		{"CO2(aq)", "species CO2(aq)", "CO2 + H2O = HCO3^- + H^+", "2 CO2(g) + 2 H^+ + 2 e^- = H2C2O4"},
		{"pKsp", "kind pksp", "AgCl(s) = Ag^+ + Cl^-", "HCOOH = HCOO^- + H^+"},
		{"acids", "kind acids", "HCOOH = HCOO^- + H^+", "AgCl(s) = Ag^+ + Cl^-"},
		{"formal", "kind formal", "Ce^4+ + e^- = Ce^3+", "Zn^2+ + 2 e^- = Zn(s)"},
		{"water", "kind water", "H2O = H^+ + OH^-", "HCOOH = HCOO^- + H^+"},
		{"iron formal", "element Fe, and kind formal", "Fe^3+ + e^- = Fe^2+", "Fe^2+ + 2 e^- = Fe(s)"},
		{"EDTA calcium", "species", "Ca^2+ + Y^4- = CaY^2-", "Mg^2+ + Y^4- = MgY^2-"},
		{"1 M H2SO4", "medium 1 mol/L H2SO4", "Ce^4+ + e^- = Ce^3+", "Sn^4+ + 2 e^- = Sn^2+"},
		{"redox indicators", "kind redox indicators", "", ""},
	} {
		f, err := Find(c.word)
		if err != nil {
			t.Errorf("%s: %v", c.word, err)
			continue
		}
		has := func(text string) bool { return slices.ContainsFunc(f.Rows, func(r Row) bool { return r.Text == text }) }
		if !strings.HasPrefix(f.Read, c.read) {
			t.Errorf("%s was read as %s, want %s", c.word, f.Read, c.read)
		}
		if c.row != "" && (!has(c.row) || has(c.not)) {
			t.Errorf("%s: has %s: %v, has %s: %v", c.word, c.row, has(c.row), c.not, has(c.not))
		}
		if c.row == "" && (len(f.Rows) > 0 || len(f.Indicators) < 25) {
			t.Errorf("%s: %d rows, %d indicators", c.word, len(f.Rows), len(f.Indicators))
		}
	}
}

func TestFindIndicator(t *testing.T) {
	for word, want := range map[string]string{"ferroin": "ferroin", "Methyl Orange": "methyl orange", "black T": "eriochrome black T"} {
		f, err := Find(word)
		if err != nil || !slices.ContainsFunc(f.Indicators, func(i Indicator) bool { return i.Name == want }) {
			t.Errorf("%s: %v, %v", word, f.Indicators, err)
		}
	}
	f, err := Find("ferroin")
	if err != nil || len(f.Rows) == 0 || len(f.Colours) == 0 {
		t.Errorf("ferroin: %d rows, %d colours, %v; want its couple and its colour too", len(f.Rows), len(f.Colours), err)
	}
}

func TestFindUnknown(t *testing.T) {
	for word, near := range map[string]string{"acetik acid": "acetic acid", "permanganat": "permanganate", "ceriun": "cerium", "phlogiston": ""} {
		f, err := Find(word)
		e := (*UnknownWordError)(nil)
		if !errors.As(err, &e) || !f.Empty() {
			t.Errorf("%s: error %v", word, err)
			continue
		}
		if near != "" && !slices.Contains(e.Near, near) || near == "" && len(e.Near) > 0 {
			t.Errorf("%s: near %q, want %q", word, e.Near, near)
		}
	}
	for _, word := range []string{"", "  ", "iron phlogiston"} {
		if _, err := Find(word); err == nil {
			t.Errorf("%q was found", word)
		}
	}
}

func TestMedia(t *testing.T) {
	want := []string{"1 mol/L HCl", "2 mol/L HCl"}
	for _, reaction := range []string{"Sn^4+ + 2 e^- = Sn^2+", "2 Sn^2+ = 4 e^- + 2 Sn^4+"} {
		got, err := Media(reaction)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%s: %q, %v; want %q", reaction, got, err, want)
		}
	}
	// Two sources for 1 mol/L HClO4 are one medium.
	got, err := Media("Fe^3+ + e^- = Fe^2+")
	slices.Sort(got)
	if err != nil || len(got) < 10 || len(slices.Compact(slices.Clone(got))) != len(got) {
		t.Errorf("media of iron: %q, %v", got, err)
	}
	got, err = Media("")
	if err != nil || len(got) < 20 {
		t.Errorf("%d media in all, %v", len(got), err)
	}
	if _, err := Media("Sn4+"); err == nil {
		t.Error("Sn4+ was read as a reaction")
	}
}

func TestCouple(t *testing.T) {
	rows, err := Couple("Fe³⁺", "Fe²⁺", "1.0 M H2SO4")
	if err != nil || len(rows) != 1 || rows[0].Value != 0.68 {
		t.Errorf("iron in sulfuric acid: %v, %v", rows, err)
	}
	rows, err = Couple("Fe^2+", "Fe^3+", "")
	if err != nil || len(rows) != 0 {
		t.Errorf("the couple read backwards: %v, %v", rows, err)
	}
	_, err = Couple("Zn^2+", "Zn(s)", "1 mol/L HCl")
	if e := (*MediumError)(nil); !errors.As(err, &e) || len(e.Held) != 0 || !strings.Contains(err.Error(), "or any other") {
		t.Errorf("zinc in a medium: %v", err)
	}
	if _, err := Couple("Fe3+", "Fe^2+", ""); err == nil {
		t.Error("Fe3+ was read")
	}
}

func TestCleanMedium(t *testing.T) {
	for text, want := range map[string]string{
		"1 M H2SO4": "1 mol/L H2SO4", "1.0 mol/l  H₂SO₄": "1 mol/L H2SO4", "0,50 mol/L H2SO4 + 0.5 M H3PO4": "0.5 mol/L H2SO4 + 0.5 mol/L H3PO4",
		"10 mol/L HCl": "10 mol/L HCl", "sea water": "sea water", "1 kg of salt": "1 kg of salt", "1 M !": "1 M !",
	} {
		if got := CleanMedium(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// TestDistance: textbook cases of the edit distance.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"", "abc", 3}, {"abc", "", 3}, {"flaw", "lawn", 2}, {"irron", "iron", 1}, {"iron", "iron", 0}} {
		if got := distance(c.a, c.b); got != c.want {
			t.Errorf("%s to %s: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func ExampleFind() {
	f, err := Find("dichromate formal")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.Read)
	for _, r := range f.Rows[:3] {
		fmt.Printf("%s V in %s (%s)\n", r.Digits, r.Medium, r.Source.Key)
	}
	// Output:
	// species Cr2O7^2-, and kind formal
	// 0.93 V in 0.1 mol/L HCl (memory)
	// 1.00 V in 1 mol/L HCl (memory)
	// 1.05 V in 2 mol/L HCl (memory)
}
