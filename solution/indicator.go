package solution

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"meniscus/constants"
	"meniscus/unit"
)

// A Drops is an indicator solution to make, or a mixture to grind.
type Drops struct {
	Reagent  constants.Reagent
	Given    constants.IndicatorSolution
	Volume   unit.Volume // of the solution; 0 of a ground mixture
	Total    unit.Mass   // of a ground mixture; 0 of a solution
	Mass     unit.Mass   // of what is weighed; 0 where it is bought ready made
	Serves   int         // how many titrations it is enough for
	Steps    []string
	Cautions constants.Cautions
}

// Name is the indicator.
func (d Drops) Name() string { return d.Reagent.Formula }

// An IndicatorError says that no indicator of that name can be made up.
type IndicatorError struct {
	Name  string
	Known []string
}

func (e *IndicatorError) Error() string {
	return fmt.Sprintf("indicator %q: the tables do not say how it is made up; they have %s", e.Name, strings.Join(e.Known, ", "))
}

// What is made of an indicator at least: a dropping bottle, or what a mortar takes.
const (
	leastDrops  = 50 * unit.Millilitre
	leastGround = 10 // g
)

// Indicator returns how to make up a volume of an indicator solution; 0 takes
// 100 mL. One that is ground with a salt is made by a tenth of a gram a millilitre.
func Indicator(name string, v unit.Volume) (Drops, error) {
	if v == 0 {
		v = 2 * leastDrops
	}
	if err := (Solute{Name: name, Conc: 1}).possible(v); err != nil {
		return Drops{}, err
	}
	r, ok, err := constants.FindIndicatorSolution(name)
	if err != nil {
		return Drops{}, err
	}
	if !ok {
		return Drops{}, unknownIndicator(name)
	}
	d := Drops{Reagent: r, Given: r.Indicator, Volume: v}
	g := d.Given
	switch {
	case g.ReadyMade():
		d.Serves = int(v.Millilitres()/g.Dose + 1e-9)
		d.say("buy it ready made: %s. Fill %s into a dropping bottle.", g.Solvent, about(v))
	case g.Ground > 0:
		total := v.Millilitres() / 10
		d.Volume, d.Total = 0, unit.Mass(total)
		d.Mass = unit.Mass(total / (1 + g.Ground))
		d.Serves = int(total/g.Dose + 1e-9)
		d.say("weigh about %s g of %s and %s g of dry %s.", digits(float64(d.Mass), 2), r.Formula, digits(total-float64(d.Mass), 2), g.Solvent)
		d.say("grind both in a mortar until the colour is even; no dust.")
	default:
		d.Mass = unit.Mass(g.Strength / 100 * v.Millilitres())
		d.Serves = int(v.Millilitres()/g.Dose + 1e-9)
		d.dissolve()
	}
	d.say("fill the bottle (%s) and label it: name, strength, solvent, date, initials, hazards.", r.Bottle)
	d.Cautions, err = constants.CautionsFor(d.Holds()...)
	return d, err
}

// Indicator returns the solution of an indicator for the class: a dropping bottle
// at least, then rounded up to 50 mL, or 10 g of what is ground.
func (c Class) Indicator(name string) (Drops, error) {
	d, err := Indicator(name, 0)
	if err != nil {
		return d, err
	}
	need := float64(c.Titrations()) * (1 + c.Spare) * d.Given.Dose // mL, or g
	least := leastDrops.Millilitres()
	if d.Given.Ground > 0 {
		least = leastGround
	}
	need = math.Ceil(need/least-1e-9) * least
	if d.Given.Ground > 0 {
		need *= 10
	}
	return Indicator(name, unit.Volume(need)*unit.Millilitre)
}

func unknownIndicator(name string) error {
	list, err := constants.Reagents()
	if err != nil {
		return err
	}
	e := &IndicatorError{Name: name}
	for _, r := range list {
		if r.Form == constants.IndicatorReagent {
			e.Known = append(e.Known, r.Formula)
		}
	}
	return e
}

// Weighed is the bottle that is weighed from.
func (d Drops) Weighed() string {
	if d.Given.Of != "" {
		return d.Given.Of
	}
	return d.Reagent.Formula
}

var partEthanol = regexp.MustCompile(`^([0-9.]+) % ethanol$`)

// ethanol is the percent by volume of ethanol in the solvent, 0 where it has none.
func (d Drops) ethanol() float64 {
	m := partEthanol.FindStringSubmatch(d.Given.Solvent)
	if m == nil {
		return 0
	}
	part, _ := strconv.ParseFloat(m[1], 64) // a number by the pattern
	return part
}

// Ethanol is how much of the ethanol that is bought goes into it, 0 for most.
func (d Drops) Ethanol() unit.Volume { return d.Volume * unit.Volume(d.ethanol()/boughtEthanol) }

// dissolve writes the steps of a solution.
func (d *Drops) dissolve() {
	what := d.Reagent.Formula
	if d.Given.Of != "" {
		what = d.Given.Of
	}
	d.say("weigh about %s g of %s.", digits(float64(d.Mass), 2), what)
	if part := d.ethanol(); part > 0 {
		d.say("dissolve it in %s of ethanol (%d %% by volume), away from flames.", about(d.Ethanol()), boughtEthanol)
		if part < boughtEthanol {
			d.say("add water to %s.", about(d.Volume))
		}
		return
	}
	if d.Given.Solvent == "boiling water" {
		d.say("stir it into a paste with a little cold water.")
		d.say("pour the paste into %s of boiling water, boil for a minute, let it cool.", about(d.Volume))
		return
	}
	d.say("dissolve it in %s and make up to %s with it.", d.Given.Solvent, about(d.Volume))
}

// boughtEthanol is the ethanol that is diluted, percent by volume.
const boughtEthanol = 96

// Holds names everything that goes into it.
func (d Drops) Holds() []string {
	list := []string{d.Weighed()}
	switch s := d.Given.Solvent; {
	case strings.HasSuffix(s, "ethanol"):
		list = append(list, "C2H5OH")
	case d.Given.Ground > 0:
		list = append(list, s)
	case !d.Given.ReadyMade() && !strings.HasSuffix(s, "water"):
		if i := strings.LastIndex(s, " "); i > 0 {
			list = append(list, s[i+1:])
		}
	}
	return list
}

func (d *Drops) say(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	d.Steps = append(d.Steps, strings.ToUpper(s[:1])+s[1:])
}
