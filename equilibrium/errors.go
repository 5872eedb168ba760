package equilibrium

import (
	"fmt"
	"strings"
)

// A ContradictionError reports reactions that are combinations of one
// another, so that their constants cannot be chosen freely.
type ContradictionError struct {
	Reactions []string
	LnK       float64 // what the combination gives; 0 if the constants happen to agree
}

func (e *ContradictionError) Error() string {
	return fmt.Sprintf("reactions that follow from one another: %s (their constants leave ln K = %.6g unexplained); keep all but one",
		strings.Join(e.Reactions, "; "), e.LnK)
}

// A HeldError reports held quantities that cannot all be held.
type HeldError struct{ Species, Reason string }

func (e *HeldError) Error() string { return fmt.Sprintf("holding %s: %s", e.Species, e.Reason) }

// An InfeasibleError reports totals that no composition can have.
type InfeasibleError struct {
	Components []string  // names
	Weights    []float64 // a combination of totals that is negative although no species contributes negatively to it
	Value      float64   // its value, mol
}

func (e *InfeasibleError) Error() string {
	var b strings.Builder
	for i, w := range e.Weights {
		if w == 0 {
			continue
		}
		if b.Len() > 0 {
			b.WriteString(" ")
		}
		fmt.Fprintf(&b, "%+g %s", w, e.Components[i])
	}
	return fmt.Sprintf("no composition has these totals: %s comes to %.3g mol, but every species counts at least zero in it", b.String(), e.Value)
}

// A ConvergenceError reports a balance that was not solved.
type ConvergenceError struct {
	Volume     float64   // L
	Residual   float64   // largest balance error relative to its sum of absolute terms
	Iterations int       // spent
	LnC        []float64 // last state: ln concentration by species
	Reason     string
}

func (e *ConvergenceError) Error() string {
	return fmt.Sprintf("equilibrium at %.6g mL not found: %s (largest relative balance error %.2g after %d iterations)",
		e.Volume*1e3, e.Reason, e.Residual, e.Iterations)
}
