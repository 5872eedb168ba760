package plan

import (
	"fmt"
	"math"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/titration"
)

// rules compares the rules of thumb of the trade with this titration. They
// stand beside the exact numbers and decide nothing. Common practice.
func (p *Plan) rules() error {
	for _, pt := range p.points {
		switch p.Setup.Titration.Cell.Sensor {
		case titration.Inert:
			p.redoxRule(pt)
		case titration.Glass:
			if err := p.acidRule(pt); err != nil {
				return err
			}
		}
	}
	return nil
}

func (p *Plan) redoxRule(pt Point) {
	a, b := p.couple(pt.Name, pt.Next), p.titrantCouple()
	if a == nil || b == nil || a == b {
		return
	}
	need := Separation(int(a.Electrons), int(b.Electrons), -math.Log10(p.Accuracy), p.Setup.Temperature)
	have := math.Abs(b.Potential - a.Potential)
	p.Rules = append(p.Rules, fmt.Sprintf("%s with %s: potentials apart by %.3f V, wanted are %.3f V for %s %% at equivalence (one species in either form, pH 0)",
		a.Name, b.Name, have, float64(need), number(100*(1-p.Accuracy))))
}

// acidRule is C Ka > 1e-8 for an acid, by the constant of the reaction that
// uses the species up; for a base that is C Kb.
func (p *Plan) acidRule(pt Point) error {
	rising, err := p.rising(pt)
	if err != nil {
		return err
	}
	sys := p.Setup.System()
	for i, r := range p.Setup.Reactions {
		if r.Kind != string(constants.PKa) || i >= len(sys.Reactions) {
			continue
		}
		x := coefficient(sys, i, pt.Name)
		if x == 0 || rising != (x < 0) || coefficient(sys, i, chem.Proton) == 0 {
			continue
		}
		c := math.NaN()
		if s, _ := p.sought(); s != nil {
			c = s.Conc.Float()
		}
		lnKa := sys.Reactions[i].LnK
		name, k := "Ka", math.Exp(lnKa)
		if x > 0 {
			name, k = "Kb", math.Exp(-lnKa)*1e-14
		}
		p.Rules = append(p.Rules, fmt.Sprintf("%s: C·%s = %s, wanted is above 1e-8 (pKw 14)", pt.Name, name, number(c*k)))
	}
	return nil
}
