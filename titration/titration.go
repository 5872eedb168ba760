// Package titration is the forward model: titrand, titrant and cell in,
// readings out, with exact derivatives. It knows how a composition shows on
// an electrode; the composition itself comes from equilibrium, and constants
// come from whoever builds the titration (see setup).
package titration

import (
	"fmt"
	"math"

	"meniscus/equilibrium"
	"meniscus/unit"
)

// A Sensor says what an indicator electrode responds to.
type Sensor int

// The kinds of sensor.
const (
	Inert Sensor = iota // platinum, gold, carbon: the electron activity
	Glass               // H+
	Ion                 // silver or ion-selective: the activity of one ion
)

// A Cell turns a composition into a reading. Potentials follow
// E = E_indicator - E_reference + E_junction.
type Cell struct {
	Sensor    Sensor
	Species   int     // the species responded to: electron, H+ or the ion
	Charge    int     // of an Ion, signed; anions fall
	Standard  float64 // V against SHE: E0 of an Ion electrode; not used by Inert
	Reference float64 // V against SHE
	Offset    float64 // V, added to the reading; junction included
	Slope     float64 // fraction of the theoretical slope; 0 means 1
	// Known says whether a potential can be given: always for Inert; for
	// Glass and Ion only with an offset, a standard potential or a calibration.
	Known bool
}

// A Titration is a problem with the cell that follows it.
type Titration struct {
	Problem     *equilibrium.Problem
	Cell        Cell
	V0          unit.Volume
	Temperature unit.Temperature
	// Couples are the reactions whose constant was given as a potential.
	Couples []Couple
}

// A Couple is a half-reaction with the number of electrons of its reaction as
// written in the system.
type Couple struct {
	Name      string  // as a chemist writes it: Fe^3+/Fe^2+
	Reaction  int     // in the system
	Electrons float64 // of the reaction as written
	Potential float64 // V against SHE, as used
	Formal    bool
	Protons   float64 // H+ on the side of the electrons, as written
}

// Thermal returns RT/F in volt.
func (t *Titration) Thermal() float64 {
	return unit.GasConstant * float64(t.Temperature) / unit.Faraday
}

// Response returns dE/d ln a of the sensed species, V, at theoretical slope:
// -RT/F for an inert electrode, RT/zF for an ion.
func (t *Titration) Response() float64 {
	switch t.Cell.Sensor {
	case Inert:
		return -t.Thermal()
	case Ion:
		return t.Thermal() / float64(t.Cell.Charge)
	}
	return t.Thermal()
}

func (c *Cell) slope() float64 {
	if c.Slope == 0 {
		return 1
	}
	return c.Slope
}

// A Point is what the model says at one volume. Quantities that the
// composition leaves undetermined are NaN.
type Point struct {
	Volume    unit.Volume
	Potential float64 // V against the reference used; NaN if undefined or not known
	Standard  float64 // V against SHE of the inert electrode or ion; NaN alike
	PH        float64 // -log10 a(H+); NaN if there is no H+ in the model
	PIon      float64 // -log10 a of the ion sensed; NaN for other sensors
	Undefined string  // why the potential is undefined, or ""
	Ionic     float64 // ionic strength of the ions in the balances, mol/L
}

// A Predictor evaluates a titration at one volume after another. It is not
// safe for concurrent use.
type Predictor struct {
	*Titration
	Solver *equilibrium.Solver
	proton int
}

// Predictor returns a new evaluator of t.
func (t *Titration) Predictor() *Predictor {
	return &Predictor{Titration: t, Solver: t.Problem.NewSolver(), proton: t.Problem.System().Index("H^+")}
}

// At solves at volume v and returns the point.
func (p *Predictor) At(v unit.Decimal) (Point, error) {
	if err := p.Solver.At(v); err != nil {
		return Point{}, fmt.Errorf("at %.6g mL: %w", v.Float()*1e3, err)
	}
	pt := Point{
		Volume: unit.Volume(v.Float()), Potential: math.NaN(), Standard: math.NaN(),
		PH: math.NaN(), PIon: math.NaN(), Ionic: p.Solver.IonicStrength(),
	}
	if p.proton >= 0 {
		if ln, ok := p.Solver.LnActivity(p.proton); ok {
			pt.PH = -ln / math.Ln10
		}
	}
	ln, ok := p.Solver.LnActivity(p.Cell.Species)
	if !ok {
		pt.Undefined = p.undefined()
		return pt, nil
	}
	if p.Cell.Sensor == Ion {
		pt.PIon = -ln / math.Ln10
	}
	if p.Cell.Known {
		pt.Standard = p.Cell.Standard + p.Response()*ln
		pt.Potential = p.potential(ln)
	}
	return pt, nil
}

func (p *Predictor) potential(ln float64) float64 {
	c := &p.Cell
	return c.Standard + c.slope()*p.Response()*ln - c.Reference + c.Offset
}

func (p *Predictor) undefined() string {
	if p.Cell.Sensor == Inert {
		return "not poised: only one form of each couple is present"
	}
	return "the ion sensed is not present"
}

// Slope returns dE/dV (V/L) and d2E/dV2 (V/L²) of the reading at the current
// point, at the slope of the cell; NaN where undefined.
func (p *Predictor) Slope() (first, second float64) {
	a, b, ok := p.Solver.LnActivitySlope(p.Cell.Species)
	if !ok {
		return math.NaN(), math.NaN()
	}
	k := p.Cell.slope() * p.Response()
	return k * a, k * b
}

// System returns the equilibrium system of the titration.
func (t *Titration) System() *equilibrium.System { return t.Problem.System() }
