package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/constants"
	"meniscus/solution"
	"meniscus/uncertainty"
	"meniscus/unit"
)

type standardiseOptions struct {
	mass, standard, titrant, volume, blank, madeUp, aliquot string
}

func standardiseCommand(a *app) *cobra.Command {
	var o standardiseOptions
	c := &cobra.Command{
		Use:   "standardise",
		Short: "the concentration of a titrant from a weighed standard",
		Long:  "standardise gives the concentration of a titrant from the mass of a primary\nstandard and the volume that it took, with the ratio of the balanced reaction and\nan uncertainty. Where the standard was made up to a volume and an aliquot taken,\nboth are given. Write uncertainties with the quantities: \"34.87 ± 0.03 mL\".",
		Example: "  meniscus standardise --mass \"0.2000 g\" --standard Na2C2O4 --titrant MnO4^- --volume \"34.87 mL\" --blank \"0.05 mL\"\n" +
			"  meniscus standardise --mass \"1.2430 g\" --standard K2Cr2O7 --made-up \"250.0 mL\" --aliquot \"25.00 mL\" --titrant Fe^2+ --volume \"24.23 mL\"",
		Args: exactly(0, "standardise"),
		RunE: func(*cobra.Command, []string) error { return a.standardise(o) },
	}
	f := c.Flags()
	f.StringVar(&o.mass, "mass", "", "mass of the standard")
	f.StringVar(&o.standard, "standard", "", "its formula or name")
	f.StringVar(&o.titrant, "titrant", "", "the titrant's species or salt")
	f.StringVar(&o.volume, "volume", "", "volume of titrant")
	f.StringVar(&o.blank, "blank", "", "blank, subtracted")
	f.StringVar(&o.madeUp, "made-up", "", "volume that the standard was made up to")
	f.StringVar(&o.aliquot, "aliquot", "", "aliquot of it that was titrated")
	return c
}

func (o standardiseOptions) find() (constants.Standard, error) {
	if o.mass == "" || o.standard == "" || o.titrant == "" || o.volume == "" {
		return constants.Standard{}, misused("standardise needs --mass, --standard, --titrant and --volume")
	}
	list, err := constants.StandardsFor(o.titrant)
	if err != nil {
		return constants.Standard{}, err
	}
	r, known, err := constants.FindReagent(o.standard)
	if err != nil {
		return constants.Standard{}, err
	}
	var have []string
	for _, s := range list {
		if known && s.Reagent.Formula == r.Formula {
			return s, nil
		}
		have = append(have, s.Reagent.Formula)
	}
	if len(have) == 0 {
		return constants.Standard{}, fmt.Errorf("no primary standard for %s in the tables", o.titrant)
	}
	return constants.Standard{}, fmt.Errorf("%s is no primary standard for %s in the tables; have %s", o.standard, o.titrant, strings.Join(have, ", "))
}

func (a *app) standardise(o standardiseOptions) error {
	standard, err := o.find()
	if err != nil {
		return err
	}
	var x, u [5]float64
	for i, q := range []struct {
		text, flag, example string
		dim                 unit.Dimension
	}{
		{o.mass, "--mass", "0.2000 g", unit.DimMass},
		{o.volume, "--volume", "34.87 mL", unit.DimVolume},
		{o.blank, "--blank", "0.05 mL", unit.DimVolume},
		{o.madeUp, "--made-up", "250.0 mL", unit.DimVolume},
		{o.aliquot, "--aliquot", "25.00 mL", unit.DimVolume},
	} {
		if x[i], u[i], err = measured(q.text, q.dim, q.example, q.flag); err != nil {
			return err
		}
	}
	s := solution.Standardisation{
		Mass: unit.Mass(x[0]), MassU: unit.Mass(u[0]), PerUnit: standard.PerUnit(), Density: standard.Reagent.Density.Value,
		Volume: unit.Volume(x[1]), VolumeU: unit.Volume(u[1]), Blank: unit.Volume(x[2]), BlankU: unit.Volume(u[2]),
		MadeUp: unit.Volume(x[3]), MadeUpU: unit.Volume(u[3]), Aliquot: unit.Volume(x[4]), AliquotU: unit.Volume(u[4]),
	}
	if s.MolarMass, err = standard.Reagent.Species.MolarMass(); err != nil {
		return err
	}
	b, err := s.Concentration()
	if err != nil {
		return err
	}
	for i, flag := range []string{1: "--volume", 3: "--made-up", 4: "--aliquot"} {
		if flag != "" && x[i] > 0 && u[i] == 0 {
			a.warn([]string{"no uncertainty was stated for " + flag + ": that of the result leaves it out; write it as \"34.87 ± 0.03 mL\""})
		}
	}
	c, err := constants.CautionsFor(standard.Reagent.Formula, standard.Titrant)
	if err != nil {
		return err
	}
	var t strings.Builder
	value, doubt := uncertainty.Round(b.X, b.U)
	fmt.Fprintf(&t, "reaction   %s\nratio      %.4g %s for one %s\nstandard   %.5g mol of %s (M = %.3f g/mol)\nvolume     %.4g mL less the blank\ntitrant    %.5g mol of %s\nc(%s)   %s ± %s mol/L (one standard uncertainty; purity taken as 100 %%)\n",
		standard.Reaction.Unicode(), s.PerUnit, pretty(standard.Titrant), pretty(standard.Reagent.Formula), float64(s.Amount()),
		pretty(standard.Reagent.Formula), float64(s.MolarMass.Value), (s.Volume - s.Blank).Millilitres(), s.PerUnit*float64(s.Amount()), pretty(standard.Titrant), pretty(standard.Titrant), value, doubt)
	for _, p := range b.Shares {
		if p.Contribution > 0 {
			fmt.Fprintf(&t, "  %-32s %8.2g mol/L %5.1f %%\n", p.Note, p.Contribution, 100*p.Share)
		}
	}
	fmt.Fprintf(&t, "conditions %s\n", standard.Conditions)
	writeCautions(&t, c)
	_, err = fmt.Fprint(a.out, t.String())
	return err
}
