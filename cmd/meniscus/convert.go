package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"meniscus/electrode"
	"meniscus/uncertainty"
	"meniscus/unit"
)

func convertCommand(a *app) *cobra.Command {
	var from, temperature string
	var to []string
	c := &cobra.Command{
		Use:     "convert POTENTIAL --from REFERENCE",
		Short:   "a potential from one reference electrode to others",
		Example: "  meniscus convert \"520 mV\" --from \"Ag/AgCl, sat. KCl\" --to SHE --to SCE",
		Args:    exactly(1, "convert"),
		RunE:    func(_ *cobra.Command, args []string) error { return a.convert(args[0], from, to, temperature) },
	}
	c.Flags().StringVar(&from, "from", "", "reference electrode the potential was read against (needed)")
	c.Flags().StringArrayVar(&to, "to", []string{"SHE", "SCE"}, "reference electrode wanted; may be repeated")
	c.Flags().StringVar(&temperature, "temperature", "25 °C", "temperature of both")
	return c
}

func (a *app) convert(text, from string, to []string, temperature string) error {
	q, err := unit.ParseQuantity(text)
	if err != nil {
		return misused("%v", err)
	}
	e, _, err := q.In(unit.DimPotential, "520 mV")
	if err != nil {
		return misused("%v", err)
	}
	tq, err := unit.ParseQuantity(temperature)
	if err != nil {
		return misused("--temperature: %v", err)
	}
	t, _, err := tq.In(unit.DimTemperature, "25 °C")
	if err != nil {
		return misused("--temperature: %v", err)
	}
	if c := unit.Temperature(t.Float()).Celsius(); !(c >= -5 && c <= 100) {
		return misused("--temperature: %s is outside -5 to 100 °C, where water is a liquid", tq.Text)
	}
	if from == "" {
		return misused("convert needs --from with the reference electrode the potential was read against")
	}
	ref, err := electrode.FindReference(from)
	if err != nil {
		return err
	}
	wanted := make([]electrode.Reference, len(to))
	for i, name := range to {
		if wanted[i], err = electrode.FindReference(name); err != nil {
			return err
		}
	}
	for _, other := range wanted {
		v, u, notes := electrode.Convert(unit.Potential(e.Float()), ref, other, unit.Temperature(t.Float()))
		_, ut := uncertainty.Round(v.Millivolts(), u.Millivolts())
		fmt.Fprintf(a.out, "%.1f mV against %s (u of the references %s mV)\n", v.Millivolts(), other.Name, ut)
		for _, n := range notes {
			fmt.Fprintln(a.err, "note:", n)
		}
	}
	return nil
}
