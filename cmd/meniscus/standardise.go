package main

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/constants"
	"meniscus/report"
	"meniscus/solution"
	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/volumetric"
)

type standardiseOptions struct {
	mass, purity, standard, titrant, volume, blank, madeUp, aliquot, format string
}

func standardiseCommand(a *app) *cobra.Command {
	var o standardiseOptions
	c := &cobra.Command{
		Use:   "standardise",
		Short: "the concentration of a titrant from a weighed standard",
		Long:  "standardise gives the concentration of a titrant from the mass of a primary\nstandard and the volume that it took, with the ratio of the balanced reaction and\nan uncertainty. Where the standard was made up to a volume and an aliquot taken,\nboth are given. Write uncertainties with the quantities: \"34.87 ± 0.03 mL\"; where\nnone is stated for a volume, that of class A ware is taken and said.",
		Example: "  meniscus standardise --mass \"0.2000 g\" --standard Na2C2O4 --titrant MnO4^- --volume \"34.87 mL\" --blank \"0.05 mL\"\n" +
			"  meniscus standardise --mass \"1.2430 g\" --standard K2Cr2O7 --made-up \"250.0 mL\" --aliquot \"25.00 mL\" --titrant Fe^2+ --volume \"24.23 mL\"\n" +
			"  meniscus standardise --mass \"0.2000 g\" --purity \"99.96 ± 0.02 %\" --standard Na2C2O4 --titrant Ce^4+ --volume \"29.80 mL\" --format json",
		Args: exactly(0, "standardise"),
		RunE: func(*cobra.Command, []string) error { return a.standardise(o) },
	}
	f := c.Flags()
	f.StringVar(&o.mass, "mass", "", "mass of the standard")
	f.StringVar(&o.purity, "purity", "", "its purity, such as \"99.96 ± 0.02 %\"; otherwise 100 %")
	f.StringVar(&o.standard, "standard", "", "its formula or name")
	f.StringVar(&o.titrant, "titrant", "", "the titrant's species or salt")
	f.StringVar(&o.volume, "volume", "", "volume of titrant")
	f.StringVar(&o.blank, "blank", "", "blank, subtracted")
	f.StringVar(&o.madeUp, "made-up", "", "volume that the standard was made up to")
	f.StringVar(&o.aliquot, "aliquot", "", "aliquot of it that was titrated")
	f.StringVar(&o.format, "format", "text", "text, json")
	return c
}

// A standardised is what was found, with what was assumed for it.
type standardised struct {
	standard constants.Standard
	balanced bool // the ratio is by couples, not from the table of standards
	given    solution.Standardisation
	budget   *uncertainty.Budget
	warnings []string
	cautions constants.Cautions
}

func (a *app) standardise(o standardiseOptions) error {
	if o.format != "text" && o.format != "json" {
		return misused("unknown format %q; have text, json", o.format)
	}
	if o.mass == "" || o.standard == "" || o.titrant == "" || o.volume == "" {
		return misused("standardise needs --mass, --standard, --titrant and --volume")
	}
	var r standardised
	var err error
	if r.standard, r.balanced, err = solution.StandardFrom(o.standard, o.titrant); err != nil {
		return err
	}
	if r.balanced {
		r.warnings = append(r.warnings, fmt.Sprintf("the ratio was found by balancing couples (%s), not in the table of standards: make sure that this reaction runs, completely and alone", r.standard.Reaction.Unicode()))
	}
	if !r.standard.Reagent.Primary {
		r.warnings = append(r.warnings, r.standard.Reagent.Name()+" is no primary standard: its purity has to be known")
	}
	if err := r.read(o); err != nil {
		return err
	}
	if r.budget, err = r.given.Concentration(); err != nil {
		return err
	}
	if r.cautions, err = constants.CautionsFor(r.standard.Reagent.Formula, r.standard.Titrant); err != nil {
		return err
	}
	a.warn(r.warnings)
	if o.format == "json" {
		return r.writeJSON(a.out)
	}
	return r.writeText(a.out)
}

// read fills in what was given; a volume without an uncertainty gets that of
// class A ware, and a word about it.
func (r *standardised) read(o standardiseOptions) error {
	s := &r.given
	s.PerUnit, s.Density = r.standard.PerUnit(), r.standard.Reagent.Density.Value
	var err error
	if s.MolarMass, err = r.standard.Reagent.Species.MolarMass(); err != nil {
		return fmt.Errorf("molar mass of %s: %w", r.standard.Reagent.Formula, err)
	}
	mass, massU, err := measured(o.mass, unit.DimMass, "0.2000 g", "--mass")
	if err != nil {
		return err
	}
	if err := partMass.check("--mass", o.mass, mass); err != nil {
		return err
	}
	s.Mass, s.MassU = unit.Mass(mass), unit.Mass(massU)
	if s.Purity, s.PurityU, err = measured(o.purity, unit.DimFraction, "99.96 ± 0.02 %", "--purity"); err != nil {
		return err
	}
	if o.purity != "" && !(s.Purity > 0 && s.Purity <= 1) {
		return misused("--purity %q: above 0 and at most 100 %% is meant", o.purity)
	}
	for _, q := range []struct {
		text, flag, example string
		kind                volumetric.Kind
		x, u                *unit.Volume
	}{
		{o.volume, "--volume", "34.87 mL", volumetric.Burette, &s.Volume, &s.VolumeU},
		{o.madeUp, "--made-up", "250.0 mL", volumetric.Flask, &s.MadeUp, &s.MadeUpU},
		{o.aliquot, "--aliquot", "25.00 mL", volumetric.Pipette, &s.Aliquot, &s.AliquotU},
		{o.blank, "--blank", "0.05 mL", "", &s.Blank, &s.BlankU},
	} {
		x, u, stated, err := volumeStated(q.text, q.flag, q.example)
		if err != nil {
			return err
		}
		if q.text != "" && q.flag != "--blank" { // a blank may be 0, or below
			if err := wareVolume.check(q.flag, q.text, x); err != nil {
				return err
			}
		}
		*q.x, *q.u = unit.Volume(x), unit.Volume(u)
		if q.text == "" || stated {
			continue
		}
		if q.kind == "" {
			r.warnings = append(r.warnings, "no uncertainty was stated for "+q.flag+": that of the result leaves it out; write it as \"0.05 ± 0.02 mL\"")
			continue
		}
		classA, ware, err := solution.ClassA(q.kind, *q.x)
		if err != nil {
			r.warnings = append(r.warnings, fmt.Sprintf("no uncertainty was stated for %s, and none of class A is known (%v): that of the result leaves it out", q.flag, err))
			continue
		}
		*q.u = classA
		r.warnings = append(r.warnings, fmt.Sprintf("no uncertainty was stated for %s: that of a %s of class A is taken, u = %.2g mL", q.flag, ware, classA.Millilitres()))
	}
	return nil
}

func volumeStated(text, flag, example string) (x, u float64, stated bool, err error) {
	if x, u, err = measured(text, unit.DimVolume, example, flag); err != nil || text == "" {
		return x, u, false, err
	}
	q, err := unit.ParseQuantity(text)
	return x, u, q.Stated, err
}

func (r *standardised) purityWords() string {
	switch s := r.given; {
	case s.Purity == 0:
		return "purity taken as 100 %"
	case s.PurityU == 0:
		return fmt.Sprintf("purity %.5g %%, without an uncertainty", 100*s.Purity)
	default:
		return fmt.Sprintf("purity %.5g ± %.2g %%", 100*s.Purity, 100*s.PurityU)
	}
}

func (r *standardised) writeText(w io.Writer) error {
	st, s := r.standard, r.given
	titrant, salt := report.Formula(st.Titrant), report.Formula(st.Reagent.Formula)
	value, doubt := uncertainty.Round(r.budget.X, r.budget.U)
	var t strings.Builder
	fmt.Fprintf(&t, "reaction   %s\n", st.Reaction.Unicode())
	fmt.Fprintf(&t, "ratio      %.4g %s for one %s\n", s.PerUnit, titrant, salt)
	fmt.Fprintf(&t, "standard   %.5g mol of %s (M = %.3f g/mol)\n", float64(s.Amount()), salt, float64(s.MolarMass.Value))
	fmt.Fprintf(&t, "volume     %.4g mL less the blank\n", (s.Volume - s.Blank).Millilitres())
	fmt.Fprintf(&t, "titrant    %.5g mol of %s\n", s.PerUnit*float64(s.Amount()), titrant)
	fmt.Fprintf(&t, "c(%s)   %s ± %s mol/L (one standard uncertainty; %s)\n", titrant, value, doubt, r.purityWords())
	for _, p := range r.budget.Shares {
		if p.Contribution > 0 {
			fmt.Fprintf(&t, "  %-32s %8.2g mol/L %5.1f %%\n", p.Note, p.Contribution, 100*p.Share)
		}
	}
	fmt.Fprintf(&t, "conditions %s\n", report.Typeset(st.Conditions))
	for _, l := range cautionLines(r.cautions) {
		fmt.Fprintf(&t, "  %s\n", report.Typeset(l))
	}
	if _, err := io.WriteString(w, t.String()); err != nil {
		return fmt.Errorf("writing the standardisation: %w", err)
	}
	return nil
}

type standardiseJSON struct {
	Schema     string      `json:"schema"`
	Reaction   string      `json:"reaction"`
	Balanced   bool        `json:"ratio_by_balancing"`
	Standard   string      `json:"standard"`
	Titrant    string      `json:"titrant"`
	PerUnit    float64     `json:"titrant_per_standard"`
	Amount     float64     `json:"standard_mol"`
	TitrantMol float64     `json:"titrant_mol"`
	VolumeML   float64     `json:"net_volume_mL"`
	Value      float64     `json:"concentration"`
	StdUnc     float64     `json:"standard_uncertainty"`
	Unit       string      `json:"unit"`
	Shares     []shareJSON `json:"budget"`
	Conditions string      `json:"conditions"`
	Warnings   []string    `json:"warnings"`
	Cautions   []string    `json:"cautions"`
}

type shareJSON struct {
	From         string  `json:"from"`
	Contribution float64 `json:"contribution"`
	Share        float64 `json:"share"`
}

func (r *standardised) writeJSON(w io.Writer) error {
	st, s := r.standard, r.given
	out := standardiseJSON{
		Schema: "meniscus.standardise/1", Reaction: st.Reaction.String(), Balanced: r.balanced, Standard: st.Reagent.Formula, Titrant: st.Titrant,
		PerUnit: s.PerUnit, Amount: float64(s.Amount()), TitrantMol: s.PerUnit * float64(s.Amount()), VolumeML: (s.Volume - s.Blank).Millilitres(),
		Value: r.budget.X, StdUnc: r.budget.U, Unit: "mol/L", Shares: []shareJSON{}, Conditions: st.Conditions,
		Warnings: append([]string{}, r.warnings...), Cautions: slices.Clone(cautionLines(r.cautions)[1:]),
	}
	for _, p := range r.budget.Shares {
		if p.Contribution > 0 {
			out.Shares = append(out.Shares, shareJSON{p.Note, p.Contribution, p.Share})
		}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(out); err != nil {
		return fmt.Errorf("writing the standardisation as JSON: %w", err)
	}
	return nil
}
