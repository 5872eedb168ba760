// Package plan answers what is asked before a titration: whether the jump carries
// the accuracy wanted, with which titrant, medium, aliquot and indicator, and what
// to keep. It evaluates no readings: see assay.
package plan

import (
	"math"

	"meniscus/electrode"
	"meniscus/unit"
)

// Separation returns by how much the potential of the titrant's couple must
// exceed that of the titrand's so that a part of 10^-p of the titrand at most
// is left at the equivalence point, for couples of n1 and n2 electrons with
// one species in either form: p (RT ln10/F) (1/n1 + 1/n2).
//
// At equivalence log K = n1 n2 dE/S is shared between both couples' ratios,
// each 10^p; common practice.
func Separation(n1, n2 int, p float64, t unit.Temperature) unit.Potential {
	s := float64(electrode.NernstSlope(1, t))
	return unit.Potential(p * s * (1/float64(n1) + 1/float64(n2)))
}

// Decades returns p for a completeness such as 0.999: minus log10 of what is
// left. It must be above 0 and below 1.
func Decades(complete float64) float64 { return -math.Log10(1 - complete) }
