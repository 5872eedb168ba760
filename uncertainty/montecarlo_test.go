package uncertainty

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
)

// Each distribution against the closed form of its symmetric 95 % interval and
// its standard deviation; se is the standard error of an end of the interval.
func TestDistributionsAsDrawn(t *testing.T) {
	const trials = 400_000
	se := func(density float64) float64 { return math.Sqrt(0.025*0.975/trials) / density }
	for name, d := range map[string]struct {
		stated         Stated
		end, sd, error float64
	}{
		"normal":      {Stated{Normal, 2, 2}, 1.959964, 1, se(0.05845)},
		"rectangular": {Stated{Rectangular, 2, 0}, 1.9, 2 / math.Sqrt(3), se(0.25)},
		"triangular":  {Stated{Triangular, 1, 0}, 1 - math.Sqrt(0.05), 1 / math.Sqrt(6), se(math.Sqrt(0.05))},
		// beyond the top the density falls along a line: (1-x)²/(1-beta²) outside ±x
		"trapezoidal": {Stated{Trapezoidal, 1, 0.5}, 1 - math.Sqrt(0.05*0.75), math.Sqrt(1.25 / 6), se(math.Sqrt(0.05*0.75) / 0.75)},
		"arcsine":     {Stated{Arcsine, 1, 0}, math.Sin(0.475 * math.Pi), math.Sqrt(0.5), se(1 / (math.Pi * math.Cos(0.475*math.Pi)))},
		"t":           {Stated{StudentT, 1, 5}, 2.570582, math.Sqrt(5. / 3), se(0.0303)},
	} {
		m := &Model{Measurand: "y", Equations: "y = x", Inputs: []Input{{Name: "x", X: 10, Stated: d.stated}}}
		s := simulate(t, m, MonteCarloOptions{Trials: trials, Workers: 2, Seed: 3})
		if !(math.Abs(s.StdDev/d.sd-1) <= 0.02) || !(math.Abs(s.Mean-10) <= 5*d.sd/math.Sqrt(trials)) {
			t.Errorf("%s: mean %g, standard deviation %g, want 10 and %g", name, s.Mean, s.StdDev, d.sd)
		}
		for i, sign := range []float64{-1, 1} {
			if want := 10 + sign*d.end; !(math.Abs(s.Symmetric[i]-want) <= 5*d.error) {
				t.Errorf("%s: end %g, want %g ± %g", name, s.Symmetric[i], want, 5*d.error)
			}
		}
	}
}

// Readings are drawn from t with n-1 degrees of freedom, scaled by s/sqrt(n)
// (JCGM 101:2008, 6.4.9), and so is a normal input with stated ones.
func TestReadingsAreDrawnFromT(t *testing.T) {
	readings := []float64{9, 10, 11, 10, 10} // s = sqrt(1/2), u = sqrt(1/10)
	for _, in := range []Input{{Name: "x", Readings: readings}, {Name: "x", X: 10, Stated: Stated{Width: math.Sqrt(0.1)}, DoF: 4}} {
		m := &Model{Measurand: "y", Equations: "y = x", Inputs: []Input{in}}
		s, b := simulate(t, m, MonteCarloOptions{Trials: 400_000, Workers: 2}), budgetOf(t, m)
		if want := 10 + 2.776445*math.Sqrt(0.1); !(math.Abs(s.Symmetric[1]-want) <= 0.02) || !(math.Abs(b.X+b.Expanded-want) <= 1e-6) {
			t.Errorf("upper end %g simulated, %g propagated, want %g", s.Symmetric[1], b.X+b.Expanded, want)
		}
	}
}

// -ln of a uniform variable is exponential: the shortest interval begins at 0
// and ends at -ln 0.05; the symmetric one leaves out 2.5 % on either side.
func TestShortestIntervalOfASkewedResult(t *testing.T) {
	m := &Model{Measurand: "y", Equations: "y = -ln(x)", Inputs: []Input{{Name: "x", X: 0.5, Stated: Stated{Rectangular, 0.5, 0}}}}
	s := simulate(t, m, MonteCarloOptions{Trials: 1_000_000, Workers: 2})
	for i, want := range []float64{0, -math.Log(0.05)} {
		if !(math.Abs(s.Shortest[i]-want) <= 0.02) {
			t.Errorf("shortest: %g, want %g", s.Shortest[i], want)
		}
	}
	for i, want := range []float64{-math.Log(0.975), -math.Log(0.025)} {
		if !(math.Abs(s.Symmetric[i]-want) <= 0.03) {
			t.Errorf("symmetric: %g, want %g", s.Symmetric[i], want)
		}
	}
	if !(math.Abs(s.Mean-1) <= 0.005) || !(math.Abs(s.StdDev-1) <= 0.01) {
		t.Errorf("mean %g, standard deviation %g, want 1 and 1", s.Mean, s.StdDev)
	}
	c := budgetOf(t, m).Compare(s)
	if c.Agrees || c.Undecided {
		t.Errorf("%+v", c)
	}
}

// A sum and a difference of correlated inputs: u² = u1² + u2² ± 2 r u1 u2; and
// fully correlated inputs, whose matrix is singular, cancel.
func TestCorrelatedDraws(t *testing.T) {
	for equation, sign := range map[string]float64{"y = a + b + 0*c": 1, "y = a - b + 0*c": -1} {
		for _, r := range []float64{0.6, -0.9, 1} {
			m := &Model{
				Measurand: "y", Equations: equation,
				Inputs:       []Input{{Name: "a", Stated: Stated{Width: 1}}, {Name: "c", X: 1}, {Name: "b", X: 5, Stated: Stated{Width: 2}}},
				Correlations: []Correlation{{A: "b", B: "a", R: r}},
			}
			s, b := simulate(t, m, MonteCarloOptions{Trials: 200_000, Workers: 2}), budgetOf(t, m)
			want := math.Sqrt(5 + sign*4*r)
			if !(math.Abs(b.U-want) <= 1e-12) || !(math.Abs(s.StdDev-want) <= 0.01*want+1e-12) {
				t.Errorf("%s, r %g: u %g propagated, %g simulated, want %g", equation, r, b.U, s.StdDev, want)
			}
		}
	}
}

// With three normal inputs correlated as in GUM H.2 the simulation gives the
// u of propagation.
func TestThreeCorrelatedDraws(t *testing.T) {
	m := read(t, strings.Replace(impedance, "%", "X", 1)[1:]+`
  V: {value: 4.999, u: 0.0032}
  I: {value: 19.661, u: 0.0095}
  phi: {value: 1.04446, u: 0.00075}
correlations: {"V, I": -0.36, "V, phi": 0.86, "I, phi": -0.65}
`)
	s, b := simulate(t, m, MonteCarloOptions{Workers: 2}), budgetOf(t, m)
	if !(math.Abs(s.StdDev/b.U-1) <= 0.005) || !b.Compare(s).Agrees {
		t.Errorf("u %g simulated, %g propagated", s.StdDev, b.U)
	}
}

func TestSimulationIsTheSameForAnyNumberOfWorkers(t *testing.T) {
	m := read(t, four("{value: 3, u: 1, dof: 7}"))
	var all []*Simulation
	for _, o := range []MonteCarloOptions{{Seed: 8}, {Seed: 8, Workers: 2}, {Seed: 8, Workers: 7}, {Seed: 9, Workers: 2}} {
		o.Most = 300_000
		all = append(all, simulate(t, m, o))
	}
	if !reflect.DeepEqual(all[0], all[1]) || !reflect.DeepEqual(all[0], all[2]) {
		t.Errorf("%+v\n%+v\n%+v", all[0], all[1], all[2])
	}
	if all[0].Mean == all[3].Mean {
		t.Error("another seed gives the same mean")
	}
}

// Streams of neighbouring blocks and seeds have nothing in common: the means
// of blocks are as far apart as their standard error says.
func TestBlocksAreIndependent(t *testing.T) {
	c, err := read(t, four("0 ± 0.5")).compile()
	if err != nil {
		t.Fatal(err)
	}
	s, err := c.sampler()
	if err != nil {
		t.Fatal(err)
	}
	const blocks = 200
	var means []float64
	values := make([]float64, 1000)
	for k := range blocks {
		s.seed(uint64(k%2), k/2)
		means = append(means, s.block(values, Level).mean*math.Sqrt(1000))
	}
	mean, sd := MeanSD(means)
	if !(math.Abs(mean) <= 4/math.Sqrt(blocks)) || !(math.Abs(sd-1) <= 4/math.Sqrt(2*blocks)) {
		t.Errorf("means of the blocks: %g ± %g standard errors, want 0 ± 1", mean, sd)
	}
}

// The adaptive procedure stops when its noise is a fifth of the tolerance, or
// at the most trials allowed, and then says so where digits are in doubt.
func TestSimulationStopsByItsNoise(t *testing.T) {
	m := read(t, four("0 ± 0.6")) // u = 1.2: tolerance 0.05 and 0.5
	two, one := simulate(t, m, MonteCarloOptions{Workers: 2}), simulate(t, m, MonteCarloOptions{Workers: 2, Digits: 1})
	if two.Tolerance != 0.05 || !(two.Noise <= 0.01) || one.Tolerance != 0.5 || one.Trials != firstBlocks*blockTrials || len(two.Warnings) > 0 {
		t.Errorf("%+v\n%+v", two, one)
	}
	wide := read(t, four("0 ± 0.49")) // u = 0.98: tolerance 0.005
	s := simulate(t, wide, MonteCarloOptions{Workers: 2, Most: 200_000})
	if s.Trials != 200_000 || !(s.Noise > s.Tolerance) || len(s.Warnings) != 1 {
		t.Errorf("%+v", s)
	}
	if more := simulate(t, wide, MonteCarloOptions{Workers: 2, Most: 3_000_000}); !(more.Trials > 1_000_000) || !(more.Noise < s.Noise/2) {
		t.Errorf("%+v", more)
	}
}

// Blocks 1, 2, 3 and 11, 12, 13: mean 7, squares 4 + 6·25 over 5; the means of the
// blocks, 2 and 12, have standard deviation 5 sqrt 2, and twice that over sqrt 2
// blocks is 10.
func TestBlocksArePooled(t *testing.T) {
	r := &run{size: 3, o: MonteCarloOptions{Digits: 1}, blocks: []blockResult{{mean: 2, sd: 1, squares: 2}, {mean: 12, sd: 1, squares: 2}}}
	mean, sd := r.pooled()
	tolerance, noise := r.stability()
	if mean != 7 || !(math.Abs(sd-math.Sqrt(154./5)) <= 1e-12) || tolerance != 0.5 || !(math.Abs(noise-10) <= 1e-12) {
		t.Errorf("mean %g, standard deviation %g, tolerance %g, noise %g", mean, sd, tolerance, noise)
	}
	r.blocks = r.blocks[:1]
	if _, noise := r.stability(); !math.IsNaN(noise) {
		t.Errorf("noise of one block: %g", noise)
	}
}

// The ends -2.02 and 1.99 against ±2, at tolerance 0.015: 0.02 is outside by more
// than the noise 0.004, and within it of 0.006.
func TestComparisonHeedsTheNoise(t *testing.T) {
	b := &Budget{Expanded: 2}
	s := &Simulation{Symmetric: [2]float64{-2.02, 1.99}, Tolerance: 0.015}
	for _, row := range []struct {
		tolerance, noise  float64
		agrees, undecided bool
	}{{0.015, 0.004, false, false}, {0.015, 0.006, false, true}, {0.025, 0.004, true, false}, {0.025, 0.006, true, true}, {0.025, math.NaN(), true, true}} {
		s.Tolerance, s.Noise = row.tolerance, row.noise
		if c := b.Compare(s); c.Agrees != row.agrees || c.Undecided != row.undecided || !(math.Abs(c.Low-0.02) <= 1e-12) || !(math.Abs(c.High-0.01) <= 1e-12) {
			t.Errorf("tolerance %g, noise %g: %+v", row.tolerance, row.noise, c)
		}
	}
}

func TestSimulationSaysWhatToDoubt(t *testing.T) {
	m := &Model{
		Measurand: "y", Equations: "y = 100*a + 100*b + c + d",
		Inputs: []Input{
			{Name: "a", Stated: Stated{Width: 1}},
			{Name: "b", Stated: Stated{Rectangular, 1, 0}},
			{Name: "c", Readings: []float64{1, 2, 3}},
			{Name: "d", Readings: []float64{1, 2, 3, 4}},
		},
		Correlations: []Correlation{{A: "a", B: "b", R: 0.5}},
	}
	text := strings.Join(simulate(t, m, MonteCarloOptions{Trials: 300_000, Workers: 2, Digits: 1}).Warnings, "\n")
	for word, want := range map[string]bool{"b is correlated": true, "2 degrees of freedom c has no": true, "a is correlated": false, "freedom d has": false} {
		if strings.Contains(text, word) != want {
			t.Errorf("%q: %v in\n%s", word, !want, text)
		}
	}
}

// JCGM 101:2008, 7.9.4 b: blocks of 100/(1-p) trials, but no fewer than 10,000.
func TestBlocksGrowWithTheLevel(t *testing.T) {
	m := sum(1)
	for level, want := range map[float64]int{0.5: 10_000, 0.99: 10_000, 0.999: 100_000} {
		if s := simulate(t, m, MonteCarloOptions{Trials: 1, Level: level}); s.Trials != want || s.Level != level {
			t.Errorf("level %g: %d trials, want %d", level, s.Trials, want)
		}
	}
}

func TestHalfDigitOfUncertainty(t *testing.T) {
	for _, row := range []struct {
		u      float64
		digits int
		want   float64
	}{{0.0123, 2, 0.0005}, {0.0123, 1, 0.005}, {2, 2, 0.05}, {0.0999, 2, 0.005}, {0.0994, 2, 0.0005}, {35000, 2, 500}, {0, 2, 0}} {
		if got := halfDigit(row.u, row.digits); !(math.Abs(got-row.want) <= 1e-12*row.want) {
			t.Errorf("%g with %d digits: %g, want %g", row.u, row.digits, got, row.want)
		}
	}
}

func TestSimulationThatCannotBe(t *testing.T) {
	root := &Model{Measurand: "y", Equations: "y = sqrt(x)", Inputs: []Input{{Name: "x", X: 1, Stated: Stated{Width: 1}}}}
	if _, err := root.MonteCarlo(context.Background(), MonteCarloOptions{Trials: 1}); err == nil || !strings.Contains(err.Error(), "of 10000 trials give no number") {
		t.Errorf("root of negative values: %v", err)
	}
	over := &Model{Measurand: "y", Equations: "y = 10^(300*x) + 1e308", Inputs: []Input{{Name: "x", X: 0.1, Stated: Stated{Width: 0.1}}}}
	if _, err := over.MonteCarlo(context.Background(), MonteCarloOptions{Trials: 1}); err == nil {
		t.Error("a sum that overflows is accepted")
	}
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	stop := func(n, goal int) {
		if calls++; n > goal || goal != 2_000_000 {
			t.Errorf("progress %d of %d", n, goal)
		}
		cancel()
	}
	m := read(t, four("0 ± 1"))
	if _, err := m.MonteCarlo(ctx, MonteCarloOptions{Trials: 2_000_000, Workers: 2, Progress: stop}); !errors.Is(err, context.Canceled) || calls != 1 {
		t.Errorf("cancelled: %v after %d calls", err, calls)
	}
	for _, o := range []MonteCarloOptions{{Level: 1}, {Level: -1}, {Trials: -1}, {Trials: 1 << 40}, {Digits: 3}} {
		if _, err := m.MonteCarlo(context.Background(), o); err == nil {
			t.Errorf("%+v is accepted", o)
		}
	}
}

// Intervals by selection against a full sort, with ties and few values.
func TestIntervalsAgainstASort(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	for round := range 300 {
		n := 2 + random.IntN(3000)
		if round%50 == 0 {
			n += 20000
		}
		values := make([]float64, n)
		for i := range values {
			switch round % 4 {
			case 0:
				values[i] = random.NormFloat64()
			case 1:
				values[i] = float64(random.IntN(7))
			case 2:
				values[i] = float64(i * (1 - round%8/4*2)) // sorted up or down
			default:
				values[i] = math.Exp(3 * random.NormFloat64())
			}
		}
		p := []float64{0.95, 0.5, 0.3, 0.99}[random.IntN(4)]
		sorted := slices.Sorted(slices.Values(values))
		q := min(max(int(math.Round(p*float64(n))), 1), n-1)
		low := (n-q+1)/2 - 1
		want := math.Inf(1)
		for r := 0; r+q < n; r++ {
			want = math.Min(want, sorted[r+q]-sorted[r])
		}
		symmetric, shortest := intervals(values, p)
		if symmetric != [2]float64{sorted[low], sorted[low+q]} || shortest[1]-shortest[0] != want {
			t.Fatalf("round %d, %d values, p %g: %v and %v, want %g to %g and width %g", round, n, p, symmetric, shortest, sorted[low], sorted[low+q], want)
		}
		slices.Sort(values)
		if !slices.Equal(values, sorted) {
			t.Fatalf("round %d: values were lost", round)
		}
	}
}
