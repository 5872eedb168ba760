package report

// Typeset writes the formulas in a sentence with raised charges and lowered
// counts, in Unicode.
func Typeset(s string) string { return typeset(s) }

// Formula typesets the name of a species; a name that is none stands as it is.
func Formula(name string) string { return formula(name) }

// Span is where the curve ends by choice, L: twice the last equivalence, within
// the burette if it is given.
func (p *Prediction) Span() float64 { return p.span() }

// Reading is what the curve shows: the potential in mV where it is known, else
// pH or pIon.
func (p *Prediction) Reading(i int) float64 { return p.reading(p.Points[i]) }

// Axis names what the curve shows, with its unit.
func (p *Prediction) Axis() string { return p.axis() }
