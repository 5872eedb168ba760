package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/assay"
	"meniscus/chem"
	"meniscus/explain"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/unit"
)

func contentCommand(a *app) *cobra.Command {
	var o contentOptions
	c := &cobra.Command{
		Use:     "content --setup SETUP --volume VOLUME",
		Short:   "concentration and content from end points that are known",
		Long:    "content goes from end point volumes to concentrations and contents through the\nstoichiometry of the setup, with the uncertainty and the working. --volume once for\neach titration; two end points of one titration stand together, in order or with\nthe species used up there: \"24.36, 28.70 mL\", \"CO3^2-: 24.36 mL, HCO3^-: 28.70 mL\".\nBack titrations are portions of the flask; indirect ones have the key indirect.",
		Example: "  meniscus content --setup granules.yaml --volume \"22.01 ± 0.02 mL\"\n  meniscus content --setup granules.yaml --volume \"22.01 mL\" --volume \"22.05 mL\" --volume \"21.98 mL\" --concordance \"0.10 mL\"\n  meniscus content --setup granules.yaml --volume \"22.01 mL\" --report-as \"g/kg Fe2O3\"",
		Args:    exactly(0, "content"),
		RunE:    func(_ *cobra.Command, _ []string) error { return a.content(o) },
	}
	f := c.Flags()
	f.StringVar(&o.setup, "setup", "", "the setup file (needed)")
	f.StringArrayVar(&o.volumes, "volume", nil, "end point of one titration (needed); may be repeated")
	f.StringArrayVar(&o.blanks, "blank", nil, "end point of a titration without sample; may be repeated; instead of the setup's blank")
	f.StringArrayVar(&o.reports, "report-as", nil, "unit and substance of the content, such as \"% Fe2O3\"; may be repeated; instead of the setup's")
	f.StringVar(&o.concordance, "concordance", "", "end points agree within this, such as \"0.10 mL\"")
	f.StringVar(&o.format, "format", "text", strings.Join(report.FormatNames(), ", ")+"; with --working "+strings.Join(report.WorkingFormatNames(), ", "))
	f.BoolVar(&o.working, "working", false, "every step from the volume to the result, for one titration")
	f.StringVarP(&o.out, "output", "o", "", "file to write to instead of standard output")
	return c
}

type contentOptions struct {
	setup, concordance, format, out string
	volumes, blanks, reports        []string
	working                         bool
}

func (a *app) content(o contentOptions) error {
	if o.working {
		return a.contentWorking(o)
	}
	f, ok := report.FindFormat(o.format)
	switch {
	case !ok:
		return misused("unknown format %q; have %s", o.format, strings.Join(report.FormatNames(), ", "))
	case o.setup == "":
		return misused("content needs --setup with the setup file of the titration")
	case len(o.volumes) == 0:
		return misused("content needs --volume with the end point, such as --volume \"24.36 mL\"")
	}
	limit, err := volumeLimit(o.concordance)
	if err != nil {
		return err
	}
	s, err := a.setup(o.setup)
	if err != nil {
		return err
	}
	if len(o.reports) > 0 {
		if err := s.SetReports(o.reports); err != nil {
			return misused("--report-as: %v", err)
		}
	}
	doc, err := statedDocument(s, o, limit)
	if err != nil {
		return err
	}
	results := 0
	for _, e := range doc.Evaluations {
		a.warn(e.Warnings)
		results += len(e.Concentrations) + len(e.Contents)
	}
	w, err := a.create(o.out)
	if err != nil {
		return err
	}
	if err := w.close(f.Write(w, *doc)); err != nil {
		return err
	}
	if results == 0 {
		return fmt.Errorf("no concentration and no content follow from these volumes: the reasons are in the report")
	}
	return nil
}

// contentWorking writes the steps instead of the report.
func (a *app) contentWorking(o contentOptions) error {
	f, ok := report.WorkingFormat(o.format)
	switch {
	case !ok:
		return misused("unknown format %q with --working; have %s", o.format, strings.Join(report.WorkingFormatNames(), ", "))
	case o.setup == "":
		return misused("content needs --setup with the setup file of the titration")
	case len(o.volumes) != 1:
		return misused("--working is for one --volume, not %d", len(o.volumes))
	}
	s, err := a.setup(o.setup)
	if err != nil {
		return err
	}
	if len(o.reports) > 0 {
		if err := s.SetReports(o.reports); err != nil {
			return misused("--report-as: %v", err)
		}
	}
	doc, err := statedDocument(s, o, 0)
	if err != nil {
		return err
	}
	e := doc.Evaluations[0]
	a.warn(e.Warnings)
	if len(e.Concentrations)+len(e.Contents) == 0 {
		return fmt.Errorf("no concentration and no content follow from this volume; without --working the report says why")
	}
	d, err := explain.Content(e)
	if err != nil {
		return fmt.Errorf("explaining the content: %w", err)
	}
	w, err := a.create(o.out)
	if err != nil {
		return err
	}
	return w.close(f.Write(w, d))
}

func statedDocument(s *setup.Setup, o contentOptions, limit float64) (*report.Document, error) {
	blank, err := statedBlank(o.blanks)
	if err != nil {
		return nil, err
	}
	doc := &report.Document{Title: s.Title}
	var runs []assay.Run
	for i, text := range o.volumes {
		points, err := statedPoints(text)
		if err != nil {
			return nil, misused("--volume: %v", err)
		}
		e, err := assay.FromVolumes(points, s, blank)
		if err != nil {
			return nil, fmt.Errorf("--volume %q: %w", text, err)
		}
		doc.Evaluations = append(doc.Evaluations, e)
		runs = append(runs, assay.Run{Name: fmt.Sprint(i + 1), Evaluation: e})
	}
	if len(runs) > 1 || blank != nil {
		doc.Determination = assay.Combine(runs, s, blank, limit)
	}
	return doc, nil
}

func statedBlank(list []string) (*assay.BlankResult, error) {
	if len(list) == 0 {
		return nil, nil
	}
	var volumes []float64
	u := 0.0
	for _, text := range list {
		v, err := statedVolume(text, "")
		if err != nil {
			return nil, misused("--blank: %v", err)
		}
		volumes, u = append(volumes, v.Float()), max(u, v.U)
	}
	return assay.MeasuredBlank(volumes, u), nil
}

// statedPoints reads "24.36, 28.70 mL" or "CO3^2-: 24.36 mL, HCO3^-: 28.70 mL".
// A comma between digits is a decimal comma; after it stands a blank.
func statedPoints(text string) ([]assay.StatedPoint, error) {
	parts := strings.Split(strings.ReplaceAll(text, ";", ", "), ", ")
	last, err := unit.ParseQuantity(afterColon(parts[len(parts)-1]))
	if err != nil {
		return nil, err
	}
	var list []assay.StatedPoint
	before := 0.0
	for _, part := range parts {
		p := assay.StatedPoint{}
		if name, _, ok := strings.Cut(part, ":"); ok {
			sp, err := chem.ParseSpecies(strings.TrimSpace(name))
			if err != nil {
				return nil, err
			}
			p.Species = sp.Name
		}
		if p.Volume, err = statedVolume(afterColon(part), last.Unit); err != nil {
			return nil, err
		}
		if v := p.Volume.Float(); !(v > before) {
			return nil, fmt.Errorf("%q: end points are above 0 and rise", text)
		}
		before = p.Volume.Float()
		list = append(list, p)
	}
	return list, nil
}

func afterColon(s string) string {
	if _, after, ok := strings.Cut(s, ":"); ok {
		s = after
	}
	return strings.TrimSpace(s)
}

func statedVolume(text, unitName string) (setup.Value, error) {
	q, err := unit.ParseQuantity(text)
	if err != nil {
		return setup.Value{}, err
	}
	if q.Unit == "" {
		q.Unit = unitName
	}
	x, u, err := q.In(unit.DimVolume, "24.36 mL")
	return setup.Value{X: x, U: u, Stated: q.Stated, Text: strings.TrimSpace(text)}, err
}
