package bench

import (
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/internal/lab"
	"meniscus/setup"
)

const manyRuns = 10_000

// BenchmarkRuns evaluates 10,000 runs of 40 readings on all cores: the
// recommended method with its uncertainty, concentration, and the mean of all.
func BenchmarkRuns(b *testing.B) {
	s, err := setup.Read([]byte(ironToFit), "bench.yaml")
	if err != nil {
		b.Fatal(err)
	}
	electrode := lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}
	plan := lab.DefaultPlan(0.025).Volumes()
	plan = plan[len(plan)/2-20 : len(plan)/2+20]
	curves := make([]curve.Curve, manyRuns)
	for i := range curves {
		curves[i] = electrode.Run(lab.IronCerium(), plan, uint64(i+1))
	}
	best := time.Duration(1 << 62)
	for b.Loop() {
		start := time.Now()
		runs := make([]assay.Run, manyRuns)
		runs[0].Evaluation, _ = assay.EvaluateRun(assay.Input{Curve: &curves[0]}, s, nil, assay.Options{Quick: true})
		options := assay.Options{Quick: true, Like: runs[0].Evaluation.Fit}
		var next atomic.Int64
		next.Add(1)
		var wg sync.WaitGroup
		for range runtime.GOMAXPROCS(0) {
			wg.Go(func() {
				for {
					i := int(next.Add(1)) - 1
					if i >= manyRuns {
						return
					}
					runs[i].Evaluation, _ = assay.EvaluateRun(assay.Input{Curve: &curves[i]}, s, nil, options)
				}
			})
		}
		wg.Wait()
		d := assay.Combine(runs, s, nil, 0)
		best = min(best, time.Since(start))
		if n := len(d.Means[0].Runs); n < manyRuns*95/100 {
			b.Fatalf("%d runs have a result", n)
		}
	}
	b.ReportMetric(best.Seconds(), "s/10,000-runs")
}
