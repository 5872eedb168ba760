package exercise_test

import (
	"fmt"

	"meniscus/exercise"
)

func Example() {
	s, err := exercise.New(7, 1, exercise.Options{Kinds: []string{"back"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, a := range s.Exercises[0].Answers {
		fmt.Printf("%s: %s\n", a.Name, a.Number)
	}
	// Output:
	// concentration of dichromate: 0.02039 mol/L
}
