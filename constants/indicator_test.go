package constants

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"meniscus/unit"
)

func indicators(t *testing.T, types ...IndicatorType) []Indicator {
	t.Helper()
	list, err := Indicators(types...)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// TestPublishedIndicators compares with testdata/indicators.txt, which names
// its sources: value, and both colours where they are printed.
func TestPublishedIndicators(t *testing.T) {
	list := indicators(t)
	for _, line := range published(t, "indicators.txt") {
		if !slices.ContainsFunc(list, func(i Indicator) bool {
			return i.Name == line[0] && i.Type == RedoxIndicator && i.Value.Value == float(t, line[2]) && i.Source.Read &&
				(line[1] == "" || i.Medium == line[1]) &&
				(line[3] == "" || i.Colours[1].Word == line[3] && i.Colours[0].Word == line[4])
		}) {
			t.Errorf("no indicator with %s", strings.Join(line, " | "))
		}
	}
}

func TestEnoughIndicators(t *testing.T) {
	for typ, want := range map[IndicatorType]int{RedoxIndicator: 25, AcidBaseIndicator: 20, MetalIndicator: 10} {
		names := map[string]bool{}
		for _, i := range indicators(t, typ) {
			names[i.Name] = true
		}
		if len(names) < want {
			t.Errorf("%d %s indicators, want at least %d", len(names), typ, want)
		}
	}
}

// TestSwatches wants one colour word to look the same everywhere, and the two
// forms of an indicator to look different.
func TestSwatches(t *testing.T) {
	seen := map[string]string{}
	for _, i := range indicators(t) {
		if i.Colours[0].Swatch == i.Colours[1].Swatch {
			t.Errorf("%s does not change: %v", i.Name, i.Colours)
		}
		for _, c := range i.Colours {
			if old, ok := seen[c.Word]; ok && old != c.Swatch {
				t.Errorf("%s is %s and %s", c.Word, old, c.Swatch)
			}
			seen[c.Word] = c.Swatch
		}
	}
}

// TestWidth: 0.05916 V for one electron at 25 °C (standard result).
func TestWidth(t *testing.T) {
	for n, want := range map[int]float64{1: 0.05916, 2: 0.02958, 0: 0} {
		if got := (Indicator{N: n}).Width(unit.Celsius(25)); math.Abs(got-want) > 5e-6 {
			t.Errorf("n = %d: %.5f V, want %.5f V", n, got, want)
		}
	}
}

func TestColours(t *testing.T) {
	for species, want := range map[string]string{
		"MnO4-": "purple", "Cr2O7^2-": "orange", "CrO4^2-": "yellow", "Cr^3+": "green", "VO^2+": "blue", "Ti^3+": "violet",
	} {
		list, err := Colours(species)
		if err != nil || len(list) == 0 || !strings.Contains(list[0].Shade.Word, want) {
			t.Errorf("%s: %v, %v; want %s", species, list, err, want)
		}
	}
	iron, err := Colours("Fe^3+")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range iron {
		if c.Medium == "1 mol/L HCl" && c.Shade.Word != "yellow" {
			t.Errorf("iron(III) in chloride is %s", c.Shade.Word)
		}
		if c.Medium != CleanMedium(c.Medium) {
			t.Errorf("medium %q, want %q", c.Medium, CleanMedium(c.Medium))
		}
	}
	if len(iron) < 3 {
		t.Errorf("%d colours of iron(III)", len(iron))
	}
	if _, err := Colours("Fe2+"); err == nil {
		t.Error("Fe2+ was read")
	}
	if list, err := Colours(""); err != nil || len(list) < 40 {
		t.Errorf("%d colours in all, %v", len(list), err)
	}
}

// TestSizes: some ions of Kielland's table, from memory, and that every size is
// one that the table has for the charge.
func TestSizes(t *testing.T) {
	for ion, want := range map[string]float64{
		"H^+": 9, "Na^+": 4.25, "K^+": 3, "Ag^+": 2.5, "Cl^-": 3, "OH^-": 3.5, "SO4^2-": 4, "Ca^2+": 6, "Mg^2+": 8, "Fe^3+": 9,
		"Ce^4+": 11, "Fe(CN)6^4-": 5, "CH3COO^-": 4.5, "C8H4O4^2-": 6,
	} {
		got, ok, err := Size(ion)
		if err != nil || !ok || got != want {
			t.Errorf("%s: %g Å, %v, %v; want %g Å", ion, got, ok, err, want)
		}
	}
	if _, ok, err := Size("XeF^+"); ok || err != nil {
		t.Errorf("XeF^+ has a size, %v", err)
	}
	list, err := Sizes()
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range list {
		if slices.ContainsFunc(list[:i], func(o IonSize) bool { return o.Ion.Name == s.Ion.Name }) {
			t.Errorf("%s stands twice", s.Ion)
		}
	}
}

func ExampleIndicators() {
	list, err := Indicators(RedoxIndicator)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, i := range list {
		if i.Name == "ferroin" && i.Medium == "1 mol/L H2SO4" && i.Also == "" {
			fmt.Printf("%s V, %s to %s (%s)\n", i.Digits, i.Colours[0].Word, i.Colours[1].Word, i.Source.Key)
		}
	}
	// Output: 1.06 V, red to pale blue (handbook-biochem)
}
