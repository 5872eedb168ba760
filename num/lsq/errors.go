package lsq

import (
	"fmt"
	"strings"
)

// A NotConvergedError reports a fit that found no minimum.
type NotConvergedError struct {
	Residual    float64 // root of the sum of squared residuals at Last
	Offset      float64 // see Settings.Offset; what was reached
	Iterations  int
	Evaluations int
	Last        []float64 // parameters with the least sum so far
	Cause       error     // error of the problem itself, where one stopped the fit
}

func (e *NotConvergedError) Error() string {
	s := fmt.Sprintf("least squares found no minimum in %d evaluations: root of the sum of squares %.6g at %.6g",
		e.Evaluations, e.Residual, e.Last)
	if e.Cause != nil {
		s += ": " + e.Cause.Error()
	}
	return s
}

func (e *NotConvergedError) Unwrap() error { return e.Cause }

// A SingularError reports parameters that the data cannot tell apart, or that
// have no effect on them (Params then holds one index).
type SingularError struct {
	Params []int     // that take part, from 0
	Null   []float64 // direction of length 1 in units of each parameter's effect: moving along it changes nothing
	Move   []float64 // the same direction in the parameters' own units, not normalised
	Ratio  float64   // of the smallest to the largest singular value, columns of length 1
	Last   []float64 // parameters where this was found

	plateau bool // a parameter had an effect at the start and lost it
}

func (e *SingularError) Error() string {
	names := make([]string, len(e.Params))
	for i, j := range e.Params {
		names[i] = fmt.Sprint(j)
	}
	if len(names) == 1 {
		return fmt.Sprintf("the data do not depend on parameter %s at %.6g", names[0], e.Last)
	}
	return fmt.Sprintf("the data cannot tell parameters %s apart (ratio of singular values %.1g)",
		strings.Join(names, ", "), e.Ratio)
}
