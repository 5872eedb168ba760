package explain

import (
	"strings"
	"testing"

	"meniscus/unit"
	"meniscus/working"
)

// Cyanide must not meet acid, and goes to a bottle of its own; permanganate
// feeds a fire (common practice of the trade). The generic sentence is not enough.
func TestCautionsAreThoseOfTheReagents(t *testing.T) {
	for file, want := range map[string][]string{
		"cyanide":              {"potassium cyanide: ", "deadly if swallowed", "no acid", "Waste, cyanide", "safety data sheet", "local disposal rules decide"},
		"oxalate-permanganate": {"oxidiser", "safety data sheet"},
	} {
		d, err := At(read(t, "../examples/systems/"+file+".yaml"), unit.Decimal{})
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		if err := working.WriteText(&b, d); err != nil {
			t.Fatal(err)
		}
		text := strings.Join(strings.Fields(b.String()), " ")
		for _, w := range want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: %q is not said", file, w)
			}
		}
	}
}
