package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"meniscus/uncertainty"
)

// budgetFormats lists the formats of a budget.
var budgetFormats = []struct {
	name  string
	write func(io.Writer, *budgetResult) error
}{
	{"text", writeBudgetText}, {"json", writeBudgetJSON},
}

func budgetCommand(a *app) *cobra.Command {
	var o budgetOptions
	c := &cobra.Command{
		Use:   "budget FILE",
		Short: "the uncertainty of any measurement model",
		Long: "budget reads an equation and its inputs from a YAML file (- for standard input)\nand gives the value, its uncertainty by propagation (GUM) and by Monte Carlo\n(JCGM 101), whether the two agree, what each input contributes, and what would\nhalve the uncertainty.\n\n" +
			"  measurand: {name: c, unit: mol/L}\n  equation: |\n    c = 1000 * m * P / (M * V)\n    m = m_before - m_after\n  inputs:\n    m_before: 60.5450 ± 0.00015 g (rectangular)\n    V: {readings: [18.62, 18.65, 18.64], unit: mL}\n    M: {value: 204.2212, u: 0.0038, unit: g/mol, note: table}\n    ...\n  correlations:\n    m_before, m_after: 0.3\n\n" +
			"An input is a value as text, or a mapping with value and u (with k: expanded),\nor half-width and distribution (rectangular, triangular, trapezoidal with beta,\narcsine), or distribution: t with dof, or readings; and unit, dof, type and note.\nThe equation computes with the numbers in the units written; % and ppm are the\nfractions they mean. It may use sqrt, exp, ln, log10, sin, cos, tan, abs and pi.\nThe correlation \"from readings\" is that of readings made in pairs.",
		Example: "  meniscus budget naoh.yaml\n  meniscus budget naoh.yaml --trials 1000000 --seed 7 --format json",
		Args:    exactly(1, "budget"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.budget(cmd.Context(), args[0], o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.format, "format", "text", strings.Join(budgetFormatNames(), ", "))
	f.IntVar(&o.trials, "trials", 0, "Monte Carlo trials, in whole blocks of 10000; 0 for as many as the digits need")
	f.Uint64Var(&o.seed, "seed", 1, "seed of the Monte Carlo; the same seed gives the same result")
	f.StringVarP(&o.out, "output", "o", "", "file to write to instead of standard output")
	return c
}

func budgetFormatNames() []string {
	var names []string
	for _, f := range budgetFormats {
		names = append(names, f.name)
	}
	return names
}

type budgetOptions struct {
	format, out string
	trials      int
	seed        uint64
}

// A budgetResult is what a format writes.
type budgetResult struct {
	model      *uncertainty.Model
	budget     *uncertainty.Budget
	simulation *uncertainty.Simulation // nil where it could not be made
	comparison uncertainty.Comparison
	seed       uint64
	warnings   []string
}

func (a *app) budget(ctx context.Context, name string, o budgetOptions) error {
	at := slices.Index(budgetFormatNames(), o.format)
	if at < 0 {
		return misused("unknown format %q; have %s", o.format, strings.Join(budgetFormatNames(), ", "))
	}
	if o.trials < 0 || o.trials > uncertainty.MaxTrials {
		return misused("--trials %d: a number from 0 to %d is meant", o.trials, uncertainty.MaxTrials)
	}
	data, err := a.readFile(name, "the model")
	if err != nil {
		return err
	}
	m, err := uncertainty.ReadModel(data, name)
	if err != nil {
		return err
	}
	r, err := a.budgetOf(ctx, m, o)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	w, err := a.create(o.out)
	if err != nil {
		return err
	}
	err = w.close(budgetFormats[at].write(w, r))
	a.warn(r.warnings)
	return err
}

func (a *app) budgetOf(ctx context.Context, m *uncertainty.Model, o budgetOptions) (*budgetResult, error) {
	b, err := m.Propagate()
	if err != nil {
		return nil, err
	}
	r := &budgetResult{model: m, budget: b, seed: o.seed, warnings: slices.Clone(b.Warnings)}
	progress, clear := a.progressOn("Monte Carlo: %d of %d trials")
	s, err := m.MonteCarlo(ctx, uncertainty.MonteCarloOptions{
		Trials: o.trials, Seed: o.seed, Workers: runtime.GOMAXPROCS(0), Progress: progress,
	})
	clear()
	switch {
	case ctx.Err() != nil:
		return nil, err
	case err != nil:
		r.warnings = append(r.warnings, "no Monte Carlo: "+err.Error())
	default:
		r.simulation, r.comparison = s, b.Compare(s)
		r.warnings = append(r.warnings, s.Warnings...)
	}
	return r, nil
}

// progressOn shows, on a terminal, how far work of more than half a second is;
// what is a format for how much is done and of how much.
func (a *app) progressOn(what string) (progress func(done, goal int), clear func()) {
	f, ok := a.err.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, func() {}
	}
	start, shown := time.Now(), false
	return func(done, goal int) {
			if shown = shown || time.Since(start) > time.Second/2; shown {
				fmt.Fprintf(f, "\r"+what, done, goal)
			}
		}, func() {
			if shown {
				fmt.Fprintf(f, "\r%s\r", strings.Repeat(" ", 60))
			}
		}
}

// budgetJSON is the contract of the JSON; nothing in it is renamed later.
type budgetJSON struct {
	Schema       string          `json:"schema"`
	Title        string          `json:"title"`
	Measurand    string          `json:"measurand"`
	Unit         string          `json:"unit"`
	Equation     string          `json:"equation"`
	Value        *float64        `json:"value"`
	StdUnc       *float64        `json:"standard_uncertainty"`
	Expanded     *float64        `json:"expanded_uncertainty"`
	K            *float64        `json:"coverage_factor"`
	Level        float64         `json:"coverage_probability"`
	DoF          *float64        `json:"degrees_of_freedom"` // null: unlimited
	Inputs       []inputJSON     `json:"inputs"`
	Correlation  *float64        `json:"correlation_share"`
	Intermediate []derivedJSON   `json:"intermediate"`
	StdUnc2      *float64        `json:"second_order_standard_uncertainty"`
	Bias         *float64        `json:"second_order_bias"`
	Halving      []halvingJSON   `json:"halving"`
	Together     *togetherJSON   `json:"halving_together"`
	MonteCarlo   *simulationJSON `json:"monte_carlo"`
	Warnings     []string        `json:"warnings"`
}

type inputJSON struct {
	Name         string   `json:"name"`
	Value        *float64 `json:"value"`
	Unit         string   `json:"unit"`
	StdUnc       *float64 `json:"standard_uncertainty"`
	DoF          *float64 `json:"degrees_of_freedom"`
	Type         string   `json:"type"`
	Distribution string   `json:"distribution"`
	Sensitivity  *float64 `json:"sensitivity"`
	Contribution *float64 `json:"contribution"`
	Share        *float64 `json:"share"`
	Note         string   `json:"note"`
}

type derivedJSON struct {
	Name   string   `json:"name"`
	Value  *float64 `json:"value"`
	StdUnc *float64 `json:"standard_uncertainty"`
}

type halvingJSON struct {
	Input    string   `json:"input"`
	Factor   *float64 `json:"factor"` // null: not by this input alone
	Readings *int     `json:"readings"`
	Rest     *float64 `json:"rest"`
}

type togetherJSON struct {
	Inputs []string `json:"inputs"`
	Factor *float64 `json:"factor"`
}

type simulationJSON struct {
	Trials     int         `json:"trials"`
	Seed       uint64      `json:"seed"`
	Mean       *float64    `json:"mean"`
	StdUnc     *float64    `json:"standard_uncertainty"`
	Symmetric  [2]*float64 `json:"symmetric_interval"`
	Shortest   [2]*float64 `json:"shortest_interval"`
	Tolerance  *float64    `json:"tolerance"`
	Noise      *float64    `json:"noise"`
	Agrees     bool        `json:"propagation_agrees"`
	Undecided  bool        `json:"undecided"`
	Difference [2]*float64 `json:"differences"`
}

// finite is x, or null where it is no finite number.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func writeBudgetJSON(w io.Writer, r *budgetResult) error {
	b, m := r.budget, r.model
	j := budgetJSON{
		Schema: "meniscus.budget/1", Title: m.Title, Measurand: m.Measurand, Unit: m.Unit, Equation: m.Equations,
		Value: finite(b.X), StdUnc: finite(b.U), Expanded: finite(b.Expanded), K: finite(b.K), Level: uncertainty.Level, DoF: finite(b.DoF),
		Inputs: []inputJSON{}, Correlation: finite(b.Correlation), Intermediate: []derivedJSON{},
		StdUnc2: finite(b.StdUnc2), Bias: finite(b.Bias), Halving: []halvingJSON{}, Warnings: append([]string{}, r.warnings...),
	}
	for _, s := range b.Shares {
		j.Inputs = append(j.Inputs, inputJSON{
			s.Name, finite(s.X), s.Unit, finite(s.U), finite(s.DoF), s.Type, string(s.Shape), finite(s.Sensitivity), finite(s.Contribution), finite(s.Share), s.Note,
		})
	}
	for _, d := range b.Intermediate {
		j.Intermediate = append(j.Intermediate, derivedJSON{d.Name, finite(d.X), finite(d.U)})
	}
	for _, h := range b.Halving {
		q := halvingJSON{Input: h.Name, Rest: finite(h.Rest)}
		if h.Factor > 0 {
			q.Factor = finite(h.Factor)
		}
		if h.Readings > 0 {
			q.Readings = &h.Readings
		}
		j.Halving = append(j.Halving, q)
	}
	if t := b.Together; t.Factor > 0 {
		j.Together = &togetherJSON{t.Names, finite(t.Factor)}
	}
	if s, c := r.simulation, r.comparison; s != nil {
		j.MonteCarlo = &simulationJSON{
			s.Trials, r.seed, finite(s.Mean), finite(s.StdDev),
			[2]*float64{finite(s.Symmetric[0]), finite(s.Symmetric[1])},
			[2]*float64{finite(s.Shortest[0]), finite(s.Shortest[1])},
			finite(s.Tolerance), finite(s.Noise), c.Agrees, c.Undecided,
			[2]*float64{finite(c.Low), finite(c.High)},
		}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(j)
}
