package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/electrode"
	"meniscus/explain"
	"meniscus/report"
	"meniscus/uncertainty"
	"meniscus/unit"
)

func convertCommand(a *app) *cobra.Command {
	var from, temperature, format, out string
	var to []string
	var steps bool
	c := &cobra.Command{
		Use:     "convert POTENTIAL --from REFERENCE",
		Short:   "a potential from one reference electrode to others",
		Example: "  meniscus convert \"520 mV\" --from \"Ag/AgCl, sat. KCl\" --to SHE --to SCE\n  meniscus convert \"520 mV\" --from \"Ag/AgCl, sat. KCl\" --working",
		Args:    exactly(1, "convert"),
		RunE: func(_ *cobra.Command, args []string) error {
			c, err := readConversion(args[0], from, to, temperature)
			switch {
			case err != nil:
				return err
			case steps:
				return a.convertWorking(c, format, out)
			case out != "" || format != "text":
				return misused("--format and --output are for --working")
			}
			return a.convert(c)
		},
	}
	c.Flags().StringVar(&from, "from", "", "reference electrode the potential was read against (needed)")
	c.Flags().StringArrayVar(&to, "to", []string{"SHE", "SCE"}, "reference electrode wanted; may be repeated")
	c.Flags().StringVar(&temperature, "temperature", "25 °C", "temperature of both")
	c.Flags().BoolVar(&steps, "working", false, "every step")
	c.Flags().StringVar(&format, "format", "text", "with --working: "+strings.Join(report.WorkingFormatNames(), ", "))
	c.Flags().StringVarP(&out, "output", "o", "", "with --working: file to write to instead of standard output")
	return c
}

// A conversion is a reading with the references it goes from and to.
type conversion struct {
	reading     unit.Potential
	from        electrode.Reference
	to          []electrode.Reference
	temperature unit.Temperature
}

func readConversion(text, from string, to []string, temperature string) (c conversion, err error) {
	q, err := unit.ParseQuantity(text)
	if err != nil {
		return c, misused("%v", err)
	}
	e, _, err := q.In(unit.DimPotential, "520 mV")
	if err != nil {
		return c, misused("%v", err)
	}
	tq, err := unit.ParseQuantity(temperature)
	if err != nil {
		return c, misused("--temperature: %v", err)
	}
	t, _, err := tq.In(unit.DimTemperature, "25 °C")
	if err != nil {
		return c, misused("--temperature: %v", err)
	}
	if c := unit.Temperature(t.Float()).Celsius(); !(c >= -5 && c <= 100) {
		return conversion{}, misused("--temperature: %s is outside -5 to 100 °C, where water is a liquid", tq.Text)
	}
	if from == "" {
		return c, misused("convert needs --from with the reference electrode the potential was read against")
	}
	c = conversion{reading: unit.Potential(e.Float()), temperature: unit.Temperature(t.Float())}
	if c.from, err = electrode.FindReference(from); err != nil {
		return c, err
	}
	for _, name := range to {
		r, err := electrode.FindReference(name)
		if err != nil {
			return c, err
		}
		c.to = append(c.to, r)
	}
	return c, nil
}

func (a *app) convert(c conversion) error {
	for _, other := range c.to {
		v, u, notes := electrode.Convert(c.reading, c.from, other, c.temperature)
		_, ut := uncertainty.Round(v.Millivolts(), u.Millivolts())
		fmt.Fprintf(a.out, "%.1f mV against %s (u of the references %s mV)\n", v.Millivolts(), other.Name, ut)
		for _, n := range notes {
			fmt.Fprintln(a.err, "note:", n)
		}
	}
	return nil
}

// convertWorking writes the steps of a conversion.
func (a *app) convertWorking(c conversion, format, out string) error {
	f, ok := report.WorkingFormat(format)
	if !ok {
		return misused("unknown format %q with --working; have %s", format, strings.Join(report.WorkingFormatNames(), ", "))
	}
	d, err := explain.Conversion(c.reading, c.from, c.to, c.temperature)
	if err != nil {
		return fmt.Errorf("explaining the conversion: %w", err)
	}
	w, err := a.create(out)
	if err != nil {
		return err
	}
	return w.close(f.Write(w, d))
}
