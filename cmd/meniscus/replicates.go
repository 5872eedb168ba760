package main

import (
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/report"
	"meniscus/uncertainty"
	"meniscus/unit"
)

func replicatesCommand(a *app) *cobra.Command {
	var unitName, concordance, format, title string
	c := &cobra.Command{
		Use:     "replicates VALUE VALUE...",
		Short:   "mean, scatter and doubtful values of repeated results",
		Long:    "replicates sums up repeated results: mean, standard deviation, the interval by\nStudent's t, the tests of Grubbs and Dixon, the rule of concordance, and a robust\nmean from eight values on. It shows what leaving the most distant value out would\ndo, and leaves nothing out. - reads the values from standard input; a value below\n0 comes after --.",
		Example: "  meniscus replicates 24.36 24.38 24.33 24.37 --unit mL --concordance \"0.10 mL\"\n  meniscus replicates --unit % -- -0.12 0.03 0.05",
		Args:    cobra.ArbitraryArgs,
		RunE: func(_ *cobra.Command, args []string) error {
			if !slices.Contains(report.ReplicateFormats, format) {
				return misused("unknown format %q; have %s", format, strings.Join(report.ReplicateFormats, ", "))
			}
			values, unitOf, err := a.values(args)
			if err != nil {
				return err
			}
			if unitName == "" {
				unitName = unitOf
			}
			limit, err := concordanceLimit(concordance)
			if err != nil {
				return err
			}
			r, err := uncertainty.Replicate(values, limit)
			if err != nil {
				return misused("%v", err)
			}
			return report.WriteReplicates(a.out, format, report.ReplicateSet{Title: title, Unit: unitName, Values: r})
		},
	}
	c.Flags().StringVar(&unitName, "unit", "", "unit of the values, for the output")
	c.Flags().StringVar(&concordance, "concordance", "", "values agree within this, such as \"0.10 mL\"")
	c.Flags().StringVar(&format, "format", "text", strings.Join(report.ReplicateFormats, ", "))
	c.Flags().StringVar(&title, "title", "", "what was measured")
	return c
}

// values reads numbers, each perhaps with the unit that all have.
func (a *app) values(args []string) (list []float64, unitName string, err error) {
	if len(args) == 1 && args[0] == "-" {
		data, err := io.ReadAll(a.in)
		if err != nil {
			return nil, "", err
		}
		args = strings.Fields(string(data))
	}
	if len(args) < 2 {
		return nil, "", misused("replicates needs at least 2 values, found %d", len(args))
	}
	for i, text := range args {
		q, err := unit.ParseQuantity(text)
		if err != nil {
			return nil, "", misused("value %d: %v", i+1, err)
		}
		if i > 0 && q.Unit != unitName {
			return nil, "", misused("value %d, %q, is not in the unit of the first, %q", i+1, text, args[0])
		}
		unitName = q.Unit
		list = append(list, q.Value.Float())
	}
	return list, unitName, nil
}

// concordanceLimit reads the number of a limit; its unit is that of the values.
func concordanceLimit(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	q, err := unit.ParseQuantity(text)
	if err != nil {
		return 0, misused("--concordance: %v", err)
	}
	if !(q.Value.Float() > 0) {
		return 0, misused("--concordance: %q is not above 0", text)
	}
	return q.Value.Float(), nil
}

// volumeLimit reads a limit of concordance as a volume in litres.
func volumeLimit(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	q, err := unit.ParseQuantity(text)
	if err != nil {
		return 0, misused("--concordance: %v", err)
	}
	v, _, err := q.In(unit.DimVolume, "0.10 mL")
	if err != nil {
		return 0, misused("--concordance: %v", err)
	}
	if !(v.Float() > 0) {
		return 0, misused("--concordance: %q is not above 0", text)
	}
	return v.Float(), nil
}
