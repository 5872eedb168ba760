package examples_test

import (
	"fmt"
	"testing"

	"meniscus/examples"
	"meniscus/setup"
)

func Example() {
	e := examples.Worked()
	fmt.Println(e.Name + ": " + e.Title)
	// Output: granules: Iron in moss-control granules, with cerium(IV)
}

// Every example can be read and has the title that its setup says.
func TestSystems(t *testing.T) {
	list := append(examples.Systems(), examples.Worked())
	if len(list) < 40 {
		t.Fatalf("%d examples", len(list))
	}
	for _, e := range list {
		s, err := setup.Read(e.Setup, e.Name)
		if err != nil {
			t.Errorf("%s: %v", e.Name, err)
		} else if s.Title != e.Title || e.Title == "" {
			t.Errorf("%s: title %q, the setup says %q", e.Name, e.Title, s.Title)
		}
	}
	if len(examples.Readings()) == 0 {
		t.Error("no readings")
	}
}
