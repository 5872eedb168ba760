package font

import (
	"strings"
	"testing"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

var faces = []struct {
	file   string
	data   []byte
	family string
}{
	{"sans.ttf", Sans, SansName},
	{"sans-bold.ttf", SansBold, SansName},
	{"serif.ttf", Serif, SerifName},
	{"serif-bold.ttf", SerifBold, SerifName},
	{"serif-italic.ttf", SerifItalic, SerifName},
}

// What a report of a titration prints: formulas, charges, Greek, uncertainty.
const needed = "ABCXYZabcxyz0123456789.,;:()[]/%+-=" +
	"äöüßéèçñÅØ" + "αβγδΔεθλμνπρσφΩ" + "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻₀₁₂₃₄₅₆₇₈₉₊₋" +
	"−±×·°–—‘’“”…′″‰→←⇌≈≠≤≥∂∆∑√∞½¼" + "\u00a0\u2009\u202f"

func TestEveryFaceHasTheSigns(t *testing.T) {
	for _, face := range faces {
		f, err := sfnt.Parse(face.data)
		if err != nil {
			t.Fatalf("%s: %v", face.file, err)
		}
		var buf sfnt.Buffer
		for _, r := range needed {
			if i, err := f.GlyphIndex(&buf, r); err != nil || i == 0 {
				t.Errorf("%s has no glyph for %q (U+%04X)", face.file, r, r)
			}
		}
		name, err := f.Name(&buf, sfnt.NameIDFamily)
		if err != nil || name != face.family {
			t.Errorf("%s calls itself %q, want %q (%v)", face.file, name, face.family, err)
		}
		if len(face.data) > 120_000 {
			t.Errorf("%s has %d bytes: more than the 120 kB a page can spare", face.file, len(face.data))
		}
	}
}

// Columns of numbers line up only where all digits are as wide as each other.
func TestFiguresAreTabular(t *testing.T) {
	for _, face := range faces {
		f, err := sfnt.Parse(face.data)
		if err != nil {
			t.Fatal(err)
		}
		var buf sfnt.Buffer
		var first fixed.Int26_6
		for _, r := range "0123456789" {
			i, err := f.GlyphIndex(&buf, r)
			if err != nil {
				t.Fatal(err)
			}
			w, err := f.GlyphAdvance(&buf, i, fixed.I(1000), font.HintingNone)
			if err != nil {
				t.Fatal(err)
			}
			if r == '0' {
				first = w
			}
			if w != first {
				t.Errorf("%s: %c is %v wide, 0 is %v", face.file, r, w, first)
			}
		}
	}
}

// The licence asks that every notice travels, and that no modified face bears
// a reserved name.
func TestLicence(t *testing.T) {
	for _, holder := range []string{"Lukasz Dziedzic", "SIL International", "Google LLC", "SIL OPEN FONT LICENSE Version 1.1"} {
		if !strings.Contains(Licence, holder) {
			t.Errorf("the licence text does not mention %q", holder)
		}
	}
	for _, name := range []string{SansName, SerifName} {
		for _, reserved := range []string{"Lato", "Gentium", "SIL"} {
			if strings.Contains(name, reserved) {
				t.Errorf("%q uses the reserved name %q", name, reserved)
			}
		}
	}
}
