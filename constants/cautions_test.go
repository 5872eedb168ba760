package constants

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
)

func ExampleCautionsFor() {
	c, err := CautionsFor("KMnO4", "1 mol/L HCl")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, h := range c.Hazards {
		fmt.Println(h.Name+",", h.Signal)
	}
	for _, p := range c.Precautions {
		fmt.Println("-", p)
	}
	// Output:
	// potassium permanganate, danger
	// hydrochloric acid, danger
	// - concentrated acid into water, slowly and with stirring, never water into acid; let it cool before making up to the mark
	// - permanganate frees chlorine from hydrochloric acid and chlorides: use sulfuric acid; in the hood if chloride is there
}

// The check digit of a CAS number is the sum of its digits, each times its place
// from the right, modulo ten (closed form).
func TestCASCheckDigits(t *testing.T) {
	list, err := Reagents()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range list {
		if r.Indicator.Of != "" { // bought under that formula, which has its own row
			continue
		}
		digits := strings.ReplaceAll(r.CAS, "-", "")
		sum := 0
		for i := range len(digits) - 1 {
			sum += (len(digits) - 1 - i) * int(digits[i]-'0')
		}
		if len(digits) < 5 || sum%10 != int(digits[len(digits)-1]-'0') {
			t.Errorf("%s: CAS %s has the wrong check digit", r.Formula, r.CAS)
		}
	}
}

// The table against the collection that it was checked with: a guard against
// slips of copying, not a second opinion. Most values of both are from memory.
func TestHazardsAgainstCollection(t *testing.T) {
	text, err := os.ReadFile("testdata/hazards.txt")
	if err != nil {
		t.Fatal(err)
	}
	list, err := Reagents()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for line := range strings.Lines(string(text)) {
		cells := splitCells(line)
		if len(cells) != 3 {
			continue
		}
		for _, r := range list {
			if r.CAS != cells[0] {
				continue
			}
			c, err := CautionsFor(r.Formula)
			if err != nil || len(c.Hazards) != 1 {
				t.Fatalf("%s: %v %v", r.Formula, c.Hazards, err)
			}
			n++
			for code := range strings.FieldsSeq(cells[1]) {
				if !slices.ContainsFunc(c.Hazards[0].Statements, func(s Statement) bool { return s.Code == code }) {
					t.Errorf("%s: %s is missing", r.Formula, code)
				}
			}
		}
	}
	if n < 40 {
		t.Errorf("only %d reagents compared", n)
	}
}

func TestEveryReagentHasAHazardRow(t *testing.T) {
	list, err := Reagents()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range list {
		c, err := CautionsFor(r.Formula)
		if err != nil {
			t.Fatal(err)
		}
		want := r.Formula
		if r.Indicator.Of != "" {
			want = r.Indicator.Of
		}
		if len(c.Hazards) != 1 || c.Hazards[0].Reagent != want || len(c.Unknown) > 0 {
			t.Errorf("%s: hazards %v, unknown %v", r.Formula, c.Hazards, c.Unknown)
		}
		if c.Closing != Closing {
			t.Errorf("%s: no closing sentence", r.Formula)
		}
	}
}

// What a laboratory must never do, each with the reagents that should bring it
// up and a pair that should not (common practice).
func TestPrecautions(t *testing.T) {
	for _, c := range []struct{ with, want, without string }{
		{"HClO4 + C6H8O6", "never with organic matter", "HClO4 + NaCl"},
		{"1 mol/L H2SO4", "into water, slowly", "NaCl"},
		{"KMnO4 + H2SO4", "never into concentrated sulfuric acid", "KMnO4 + NaCl"},
		{"KMnO4 + HCl", "frees chlorine", "KMnO4 + H2SO4"},
		{"KCN + HCl", "never acidified", "KCN + NaOH"},
		{"AgNO3 + NH3", "never stored", "AgNO3 + NaCl"},
		{"As2O3", "arsine", "NaCl"},
		{"H3AsO3", "arsine", "NaCl"},
		{"HgCl2", "mercury: own waste", "NaCl"},
		{"OsO4", "vapour kills", "NaCl"},
		{"K2Cr2O7", "causes cancer", "Ce^4+"},
		{"Cr2O7^2-", "causes cancer", "MnO4^-"},
		{"potassium permanganate + hydrochloric acid", "frees chlorine", "potassium permanganate"},
		{"Fe(CN)6^4- + H2SO4", "hydrogen cyanide", "Fe(CN)6^4-"},
	} {
		said := func(list string) bool {
			got, err := CautionsFor(strings.Split(list, " + ")...)
			if err != nil {
				t.Fatal(err)
			}
			return strings.Contains(strings.Join(got.Precautions, "\n"), c.want)
		}
		if !said(c.with) {
			t.Errorf("%s: nothing says %q", c.with, c.want)
		}
		if said(c.without) {
			t.Errorf("%s: should not say %q", c.without, c.want)
		}
	}
}

func TestWasteStreams(t *testing.T) {
	for reagents, want := range map[string]string{
		"KCN": "cyanide, alkaline", "HgCl2": "mercury", "As2O3": "arsenic", "K2Cr2O7": "chromium", "AgNO3": "silver",
		"KMnO4": "manganese", "Ce^4+": "cerium, acid", "Fe^2+": "iron and titanium, acid", "I2": "iodine", "HCl": "acids", "NaOH": "alkalis",
		"OsO4": "osmium", "U^4+": "uranium",
	} {
		c, err := CautionsFor(reagents)
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Waste) != 1 || c.Waste[0].Name != want {
			t.Errorf("%s: waste %v, want %s", reagents, c.Waste, want)
		}
	}
}

func TestCautionsForSpeciesAndUnknown(t *testing.T) {
	c, err := CautionsFor("MnO4^-", "H2O", "Na^+", "RbBr", "ferroin", "FeSO4")
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Hazards) != 3 || c.Hazards[0].Reagent != "KMnO4" || c.Hazards[0].As != "MnO4^-" || c.Hazards[2].Reagent != "FeSO4·7H2O" {
		t.Errorf("hazards %v", c.Hazards)
	}
	if !slices.Equal(c.Unknown, []string{"RbBr"}) {
		t.Errorf("unknown %v, want RbBr", c.Unknown)
	}
	if p := strings.Join(c.Protection, " "); !strings.Contains(p, "goggles") || !strings.Contains(p, "burns") {
		t.Errorf("protection %q", p)
	}
}

func TestHydrates(t *testing.T) {
	for salt, want := range map[string][]string{
		"FeSO4":               {"FeSO4·7H2O"},
		"CuSO4·3H2O":          {"CuSO4·5H2O", "CuSO4"},
		"(NH4)2Fe(SO4)2·6H2O": {"Fe(NH4)2(SO4)2·6H2O"},
		"Na2CO3":              {"Na2CO3", "Na2CO3·10H2O"},
		"RbBr":                nil,
	} {
		list, err := Hydrates(salt)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, r := range list {
			got = append(got, r.Formula)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", salt, got, want)
		}
	}
}

// Of two reasons to keep dust down one sentence is enough: EDTA irritates the
// airways and harms on repeated contact.
func TestDustIsNamedOnce(t *testing.T) {
	c, err := CautionsFor("Na2H2Y·2H2O", "MnO4^-")
	if err != nil {
		t.Fatal(err)
	}
	if p := strings.Join(c.Protection, "; "); strings.Count(p, "raising dust") != 1 {
		t.Errorf("protection %q", p)
	}
}
