package plan

import (
	"math"
	"os"
	"testing"

	"meniscus/setup"
)

func example(t *testing.T, name string, o Options) *Plan {
	t.Helper()
	path := "../examples/systems/" + name + ".yaml"
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.Read(text, path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := For(s, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// What breaks the curve and what does not is common knowledge of the trade:
// three halides give three breaks with silver, citric acid one although it has
// three protons, phosphoric acid two; cyanide breaks when the complex is
// complete and when all has fallen; hydroxide beside carbonate gives no break
// of its own where it ends; an amino acid gives a weak one with alkali.
func TestPointsThatShow(t *testing.T) {
	for name, want := range map[string][]float64{ // mL, by stoichiometry
		"halides":           {6, 15, 27},
		"citric-acid":       {24},
		"phosphoric-acid":   {10, 20},
		"cyanide":           {20, 40},
		"carbonated-alkali": {12, 14},
		"hardness-edta":     {20},
		"alanine":           {10},
		"mixed-acids":       {10, 18},
		"chloride-chromate": {20},
	} {
		p := example(t, name, Options{})
		var got []float64
		for _, pt := range p.points {
			got = append(got, pt.Volume*1e3)
		}
		same := len(got) == len(want)
		for i := 0; same && i < len(want); i++ {
			same = math.Abs(got[i]-want[i]) < 0.01
		}
		if !same {
			t.Errorf("%s breaks at %v mL, common knowledge has %v mL", name, got, want)
		}
	}
}
