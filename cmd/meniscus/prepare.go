package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/setup"
	"meniscus/solution"
	"meniscus/uncertainty"
	"meniscus/unit"
)

type prepareOptions struct {
	make, volume, from, medium, weighed, format string
}

func prepareCommand(a *app) *cobra.Command {
	var o prepareOptions
	c := &cobra.Command{
		Use:   "prepare [SETUP]",
		Short: "how to make the solutions, and what to beware of",
		Long:  "prepare says for a solution what to weigh or to measure, in which order to mix,\nhow to dry, keep and standardise, and which cautions belong to it: for each\nsolution of a setup (the contents of its flask and burette, --volume of each),\nor for one given by --make. With --weighed it gives the concentration by the\nmass that was really weighed, with its uncertainty. Cautions are reminders: the\nsupplier's safety data sheet and local rules decide.",
		Example: "  meniscus prepare --make \"0.1 mol/L Fe^2+\" --volume \"250 mL\"\n" +
			"  meniscus prepare --make \"0.1 mol/L Fe^2+\" --volume \"250 mL\" --from \"Fe(NH4)2(SO4)2·6H2O\" --weighed \"9.8123 g\"\n  meniscus prepare iron.yaml --volume \"500 mL\"",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 || (len(args) == 1) == (o.make != "") {
				return misused("prepare needs a setup file or --make, one of them")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return a.prepare(args, o) },
	}
	f := c.Flags()
	f.StringVar(&o.make, "make", "", "the solution to make, such as \"0.1 mol/L Fe^2+\"")
	f.StringVar(&o.volume, "volume", "1000 mL", "volume of each solution")
	f.StringVar(&o.from, "from", "", "with --make: the bottle, formula with its water")
	f.StringVar(&o.medium, "medium", "", "with --make: the medium, such as \"1 mol/L H2SO4\"")
	f.StringVar(&o.weighed, "weighed", "", "with --make: the mass that was weighed, such as \"9.8123 g\"")
	f.StringVar(&o.format, "format", "text", "text, json")
	return c
}

// A prepared is one solution with its place.
type prepared struct {
	place  string
	recipe solution.Recipe
	exact  *uncertainty.Budget // nil unless a mass was given
}

func (a *app) prepare(args []string, o prepareOptions) error {
	if o.format != "text" && o.format != "json" {
		return misused("unknown format %q; have text, json", o.format)
	}
	if len(args) == 1 && (o.from != "" || o.medium != "" || o.weighed != "") {
		return misused("--from, --medium and --weighed belong to --make")
	}
	volume, err := quantity(o.volume, unit.DimVolume, "250 mL", "--volume")
	if err != nil {
		return err
	}
	var list []prepared
	if len(args) == 1 {
		list, err = a.prepareSetup(args[0], unit.Volume(volume))
	} else {
		list, err = prepareOne(o, unit.Volume(volume))
	}
	if err != nil {
		return err
	}
	if o.format == "json" {
		return writePrepareJSON(a.out, list)
	}
	return writePrepareText(a.out, list)
}

func quantity(text string, dim unit.Dimension, example, flag string) (float64, error) {
	x, _, err := measured(text, dim, example, flag)
	return x, err
}

// measured reads a quantity with its standard uncertainty; "" is 0.
func measured(text string, dim unit.Dimension, example, flag string) (x, u float64, err error) {
	if text == "" {
		return 0, 0, nil
	}
	q, err := unit.ParseQuantity(text)
	if err != nil {
		return 0, 0, misused("%s: %v", flag, err)
	}
	d, u, err := q.In(dim, example)
	if err != nil {
		return 0, 0, misused("%s: %v", flag, err)
	}
	return d.Float(), u, nil
}

func prepareOne(o prepareOptions, volume unit.Volume) ([]prepared, error) {
	name := constants.WithoutConcentration(o.make)
	conc, err := quantity(strings.TrimSuffix(strings.TrimSpace(o.make), name), unit.DimConc, "0.1 mol/L Fe^2+", "--make")
	if err != nil {
		return nil, err
	}
	r, err := solution.Make(solution.Wanted{
		Solutes: []solution.Solute{{Name: name, Conc: unit.Concentration(conc), From: o.from}}, Medium: o.medium, Volume: volume,
	})
	if err != nil {
		return nil, err
	}
	p := prepared{recipe: r}
	if o.weighed == "" {
		return []prepared{p}, nil
	}
	mass, u, err := measured(o.weighed, unit.DimMass, "9.8123 g", "--weighed")
	if err != nil {
		return nil, err
	}
	first := r.Portions[0]
	if first.Reagent.Form == constants.LiquidReagent {
		return nil, misused("--weighed: %s is measured as a liquid; its strength comes from a standardisation", first.Reagent.Formula)
	}
	p.exact, err = solution.Weighed{
		Mass: unit.Mass(mass), MassU: unit.Mass(u), MolarMass: first.MolarMass, PerUnit: first.PerUnit,
		Density: first.Reagent.Density.Value, Volume: volume,
	}.Concentration()
	return []prepared{p}, err
}

func (a *app) prepareSetup(name string, volume unit.Volume) ([]prepared, error) {
	data, err := a.readFile(name, "the setup")
	if err != nil {
		return nil, err
	}
	s, err := setup.Read(data, name)
	if err != nil {
		return nil, err
	}
	var list []prepared
	for _, v := range []struct {
		place    string
		contents []setup.Content
		medium   string
	}{{"flask", s.Flask.Contents, s.Flask.Medium}, {"burette", s.Burette.Contents, buretteMedium(s)}} {
		if len(v.contents) == 0 {
			continue
		}
		w := solution.Wanted{Medium: v.medium, Volume: volume}
		for _, c := range v.contents {
			w.Solutes = append(w.Solutes, solution.Solute{Name: c.Species, Conc: unit.Concentration(c.Conc.Float())})
		}
		r, err := solution.Make(w)
		if err != nil {
			return nil, fmt.Errorf("%s: solution for the %s: %w", name, v.place, err)
		}
		list = append(list, prepared{place: v.place, recipe: r})
	}
	return list, nil
}

// buretteMedium is the flask's medium for a titrant that hydrolyses without
// acid; others are made in water.
func buretteMedium(s *setup.Setup) string {
	for _, c := range s.Burette.Contents {
		for _, t := range c.Ions {
			if t.Species.Charge >= 3 {
				return s.Flask.Medium
			}
		}
	}
	return ""
}

func writePrepareText(w io.Writer, list []prepared) error {
	var b strings.Builder
	for i, p := range list {
		if i > 0 {
			b.WriteString("\n")
		}
		p.title(&b)
		for _, q := range p.recipe.Portions {
			fmt.Fprintf(&b, "  %s\n", portionWords(q))
		}
		for n, s := range p.recipe.Steps {
			fmt.Fprintf(&b, "  %d. %s\n", n+1, s)
		}
		p.after(&b)
		writeCautions(&b, p.recipe.Cautions)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (p prepared) title(b *strings.Builder) {
	var words []string
	for _, s := range p.recipe.Wanted.Solutes {
		words = append(words, fmt.Sprintf("%.4g mol/L %s", float64(s.Conc), pretty(s.Name)))
	}
	if p.place != "" {
		fmt.Fprintf(b, "for the %s: ", p.place)
	}
	fmt.Fprintf(b, "%.4g mL of %s", p.recipe.Wanted.Volume.Millilitres(), strings.Join(words, " + "))
	if p.recipe.Wanted.Medium != "" {
		fmt.Fprintf(b, " in %s", p.recipe.Wanted.Medium)
	}
	b.WriteString("\n")
}

// pretty writes a formula with raised and lowered digits.
func pretty(formula string) string {
	if s, err := chem.ParseSpecies(formula); err == nil {
		return s.Unicode()
	}
	return formula
}

func portionWords(q solution.Portion) string {
	s := fmt.Sprintf("%.4f g of %s, %s (M = %.3f g/mol)", float64(q.Mass), pretty(q.Reagent.Formula), q.Reagent.Name(), float64(q.MolarMass.Value))
	if q.Volume > 0 {
		s = fmt.Sprintf("%.1f mL of %s, %g %%, %.2f g/mL (%.1f g)", q.Volume.Millilitres(), q.Reagent.Name(), q.Reagent.Assay.Value, q.Reagent.Density.Value, float64(q.Mass))
	}
	var other []string
	for _, c := range q.Alternatives {
		other = append(other, fmt.Sprintf("%.4f g of %s", float64(c.Mass), pretty(c.Formula)))
	}
	if len(other) > 0 {
		s += "; or " + strings.Join(other, ", or ")
	}
	return s
}

func (p prepared) after(b *strings.Builder) {
	if p.exact != nil {
		x, u := uncertainty.Round(p.exact.X, p.exact.U)
		fmt.Fprintf(b, "  as weighed: %s ± %s mol/L (one standard uncertainty; purity taken as 100 %%)\n", x, u)
		for _, s := range p.exact.Shares {
			if s.Contribution > 0 {
				fmt.Fprintf(b, "    %-32s %8.2g mol/L %5.1f %%\n", s.Note, s.Contribution, 100*s.Share)
			}
		}
	}
	if len(p.recipe.Against) > 0 {
		s := p.recipe.Against[0]
		fmt.Fprintf(b, "  standardise against %s: %s (%s)\n", s.Reagent.Name(), s.Reaction.Unicode(), s.Conditions)
	}
	if p.recipe.Keeps != "" {
		fmt.Fprintf(b, "  keeps %s; bottle: %s\n", p.recipe.Keeps, p.recipe.Bottle)
	}
	for _, n := range p.recipe.Notes {
		fmt.Fprintf(b, "  note: %s\n", n)
	}
}

func writeCautions(b *strings.Builder, c constants.Cautions) {
	b.WriteString("  cautions (usual classification, from memory or one sheet: check the SDS)\n")
	for _, h := range c.Hazards {
		words := strings.Join(h.Words(), "; ")
		if words == "" {
			words = "usually not classified"
		}
		if h.Signal != "" {
			words = h.Signal + ": " + words
		}
		fmt.Fprintf(b, "    %s: %s\n", h.Name, words)
	}
	for _, u := range c.Unknown {
		fmt.Fprintf(b, "    %s: not in the table; that does not mean harmless\n", u)
	}
	fmt.Fprintf(b, "    wear and do: %s\n", strings.Join(c.Protection, "; "))
	for _, p := range c.Precautions {
		fmt.Fprintf(b, "    %s\n", p)
	}
	for _, s := range c.Waste {
		fmt.Fprintf(b, "    waste, %s (%s): %s\n", s.Name, strings.Join(s.Takes, ", "), s.Say)
	}
	fmt.Fprintf(b, "    %s\n", c.Closing)
}

type recipeJSON struct {
	Place     string        `json:"place"`
	VolumeML  float64       `json:"volume_mL"`
	Medium    string        `json:"medium"`
	Portions  []portionJSON `json:"portions"`
	Steps     []string      `json:"steps"`
	Keeps     string        `json:"keeps"`
	Bottle    string        `json:"bottle"`
	Against   []string      `json:"standardise_against"`
	Exact     *exactJSON    `json:"as_weighed"`
	Notes     []string      `json:"notes"`
	Cautions  []string      `json:"cautions"`
	Hazards   []hazardJSON  `json:"hazards"`
	Statement string        `json:"closing"`
}

type portionJSON struct {
	For       string             `json:"for"`
	Conc      float64            `json:"concentration_mol_per_L"`
	Reagent   string             `json:"reagent"`
	Name      string             `json:"name"`
	MassG     float64            `json:"mass_g"`
	VolumeML  float64            `json:"volume_mL"` // of a liquid, else 0
	MolarMass float64            `json:"molar_mass_g_per_mol"`
	Others    map[string]float64 `json:"alternatives_g"`
}

type exactJSON struct {
	Value  float64 `json:"value"`
	StdUnc float64 `json:"standard_uncertainty"`
	Unit   string  `json:"unit"`
}

type hazardJSON struct {
	Reagent    string   `json:"reagent"`
	Signal     string   `json:"signal"`
	Statements []string `json:"statements"`
	Pictograms []string `json:"pictograms"`
	Source     string   `json:"source"`
}

func writePrepareJSON(w io.Writer, list []prepared) error {
	out := struct {
		Schema    string       `json:"schema"`
		Solutions []recipeJSON `json:"solutions"`
	}{"meniscus.prepare/1", nil}
	for _, p := range list {
		r := p.recipe
		j := recipeJSON{
			Place: p.place, VolumeML: r.Wanted.Volume.Millilitres(), Medium: r.Wanted.Medium, Steps: r.Steps, Keeps: r.Keeps, Bottle: r.Bottle,
			Against: []string{}, Notes: append([]string{}, r.Notes...), Cautions: append([]string{}, r.Cautions.Precautions...), Statement: r.Cautions.Closing,
		}
		for _, q := range r.Portions {
			x := portionJSON{q.For, float64(q.Conc), q.Reagent.Formula, q.Reagent.Name(), float64(q.Mass), q.Volume.Millilitres(), float64(q.MolarMass.Value), map[string]float64{}}
			for _, c := range q.Alternatives {
				x.Others[c.Formula] = float64(c.Mass)
			}
			j.Portions = append(j.Portions, x)
		}
		for _, s := range r.Against {
			j.Against = append(j.Against, s.Reagent.Formula)
		}
		for _, h := range r.Cautions.Hazards {
			j.Hazards = append(j.Hazards, hazardJSON{h.Reagent, h.Signal, append([]string{}, h.Words()...), append([]string{}, h.Pictograms()...), h.Source.Citation})
		}
		if p.exact != nil {
			j.Exact = &exactJSON{p.exact.X, p.exact.U, "mol/L"}
		}
		out.Solutions = append(out.Solutions, j)
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(out)
}
