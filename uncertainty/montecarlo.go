package uncertainty

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"
	"sync/atomic"
)

// MonteCarloOptions tells MonteCarlo what to do. The zero value is sound.
type MonteCarloOptions struct {
	// Trials is how many trials to make, rounded up to whole blocks of 10,000 (of
	// more for a Level above 0.99); 0 makes as many as the digits of the results
	// need.
	Trials int
	// Most is where that ends; 0 is 10,000,000. A trial takes 8 bytes.
	Most   int
	Seed   uint64  // the same seed gives the same result
	Level  float64 // coverage probability; 0 is the constant Level
	Digits int     // significant digits of u to be stable, 1 or 2; 0 is 2

	Workers  int                    // goroutines; below 1 is 1. The result is the same.
	Progress func(trials, goal int) // nil, or called now and then from the calling goroutine
}

// A Simulation is the result of a Model by the propagation of distributions
// (JCGM 101:2008, section 7, from memory).
type Simulation struct {
	Trials       int
	Mean, StdDev float64
	Level        float64
	Symmetric    [2]float64 // probabilistically symmetric coverage interval
	Shortest     [2]float64 // shortest coverage interval

	// Tolerance is half a unit in the last of the digits asked for; Noise is twice
	// the standard deviation of the mean, u and the ends of the symmetric
	// interval over the blocks, whichever is largest (7.9.4). NaN for one block.
	Tolerance, Noise float64
	Warnings         []string
}

// MaxTrials is the most trials of one simulation.
const MaxTrials = 200_000_000

const (
	blockTrials = 10_000
	firstBlocks = 20 // fewer say too little of the spread over the blocks
	waveBlocks  = 64 // between two calls of Progress
)

// run is a simulation under way.
type run struct {
	c      *compiled
	o      MonteCarloOptions
	size   int // trials in a block
	values []float64
	blocks []blockResult
	team   []*sampler
}

type blockResult struct {
	mean, sd, low, high float64
	squares             float64 // sum of the squares about the mean
	lost                int     // trials that gave no number
}

// MonteCarlo draws the inputs, puts them through the model and returns the
// distribution of the measurand. Trials that give no finite number are an
// error, as is a context that ends.
func (m *Model) MonteCarlo(ctx context.Context, o MonteCarloOptions) (*Simulation, error) {
	c, err := m.compile()
	if err != nil {
		return nil, err
	}
	if _, err := c.p.at(c.x); err != nil {
		return nil, err
	}
	if err := o.settle(); err != nil {
		return nil, err
	}
	r := &run{c: c, o: o, size: max(blockTrials, int(math.Ceil(100/(1-o.Level)-1e-6)))}
	for range max(o.Workers, 1) {
		s, err := c.sampler()
		if err != nil {
			return nil, err
		}
		r.team = append(r.team, s)
	}
	if err := r.all(ctx); err != nil {
		return nil, err
	}
	return r.result(), nil
}

// settle fills in what zero means.
func (o *MonteCarloOptions) settle() error {
	if o.Level == 0 {
		o.Level = Level
	}
	if o.Most == 0 {
		o.Most = 10_000_000
	}
	if o.Digits == 0 {
		o.Digits = 2
	}
	if !(o.Level >= 0.01 && o.Level <= 0.9999) {
		return fmt.Errorf("coverage probability %v is not between 0.01 and 0.9999", o.Level)
	}
	if o.Trials < 0 || o.Trials > MaxTrials || o.Most < 0 || o.Most > MaxTrials {
		return fmt.Errorf("the number of trials must be from 0 to %d", MaxTrials)
	}
	if o.Digits < 1 || o.Digits > 2 {
		return fmt.Errorf("%d significant digits of an uncertainty: 1 or 2 make sense", o.Digits)
	}
	return nil
}

// all makes blocks until the goal is reached.
func (r *run) all(ctx context.Context) error {
	most := max(r.o.Most/r.size, 1)
	goal := min(firstBlocks, most)
	if r.o.Trials > 0 {
		goal = (r.o.Trials + r.size - 1) / r.size
		most = goal
	}
	for {
		r.values = slices.Grow(r.values, goal*r.size-len(r.values))
		for len(r.blocks) < goal {
			if err := r.wave(ctx, min(waveBlocks, goal-len(r.blocks))); err != nil {
				return err
			}
			if r.o.Progress != nil {
				r.o.Progress(len(r.blocks)*r.size, goal*r.size)
			}
		}
		if goal >= most {
			return nil
		}
		tolerance, noise := r.stability()
		need := noise / (tolerance / 5) // JCGM 101:2008, 8.2 (from memory): a fifth, so that a comparison can tell
		if !(need > 1) {
			return nil
		}
		more := math.Min(float64(goal)*math.Min(need*need*1.05, 4)+1, float64(most))
		goal = int(more)
	}
}

// wave makes n more blocks.
func (r *run) wave(ctx context.Context, n int) error {
	first := len(r.blocks)
	r.blocks = append(r.blocks, make([]blockResult, n)...)
	r.values = append(r.values, make([]float64, n*r.size)...)
	var next atomic.Int64
	var wait sync.WaitGroup
	for _, s := range r.team {
		wait.Go(func() {
			for ctx.Err() == nil {
				k := first + int(next.Add(1)) - 1
				if k >= len(r.blocks) {
					return
				}
				s.seed(r.o.Seed, k)
				r.blocks[k] = s.block(r.values[k*r.size:(k+1)*r.size], r.o.Level)
			}
		})
	}
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("simulating %s: %w", r.c.m.Measurand, err)
	}
	lost := 0
	for _, b := range r.blocks[first:] {
		lost += b.lost
	}
	if lost > 0 {
		return fmt.Errorf("%d of %d trials give no number: an input reaches values (0 in a divisor, below 0 in a root or logarithm) that the equation cannot take", lost, n*r.size)
	}
	return nil
}

// block makes the trials of one block and sums them up.
func (s *sampler) block(values []float64, level float64) blockResult {
	s.fill(values)
	var b blockResult
	sum := 0.0
	for _, y := range values {
		sum += y
	}
	n := float64(len(values))
	b.mean = sum / n
	if math.IsNaN(sum) || math.IsInf(sum, 0) {
		for _, y := range values {
			if math.IsNaN(y) || math.IsInf(y, 0) {
				b.lost++
			}
		}
		b.lost = max(b.lost, 1)
		return b
	}
	for _, y := range values {
		b.squares += (y - b.mean) * (y - b.mean)
	}
	b.sd = math.Sqrt(b.squares / (n - 1))
	symmetric, _ := intervals(values, level)
	b.low, b.high = symmetric[0], symmetric[1]
	return b
}

// pooled returns the mean and standard deviation of all trials.
func (r *run) pooled() (mean, sd float64) {
	for _, b := range r.blocks {
		mean += (b.mean - r.blocks[0].mean) / float64(len(r.blocks))
	}
	mean += r.blocks[0].mean
	squares := 0.0
	for _, b := range r.blocks {
		squares += b.squares + float64(r.size)*(b.mean-mean)*(b.mean-mean)
	}
	return mean, math.Sqrt(squares / float64(len(r.blocks)*r.size-1))
}

// stability returns the numerical tolerance and the noise (JCGM 101:2008, 7.9.2
// and 7.9.4 e to h, from memory).
func (r *run) stability() (tolerance, noise float64) {
	_, u := r.pooled()
	tolerance = halfDigit(u, r.o.Digits)
	if len(r.blocks) < 2 {
		return tolerance, math.NaN()
	}
	each := make([]float64, len(r.blocks))
	for _, part := range []func(b *blockResult) float64{
		func(b *blockResult) float64 { return b.mean },
		func(b *blockResult) float64 { return b.sd },
		func(b *blockResult) float64 { return b.low },
		func(b *blockResult) float64 { return b.high },
	} {
		for i := range r.blocks {
			each[i] = part(&r.blocks[i])
		}
		_, sd := MeanSD(each)
		noise = math.Max(noise, 2*sd/math.Sqrt(float64(len(each))))
	}
	return tolerance, noise
}

// halfDigit returns half a unit in the last of the significant digits of u:
// 0.0005 for u = 0.0123 with 2. It is 0 for u = 0.
func halfDigit(u float64, digits int) float64 {
	if !(u > 0) || math.IsInf(u, 1) {
		return 0
	}
	return 0.5 * math.Pow(10, float64(exponent(u, digits-1)-digits+1))
}

func (r *run) result() *Simulation {
	s := &Simulation{Trials: len(r.values), Level: r.o.Level}
	s.Mean, s.StdDev = r.pooled()
	s.Tolerance, s.Noise = r.stability()
	s.Symmetric, s.Shortest = intervals(r.values, r.o.Level)
	if s.Noise > s.Tolerance {
		_, noise := Round(0, s.Noise)
		s.Warnings = append(s.Warnings, fmt.Sprintf("after %d trials the results still move by %s; more trials, or fewer digits", s.Trials, noise))
	}
	for i, e := range r.c.in {
		name := r.c.m.Inputs[i].Name
		switch {
		case r.c.joint[i] && e.stated.shape() != Normal:
			s.Warnings = append(s.Warnings, fmt.Sprintf("%s is correlated and therefore drawn from a normal distribution, not from its %s one", name, e.stated.shape()))
		case e.stated.shape() == StudentT && e.stated.Param <= 2:
			s.Warnings = append(s.Warnings, fmt.Sprintf("with %g degrees of freedom %s has no standard deviation (JCGM 101, 6.4.9.4): read the interval, not u", e.stated.Param, name))
		}
	}
	return s
}

// A Comparison sets the interval by propagation beside the one by simulation
// (JCGM 101:2008, 8.1, from memory).
type Comparison struct {
	Low, High float64 // distances of the ends
	Tolerance float64 // half a unit in the last digit of u
	// Agrees: both distances are within the tolerance, so that the propagation
	// is validated for this model. Undecided: the simulation's own noise could
	// turn the verdict.
	Agrees, Undecided bool
}

// Compare compares X ± Expanded with the probabilistically symmetric interval.
// Both must be for the same Level.
func (b *Budget) Compare(s *Simulation) Comparison {
	c := Comparison{
		Low: math.Abs(b.X - b.Expanded - s.Symmetric[0]), High: math.Abs(b.X + b.Expanded - s.Symmetric[1]),
		Tolerance: s.Tolerance,
	}
	worst := math.Max(c.Low, c.High)
	c.Agrees = worst <= c.Tolerance
	c.Undecided = math.IsNaN(s.Noise) || math.Abs(worst-c.Tolerance) < s.Noise
	return c
}
