package opponent

import (
	"math"
	"math/rand/v2"
	"slices"
)

// An Input is one input quantity of MonteCarlo.
type Input struct {
	Value       float64
	StdUnc      float64
	Rectangular bool // otherwise normal
}

// MonteCarlo draws the five inputs trials times, puts them through the model,
// and returns the mean, the standard deviation and the quantiles at the given
// probabilities, 0 to 1, of what comes out: JCGM 101:2008, section 7, as one
// writes it first. It keeps and sorts all values, in one thread.
//
// A quantile is the value of rank p trials, rounded up, as in an empirical
// distribution function; trials must be at least 2.
func MonteCarlo(seed uint64, trials int, inputs [5]Input, model func(x *[5]float64) float64, probabilities []float64) (mean, stdDev float64, quantiles []float64) {
	random := rand.New(rand.NewPCG(seed, 0))
	values := make([]float64, trials)
	var x [5]float64
	sum := 0.0
	for i := range values {
		for j, in := range inputs {
			if in.Rectangular {
				x[j] = in.Value + in.StdUnc*math.Sqrt(3)*(2*random.Float64()-1)
			} else {
				x[j] = in.Value + in.StdUnc*random.NormFloat64()
			}
		}
		values[i] = model(&x)
		sum += values[i]
	}
	mean = sum / float64(trials)
	squares := 0.0
	for _, y := range values {
		squares += (y - mean) * (y - mean)
	}
	slices.Sort(values)
	quantiles = make([]float64, len(probabilities))
	for i, p := range probabilities {
		rank := int(math.Ceil(p * float64(trials)))
		quantiles[i] = values[min(max(rank, 1), trials)-1]
	}
	return mean, math.Sqrt(squares / float64(trials-1)), quantiles
}
