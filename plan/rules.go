package plan

import (
	"fmt"
	"math"
	"slices"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/equilibrium"
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
		case titration.Ion:
			p.metalRule(pt)
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

// A protonPair is what is titrated at a point with a glass electrode: an acid that
// gives it, or a base that takes it, with decadic constants of its system.
type protonPair struct {
	Acid     bool
	PKa, PKw float64
}

// pair finds the pair whose reaction uses up the species of a point.
func (p *Plan) pair(pt Point) (pair protonPair, ok bool, err error) {
	rising, err := p.rising(pt)
	if err != nil {
		return pair, false, err
	}
	sys := p.Setup.System()
	pair = protonPair{Acid: rising, PKa: math.NaN(), PKw: math.NaN()}
	for i, r := range sys.Reactions {
		h := coefficient(sys, i, chem.Proton)
		if h != 0 && coefficient(sys, i, chem.Hydroxide) == h && onlyIons(sys, r) {
			pair.PKw = -r.LnK / math.Ln10 / float64(h)
		}
		x := coefficient(sys, i, pt.Name)
		if i >= len(p.Setup.Reactions) || p.Setup.Reactions[i].Kind != string(constants.PKa) || x == 0 || h == 0 || rising != (x < 0) || !math.IsNaN(pair.PKa) {
			continue
		}
		pair.PKa = -r.LnK / math.Ln10
	}
	return pair, !math.IsNaN(pair.PKa) && !math.IsNaN(pair.PKw), nil
}

// onlyIons says whether a reaction is that of water: nothing but its two ions,
// and water.
func onlyIons(sys *equilibrium.System, r equilibrium.Reaction) bool {
	return !slices.ContainsFunc(r.Terms, func(t equilibrium.Term) bool {
		n := sys.Species[t.Species].Name
		return n != chem.Proton && n != chem.Hydroxide && n != "H2O"
	})
}

// acidRule is C Ka > 1e-8 for an acid, by the constant of the reaction that
// uses the species up; for a base that is C Kb.
func (p *Plan) acidRule(pt Point) error {
	pair, ok, err := p.pair(pt)
	c, _ := p.sought()
	if err != nil || !ok || c == nil {
		return err
	}
	name, k := "Ka", pair.PKa
	if !pair.Acid {
		name, k = "Kb", pair.PKw-pair.PKa
	}
	x := c.Conc.Float() * math.Pow(10, -k)
	p.Rules = append(p.Rules, fmt.Sprintf("%s: C·%s = %s, wanted is above 10⁻⁸: %s", pt.Name, name, short(x), met(x > 1e-8)))
	return nil
}

// metalRule is log(C K') of 6 at least for a metal with a chelating titrant,
// for 0.1 %.
func (p *Plan) metalRule(pt Point) {
	k, c := p.conditional(pt)
	if math.IsNaN(k) {
		return
	}
	x := math.Log10(c) + k
	p.Rules = append(p.Rules, fmt.Sprintf("%s: log(C·K′) = %.2f at the equivalence point, wanted is 6 at least for 0.1 %%: %s", pt.Name, x, met(x >= 6)))
}

func met(ok bool) string {
	if ok {
		return "met"
	}
	return "not met"
}

// conditional returns the decadic conditional constant of a metal with the
// titrant at equivalence, every side reaction of both counted, and the total
// concentration of the metal there. NaN where there is no such complex.
func (p *Plan) conditional(pt Point) (logK, c float64) {
	sys := p.Setup.System()
	core := elements(pt.Name)
	var ligand []string // the elements that mark it, carbon and nitrogen of an aminocarboxylate
	for _, n := range p.flask(p.Setup.Burette.Contents, "") {
		if e := elements(n); slices.Contains(e, "C") && slices.Contains(e, "N") {
			ligand = e
		}
	}
	if len(ligand) == 0 || len(core) != 1 || p.kind() != "complexometric" {
		return math.NaN(), math.NaN()
	}
	if _, err := p.walk.at(pt.Volume, 0); err != nil {
		return math.NaN(), math.NaN()
	}
	var bound, metal, free float64
	for j, sp := range sys.Species {
		if sp.Kind != equilibrium.Dissolved {
			continue
		}
		has := elements(sp.Name)
		x := p.walk.pred.Solver.Concentration(j)
		marked := !slices.ContainsFunc(ligand, func(e string) bool { return !slices.Contains(has, e) })
		switch metallic := slices.Contains(has, core[0]); {
		case metallic && marked:
			bound += x
		case metallic:
			metal += x
		case marked && !slices.ContainsFunc(has, func(e string) bool { return !slices.Contains(ligand, e) && e != "Na" && e != "K" }):
			free += x // what another metal holds is not free
		}
	}
	if !(bound > 0 && metal > 0 && free > 0) {
		return math.NaN(), math.NaN()
	}
	return math.Log10(bound / metal / free), bound + metal
}
