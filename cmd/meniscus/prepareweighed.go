package main

import (
	"fmt"
	"math"
	"strings"

	"meniscus/chem"
	"meniscus/report"
	"meniscus/solution"
	"meniscus/unit"
)

// A purity is what was said of what was weighed.
type purity struct{ x, u float64 }

func (o prepareOptions) purities(one bool) (map[string]purity, error) {
	pure := map[string]purity{}
	for _, text := range o.purity {
		name, value, err := named("--purity", text, one)
		if err != nil {
			return nil, err
		}
		x, u, err := measured(value, unit.DimFraction, "99.5 ± 0.2 %", "--purity")
		if err != nil {
			return nil, err
		}
		if !(x > 0 && x <= 1) {
			return nil, misused("--purity %q: above 0 and at most 100 %% is meant", text)
		}
		if u > x/10 {
			return nil, misused("--purity %q: an uncertainty of more than a tenth of it cannot be meant", text)
		}
		pure[name] = purity{x, u}
	}
	if len(pure) > 0 && len(o.weighed) == 0 {
		return nil, misused("--purity belongs to a mass: give --weighed too")
	}
	return pure, nil
}

// weigh gives the exact concentration of each solution whose masses are known: a
// mass for each lot.
func weigh(p *report.Preparation, o prepareOptions) error {
	one := len(p.Solutions) == 1
	pure, err := o.purities(one)
	if err != nil {
		return err
	}
	lots := map[*report.Prepared][]solution.Weighed{}
	for _, text := range o.weighed {
		name, value, err := named("--weighed", text, one)
		if err != nil {
			return err
		}
		mass, u, err := measured(value, unit.DimMass, "9.8123 g", "--weighed")
		if err != nil {
			return err
		}
		s, q, err := findPortion(p, name)
		if err != nil {
			return err
		}
		if q.Volume > 0 {
			return misused("--weighed: %s is measured as a liquid; its strength comes from a standardisation", q.Reagent.Formula)
		}
		if err := inFlask(text, s, q); err != nil {
			return err
		}
		if err := plausible(text, q, unit.Mass(mass), unit.Mass(u)); err != nil {
			return err
		}
		x := pure[name]
		s.ExactSaid = purityWords(x, q)
		lots[s] = append(lots[s], solution.Weighed{
			Mass: unit.Mass(mass), MassU: unit.Mass(u), Purity: x.x, PurityU: x.u, MolarMass: q.MolarMass, PerUnit: q.PerUnit,
			Density: q.Reagent.Density.Value, Volume: s.Recipe.Wanted.Volume,
		})
		if most := max(1, s.Lots); len(lots[s]) > most {
			return misused("--weighed %q: %d masses of it, and it is made %s", text, len(lots[s]), times(most))
		}
	}
	for s, list := range lots {
		if err := byMass(s, list); err != nil {
			return err
		}
	}
	return nil
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func purityWords(x purity, q solution.Portion) string {
	said := "purity taken as 100 %"
	if x.x > 0 {
		said = fmt.Sprintf("purity %.4g %%", 100*x.x)
		if x.u == 0 {
			said += ", without an uncertainty"
		}
	}
	if q.Reagent.Damp != "" {
		said += "; but it is no primary standard: " + q.Reagent.Damp
	}
	return said
}

// byMass computes each lot, and what they are poured together.
func byMass(s *report.Prepared, list []solution.Weighed) (err error) {
	if s.Lots > 1 {
		for _, w := range list {
			e, err := w.Concentration()
			if err != nil {
				return fmt.Errorf("--weighed: %w", err)
			}
			s.ByLot = append(s.ByLot, e)
		}
		if s.Flasks != len(list) {
			return nil // stand alone, or not all are made yet
		}
	}
	if s.Exact, err = solution.Together(list).Concentration(); err != nil {
		return fmt.Errorf("--weighed: %w", err)
	}
	return nil
}

// inFlask refuses a mass for what no volumetric flask holds, and says how it can
// be had by mass.
func inFlask(text string, s *report.Prepared, q solution.Portion) error {
	v := s.Recipe.Wanted.Volume
	size, ok := solution.FlaskFor(v)
	switch {
	case ok && size <= v*(1+1e-9):
		return nil
	case ok:
		return fmt.Errorf("--weighed %s: a mass gives the concentration only in a volumetric flask, and none holds %.6g mL: make %.6g mL, with %.4f g", text, v.Millilitres(), size.Millilitres(), float64(q.Mass)*float64(size/v))
	}
	n := math.Ceil(float64(v/size) - 1e-9)
	return fmt.Errorf("--weighed %s: a mass gives the concentration only in a volumetric flask, and %.6g L is made in a carboy: standardise it, or make it in %.0f lots of %.6g mL with %.4f g each, and give the mass of each lot: --make %q --volume %q --weighed %q",
		text, float64(v), n, size.Millilitres(), float64(q.Mass)*float64(size/v), fmt.Sprintf("%.6g mol/L %s", float64(q.Conc), q.For), fmt.Sprintf("%.6g mL", size.Millilitres()), fmt.Sprintf("%.4f g", float64(q.Mass)*float64(size/v)))
}

// plausible refuses a mass that cannot have been meant: a digit or a unit slipped.
func plausible(text string, q solution.Portion, mass, u unit.Mass) error {
	if q.Volume == 0 && !(mass >= q.Mass/2 && mass <= 2*q.Mass) {
		return misused("--weighed %q: of %s %.4f g are meant for %.4g mol/L, and half to twice of that is taken for a weighing; where so much was really weighed, say the concentration meant with --make", text, q.Reagent.Formula, float64(q.Mass), float64(q.Conc))
	}
	if u > mass/10 {
		return misused("--weighed %q: an uncertainty of more than a tenth of the mass cannot be meant", text)
	}
	return nil
}

// findPortion finds the solution and the bottle in it by species or formula; ""
// is the first of one.
func findPortion(p *report.Preparation, name string) (*report.Prepared, solution.Portion, error) {
	if name == "" {
		return &p.Solutions[0], p.Solutions[0].Recipe.Portions[0], nil
	}
	want := name
	if s, err := chem.ParseSpecies(name); err == nil {
		want = s.Name
	}
	var have []string
	for i := range p.Solutions {
		for _, q := range p.Solutions[i].Recipe.Portions {
			if q.For == want || q.Reagent.Formula == want {
				return &p.Solutions[i], q, nil
			}
			have = append(have, q.For)
		}
	}
	return nil, solution.Portion{}, misused("%s: no solution holds it; have %s", name, strings.Join(have, ", "))
}
