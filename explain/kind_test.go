package explain

import (
	"slices"
	"testing"

	"meniscus/setup"
	"meniscus/unit"
	"meniscus/working"
)

func kinds(d *working.Document) []working.Kind {
	var list []working.Kind
	for _, s := range d.Sections {
		list = append(list, s.Kind)
	}
	return list
}

// Sections are picked by their kind: it is that of the place asked for, and any
// other volume is a volume, even where it happens to be a special one.
func TestKindsOfSections(t *testing.T) {
	s, err := setup.Read([]byte(ironCerium), "question.yaml")
	if err != nil {
		t.Fatal(err)
	}
	places, err := Places(s)
	if err != nil {
		t.Fatal(err)
	}
	places = append(places, Place{Volume: decimal(0.0125)}, Place{Name: "the blank", Volume: unit.Decimal{}})
	d, err := Volumes(s, places)
	if err != nil {
		t.Fatal(err)
	}
	want := []working.Kind{"given", "start", "half", "equivalence", "twice", "volume", "volume", "concentration", "formal", "completeness", "steepest"}
	if got := kinds(d); !slices.Equal(got, want) {
		t.Errorf("kinds %q, want %q", got, want)
	}
	n := 0
	for _, k := range kinds(d) {
		if AtVolume(k) {
			n++
		}
	}
	if n != len(places) {
		t.Errorf("%d sections are about a volume, want %d", n, len(places))
	}
}
