package report

import (
	"os"
	"strings"
	"testing"

	"meniscus/setup"
)

// 25 mL of 0.02 mol/L calcium take 20 mL of 0.025 mol/L EDTA. After 380 mL its
// two protons would have used up the ammonia too; that is no end of this
// titration, and the curve goes to twice 20 mL. With a burette that large it is.
func TestFarChangesAreNotDrawn(t *testing.T) {
	text, err := os.ReadFile("../examples/systems/calcium-edta.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for with, want := range map[string]int{"burette:": 1, "burette:\n  capacity: 500 mL": 2} {
		s, err := setup.Read([]byte(strings.Replace(string(text), "burette:", with, 1)), "calcium")
		if err != nil {
			t.Fatal(err)
		}
		p, err := Predict(s, false)
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Equivalences) != want || len(p.Far) != 2-want {
			t.Errorf("%q: %d changes and %d far ones, meant %d and %d", with, len(p.Equivalences), len(p.Far), want, 2-want)
		}
		if last := p.Points[len(p.Points)-1].Volume.Millilitres(); want == 1 && (last < 39 || last > 61) {
			t.Errorf("the curve ends at %g mL", last)
		}
	}
}
