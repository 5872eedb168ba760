package chem

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestParseSpecies(t *testing.T) {
	// Composition and charge by hand.
	for _, c := range []struct {
		texts    string // separated by ;
		name     string
		unicode  string
		charge   int
		phase    Phase
		elements string
	}{
		{"Fe^2+;Fe²⁺;Fe^{2+};Fe^(2+);Fe^+2; Fe^2+ ;[Fe]^2+;Fe^2+(aq)", "Fe^2+", "Fe²⁺", 2, Unmarked, "Fe1"},
		{"SO4^2-;SO₄²⁻;SO4²⁻;SO4^2−;SO4^2–;[SO4]^2-", "SO4^2-", "SO₄²⁻", -2, Unmarked, "O4 S1"},
		{"Cr2O7^2-;Cr₂O₇²⁻", "Cr2O7^2-", "Cr₂O₇²⁻", -2, Unmarked, "Cr2 O7"},
		{"Ag^+;Ag+;Ag⁺;Ag^1+;Ag^{+}", "Ag^+", "Ag⁺", 1, Unmarked, "Ag1"},
		{"Cl^-;Cl-;Cl⁻;Cl−", "Cl^-", "Cl⁻", -1, Unmarked, "Cl1"},
		{"NH4+;NH4^+;NH₄⁺;NH₄+", "NH4^+", "NH₄⁺", 1, Unmarked, "H4 N1"},
		{"MnO4-;MnO₄^-", "MnO4^-", "MnO₄⁻", -1, Unmarked, "Mn1 O4"},
		{"I3-", "I3^-", "I₃⁻", -1, Unmarked, "I3"},
		{"e^-;e-;e⁻;e^{-}", "e^-", "e⁻", -1, Unmarked, ""},
		{"(NH4)2Fe(SO4)2·6H2O;(NH4)2Fe(SO4)2.6H2O;(NH4)2Fe(SO4)2*6H2O;(NH4)2Fe(SO4)2 · 6 H2O;(NH₄)₂Fe(SO₄)₂•6H₂O", "(NH4)2Fe(SO4)2·6H2O", "(NH₄)₂Fe(SO₄)₂·6H₂O", 0, Unmarked, "Fe1 H20 N2 O14 S2"},
		{"CaSO4·0.5H2O;CaSO4.0.5H2O;CaSO4·½H2O;CaSO4·1/2 H2O", "CaSO4·0.5H2O", "CaSO₄·0.5H₂O", 0, Unmarked, "Ca1 H1 O9/2 S1"},
		{"Na2B4O7.10H2O", "Na2B4O7·10H2O", "Na₂B₄O₇·10H₂O", 0, Unmarked, "B4 H20 Na2 O17"},
		{"Fe(CN)6^4-;[Fe(CN)6]^4-;[Fe(CN)₆]⁴⁻", "Fe(CN)6^4-", "Fe(CN)₆⁴⁻", -4, Unmarked, "C6 Fe1 N6"},
		{"K4[Fe(CN)6];K4Fe(CN)6", "K4Fe(CN)6", "K₄Fe(CN)₆", 0, Unmarked, "C6 Fe1 K4 N6"},
		{"[Ag(NH3)2]^+;Ag(NH3)2^+;[Ag(NH3)2]+", "Ag(NH3)2^+", "Ag(NH₃)₂⁺", 1, Unmarked, "Ag1 H6 N2"},
		{"Fe(OH)^2+;FeOH^2+", "FeOH^2+", "FeOH²⁺", 2, Unmarked, "Fe1 H1 O1"},
		{"AgCl(s);AgCl (s);Ag1Cl1(s);(AgCl)1(s)", "AgCl(s)", "AgCl(s)", 0, Solid, "Ag1 Cl1"},
		{"Fe3O4·¾H2O;Fe3O4·3/4H2O;Fe3O4.0.75 H2O", "Fe3O4·0.75H2O", "Fe₃O₄·0.75H₂O", 0, Unmarked, "Fe3 H3/2 O19/4"},
		{"CO2(aq)", "CO2(aq)", "CO₂(aq)", 0, Aqueous, "C1 O2"},
		{"CO2(g)", "CO2(g)", "CO₂(g)", 0, Gas, "C1 O2"},
		{"H2O;H2O(l);H₂O", "H2O", "H₂O", 0, Unmarked, "H2 O1"},
		{"Ca3(PO4)2(s)", "Ca3(PO4)2(s)", "Ca₃(PO₄)₂(s)", 0, Solid, "Ca3 O8 P2"},
		{"Al2(SiO3(OH)2)3", "Al2(SiO3(OH)2)3", "Al₂(SiO₃(OH)₂)₃", 0, Unmarked, "Al2 H6 O15 Si3"},
		{"Y^3+", "Y^3+", "Y³⁺", 3, Unmarked, "Y1"},
		{"Y2O3", "Y2O3", "Y₂O₃", 0, Unmarked, "O3 Y2"},
		{"Y^4-", "Y^4-", "Y⁴⁻", -4, Unmarked, "C10 H12 N2 O8"},
		{"CaY^2-", "CaY^2-", "CaY²⁻", -2, Unmarked, "C10 Ca1 H12 N2 O8"},
		{"Na2H2Y·2H2O", "Na2H2Y·2H2O", "Na₂H₂Y·2H₂O", 0, Unmarked, "C10 H18 N2 Na2 O10"},
	} {
		for _, text := range strings.Split(c.texts, ";") {
			s, err := ParseSpecies(text)
			if err != nil {
				t.Error(err)
				continue
			}
			var list []string
			for _, e := range s.Elements {
				list = append(list, e.Symbol+e.Count.String())
			}
			elements := strings.Join(list, " ")
			if s.Name != c.name || s.Charge != c.charge || s.Phase != c.phase || elements != c.elements || s.IsLabel {
				t.Errorf("%q: %+v with elements %q, want %+v", text, s, elements, c)
			}
			if got := s.Unicode(); got != c.unicode {
				t.Errorf("%q as Unicode: %q, want %q", text, got, c.unicode)
			}
		}
	}
}

func TestLabels(t *testing.T) {
	for _, c := range []struct {
		text, name string
		charge     int
		label      bool
	}{
		{"EDTA^4-", "EDTA^4-", -4, true},
		{"HA", "HA", 0, true},
		{"A^-", "A^-", -1, true},
		{"Fe(phen)3^2+", "Fe(phen)3^2+", 2, true},
		{"[Fe(phen)3]²⁺", "Fe(phen)3^2+", 2, true},
		{"Fe(phen)^2+", "Fe(phen)^2+", 2, true},
		{"HAc", "HAc", 0, true},
		{"H2Cit^-", "H2Cit^-", -1, true},
		{"Ω(s)", "Ω(s)", 0, true},
		{"HIn", "HIn", 0, false},
		{"In^-", "In^-", -1, false},
	} {
		s, err := ParseSpecies(c.text)
		if err != nil {
			t.Error(err)
			continue
		}
		if s.Name != c.name || s.Charge != c.charge || s.IsLabel != c.label || s.IsLabel != (s.Elements == nil) {
			t.Errorf("%q: %+v, want %+v", c.text, s, c)
		}
	}
}

func TestSpeciesErrors(t *testing.T) {
	for _, c := range []struct {
		text          string
		offset        int
		reason, meant string // the reason contains, the suggestion is
	}{
		{"Fe2+", 3, "cannot be told apart", "Fe^2+ (or Fe2^+)"},
		{"Fe3+", 3, "cannot be told apart", "Fe^3+ (or Fe3^+)"},
		{"SO42-", 4, "cannot be told apart", "SO4^2-"},
		{"Cr2O72-", 6, "cannot be told apart", "Cr2O7^2-"},
		{"Hg22+", 4, "cannot be told apart", "Hg2^2+"},
		{"Fe+2", 2, "follows ^", "Fe^2+"},
		{"Fe+++", 2, "one sign", "Fe^3+"},
		{"Fe^+++", 2, "one sign", "Fe^3+"},
		{"SO4--", 3, "one sign", "SO4^2-"},
		{"Fe^2", 2, "no sign", "Fe^2+ or Fe^2-"},
		{"Fe²", 2, "no sign", "Fe^2+ or Fe^2-"},
		{"Fe^", 2, "missing behind ^", ""},
		{"Fe^{2+", 6, "\"}\" is missing", ""},
		{"Fe^0", 2, "no sign", "Fe^0+ or Fe^0-"},
		{"Fe^0+", 2, "begin with 0", ""},
		{"Fe^100+", 2, "no ion", ""},
		{"Fe(II)", 2, "oxidation number", "the ion, such as Fe^2+"},
		{"Ce(IV)", 2, "oxidation number", "the ion, such as Ce^4+"},
		{"AgCl(c)", 4, "phases are", "AgCl(s)"},
		{"Fe^2+(s)", 5, "in solution", ""},
		{"A(s)B", 1, "at the end", ""},
		{"KHP", 0, "nickname", "KHC8H4O4 for potassium hydrogen phthalate"},
		{"2H2O", 0, "begin with a number", ""},
		{"", 0, "is missing", ""},
		{"H2O·", 5, "is missing", ""},
		{"(NH4", 4, "not closed", ""},
		{"(NH4]2", 4, "not closed", ""},
		{"NH4)", 3, "left over", ""},
		{"()", 1, "not ')'", ""},
		{"H0", 1, "begin with 0", ""},
		{"H100000", 1, "too large", ""},
		{"C1a", 1, "count of 1", ""},
		{"Fe 2+", 3, "left over", ""},
		{"Fe^3++e^-", 2, "blanks around", ""},
		{"Fe^3+-", 2, "blanks around", ""},
		{"Ag(NH3)2+", 8, "cannot be told apart", "Ag(NH3)^2+ (or Ag(NH3)2^+)"},
		{"e", 0, "electron", "e^-"},
		{"e^2-", 0, "electron", "e^-"},
		{"e^-(aq)", 0, "electron", "e^-"},
		{"CuSO4·05H2O", 7, "multiplier", ""},
		{"\xff", 0, "UTF-8", ""},
		{strings.Repeat("(", 20) + "H", 8, "too deeply", ""},
		{strings.Repeat("H", 301), 0, "longer", ""},
	} {
		_, err := ParseSpecies(c.text)
		var e *SyntaxError
		if !errors.As(err, &e) {
			t.Errorf("%q: error %v, want a SyntaxError", c.text, err)
			continue
		}
		if e.Text != c.text || e.Offset != c.offset || !strings.Contains(e.Reason, c.reason) || e.Meant != c.meant {
			t.Errorf("%q: %+v, want %+v", c.text, e, c)
		}
	}
	_, err := ParseSpecies("SO₄2-")
	if want := `"SO₄2-", character 5: count and charge cannot be told apart`; !strings.HasPrefix(err.Error(), want) {
		t.Errorf("got %v, want %s", err, want)
	}
}

func TestParts(t *testing.T) {
	for _, c := range []struct {
		text string
		want []Part
	}{
		{"SO4^2-", []Part{{"SO", Normal}, {"4", Sub}, {"2−", Sup}}},
		{"CuSO4·5H2O", []Part{{"CuSO", Normal}, {"4", Sub}, {"·5H", Normal}, {"2", Sub}, {"O", Normal}}},
		{"CaSO4·1/3H2O", []Part{{"CaSO", Normal}, {"4", Sub}, {"·1/3H", Normal}, {"2", Sub}, {"O", Normal}}},
		{"CaSO4·0.5H2O(s)", []Part{{"CaSO", Normal}, {"4", Sub}, {"·0.5H", Normal}, {"2", Sub}, {"O(s)", Normal}}},
		{"Fe(CN)6^4-", []Part{{"Fe(CN)", Normal}, {"6", Sub}, {"4−", Sup}}},
		{"C10H22", []Part{{"C", Normal}, {"10", Sub}, {"H", Normal}, {"22", Sub}}},
	} {
		s, err := ParseSpecies(c.text)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(c.want, s.Parts()); d != "" {
			t.Errorf("%s: %s", c.text, d)
		}
	}
}

func TestCount(t *testing.T) {
	s, err := ParseSpecies("(NH4)2Fe(SO4)2·6H2O")
	if err != nil {
		t.Fatal(err)
	}
	for symbol, want := range map[string]int64{"H": 20, "Fe": 1, "N": 2, "O": 14, "S": 2, "C": 0, "Zn": 0} {
		if got := s.Count(symbol); got != Whole(want) {
			t.Errorf("%s: %s, want %d", symbol, got, want)
		}
	}
}

// checkSpecies holds the laws of every species that was read.
func checkSpecies(t interface{ Fatalf(string, ...any) }, s Species) {
	for _, text := range []string{s.Name, s.Unicode()} {
		again, err := ParseSpecies(text)
		if err != nil {
			t.Fatalf("%q is not read back: %v", text, err)
		}
		if d := cmp.Diff(s, again, cmp.AllowUnexported(Ratio{})); d != "" {
			t.Fatalf("%q read back: %s", text, d)
		}
	}
	for _, e := range s.Elements {
		if e.Count.Sign() <= 0 {
			t.Fatalf("%q holds %s %s", s.Name, e.Count, e.Symbol)
		}
	}
}

// formulas draws formulas with groups, hydrates, charges and phases.
var formulas = rapid.Custom(func(t *rapid.T) string {
	s := drawNodes(t, 0)
	if rapid.IntRange(0, 4).Draw(t, "hydrate") == 0 {
		return s + rapid.StringMatching(`[·.*](|[1-9]|0\.5|½|1/3)H2O`).Draw(t, "water")
	}
	return s + rapid.StringMatching(`(|\^[2-9]?[+-]|[²³⁴]?[⁺⁻]|\^\{[2-9][+-]\}|\((s|g|l|aq)\))`).Draw(t, "end")
})

func drawNodes(t *rapid.T, depth int) string {
	var b strings.Builder
	for range rapid.IntRange(1, 3).Draw(t, "nodes") {
		count := rapid.StringMatching(`(|[2-9]|1[0-9]|[₂-₉])`).Draw(t, "count")
		if depth < 3 && rapid.IntRange(0, 3).Draw(t, "group") == 0 {
			open, closing := "(", ")"
			if rapid.Bool().Draw(t, "square") {
				open, closing = "[", "]"
			}
			b.WriteString(open + drawNodes(t, depth+1) + closing + count)
			continue
		}
		b.WriteString(rapid.SampledFrom([]string{"H", "C", "O", "Na", "Fe", "Y", "Ce", "Cl", "phen", "EDTA"}).Draw(t, "word") + count)
	}
	return b.String()
}

func TestSpeciesLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := formulas.Draw(t, "formula")
		s, err := ParseSpecies(text)
		if err != nil {
			t.Fatalf("%q should be read: %v", text, err)
		}
		checkSpecies(t, s)
	})
}

func FuzzFormula(f *testing.F) {
	for _, s := range []string{
		"Fe^2+", "Fe²⁺", "Fe^{2+}", "SO42-", "(NH4)2Fe(SO4)2·6H2O", "[Ag(NH3)2]^+", "CaSO4.0.5H2O", "AgCl (s)",
		"e^-", "Fe(phen)3^2+", "Y^4-", "K4[Fe(CN)6]", "Fe(III)", "A((s))", "H2O·½H2O", "CO2(aq)",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseSpecies(text)
		if err != nil {
			var e *SyntaxError
			if !errors.As(err, &e) || e.Offset < 0 || e.Offset > len(text) || err.Error() == "" {
				t.Fatalf("error %#v", err)
			}
			return
		}
		checkSpecies(t, s)
	})
}
