package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/plan"
	"meniscus/report"
	"meniscus/unit"
)

type planOptions struct {
	accuracy, guess, format, out, want string
	indicators                         []string
	electrons                          []int
	readings                           int
}

func planCommand(a *app) *cobra.Command {
	var o planOptions
	c := &cobra.Command{
		Use:   "plan SETUP",
		Short: "whether and how to titrate, from the setup file",
		Long:  "plan says from the exact curve whether the jump is good enough for the accuracy\nwanted, what would make it larger, which titrants and media of the tables do it,\nwhich aliquot brings the end into the burette, which indicators fit and with what\nerror, where to read, and what to keep. An indicator may be given by its potential\nagainst SHE, its pH or its name. With --electrons instead of a setup it says how\nfar apart two potentials must be, at 25 °C, for couples with one species in either\nform.",
		Example: "  meniscus plan iron.yaml\n  meniscus plan iron.yaml --accuracy \"0.2 %\" --guess-uncertainty \"20 %\"\n  meniscus plan iron.yaml --indicator \"0.85 V\" --indicator ferroin\n" +
			"  meniscus plan iron.yaml --want both --readings 30\n  meniscus plan iron.yaml --format html --output plan.html\n  meniscus plan --electrons 1,5",
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("electrons") {
				return a.separation(o.electrons, args)
			}
			if len(args) != 1 {
				return misused("plan needs one setup file, or --electrons with two numbers of electrons, such as 1,5; found %d arguments", len(args))
			}
			return a.plan(args[0], o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.accuracy, "accuracy", "0.1 %", "relative accuracy wanted")
	f.StringVar(&o.guess, "guess-uncertainty", "", "relative standard uncertainty of the content guessed; otherwise as the setup states, or 10 %")
	f.StringArrayVar(&o.indicators, "indicator", nil, "one to judge: \"0.85 V\" against SHE, \"pH 8.3\", or a name; may be repeated")
	f.IntVar(&o.readings, "readings", 20, "readings planned in all")
	f.StringVar(&o.want, "want", "equivalence", "what readings are taken for: "+strings.Join(plan.WantedNames(), ", "))
	f.StringVar(&o.format, "format", "text", strings.Join(report.PlanFormats.Names(), ", "))
	f.StringVarP(&o.out, "output", "o", "", "file to write to instead of standard output")
	f.IntSliceVar(&o.electrons, "electrons", nil, "electrons of the titrand's and the titrant's couple, such as 1,5")
	return c
}

func (a *app) separation(electrons []int, args []string) error {
	if len(args) > 0 {
		return misused("plan --electrons takes no setup file")
	}
	if len(electrons) != 2 {
		return misused("plan --electrons: two %s", electronsSpan.words)
	}
	for _, n := range electrons {
		if err := electronsSpan.check("--electrons", strconv.Itoa(n), float64(n)); err != nil {
			return err
		}
	}
	fmt.Fprintf(a.out, "couples of %d and %d electrons, 25 °C\n\n%12s%24s\n", electrons[0], electrons[1], "complete to", "potentials apart by")
	for _, x := range []float64{0.99, 0.999, 0.9999} {
		e := plan.Separation(electrons[0], electrons[1], plan.Decades(x), unit.Celsius(25))
		fmt.Fprintf(a.out, "%10.2f %%%22.3f V\n", 100*x, float64(e))
	}
	return nil
}

func (a *app) plan(name string, o planOptions) error {
	f, ok := report.PlanFormats.Find(o.format)
	if !ok {
		return misused("unknown format %q; have %s", o.format, strings.Join(report.PlanFormats.Names(), ", "))
	}
	opt, err := o.parse()
	if err != nil {
		return err
	}
	s, err := a.setup(name)
	if err != nil {
		return err
	}
	p, err := plan.For(s, opt)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	a.warn(s.Warnings)
	w, err := a.create(o.out)
	if err != nil {
		return err
	}
	return w.close(f.Write(w, p))
}

func (o planOptions) parse() (plan.Options, error) {
	opt := plan.Options{Indicators: o.indicators}
	var err error
	if opt.Accuracy, err = percentage("--accuracy", o.accuracy, accuracySpan); err != nil {
		return opt, err
	}
	if o.guess != "" {
		if opt.Guess, err = percentage("--guess-uncertainty", o.guess, guessSpan); err != nil {
			return opt, err
		}
	}
	for _, x := range o.indicators {
		if err := plan.CheckIndicator(x); err != nil {
			return opt, misused("--%v", err)
		}
	}
	want, ok := plan.FindWanted(o.want)
	if !ok {
		return opt, misused("--want %q: have %s", o.want, strings.Join(plan.WantedNames(), ", "))
	}
	if err := readingsSpan.check("--readings", strconv.Itoa(o.readings), float64(o.readings)); err != nil {
		return opt, err
	}
	opt.Additions = plan.ScheduleOptions{Want: want, Readings: o.readings}
	return opt, nil
}

// percentage reads "0.1 %", or a number that is meant as percent, as a part of
// one.
func percentage(flag, text string, within span) (float64, error) {
	d, err := unit.ParseDecimal(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "%")))
	if err != nil {
		return 0, misused("%s %q: a percentage %s", flag, text, strings.TrimPrefix(within.words, "a percentage "))
	}
	return d.Float() / 100, within.check(flag, text, d.Float()/100)
}
