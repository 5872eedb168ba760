package opponent

import "math"

// Citric is citric acid titrated with a strong base, with the Davies equation
// for the activity coefficients of the ions; a neutral species has 1.
type Citric struct {
	FlaskVolume float64    // L
	Acid        float64    // mol/L of citric acid in the flask
	Base        float64    // mol/L of NaOH in the burette
	PK          [3]float64 // of the three steps, thermodynamic
	PKw         float64    // of water, thermodynamic
	A           float64    // of the Davies equation, (L/mol)^(1/2); 0 for ideal solutions
	B           float64    // its coefficient of the linear term, L/mol; often 0.3
}

// Curve sets ph[i] to the pH, minus log10 of the activity of H+, after
// volumes[i] litres, and strength[i] to the ionic strength, mol/L.
//
// At fixed activity coefficients the balance of charge is solved for ln a(H+)
// by Newton's method; the coefficients follow from the ionic strength of the
// last step (fixed-point iteration), one step of each in turn.
//
// log10 gamma = -A z^2 (sqrt I/(1 + sqrt I) - B I): Davies, Ion Association
// (1962), from memory.
func (s Citric) Curve(volumes, ph, strength []float64) {
	k1, k2, k3 := math.Pow(10, -s.PK[0]), math.Pow(10, -s.PK[1]), math.Pow(10, -s.PK[2])
	kw := math.Pow(10, -s.PKw)
	a, ionic := k1, 0.0
	for i, v := range volumes {
		total := s.FlaskVolume + v
		acid, base := s.Acid*s.FlaskVolume/total, s.Base*v/total
		level, excess := reference(acid, base)
		for range maxPasses {
			root := math.Sqrt(ionic)
			g1 := math.Exp(-math.Ln10 * s.A * (root/(1+root) - s.B*ionic))
			g2 := g1 * g1
			g4, g9 := g2*g2, g2*g2*g2*g2*g1
			// Concentrations relative to that of the undissociated acid.
			r1 := k1 / (a * g1)
			r2 := r1 * g1 * k2 / (a * g4)
			r3 := r2 * g4 * k3 / (a * g9)
			c0 := acid / (1 + r1 + r2 + r3)
			species := [4]float64{c0, c0 * r1, c0 * r2, c0 * r3}
			h, oh := a/g1, kw/(a*g1)
			step := chargeStep(level, excess, h, oh, species, acid)
			a *= 1 + step
			next := (h + oh + base + species[1] + 4*species[2] + 9*species[3]) / 2
			change := next - ionic
			ionic = next
			if math.Abs(step) < 1e-6 && math.Abs(change) < 1e-8*ionic {
				break
			}
		}
		ph[i], strength[i] = -math.Log10(a), ionic
	}
}

// longest limits a step in ln a(H+), 2 of pH: between two pK far apart the
// balance is flat, and a full step would leave the range of the numbers.
const longest = 2 * math.Ln10

// reference returns how many protons the citrate has lost in the state nearest
// to the composition, and the base in excess of that state, mol/L.
func reference(acid, base float64) (level int, excess float64) {
	level = 3
	if base < 2.5*acid {
		level = int(base/acid + 0.5)
	}
	return level, base - float64(level)*acid
}

// chargeStep returns the Newton step, relative to a(H+), of the balance of
// charge, counted from the reference level j so that it keeps its digits:
//
//	[H+] + excess + sum over i < j of (j - i) c_i = [OH-] + sum over i > j of (i - j) c_i
//
// Far from the answer it takes the logarithm of both sides. c are the concentrations of the
// species that have lost 0 to 3 protons; acid is their sum.
func chargeStep(level int, excess, h, oh float64, c [4]float64, acid float64) float64 {
	lost := (c[1] + 2*c[2] + 3*c[3]) / acid
	left, right := h+max(excess, 0), oh+max(-excess, 0)
	dLeft, dRight := h, -oh // derivatives with respect to ln a(H+)
	for i, ci := range c {
		d := ci * (lost - float64(i))
		if i < level {
			left += float64(level-i) * ci
			dLeft += float64(level-i) * d
		} else {
			right += float64(i-level) * ci
			dRight += float64(i-level) * d
		}
	}
	if math.Abs(right-left) < near*right {
		return (right - left) / (dLeft - dRight)
	}
	step := math.Log(right/left) * left * right / (dLeft*right - dRight*left)
	return math.Expm1(max(-longest, min(longest, step)))
}
