package main

import "math"

// A span is what a number given to a flag can be: what lies outside is a slip
// of a digit, a unit or a sign.
type span struct {
	low, high float64
	words     string // "from 1 to 200"
}

// The spans of flags, in base units.
var (
	accuracySpan   = span{1e-5, 0.2 * (1 - 1e-9), "from 0.001 % and below 20 % is meant, such as 0.1 %"}
	guessSpan      = span{1e-4, 1, "from 0.01 to 100 % is meant, such as 20 %"}
	knownSpan      = span{0.01, 30, "a percentage from 0.01 to 30 is meant; where less is known, titrate one portion roughly first"}
	readingsSpan   = span{1, 200, "a number from 1 to 200 is meant"}
	electronsSpan  = span{1, 20, "numbers of electrons from 1 to 20 are meant, such as 1,5"}
	stepSpan       = span{1e-6, 5e-3, "a step of a burette is meant, from 0.001 to 5 mL"}
	untilVolume    = span{1e-8, 5e-3, "from 0.00001 to 5 mL is meant"}
	untilPotential = span{1e-6, 0.5, "from 0.001 to 500 mV is meant"}
	spareSpan      = span{0, 4, "a percentage from 0 to 400 is meant, such as 25 %"}
	partMass       = span{1e-6, 1e4, "a mass from 0.001 mg to 10 kg is meant"}
	wareVolume     = span{1e-7, 10, "a volume from 0.0001 mL to 10 L is meant"}
)

// check says how a number that was written as text lies outside.
func (s span) check(flag, text string, x float64) error {
	if math.IsNaN(x) || x < s.low*(1-1e-12) || x > s.high*(1+1e-12) {
		return misused("%s %q: %s", flag, text, s.words)
	}
	return nil
}
