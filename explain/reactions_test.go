package explain

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"meniscus/chem"
	"meniscus/setup"
	"meniscus/working"
)

// Every stage of every example has its balanced reaction with the species that
// react, told once: the steps of the start stand at the first volume only.
func TestReactionsOfSystems(t *testing.T) {
	files := systems(t)
	explained := 0
	for _, f := range files {
		s := read(t, f)
		places, err := Places(s)
		if err != nil {
			t.Fatal(err)
		}
		b, err := newBuilder(s)
		if err != nil {
			t.Fatal(err)
		}
		d, err := Volumes(s, places)
		if err != nil {
			t.Fatal(err)
		}
		if len(b.ways) > 0 {
			explained++
		}
		var shown []chem.Reaction
		takes := map[string]int{}
		for _, sec := range d.Sections {
			if !AtVolume(sec.Kind) {
				continue
			}
			for _, block := range sec.Blocks {
				switch block := block.(type) {
				case working.Reaction:
					r, err := chem.ParseReaction(block.Equation)
					if err != nil {
						t.Errorf("%s: %v", f, err)
					}
					shown = append(shown, r)
				case working.Step:
					if key := block.Quantity.Key(); strings.HasPrefix(key, "V_takes") {
						takes[key]++
					}
				}
			}
		}
		for _, w := range b.ways {
			found := false
			for _, r := range shown {
				from, titrant := r.Coefficient(w.from).Float(), r.Coefficient(w.titrant).Float()
				if from < 0 && titrant < 0 && math.Abs(from/titrant/w.perTitrant-1) < 1e-9 && r.Check() == nil {
					found = true
				}
			}
			if !found {
				t.Errorf("%s: no balanced reaction of %s with %s, %g to 1", f, w.from, w.titrant, w.perTitrant)
			}
		}
		for key, n := range takes {
			if n != 1 {
				t.Errorf("%s: %s is told %d times", f, key, n)
			}
		}
		if len(takes) != len(b.ways) {
			t.Errorf("%s: %d volumes for %d stages", f, len(takes), len(b.ways))
		}
	}
	if explained < 42 {
		t.Errorf("the stages of %d of %d examples are known, want at least 42", explained, len(files))
	}
}

// What was there from the start belongs into the textbook value: a buffer, by
// pKa + lg of the ratio, and a poised couple, by E0' + S lg of the ratio.
func TestBothFormsFromTheStart(t *testing.T) {
	lg := math.Log10
	const buffer = `{flask: {volume: 25.00 mL, contains: {CH3COOH: 0.1000 mol/L, NaOH: 0.0400 mol/L}}, burette: {contains: {NaOH: 0.1000 mol/L}}, electrode: {indicator: glass}, library: off, chemistry: [{reaction: CH3COOH = CH3COO^- + H^+, pKa: 4.756}, {reaction: H2O = H^+ + OH^-, log K: -14}]}`
	for volume, ratio := range map[string]float64{"0": 1.0 / 1.5, "5.00": 1.5 / 1.0} { // mmol of acetate over mmol of acid
		if x, want := results(t, buffer, volume)["pH_textbook"], 4.756+lg(ratio); math.Abs(x-want) > 1e-9 {
			t.Errorf("buffer at %s mL: pH %.6f, want %.6f", volume, x, want)
		}
	}
	// at the end 2.5 mmol of acetate in 40 mL
	if x, want := results(t, buffer, "15.00")["pH_textbook"], (14+4.756+lg(2.5/40))/2; math.Abs(x-want) > 1e-9 {
		t.Errorf("buffer at the end: pH %.6f, want %.6f", x, want)
	}
	const poised = `{find: A^2+, flask: {volume: 25.00 mL, contains: {A^2+: 0.1000 mol/L, A^3+: 0.0400 mol/L}}, burette: {contains: {B^4+: 0.1000 mol/L}}, electrode: {indicator: platinum, reference: SHE}, library: off, chemistry: [{reaction: A^3+ + e^- = A^2+, formal potential: 0.68 V, unbalanced: allowed}, {reaction: B^4+ + e^- = B^3+, formal potential: 1.44 V, unbalanced: allowed}]}`
	for volume, ratio := range map[string]float64{"0": 1.0 / 2.5, "5.00": 1.5 / 2.0} {
		if x, want := results(t, poised, volume)["E_textbook"], 0.68+0.0591592*lg(ratio); math.Abs(x-want) > 1e-6 {
			t.Errorf("poised at %s mL: %.6f V, want %.6f V", volume, x, want)
		}
	}
	// at the end 3.5 mmol of A(III) and 2.5 mmol of B(III)
	if x, want := results(t, poised, "25.00")["E_textbook"], (0.68+1.44+0.0591592*lg(3.5/2.5))/2; math.Abs(x-want) > 1e-6 {
		t.Errorf("poised at the end: %.6f V, want %.6f V", x, want)
	}
}

// An acid and its salt together: stages of one reaction are one stage. 25 mL of
// 0.02 mol/L H3PO4 and 0.01 mol/L H2PO4- take 5 mL, then 7.5 mL of 0.1 mol/L.
func TestAcidWithItsSalt(t *testing.T) {
	s, err := setup.Read([]byte(`{flask: {volume: 25.00 mL, contains: {H3PO4: 0.0200 mol/L, NaH2PO4: 0.0100 mol/L}}, burette: {contains: {NaOH: 0.1000 mol/L}}, electrode: {indicator: glass}}`), "salt.yaml")
	if err != nil {
		t.Fatal(err)
	}
	b, err := newBuilder(s)
	if err != nil {
		t.Fatal(err)
	}
	ends := b.soughtEnds()
	if len(ends) < 2 || math.Abs(ends[0]-5e-3) > 1e-9 || math.Abs(ends[1]-12.5e-3) > 1e-9 {
		t.Errorf("ends %v L, want 0.005 and 0.0125", ends)
	}
}

// Oxalate is titrated as oxalic acid, and iodine by the couple of iodine though
// iodide stands beside it in the burette.
func TestTheCoupleThatReacts(t *testing.T) {
	for f, want := range map[string]string{"oxalate-permanganate": "H2C2O4 MnO4^-", "arsenic-iodine": "H3AsO3 I3^-", "iodine-thiosulfate": "I3^- S2O3^2-"} {
		b, err := newBuilder(read(t, "../examples/systems/"+f+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		if len(b.ways) != 1 || b.ways[0].from+" "+b.ways[0].titrant != want {
			t.Errorf("%s: %+v, want %s", f, b.ways, want)
		}
	}
}

// Iodine in iodide is triiodide, by hand with E0(I3-/I-) = 0.536 V of the table.
// 25 mL of 0.04 mol/L I2 and 0.2 mol/L KI: half of the 1 mmol of I3- is left at
// 10 mL of thiosulfate, beside 5 - 1 + 1.5 mmol of I-. 20 mL beyond 20 mL of
// 0.025 mol/L I2 in 0.1 mol/L KI leave 0.5 mmol of I3- beside 1.5 + 3 mmol.
func TestTriiodide(t *testing.T) {
	for _, c := range []struct {
		file, volume string
		held, free   float64 // mol/L
	}{
		{"iodine-thiosulfate", "0", 0.04, 0.16},
		{"iodine-thiosulfate", "10.00", 0.5 / 35, 5.5 / 35},
		{"arsenic-iodine", "40.00", 0.5 / 65, 4.5 / 65},
	} {
		text, err := os.ReadFile("../examples/systems/" + c.file + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		got := results(t, string(text), c.volume)
		want := 0.536 + 0.0591592/2*math.Log10(c.held/math.Pow(c.free, 3))
		if x, ok := got["E_textbook"]; !ok || math.Abs(x-want) > 1e-5 || math.Abs(got["E"]-want) > 1e-3 {
			t.Errorf("%s at %s mL: %.5f V, exactly %.5f V, want %.5f V", c.file, c.volume, x, got["E"], want)
		}
	}
}

// At the equivalence points of the redox examples the textbook's expression,
// with the free shares in its ratios, comes within a millivolt of the balances.
func TestEquivalenceOfCouples(t *testing.T) {
	files, err := filepath.Glob("../examples/systems/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, f := range files {
		s := read(t, f)
		b, err := newBuilder(s)
		if err != nil {
			t.Fatal(err)
		}
		if !b.redox() {
			continue
		}
		places, err := Places(s)
		if err != nil {
			t.Fatal(err)
		}
		d, err := Volumes(s, places)
		if err != nil {
			t.Fatal(err)
		}
		for _, sec := range d.Sections {
			if diff, _, ok := differences(sec); ok && sec.Kind == Equivalence {
				if n++; math.Abs(diff) > 1 {
					t.Errorf("%s, %s: textbook less exact is %g mV", f, sec.Title, diff)
				}
			}
		}
	}
	if n < 16 {
		t.Errorf("%d equivalence points have a textbook value, want at least 16", n)
	}
}
