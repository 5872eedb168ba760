package titration

import (
	"fmt"
	"math"

	"meniscus/equilibrium"
	"meniscus/num/dd"
	"meniscus/unit"
)

// A ParameterKind says which quantity of a titration a Parameter is.
type ParameterKind int

// The kinds of parameter, with the unit of their value.
const (
	FlaskConcentration   ParameterKind = iota // mol/L of species Index in the flask
	BuretteConcentration                      // mol/L of species Index in the burette
	CouplePotential                           // V, of couple Index
	LnConstant                                // ln K of reaction Index
	Offset                                    // V, added to the reading; for a bare pH or pIon, in its units
	SlopeFraction                             // fraction of the theoretical slope
	Blank                                     // L of titrant used up by the reagents
	Lag                                       // part of a step that a reading still misses; of how readings are taken, so the model leaves it to the fit
	Drift                                     // of the reading over the run; left to the fit too
)

// A Parameter is a quantity that a fit may change.
type Parameter struct {
	Kind  ParameterKind
	Index int
	Name  string // for people: "c(Fe^2+)", "E0'(Fe^3+/Fe^2+)"
	Unit  string
	Scale float64 // the value is shown times this; 0 is 1
	Free  bool    // a concentration that may come out at or below 0, as an impurity that is none does
}

// A Reading kind that a model can be compared with.
type Output int

// Outputs.
const (
	Potential Output = iota // V against the reference
	PH                      // -log10 a(H+)
	PIon                    // -log10 a of the sensed ion
)

// A Model is a titration with some of its quantities as parameters. It owns
// a copy of the problem; it is not safe for concurrent use.
type Model struct {
	*Predictor
	Params []Parameter
	Output Output

	values   []float64
	start    []float64
	lnK      []float64 // shift of ln K by reaction now
	blank    float64
	eqParams []equilibrium.Parameter
	eqOf     []int // index into eqParams of each parameter, -1 if it is none
	sens     []float64
	places   []equilibrium.Memory // where EvalAgain came by
	near     []equilibrium.Memory // of another model, for places where it did not
}

// NewModel makes a model of t in the given parameters, which start at the
// values that t has.
func (t *Titration) NewModel(params []Parameter, out Output) (*Model, error) {
	own := *t
	own.Problem = t.Problem.Clone()
	own.Couples = append([]Couple(nil), t.Couples...)
	m := &Model{Predictor: own.Predictor(), Params: params, Output: out}
	m.lnK = make([]float64, len(t.Problem.System().Reactions))
	m.values, m.start = make([]float64, len(params)), make([]float64, len(params))
	m.eqOf = make([]int, len(params))
	for k, p := range params {
		v, eq, err := m.startValue(p)
		if err != nil {
			return nil, err
		}
		m.values[k], m.start[k], m.eqOf[k] = v, v, -1
		if eq != nil {
			m.eqOf[k] = len(m.eqParams)
			m.eqParams = append(m.eqParams, *eq)
		}
	}
	m.sens = make([]float64, len(m.eqParams))
	if out != Potential {
		m.Cell.Known = true
	}
	return m, nil
}

func (m *Model) startValue(p Parameter) (float64, *equilibrium.Parameter, error) {
	switch p.Kind {
	case FlaskConcentration:
		return m.Problem.Flask(p.Index).Float() / float64(m.V0), &equilibrium.Parameter{Kind: equilibrium.FlaskAmount, Index: p.Index}, nil
	case BuretteConcentration:
		return m.Problem.Burette(p.Index).Float(), &equilibrium.Parameter{Kind: equilibrium.BuretteAmount, Index: p.Index}, nil
	case CouplePotential:
		c := m.Couples[p.Index]
		return c.Potential, &equilibrium.Parameter{Kind: equilibrium.LnK, Index: c.Reaction}, nil
	case LnConstant:
		return m.Problem.System().Reactions[p.Index].LnK, &equilibrium.Parameter{Kind: equilibrium.LnK, Index: p.Index}, nil
	case Offset:
		return m.Cell.Offset, nil, nil
	case SlopeFraction:
		return m.Cell.slope(), nil, nil
	case Blank, Lag, Drift:
		return 0, nil, nil
	}
	return 0, nil, fmt.Errorf("titration: parameter kind %d is not known", p.Kind)
}

// Start returns the values that the titration gave the parameters.
func (m *Model) Start() []float64 { return append([]float64(nil), m.start...) }

// Set gives the parameters new values. Concentrations must be above 0.
func (m *Model) Set(values []float64) error {
	for k, p := range m.Params {
		x := values[k]
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("titration: %s became %g", p.Name, x)
		}
		if err := m.setOne(p, x, m.values[k]); err != nil {
			return err
		}
		m.values[k] = x
	}
	return m.Solver.Refresh()
}

func (m *Model) setOne(p Parameter, x, was float64) error {
	switch p.Kind {
	case FlaskConcentration, BuretteConcentration:
		if x <= 0 && !p.Free {
			return &NegativeError{p.Name, x}
		}
		d, _ := unit.DecimalOf(x)
		if p.Kind == FlaskConcentration {
			d = d.Mul(m.Problem.Volume())
			m.Problem.SetFlask(p.Index, d)
		} else {
			m.Problem.SetBurette(p.Index, d)
		}
	case CouplePotential:
		c := &m.Couples[p.Index]
		m.Problem.ShiftLnK(c.Reaction, (x-was)*c.Electrons/m.Thermal())
		c.Potential = x
	case LnConstant:
		m.Problem.ShiftLnK(p.Index, x-was)
	case Offset:
		m.Cell.Offset = x
	case SlopeFraction:
		m.Cell.Slope = x
	case Blank:
		m.blank = x
	}
	return nil
}

// A NegativeError reports a concentration that a fit drove to zero or below.
type NegativeError struct {
	Name  string
	Value float64
}

func (e *NegativeError) Error() string {
	return fmt.Sprintf("%s came to %.4g mol/L; it must stay above 0", e.Name, e.Value)
}

// gain returns the reading per ln a of the sensed species.
func (m *Model) gain() (species int, gain, zero float64) {
	c := &m.Cell
	switch m.Output {
	case PH:
		return m.proton, -c.slope() / math.Ln10, c.Offset
	case PIon:
		return c.Species, -c.slope() / math.Ln10, c.Offset
	}
	return c.Species, c.slope() * m.Response(), c.Standard - c.Reference + c.Offset
}

// Eval returns the reading at volume v (L), its slope (per L) and, if grad is
// not nil, its derivatives with respect to the parameters. It reports false
// where the composition leaves the reading undefined.
func (m *Model) Eval(v float64, grad []float64) (y, slope float64, ok bool, err error) {
	y, slope, _, ok, err = m.EvalCurved(v, grad)
	return y, slope, ok, err
}

// EvalDecimal is Eval at an exact volume from which the blank has been taken.
func (m *Model) EvalDecimal(d unit.Decimal, grad []float64) (y, slope float64, ok bool, err error) {
	y, slope, _, ok, err = m.eval(d, grad)
	return y, slope, ok, err
}

// EvalAgain is EvalCurved for one of many places that are evaluated again and
// again while the parameters move a little: it starts from what was found there
// last. Places are numbered from 0.
func (m *Model) EvalAgain(place int, v float64, grad []float64) (y, slope, bend float64, ok bool, err error) {
	for place >= len(m.places) {
		m.places = append(m.places, equilibrium.Memory{})
	}
	if p := &m.places[place]; p.Holds() || place >= len(m.near) {
		m.Solver.Recall(p)
	} else {
		m.Solver.Recall(&m.near[place])
	}
	y, slope, bend, ok, err = m.EvalCurved(v, grad)
	if err == nil && ok {
		m.Solver.Remember(&m.places[place])
	}
	return y, slope, bend, ok, err
}

// Near makes EvalAgain start, at places where it has not been, from what another
// model of the same titration found there. Only EvalAgain changes that, so that
// several models may go by one.
func (m *Model) Near(other *Model) { m.near = other.places }

// Forget drops what EvalAgain found.
func (m *Model) Forget() { m.places, m.near = nil, nil }

// EvalCurved is Eval with the second derivative of the reading too (per L²).
func (m *Model) EvalCurved(v float64, grad []float64) (y, slope, bend float64, ok bool, err error) {
	if !(v >= m.blank) || math.IsInf(v, 0) {
		return 0, 0, 0, false, nil
	}
	return m.eval(unit.Decimal{Coef: dd.From(v - m.blank)}, grad)
}

func (m *Model) eval(d unit.Decimal, grad []float64) (y, slope, bend float64, ok bool, err error) {
	if err := m.Solver.At(d); err != nil {
		return 0, 0, 0, false, err
	}
	species, gain, zero := m.gain()
	if species < 0 {
		return 0, 0, 0, false, nil
	}
	ln, ok := m.Solver.LnActivity(species)
	if !ok {
		return 0, 0, 0, false, nil
	}
	first, second, _ := m.Solver.LnActivitySlope(species)
	y, slope, bend = zero+gain*ln, gain*first, gain*second
	if grad != nil {
		m.gradient(species, gain, ln, slope, grad)
	}
	return y, slope, bend, true, nil
}

func (m *Model) gradient(species int, gain, ln, slope float64, grad []float64) {
	if len(m.eqParams) > 0 {
		m.Solver.Sensitivities(species, m.eqParams, m.sens)
	}
	for k, p := range m.Params {
		switch p.Kind {
		case FlaskConcentration:
			grad[k] = gain * m.sens[m.eqOf[k]] * float64(m.V0)
		case BuretteConcentration, LnConstant:
			grad[k] = gain * m.sens[m.eqOf[k]]
		case CouplePotential:
			grad[k] = gain * m.sens[m.eqOf[k]] * m.Couples[p.Index].Electrons / m.Thermal()
		case Offset:
			grad[k] = 1
		case SlopeFraction:
			grad[k] = gain / m.Cell.slope() * ln
		case Blank:
			grad[k] = -slope
		default:
			grad[k] = 0
		}
	}
}

// Equivalence is an equivalence point with its gradient.
type Equivalence struct {
	Volume   float64 // L, blank included
	Species  string  // used up there
	Index    int     // of that species
	Next     string
	Gradient []float64 // dV/d parameter
}

// stoichiometric is the problem without impurities that came out below 0:
// the curve can be that of less than nothing, a composition cannot.
func (m *Model) stoichiometric() *equilibrium.Problem {
	p := m.Problem
	for k, q := range m.Params {
		if !q.Free || m.values[k] >= 0 {
			continue
		}
		if p == m.Problem {
			p = p.Clone()
		}
		if q.Kind == FlaskConcentration {
			p.SetFlask(q.Index, unit.Decimal{})
		} else {
			p.SetBurette(q.Index, unit.Decimal{})
		}
	}
	return p
}

// Shown returns a value of the parameter, and its standard uncertainty, as
// people write them.
func (p Parameter) Shown(value, u float64) (x, ux float64) {
	if p.Scale == 0 {
		return value, u
	}
	return value * p.Scale, u * math.Abs(p.Scale)
}

// Equivalences returns the equivalence points up to vmax (L) at the current
// parameters.
func (m *Model) Equivalences(vmax float64) ([]Equivalence, error) {
	list, err := m.stoichiometric().Equivalences(vmax)
	if err != nil {
		return nil, err
	}
	sys := m.Problem.System()
	out := make([]Equivalence, len(list))
	for i, e := range list {
		q := Equivalence{Volume: e.Volume + m.blank, Index: e.Species, Species: sys.Species[e.Species].Name, Next: sys.Species[e.Next].Name}
		q.Gradient = make([]float64, len(m.Params))
		for k, p := range m.Params {
			switch p.Kind {
			case FlaskConcentration:
				q.Gradient[k] = e.PerFlask[p.Index] * float64(m.V0)
			case BuretteConcentration:
				q.Gradient[k] = e.PerBurette[p.Index]
			case Blank:
				q.Gradient[k] = 1
			}
		}
		out[i] = q
	}
	return out, nil
}
