package equilibrium

import (
	"fmt"
	"math"
)

// A Model is a way to estimate activity coefficients.
type Model int

// The models.
const (
	Ideal       Model = iota // every coefficient 1
	Davies                   // log gamma = -A z^2 (sqrt(I)/(1+sqrt(I)) - 0.3 I)
	DebyeHuckel              // log gamma = -A z^2 sqrt(I)/(1 + B a sqrt(I)), a by ion
)

// Activity is a model with its parameters. The zero value is ideal.
//
// Davies, Ion Association (1962), coefficient 0.3; extended Debye-Hückel with
// the ion sizes of Kielland, J. Am. Chem. Soc. 59 (1937) 1675. Both formulas
// from memory. Neutral species have coefficient 1.
type Activity struct {
	Model Model
	A     float64 // (L/mol)^1/2, of the decadic logarithm; 0 stands for the value at 25 °C
	B     float64 // (L/mol)^1/2 per angstrom; 0 stands for the value at 25 °C
	Limit float64 // largest ionic strength allowed, mol/L; 0 stands for 1
}

// Debye-Hückel parameters of water at 25 °C: CRC-type values, from memory.
const (
	debyeHuckelA25 = 0.509
	debyeHuckelB25 = 0.3286
	ionSizeUnknown = 4.5 // angstrom, for ions without an entry: a common default, from memory
)

func (a Activity) withDefaults() Activity {
	if a.A == 0 {
		a.A = debyeHuckelA25
	}
	if a.B == 0 {
		a.B = debyeHuckelB25
	}
	if a.Limit == 0 {
		a.Limit = 1
	}
	return a
}

// lnGamma returns ln gamma of a species and its first two derivatives with
// respect to ionic strength, at ionic strength i (mol/L, at least 0).
func (a Activity) lnGamma(sp *Species, i float64) (g, g1, g2 float64) {
	if a.Model == Ideal || sp.Charge == 0 || sp.Kind != Dissolved {
		return 0, 0, 0
	}
	z2 := float64(sp.Charge * sp.Charge)
	c := -a.A * math.Ln10 * z2
	b, linear := 1.0, 0.3
	if a.Model == DebyeHuckel {
		size := sp.IonSize
		if size == 0 {
			size = ionSizeUnknown
		}
		b, linear = a.B*size, 0
	}
	r := math.Sqrt(math.Max(i, 1e-30)) // the derivative at 0 is infinite; 1e-30 mol/L is as good as none
	d := 1 + b*r
	g = c * (r/d - linear*i)
	g1 = c * (1/(2*r*d*d) - linear)
	g2 = c * -(1 + 3*b*r) / (4 * r * r * r * d * d * d)
	return g, g1, g2
}

// An IonicStrengthError reports a solution too concentrated for its model.
type IonicStrengthError struct{ IonicStrength, Limit float64 }

func (e *IonicStrengthError) Error() string {
	return fmt.Sprintf("ionic strength %.3g mol/L is above %.3g mol/L, where the activity model means nothing", e.IonicStrength, e.Limit)
}
