package uncertainty

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Probabilities by which ISO 5725-2 (7.3, from memory) calls a value a
// straggler and an outlier.
const (
	StragglerLevel = 0.05
	OutlierLevel   = 0.01
)

// RobustFrom is how many values Replicate wants for a robust mean: of fewer
// the median says as much.
const RobustFrom = 8

// Replicates sums up repeated results of one quantity. Nothing is dropped:
// Without shows what leaving the most distant value out would do.
type Replicates struct {
	Values      []float64
	Mean        float64
	SD          float64 // of a single value
	RelativeSD  float64 // over the size of the mean; NaN where that is 0
	StdUnc      float64 // of the mean, SD over the root of the number
	Freedom     float64
	Coverage    float64 // Student's t for Level
	Median      float64
	Grubbs      OutlierTest
	Dixon       OutlierTest
	Robust      *Robust      // from RobustFrom values on
	Concordance *Concordance // where a limit was asked for
	Suspect     int          // the most distant value; -1 where none is
	Without     *Replicates  // without the suspect; nil for fewer than three
	Notes       []string
}

// Expanded returns half the width of the interval of the mean.
func (r *Replicates) Expanded() float64 { return r.Coverage * r.StdUnc }

// Doubtful returns the value that a test calls a straggler or an outlier, or
// -1: that of Grubbs' test, or if it finds none that of Dixon's.
func (r *Replicates) Doubtful() int {
	for _, t := range []*OutlierTest{&r.Grubbs, &r.Dixon} {
		if t.Verdict() == Straggler || t.Verdict() == Outlier {
			return t.Index
		}
	}
	return -1
}

// An OutlierTest is a statistic beside its critical values, both ends tested.
type OutlierTest struct {
	Rule      string
	Statistic float64
	Index     int     // of the value it is about
	At5, At1  float64 // critical values; NaN where none is known
	Skipped   string  // why the test was not made, or ""
}

// Verdicts of an OutlierTest.
const (
	Fits      = "fits"
	Straggler = "straggler"
	Outlier   = "outlier"
)

// Verdict says what the test calls the value: Fits, Straggler above the
// critical value at 5 %, Outlier above that at 1 %; "" where it was skipped.
func (t *OutlierTest) Verdict() string {
	switch {
	case t.Skipped != "":
		return ""
	case t.Statistic > t.At1:
		return Outlier
	case t.Statistic > t.At5:
		return Straggler
	}
	return Fits
}

// Robust is the result of Algorithm A, with the standard uncertainty of the
// mean that ISO 13528 gives it (1.25 s*/√n, from memory).
type Robust struct{ Mean, SD, StdUnc float64 }

// Concordance is the rule that titres agree within a limit from the lowest to
// the highest.
type Concordance struct {
	Limit, Range float64
	Members      []int // the largest group that agrees, in the order of the values
	Mean         float64
}

// Holds says whether all values agree.
func (c *Concordance) Holds() bool { return agree(c.Range, c.Limit) }

// agree allows for the rounding of decimals: 10.3 - 10.2 is above 0.1.
func agree(width, limit float64) bool { return width <= limit*(1+1e-9) }

// Replicate sums up values. limit is that of the concordance rule, 0 for none.
// It is an error if there are fewer than two values or one is not finite.
func Replicate(xs []float64, limit float64) (*Replicates, error) {
	r, err := summary(xs)
	if err != nil {
		return nil, err
	}
	r.Suspect = -1
	r.Grubbs, r.Dixon = grubbsTest(xs), dixonTest(xs)
	if r.Grubbs.Skipped == "" {
		r.Suspect = r.Grubbs.Index
		if r.Without, err = summary(slices.Delete(slices.Clone(xs), r.Suspect, r.Suspect+1)); err != nil {
			return nil, err
		}
	}
	if len(xs) >= RobustFrom {
		m, s, err := AlgorithmA(xs)
		if err == nil {
			r.Robust = &Robust{m, s, 1.25 * s / math.Sqrt(float64(len(xs)))}
		} else {
			r.Notes = append(r.Notes, err.Error())
		}
	}
	if limit > 0 {
		r.Concordance = concord(xs, limit)
	}
	switch len(xs) {
	case 2:
		r.Notes = append(r.Notes, "two values say little about their scatter, and no test can call one of them doubtful")
	case 3:
		r.Notes = append(r.Notes, "of three values no test can tell an outlier from chance; without a cause that is known, keep all and titrate again")
	}
	return r, nil
}

func summary(xs []float64) (*Replicates, error) {
	if len(xs) < 2 {
		return nil, fmt.Errorf("replicates: %d values, at least 2 are needed", len(xs))
	}
	for i, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil, fmt.Errorf("replicates: value %d is %v", i+1, x)
		}
	}
	n := float64(len(xs))
	r := &Replicates{Values: slices.Clone(xs), Median: Median(xs), Freedom: n - 1, Coverage: Coverage(Level, n-1), Suspect: -1}
	r.Mean, r.SD = MeanSD(xs)
	if slices.Min(xs) == slices.Max(xs) {
		r.SD = 0
	}
	if math.IsInf(r.Mean, 0) || math.IsInf(r.SD, 0) || math.IsNaN(r.SD) {
		return nil, errors.New("replicates: the values are too large to be squared")
	}
	r.StdUnc = r.SD / math.Sqrt(n)
	r.RelativeSD = math.NaN()
	if r.Mean != 0 {
		r.RelativeSD = r.SD / math.Abs(r.Mean)
	}
	return r, nil
}

func grubbsTest(xs []float64) OutlierTest {
	t := OutlierTest{Rule: "Grubbs, ISO 5725-2", Index: -1, At5: math.NaN(), At1: math.NaN()}
	g, i, err := Grubbs(xs)
	if err != nil {
		t.Skipped = err.Error()
		return t
	}
	t.Statistic, t.Index = g, i
	t.At5, t.At1 = GrubbsCritical(len(xs), StragglerLevel), GrubbsCritical(len(xs), OutlierLevel)
	return t
}

func dixonTest(xs []float64) OutlierTest {
	t := OutlierTest{Rule: "Dixon, Q = gap over range", Index: -1, At5: math.NaN(), At1: math.NaN()}
	q, i, err := Dixon(xs)
	if err == nil {
		t.At5, err = DixonCritical(len(xs), StragglerLevel)
	}
	if err == nil {
		t.At1, err = DixonCritical(len(xs), OutlierLevel)
	}
	if err != nil {
		t.Skipped = err.Error()
		return t
	}
	t.Statistic, t.Index = q, i
	return t
}

// concord finds the largest group of values that agree, the closest of equals.
func concord(xs []float64, limit float64) *Concordance {
	order := make([]int, len(xs))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case xs[a] < xs[b]:
			return -1
		case xs[a] > xs[b]:
			return 1
		}
		return 0
	})
	width := func(from, to int) float64 { return xs[order[to]] - xs[order[from]] }
	from, to := 0, 0
	for i := range order {
		for k := i; k < len(order) && agree(width(i, k), limit); k++ {
			if k-i > to-from || k-i == to-from && width(i, k) < width(from, to) {
				from, to = i, k
			}
		}
	}
	c := &Concordance{Limit: limit, Range: width(0, len(xs)-1)}
	for _, i := range order[from : to+1] {
		c.Members = append(c.Members, i)
		c.Mean += xs[i] / float64(to-from+1)
	}
	slices.Sort(c.Members)
	return c
}
