package main

import (
	"errors"
	"fmt"

	"meniscus/chem"
	"meniscus/report"
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
		pure[canonical(name)] = purity{x, u}
	}
	if len(pure) > 0 && len(o.weighed) == 0 {
		return nil, misused("--purity belongs to a mass: give --weighed too")
	}
	return pure, nil
}

// weigh gives the exact concentration of each solution whose masses are known.
func weigh(p *report.Preparation, o prepareOptions) error {
	one := len(p.Solutions) == 1
	pure, err := o.purities(one)
	if err != nil {
		return err
	}
	var list []report.Weighing
	used := map[string]bool{}
	for _, text := range o.weighed {
		name, value, err := named("--weighed", text, one)
		if err != nil {
			return err
		}
		mass, u, err := measured(value, unit.DimMass, "9.8123 g", "--weighed")
		if err != nil {
			return err
		}
		x, ok := pure[canonical(name)]
		used[canonical(name)] = used[canonical(name)] || ok
		list = append(list, report.Weighing{Of: name, Text: text, Mass: unit.Mass(mass), U: unit.Mass(u), Purity: x.x, PurityU: x.u})
	}
	for name := range pure {
		if !used[name] {
			return misused("--purity %s: no --weighed has a mass of it under that name", name)
		}
	}
	err = p.Weigh(list)
	var unmeant *report.WeighingError
	if errors.As(err, &unmeant) {
		return misused("--weighed %w", err)
	}
	if err != nil {
		return fmt.Errorf("--weighed %w", err)
	}
	return nil
}

// canonical is the name of a species however it was written; the text where it
// is none.
func canonical(name string) string {
	if s, err := chem.ParseSpecies(name); err == nil {
		return s.Name
	}
	return name
}
