package report

import (
	"slices"
	"testing"

	"meniscus/assay"
)

// What two runs have in common to doubt is said once, with formulas set.
func TestDoubtsOnce(t *testing.T) {
	got := Doubts(Document{Evaluations: []*assay.Evaluation{
		{Recommended: -1, Warnings: []string{"the Fe^2+ was old"}},
		{Recommended: -1, Warnings: []string{"the burette leaks", "the Fe^2+ was old"}},
	}})
	if want := []string{"the Fe²⁺ was old", "the burette leaks"}; !slices.Equal(got, want) {
		t.Errorf("doubts %q, want %q", got, want)
	}
}
