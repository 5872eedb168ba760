package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/explain"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/working"
)

func explainCommand(a *app) *cobra.Command {
	var at, format, out string
	c := &cobra.Command{
		Use:   "explain SETUP",
		Short: "a titration worked out step by step",
		Long:  "explain works out what is in the flask after a volume of titrant: amounts, the\nreaction, the expression that governs with its numbers filled in, and the textbook\nvalue beside the exact one with the reason for the difference. Without --at it does\nso at the start, at half, at each equivalence point and at twice.",
		Example: "  meniscus explain iron.yaml --at half\n  meniscus explain iron.yaml --at 12.5,24.9\n" +
			"  meniscus explain iron.yaml --format html --output iron.html",
		Args: exactly(1, "explain"),
		RunE: func(_ *cobra.Command, args []string) error { return a.explain(args[0], at, format, out) },
	}
	c.Flags().StringVar(&at, "at", "", "start, half, equivalence, twice, or volumes such as 12.5,25 (mL if no unit is given)")
	c.Flags().StringVar(&format, "format", "text", strings.Join(report.WorkingFormatNames(), ", "))
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

// worked makes the document for the places asked for.
func worked(s *setup.Setup, at string) (*working.Document, error) {
	var places []explain.Place
	var err error
	switch {
	case at == "":
		places, err = explain.Places(s)
	case slices.Contains([]string{"start", "half", "equivalence", "twice"}, at):
		var p explain.Place
		p, err = explain.Find(s, at)
		places = []explain.Place{p}
	default:
		list, perr := parseAt(at)
		if perr != nil {
			return nil, misused("--at: %v; or one of start, half, equivalence, twice", perr)
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
