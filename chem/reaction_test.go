package chem

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func mustReaction(t *testing.T, text string) Reaction {
	t.Helper()
	r, err := ParseReaction(text)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestParseReaction(t *testing.T) {
	for _, c := range []struct{ texts, want, unicode string }{
		{
			"MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O;MnO4- +8H+ + 5e- -> Mn^2+ + 4H2O;MnO₄⁻ + 8 H⁺ + 5 e⁻ ⇌ Mn²⁺ + 4 H₂O;" +
				"MnO4^- + 4 H+ + 4 H+ + 5 e^- → Mn^2+ + 4 H2O(l);MnO4^- + 8 H^+ + 5 e^-->Mn^2+ + 4 H2O",
			"MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", "MnO₄⁻ + 8 H⁺ + 5 e⁻ ⇌ Mn²⁺ + 4 H₂O",
		},
		{"1/2 I2 + e^- = I^-;½ I2 + e- <=> I-;0.5 I2 + e- == I-", "1/2 I2 + e^- = I^-", "1/2 I₂ + e⁻ ⇌ I⁻"},
		{"AgCl(s) = Ag+ + Cl-", "AgCl(s) = Ag^+ + Cl^-", "AgCl(s) ⇌ Ag⁺ + Cl⁻"},
		{"HEDTA^3- = EDTA^4- + H^+", "HEDTA^3- = EDTA^4- + H^+", "HEDTA³⁻ ⇌ EDTA⁴⁻ + H⁺"},
	} {
		for _, text := range strings.Split(c.texts, ";") {
			r, err := ParseReaction(text)
			if err != nil {
				t.Error(err)
				continue
			}
			if r.String() != c.want || r.Unicode() != c.unicode || unicodeText(r.Parts()) != c.unicode {
				t.Errorf("%q: %s and %s", text, r, r.Unicode())
			}
		}
	}
}

func TestReactionTerms(t *testing.T) {
	r := mustReaction(t, "Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O")
	for name, want := range map[string]int64{"Cr2O7^2-": -1, "H^+": -14, "e^-": -6, "Cr^3+": 2, "H2O": 7, "Fe^2+": 0} {
		if got := r.Coefficient(name); got != Whole(want) {
			t.Errorf("%s: %s, want %d", name, got, want)
		}
	}
	const back = "2 Cr^3+ + 7 H2O = Cr2O7^2- + 14 H^+ + 6 e^-"
	if got := r.Reverse().String(); got != back {
		t.Errorf("reversed %s", got)
	}
	mixed := mustReaction(t, "e^- + H2O + MnO2(s) + H+ = OH- + Mn^2+")
	if got := mixed.Ordered().String(); got != "MnO2(s) + H^+ + H2O + e^- = Mn^2+ + OH^-" {
		t.Errorf("ordered %s", got)
	}
}

func TestReactionErrors(t *testing.T) {
	for _, c := range []struct {
		text   string
		offset int
		reason string
	}{
		{"Fe2+ + e- = Fe^2+", 3, "cannot be told apart"},
		{"Fe^3+ + e- = Fe2+", 16, "cannot be told apart"},
		{"Fe^3+ + e^-", 11, "no ="},
		{"A = B = C", 6, "second ="},
		{"= Fe^2+", 0, "is missing"},
		{"Fe^3+ + = Fe^2+", 8, "is missing"},
		{"Fe^3+ + e^- = ", 14, "is missing"},
		{"Fe^3+ + 0 e^- = Fe^2+", 8, "cannot be a coefficient"},
		{"Fe^3+ + 1/0 e^- = Fe^2+", 8, "cannot be a coefficient"},
		{"Fe^3+ + 010/3 e^- = Fe^2+", 8, "cannot be a coefficient"},
		{"Fe^3+ + 100000 e^- = Fe^2+", 8, "cannot be a coefficient"},
		{"Fe^3+ + 2 = Fe^2+", 9, "is missing"},
		{"H+ + Fe^2+ = Fe^2+ + H^+", 12, "both sides"},
		{"Fe^3++e^- = Fe^2+", 2, "blanks around"},
		{"Ag^+ Cl^- = AgCl", 5, "left over"},
		{"Fe^3+ \xff= Fe^2+", 0, "UTF-8"},
		{strings.Repeat("Fe", 3000) + " = Fe", 0, "longer"},
		{"99999 (((H99999)99999)99999)9 = H", 0, "too large"},
	} {
		_, err := ParseReaction(c.text)
		var e *SyntaxError
		if !errors.As(err, &e) {
			t.Errorf("%q: error %v, want a SyntaxError", c.text, err)
			continue
		}
		if e.Text != c.text || e.Offset != c.offset || !strings.Contains(e.Reason, c.reason) {
			t.Errorf("%q: %+v, want %+v", c.text, e, c)
		}
	}
}

// checkReaction holds the laws of every reaction that was read.
func checkReaction(t interface{ Fatalf(string, ...any) }, r Reaction) {
	for _, text := range []string{r.String(), r.Unicode()} {
		again, err := ParseReaction(text)
		if err != nil {
			t.Fatalf("%q is not read back: %v", text, err)
		}
		if d := cmp.Diff(r, again, cmp.AllowUnexported(Ratio{})); d != "" {
			t.Fatalf("%q read back: %s", text, d)
		}
	}
	if d := cmp.Diff(r, r.Reverse().Reverse(), cmp.AllowUnexported(Ratio{})); d != "" {
		t.Fatalf("%s reversed twice: %s", r, d)
	}
	if (r.Check() == nil) != (r.Reverse().Check() == nil) {
		t.Fatalf("%s: %v, reversed: %v", r, r.Check(), r.Reverse().Check())
	}
}

// reactions draws reactions of drawn formulas.
var reactions = rapid.Custom(func(t *rapid.T) string {
	term := rapid.Custom(func(t *rapid.T) string {
		return rapid.StringMatching(`(|[1-9][0-9]? ?|1/[2-9] |½ )`).Draw(t, "coefficient") + formulas.Draw(t, "formula")
	})
	side := rapid.SliceOfN(term, 1, 4)
	arrow := rapid.SampledFrom([]string{" = ", " -> ", " ⇌ ", "→"}).Draw(t, "arrow")
	return strings.Join(side.Draw(t, "left"), " + ") + arrow + strings.Join(side.Draw(t, "right"), " + ")
})

func TestReactionLaws(t *testing.T) {
	read := 0
	rapid.Check(t, func(t *rapid.T) {
		r, err := ParseReaction(reactions.Draw(t, "reaction"))
		if err == nil {
			read++
			checkReaction(t, r)
		}
	})
	if read < 10 {
		t.Errorf("only %d of the drawn reactions were read", read)
	}
}

func FuzzReaction(f *testing.F) {
	for _, s := range []string{
		"MnO4^- + 8 H^+ + 5 e^- = Mn^2+ + 4 H2O", "1/2 I2 + e- <=> I-", "AgCl(s) = Ag+ + Cl-", "Ag^+ + Cl^--> AgCl",
		"2H2O→O₂+ 4H⁺ + 4e⁻", "A = B = C", "½O2 + 2 H+ + 2 e- = H2O", "Fe2+ + e- = Fe", "CuSO4.5H2O = CuSO4 + 5 H2O",
		"AuBBC1a1=100A1 *10A",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ParseReaction(text)
		if err != nil {
			var e *SyntaxError
			if !errors.As(err, &e) || e.Offset < 0 || e.Offset > len(text) || err.Error() == "" {
				t.Fatalf("error %#v", err)
			}
			return
		}
		checkReaction(t, r)
	})
}
