package report

import (
	"strings"
	"testing"
)

// The sentence says the result as the page does, with its method; where nothing
// can be said it says so.
func TestSentence(t *testing.T) {
	for _, c := range documents {
		d := c.make(t)
		got := Sentence(d)
		refused := true
		for _, e := range d.Evaluations {
			refused = refused && e.Recommended < 0
		}
		if refused != strings.HasPrefix(got, "No result: every method refuses") || strings.Count(got, "\n") > 0 || !strings.HasSuffix(got, ".") || strings.Contains(got, "NaN") {
			t.Errorf("%s: %q", c.name, got)
		}
		if !refused && (!strings.Contains(got, " = ") || !strings.Contains(got, "±")) {
			t.Errorf("%s: %q has no result with its uncertainty", c.name, got)
		}
	}
}
