package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/curve"
	"meniscus/plan"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/unit"
)

func nextCommand(a *app) *cobra.Command {
	var o nextOptions
	c := &cobra.Command{
		Use:   "next [READINGS] --setup SETUP",
		Short: "the next addition of a titration under way, and when to stop",
		Long: "next reads what has been read so far (- for standard input; nothing before the\nfirst reading) and says how much to add now, what the burette shows then, what is\nreached, and when more readings do not pay. What is left is planned anew each time\nfrom the exact model, so a guess that was wrong is found out on the way.\n\nWanted: " +
			strings.Join(plan.WantedNames(), ", ") + ".",
		Example: "  meniscus next --setup iron.yaml --schedule --want both\n  meniscus next --setup iron.yaml\n  meniscus next sofar.csv --setup iron.yaml --until \"0.005 mL\"\n  meniscus next sofar.csv --setup iron.yaml --want both --format json",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return misused("next needs the file with the readings so far, or nothing before the first; found %d arguments", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			o.knownSet = cmd.Flags().Changed("known")
			return a.next(args, o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.setup, "setup", "", "the setup file (needed)")
	f.StringVar(&o.want, "want", "equivalence", strings.Join(plan.WantedNames(), ", "))
	f.StringArrayVar(&o.until, "until", nil, "standard uncertainty that suffices, such as \"0.005 mL\" or \"0.5 mV\"; may be repeated")
	f.IntVar(&o.readings, "readings", 20, "readings planned in all")
	f.Float64Var(&o.known, "known", 0, "how well the end point is known beforehand, in percent (default: the guess in the setup, or 3)")
	f.StringVar(&o.step, "step", "", "smallest addition, such as \"0.05 mL\"")
	f.BoolVar(&o.whole, "schedule", false, "the whole plan made beforehand, compared with equal steps")
	f.StringVar(&o.format, "format", "text", "text, json")
	return c
}

type nextOptions struct {
	setup, want, step, format string
	until                     []string
	readings                  int
	known                     float64
	whole, knownSet           bool
}

func (a *app) next(args []string, o nextOptions) error {
	format, ok := report.NextFormats.Find(o.format)
	if !ok {
		return misused("unknown format %q; have %s", o.format, strings.Join(report.NextFormats.Names(), ", "))
	}
	if o.setup == "" {
		return misused("next needs --setup with the setup file of the titration")
	}
	opt, err := o.parse()
	if err != nil {
		return err
	}
	s, err := a.setup(o.setup)
	if err != nil {
		return err
	}
	if o.whole {
		return a.schedule(s, opt.ScheduleOptions, o.format)
	}
	c := &curve.Curve{}
	if len(args) == 1 {
		record, err := a.readings(args[0], evaluateOptions{}, nil)
		if err != nil {
			return err
		}
		for _, b := range record.BadCells {
			fmt.Fprintln(a.err, "warning:", b)
		}
		if len(record.Curves) > 1 {
			return fmt.Errorf("%s holds %d runs; the readings of the one under way are meant", args[0], len(record.Curves))
		}
		c = &record.Curves[0]
	}
	x, err := plan.NewNext(c, s, opt)
	if err != nil {
		return err
	}
	a.warn(x.Warnings)
	return format.Write(a.out, x)
}

// schedule writes the whole plan that is made beforehand.
func (a *app) schedule(s *setup.Setup, opt plan.ScheduleOptions, format string) error {
	x, err := plan.NewSchedule(s, opt)
	if err != nil {
		return err
	}
	f, ok := report.ScheduleFormats.Find(format)
	if !ok {
		return misused("unknown format %q; have %s", format, strings.Join(report.ScheduleFormats.Names(), ", "))
	}
	return f.Write(a.out, x)
}

func (o nextOptions) parse() (plan.NextOptions, error) {
	want, ok := plan.FindWanted(o.want)
	if !ok {
		return plan.NextOptions{}, misused("--want %q: have %s", o.want, strings.Join(plan.WantedNames(), ", "))
	}
	opt := plan.NextOptions{ScheduleOptions: plan.ScheduleOptions{Want: want, Readings: o.readings, Known: o.known / 100}}
	if err := readingsSpan.check("--readings", strconv.Itoa(o.readings), float64(o.readings)); err != nil {
		return opt, err
	}
	if o.knownSet {
		if err := knownSpan.check("--known", fmt.Sprintf("%g", o.known), o.known); err != nil {
			return opt, err
		}
	}
	if o.step != "" {
		v, err := positive("--step", o.step, unit.DimVolume, "0.05 mL")
		if err != nil {
			return opt, err
		}
		if err := stepSpan.check("--step", o.step, v); err != nil {
			return opt, err
		}
		opt.Step = unit.Volume(v)
	}
	for _, x := range o.until {
		dim, within := unit.DimPotential, untilPotential
		if q, err := unit.ParseQuantity(x); err == nil {
			if _, _, err := q.In(unit.DimVolume, "0.005 mL"); err == nil {
				dim, within = unit.DimVolume, untilVolume
			}
		}
		v, err := positive("--until", x, dim, "0.005 mL or 0.5 mV")
		if err != nil {
			return opt, err
		}
		if err := within.check("--until", x, v); err != nil {
			return opt, err
		}
		if dim == unit.DimVolume {
			opt.UntilVolume = unit.Volume(v)
		} else {
			opt.UntilPotential = unit.Potential(v)
		}
	}
	return opt, nil
}

// positive reads a quantity above 0 from a flag.
func positive(flag, text string, dim unit.Dimension, example string) (float64, error) {
	q, err := unit.ParseQuantity(text)
	if err != nil {
		return 0, misused("%s: %v", flag, err)
	}
	v, _, err := q.In(dim, example)
	if err != nil {
		return 0, misused("%s: %v", flag, err)
	}
	if !(v.Float() > 0) {
		return 0, misused("%s %q: a value above 0 is meant, such as %s", flag, text, example)
	}
	return v.Float(), nil
}
