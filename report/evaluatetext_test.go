package report

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"meniscus/assay"
	"meniscus/setup"
)

var update = flag.Bool("update", false, "write the layout files again")

// hostile puts text that means something to a page or a terminal wherever a
// file could bring it in.
func hostile(t testing.TB) Document {
	const bad = "<script>alert(1)</script>\x1b[31m\"'&" + "\u202e"
	d := built(t)
	e := d.Evaluations[0]
	d.Title, d.Source = bad+strings.Repeat("long", 60), bad
	e.Setup.Title, e.Curve.Name, e.Reason = bad, bad, bad
	e.Warnings, e.Assumed = append(e.Warnings, bad), append(e.Assumed, bad)
	e.Methods[0].Refused, e.Methods[2].Warnings = bad, []string{bad}
	e.Curve.Readings[2].Excluded = bad
	e.Concentrations[0].Note, e.Concentrations[0].Parts[0].Name = bad, bad
	e.FormalPotentials[0].Name, e.FormalPotentials[1].Note = bad, bad
	e.Setup.Electrode.Reference, e.Setup.Reactions[0].Equation, e.Setup.Reactions[0].Source = bad, bad, bad
	e.EquivalencePoints = []assay.Point{{Order: 1, Species: bad, Volume: 0.02}, {Order: 2, Species: bad, Volume: 0.03}}
	d.Record.BadCells[0].Found, d.Record.Notes = bad, []string{bad}
	d.Evaluations = append(d.Evaluations, e)
	return d
}

func TestTextWidth(t *testing.T) {
	for _, doc := range append(slices.Clone(documents), documents[0]) {
		text := render(t, "text", doc.make(t))
		checkWidth(t, doc.name, text)
	}
	checkWidth(t, "hostile", render(t, "text", hostile(t)))
}

func checkWidth(t *testing.T, name, text string) {
	t.Helper()
	for i, line := range strings.Split(text, "\n") {
		if n := utf8.RuneCountInString(line); n > 78 {
			t.Errorf("%s: line %d has %d characters: %s", name, i+1, n, line)
		}
		if strings.ContainsAny(line, "\x00\x1b\t\u202e") || strings.HasSuffix(line, " ") {
			t.Errorf("%s: line %d holds what it should not: %q", name, i+1, line)
		}
	}
}

// TestTextSays: the numbers of the evaluation made by hand, rounded by hand.
func TestTextSays(t *testing.T) {
	text := render(t, "text", built(t))
	for _, want := range []string{
		"c(Fe²⁺) = 0.04996 ± 0.00011 mol/L (k = 2, 95 %)",
		"V_e = 24.98 ± 0.11 mL (k = 1.96, 95 %)",
		"  *  Zero of the second derivative  24.980  0.055       4",
		"Fe³⁺/Fe²⁺  0.6801  0.0054",
		"   64 %  equivalence volume   0.000044", // 44²/(44²+33²)
		"   36 %  blank                0.000033",
		"row 7, column E (mV): \"34O\"",
		"row 4, 20 mL: bubble in the tip",
		"formal potential 0.68 V in 1 mol/L H₂SO₄",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
}

// TestWrap: no word is lost, whatever the width.
func TestWrap(t *testing.T) {
	const s = "the quick brown fox jumps over an unbelievablylongwordindeed dog"
	for width := 1; width < 70; width++ {
		lines := wrap(s, width)
		if got := strings.ReplaceAll(strings.Join(lines, ""), " ", ""); got != strings.ReplaceAll(s, " ", "") {
			t.Errorf("width %d: %q", width, got)
		}
		for _, l := range lines {
			if len(l) > width {
				t.Errorf("width %d: %q", width, l)
			}
		}
	}
}

func TestTypeset(t *testing.T) {
	for in, want := range map[string]string{
		"E0'(Fe^3+/Fe^2+)":                "E°′(Fe³⁺/Fe²⁺)",
		"c(Fe^2+)":                        "c(Fe²⁺)",
		"concentration of SO4^2- and e^-": "concentration of SO₄²⁻ and e⁻",
		"V0 = 50 mL, x^2":                 "V0 = 50 mL, x^2",
		"report as Fe2O3 on A4":           "report as Fe₂O₃ on A4",
		"a\x1b[31mb\u202ec":               "a[31mbc",
	} {
		if got := typeset(in); got != want {
			t.Errorf("%q became %q, want %q", in, got, want)
		}
	}
}

func TestSmallRatio(t *testing.T) {
	for _, c := range []struct {
		x    float64
		a, b int
		ok   bool
	}{{1, 1, 1, true}, {6, 6, 1, true}, {2.5, 5, 2, true}, {1. / 3, 1, 3, true}, {1.0001, 0, 0, false}, {0, 0, 0, false}} {
		if a, b, ok := smallRatio(c.x); a != c.a || b != c.b || ok != c.ok {
			t.Errorf("%v: %d/%d %v", c.x, a, b, ok)
		}
	}
}

// TestStepsByHand: 6 Fe for 1 dichromate, 24 mL of 0.02 mol/L against 50 mL
// (by hand): 0.48 mmol, 2.88 mmol, 0.0576 mol/L.
func TestStepsByHand(t *testing.T) {
	s, err := setup.Read([]byte(strings.Replace(ironSetup, "0.1000 ± 0.0002 mol/L (k=2)", "0.0200 mol/L", 1)), "setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	steps, ok := byHand(s, assay.Result{Name: "Fe^2+", Value: 0.0576, Unit: "mol/L"}, s.Find[0], 24)
	if !ok || len(steps) != 3 {
		t.Fatalf("%v, %v", steps, ok)
	}
	for i, want := range []string{"0.02 mol/L × 24 mL = 0.48 mmol", "6/1 × 0.48 mmol = 2.88 mmol", "2.88 mmol / 50 mL = 0.0576 mol/L"} {
		if !strings.Contains(steps[i].Show, want) {
			t.Errorf("step %d: %q, want %q", i+1, steps[i].Show, want)
		}
	}
	if _, ok := byHand(s, assay.Result{Name: "Fe^2+", Value: 0.05771}, s.Find[0], 24); ok {
		t.Error("a value that no small ratio gives was shown by hand")
	}
}

// TestLayout compares with files that this program wrote and a person looked
// at: they catch change of layout, and say nothing about numbers.
func TestLayout(t *testing.T) {
	style := regexp.MustCompile(`(?s)<style>.*?</style>|<svg.*?</svg>`)
	for _, format := range []string{"text", "html", "csv"} {
		got := render(t, format, built(t))
		if format == "html" {
			got = style.ReplaceAllString(got, "")
		}
		f, _ := FindFormat(format)
		name := filepath.Join("testdata", "layout"+f.Extension)
		if *update {
			if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s is not laid out as %s; look at it and run with -update", format, name)
		}
	}
}
