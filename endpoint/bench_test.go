package endpoint

import (
	"testing"

	"meniscus/internal/lab"
)

// BenchmarkMethods times each method on one run of 40 readings.
func BenchmarkMethods(b *testing.B) {
	plan := lab.Plan{Expected: 0.025, Around: 0.6e-3, Fine: 1e-4, Coarse: 1.75e-3, First: 1e-3, Last: 0.05}
	c := bench.Run(ironCerium(0.02503), plan.Volumes(), 1)
	if n := len(c.Readings); n < 38 || n > 42 {
		b.Fatalf("%d readings", n)
	}
	for _, m := range Methods {
		b.Run(m.Name, func(b *testing.B) {
			for b.Loop() {
				m.Find(&c, Options{V0: 0.05, Preset: []float64{1}})
			}
		})
	}
}
