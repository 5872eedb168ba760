package lab

import "meniscus/curve"

// Model returns the response of r at volume v for the parameters V_eq (L), the
// two formal potentials (V) and the Nernst slope (V per decade for one
// electron), in this order; see Parameters for their values.
func (r Redox) Model(v float64, p []float64) float64 {
	q := r
	q.Temperature = 0
	scale := nernst(0) / p[3]
	q.Titrand.E, q.Titrant.E = p[1]*scale, p[2]*scale
	return q.WithEquivalence(p[0]).At(v) / scale
}

// Parameters returns those of Model as read with an electrode of the given
// offset and relative slope error.
func (r Redox) Parameters(b Bench) []float64 {
	k := 1 + b.SlopeError
	return []float64{r.Equivalence(), k*r.Titrand.E + b.Offset, k*r.Titrant.E + b.Offset, k * nernst(r.Temperature)}
}

// Model returns the response of a at volume v for the parameters V_eq (L) of
// the first proton of a weak acid alone, offset (pH) and slope (a fraction).
func (a Acid) Model(v float64, p []float64) float64 {
	a.Conc = p[0] * a.TitrantConc / a.V0
	return Bench{Offset: p[1], SlopeError: p[2] - 1}.Ideal(a, v)
}

// Model returns the response of s at volume v for the parameters V_eq (L) of
// each halide in turn, offset (V) and slope (a fraction).
func (s Silver) Model(v float64, p []float64) float64 {
	n := len(s.Halides)
	halides := make([]Halide, n)
	for i, c := range amounts(p[:n], s.TitrantConc/s.V0) {
		halides[i] = Halide{c, s.Halides[i].PKsp}
	}
	s.Halides = halides
	return Bench{Offset: p[n], SlopeError: p[n+1] - 1}.Ideal(s, v)
}

// Model returns the response of c at volume v for the parameters V_eq (L) of
// each metal in turn, offset (V) and slope (a fraction).
func (c Chelate) Model(v float64, p []float64) float64 {
	n := len(c.Metals)
	metals := make([]Metal, n)
	for i, x := range amounts(p[:n], c.TitrantConc/c.V0) {
		metals[i] = Metal{x, c.Metals[i].LogK}
	}
	c.Metals = metals
	return Bench{Offset: p[n], SlopeError: p[n+1] - 1}.Ideal(c, v)
}

// amounts turns the volumes of successive equivalence points into what was
// used up between them, times k.
func amounts(volumes []float64, k float64) []float64 {
	out, before := make([]float64, len(volumes)), 0.0
	for i, v := range volumes {
		out[i], before = (v-before)*k, v
	}
	return out
}

// A Response is a sample that is given as its curve.
type Response struct {
	Of   func(v float64) float64
	What curve.Kind
}

// At returns the reading after v litres.
func (r Response) At(v float64) float64 { return r.Of(v) }

// Kind says what At returns.
func (r Response) Kind() curve.Kind { return r.What }
