package chain

import (
	"math"
	"testing"
)

// FuzzRead: whatever is handed in gives a chain of finite numbers or an error.
func FuzzRead(f *testing.F) {
	f.Add(eurachem)
	f.Add(ratio)
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Read([]byte(text), "")
		if err != nil {
			return
		}
		c, err := Compute(s)
		if err != nil {
			return
		}
		for _, r := range c.Results {
			if math.IsNaN(r.Budget.X) || math.IsInf(r.Budget.X, 0) || math.IsNaN(r.Budget.U) {
				t.Errorf("%s: %v ± %v", r.Name, r.Budget.X, r.Budget.U)
			}
		}
	})
}
