package main

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"meniscus/assay"
	"meniscus/chain"
	"meniscus/curve"
	"meniscus/report"
	"meniscus/unit"
)

type chainOptions struct {
	format, out, date, budget string
	set                       string
}

func chainCommand(a *app) *cobra.Command {
	var o chainOptions
	c := &cobra.Command{
		Use:   "chain FILE",
		Short: "solutions on a shelf, from primary standard to result",
		Long: "chain reads the solutions on a shelf, what each was weighed, diluted or standardised\nfrom, and the determinations that use them (YAML, - for standard input). Each result\ncomes with its uncertainty; a burette, flask or titre that is used twice is one\nerror, so what results share stays correlated. Solutions past their day are named.\n\n" +
			"--set states the strength of a solution anew and shows which results move.\nThe keys of the file are in docs/chain.md.",
		Example: "  meniscus chain ores.yaml\n  meniscus chain ores.yaml --budget \"ore A\"\n  meniscus chain ores.yaml --set \"cerium = 0.1022 ± 0.0001 mol/L\"",
		Args:    exactly(1, "chain"),
		RunE:    func(cmd *cobra.Command, args []string) error { return a.chain(cmd.Context(), args[0], o) },
	}
	var formats []string
	for _, f := range report.ChainFormats {
		formats = append(formats, f.Name)
	}
	f := c.Flags()
	f.StringVar(&o.format, "format", "text", strings.Join(formats, ", "))
	f.StringVarP(&o.out, "output", "o", "", "file to write to instead of standard output")
	f.StringVar(&o.date, "date", "", "the day for which expiry is judged, as 2026-11-24; that of the file, or today")
	f.StringVar(&o.set, "set", "", "state a strength anew: \"cerium = 0.1022 ± 0.0001 mol/L\"")
	f.StringVar(&o.budget, "budget", "", "the whole budget of one result, with Monte Carlo")
	return c
}

func (a *app) chain(ctx context.Context, name string, o chainOptions) error {
	var write func(w *output, d report.ChainDocument) error
	for _, f := range report.ChainFormats {
		if f.Name == o.format {
			write = func(w *output, d report.ChainDocument) error { return f.Write(w, d) }
		}
	}
	if write == nil {
		return misused("unknown format %q; have text, json", o.format)
	}
	c, err := a.readChain(name, o.date)
	if err != nil {
		return err
	}
	d := report.ChainDocument{Chain: c}
	if o.set != "" {
		if err := correct(&d, o.set); err != nil {
			return err
		}
	}
	if o.budget != "" {
		return a.chainBudget(ctx, d.Chain, o)
	}
	w, err := a.create(o.out)
	if err != nil {
		return err
	}
	if err := w.close(write(w, d)); err != nil {
		return err
	}
	a.warn(d.Chain.Warnings)
	return nil
}

func (a *app) readChain(name, date string) (*chain.Chain, error) {
	data, err := a.readFile(name, "the chain")
	if err != nil {
		return nil, err
	}
	s, err := chain.Read(data, name)
	if err != nil {
		return nil, err
	}
	switch {
	case date != "":
		if _, err := time.Parse(time.DateOnly, date); err != nil {
			return nil, misused("--date %q: a day is written as 2026-11-24", date)
		}
		s.Date = chain.Date(date)
	case s.Date == "":
		s.Date = chain.Date(time.Now().Format(time.DateOnly))
	}
	if err := a.evaluateRuns(s, filepath.Dir(name)); err != nil {
		return nil, err
	}
	c, err := chain.Compute(s)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return c, nil
}

// evaluateRuns finds the volume of every run that names its readings; files are
// sought beside the file of the chain.
func (a *app) evaluateRuns(s *chain.Shelf, dir string) error {
	for _, t := range s.Titrations() {
		for i := range t.Runs {
			q := &t.Runs[i]
			if q.Readings == "" || q.Left != "" {
				continue
			}
			v, err := a.equivalenceVolume(beside(dir, q.Readings), beside(dir, q.Setup))
			if err != nil {
				return err
			}
			q.Volume = v
		}
	}
	return nil
}

func beside(dir, name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(dir, name)
}

func (a *app) equivalenceVolume(readings, setupFile string) (chain.Value, error) {
	s, err := a.setup(setupFile)
	if err != nil {
		return chain.Value{}, err
	}
	data, err := a.readFile(readings, "the readings")
	if err != nil {
		return chain.Value{}, err
	}
	record, err := curve.Read(bytes.NewReader(data), readings, curve.Options{})
	if err != nil {
		return chain.Value{}, err
	}
	if len(record.Curves) != 1 {
		return chain.Value{}, fmt.Errorf("%s: holds %d runs; a run of a chain names a file with one", readings, len(record.Curves))
	}
	e, err := assay.Evaluate(&record.Curves[0], s, assay.Options{})
	switch {
	case err != nil:
		return chain.Value{}, fmt.Errorf("%s: %w", readings, err)
	case len(e.EquivalencePoints) == 0:
		return chain.Value{}, fmt.Errorf("%s: %w", readings, assay.ErrAllRefused)
	}
	for _, w := range e.Warnings {
		a.warn([]string{readings + ": " + w})
	}
	p := e.EquivalencePoints[len(e.EquivalencePoints)-1]
	return chain.Value{X: float64(p.Volume), U: float64(p.StdUnc), Stated: true, Text: readings}, nil
}

// correct reads "cerium = 0.1022 ± 0.0001 mol/L" and follows it.
func correct(d *report.ChainDocument, text string) error {
	name, strength, ok := strings.Cut(text, "=")
	if !ok {
		return misused("--set %q: a solution and its strength are meant, such as \"cerium = 0.1022 ± 0.0001 mol/L\"", text)
	}
	q, err := unit.ParseQuantity(strings.TrimSpace(strength))
	if err != nil {
		return misused("--set: %v", err)
	}
	x, u, err := q.In(unit.DimConc, "0.1022 ± 0.0001 mol/L")
	if err != nil {
		return misused("--set: %v", err)
	}
	if !(x.Float() > 0) {
		return misused("--set: %s is not above 0", q.Text)
	}
	after, moves, err := d.Chain.Correct(strings.TrimSpace(name), chain.Value{X: x.Float(), U: u, Stated: q.Stated, Text: q.Text})
	if err != nil {
		return misused("--set: %v", err)
	}
	*d = report.ChainDocument{Chain: after, Moves: moves, Corrected: strings.TrimSpace(name) + " = " + q.Text}
	return nil
}

func (a *app) chainBudget(ctx context.Context, c *chain.Chain, o chainOptions) error {
	r := c.Find(o.budget)
	if r == nil {
		var have []string
		for _, x := range c.Results {
			have = append(have, x.Name)
		}
		return misused("--budget %q: there are %s", o.budget, strings.Join(have, ", "))
	}
	b, err := a.budgetOf(ctx, r.Model, budgetOptions{seed: 1})
	if err != nil {
		return err
	}
	w, err := a.create(o.out)
	if err != nil {
		return err
	}
	write := writeBudgetText
	if o.format == "json" {
		write = writeBudgetJSON
	}
	err = w.close(write(w, b))
	a.warn(append(r.Doubts, b.warnings...))
	return err
}
