package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/assay"
	"meniscus/explain"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/working"
)

func explainCommand(a *app) *cobra.Command {
	var at, format, out, setupName string
	c := &cobra.Command{
		Use:   "explain SETUP | explain READINGS --setup SETUP",
		Short: "a titration worked out step by step",
		Long:  "explain works out what is in the flask after a volume of titrant: amounts, the\nreaction, the expression that governs with its numbers filled in, and the textbook\nvalue beside the exact one with the reason for the difference. Without --at it does\nso at the start, at half, at each equivalence point and at twice.\n\nWith --setup the file holds readings, and it works out how each method gets its\nend point from them, which one is recommended, and the content.",
		Example: "  meniscus explain iron.yaml --at half\n  meniscus explain iron.yaml --at 12.5,24.9\n" +
			"  meniscus explain iron.yaml --format html --output iron.html\n  meniscus explain granules.csv --setup granules.yaml",
		Args: exactly(1, "explain"),
		RunE: func(_ *cobra.Command, args []string) error {
			if setupName == "" {
				return a.explain(args[0], at, format, out)
			}
			if at != "" {
				return misused("--at is for a setup alone; readings have their own volumes")
			}
			return a.explainReadings(args[0], setupName, format, out)
		},
	}
	c.Flags().StringVar(&at, "at", "", "start, half, equivalence, twice, or volumes such as 12.5,25 (mL if no unit is given)")
	c.Flags().StringVar(&format, "format", "text", strings.Join(report.WorkingFormatNames(), ", "))
	c.Flags().StringVar(&setupName, "setup", "", "the setup file of the readings")
	c.Flags().StringVarP(&out, "output", "o", "", "file to write to instead of standard output")
	return c
}

func (a *app) explain(name, at, format, out string) error {
	f, ok := report.WorkingFormat(format)
	if !ok {
		return misused("unknown format %q; have %s", format, strings.Join(report.WorkingFormatNames(), ", "))
	}
	s, err := a.setup(name)
	if err != nil {
		return err
	}
	a.warn(s.Warnings)
	d, err := worked(s, at)
	if err != nil {
		return err
	}
	w, err := a.create(out)
	if err != nil {
		return err
	}
	return w.close(f.Write(w, d))
}

// explainReadings works out how the methods get their numbers from one run.
func (a *app) explainReadings(name, setupName, format, out string) error {
	f, ok := report.WorkingFormat(format)
	if !ok {
		return misused("unknown format %q; have %s", format, strings.Join(report.WorkingFormatNames(), ", "))
	}
	s, err := a.setup(setupName)
	if err != nil {
		return err
	}
	b, err := a.gather([]string{name}, s, evaluateOptions{setup: setupName})
	if err != nil {
		return err
	}
	if len(b.inputs) != 1 {
		return misused("explain works out one run, and %s has %d; keep one in a file", name, len(b.inputs))
	}
	a.warnCells(b.record)
	e, err := assay.EvaluateRun(b.inputs[0], s, nil, assay.Options{})
	if err != nil {
		return fmt.Errorf("evaluating %s: %w", name, err)
	}
	a.warn(e.Warnings)
	d, err := explain.Evaluation(e)
	if err != nil {
		return fmt.Errorf("explaining %s: %w", name, err)
	}
	w, err := a.create(out)
	if err != nil {
		return err
	}
	if err := w.close(f.Write(w, d)); err != nil {
		return err
	}
	if e.Recommended < 0 {
		return assay.ErrAllRefused
	}
	return nil
}

// worked makes the document for the places asked for.
func worked(s *setup.Setup, at string) (*working.Document, error) {
	var places []explain.Place
	var err error
	switch {
	case at == "":
		places, err = explain.Places(s)
	case slices.Contains(explain.PlaceNames(), at):
		var p explain.Place
		p, err = explain.Find(s, at)
		places = []explain.Place{p}
	default:
		list, perr := parseAt(at)
		if perr != nil {
			return nil, misused("--at: %v; or one of %s", perr, strings.Join(explain.PlaceNames(), ", "))
		}
		for _, v := range list {
			places = append(places, explain.Place{Volume: v})
		}
	}
	if err != nil {
		return nil, fmt.Errorf("explaining: %w", err)
	}
	return explain.Volumes(s, places)
}
