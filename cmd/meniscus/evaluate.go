package main

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/report"
	"meniscus/unit"
)

func evaluateCommand(a *app) *cobra.Command {
	var o evaluateOptions
	c := &cobra.Command{
		Use:   "evaluate [READINGS...] --setup SETUP",
		Short: "end points, content and formal potentials from readings",
		Long: "evaluate reads volumes and potentials (or pH) from CSV, TSV, XLSX or pasted text\n(- for standard input), runs every method, recommends one and says why, and turns\nits end point into a content. Several files, several runs in one, a folder, or the\nruns of the setup are runs of one determination: blanks are subtracted and the mean\nis given with its scatter. Of more than 50 runs each has a line. Methods that cannot be trusted refuse and say why.\n\nMethods: " +
			strings.Join(assay.MethodNames(), ", ") + ".",
		Example: "  meniscus evaluate granules.csv --setup granules.yaml\n  meniscus evaluate granules.csv --setup granules.yaml --format html --output report.html\n  meniscus evaluate granules.csv --setup granules.yaml --leave-out \"17: bubble in the tip\"\n  meniscus evaluate granules.csv --setup granules.yaml --profile",
		Args:    cobra.ArbitraryArgs,
		RunE:    func(_ *cobra.Command, args []string) error { return a.evaluate(args, o) },
	}
	f := c.Flags()
	f.StringVar(&o.setup, "setup", "", "the setup file (needed)")
	f.StringVar(&o.method, "method", "", "use this method instead of the recommended one")
	f.StringVar(&o.format, "format", "text", strings.Join(report.FormatNames(), ", "))
	f.StringVar(&o.by, "by", "", "who carried it out, for the report; without it a PDF leaves room for a name")
	f.StringVar(&o.date, "date", "", "date of the report, such as 2026-03-14; without it a PDF leaves room for it")
	f.StringVar(&o.paper, "paper", "", "paper of a PDF: "+strings.Join(report.PaperNames(), ", ")+" (the first where it is not given)")
	f.StringVarP(&o.out, "output", "o", "", "file to write to instead of standard output")
	f.StringVar(&o.sheet, "sheet", "", "sheet of a workbook, by name or number")
	f.StringVar(&o.value, "column", "", "column of the readings, by header or letter")
	f.StringArrayVar(&o.leaveOut, "leave-out", nil, "row to leave out, with the reason: \"17: bubble in the tip\"; may be repeated")
	f.StringArrayVar(&o.preset, "preset", nil, "end point at an agreed reading, such as 4.5 for pH or \"850 mV\"; may be repeated")
	f.StringVar(&o.diagnose, "diagnose", "auto", "look for causes of what the residuals show: yes, no, or auto, which does up to 50 runs")
	f.BoolVar(&o.profile, "profile", false, "intervals of 95 % by the sum of squares of the regression, which may be lopsided")
	f.StringVar(&o.granWindow, "gran-window", "", "readings of Gran's lines, in parts of V_e, such as \"0.5 to 0.97\", instead of the rule")
	f.StringVar(&o.granSlope, "gran-slope", "auto", "electrode slope in Gran's lines: auto, assumed (the theoretical one, as exact), or fitted")
	f.StringVar(&o.granWeights, "gran-weights", "noise", "weights in Gran's lines: noise, or equal, as spreadsheets fit")
	f.BoolVar(&o.robust, "robust", false, "weights that fall with the residual, against outliers")
	f.StringArrayVar(&o.blanks, "blank", nil, "file with a titration without the analyte, to be subtracted; may be repeated")
	f.StringArrayVar(&o.reports, "report-as", nil, "unit and substance of the content, such as \"% Fe2O3\"; may be repeated; instead of the setup's")
	f.StringVar(&o.concordance, "concordance", "", "end points of runs agree within this, such as \"0.10 mL\"")
	f.BoolVar(&o.brief, "brief", false, "a line for each run, by the recommended method alone")
	f.BoolVar(&o.progress, "progress", false, "say on standard error how far many runs are")
	return c
}

type evaluateOptions struct {
	blanks, reports                          []string
	concordance                              string
	brief, progress                          bool
	setup, method, format, out, sheet, value string
	diagnose, by, date, paper                string
	granWindow, granSlope, granWeights       string
	profile                                  bool
	leaveOut, preset                         []string
	robust                                   bool
}

func (a *app) evaluate(names []string, o evaluateOptions) error {
	f, ok := report.FindFormat(o.format)
	if !ok {
		return misused("unknown format %q; have %s", o.format, strings.Join(report.FormatNames(), ", "))
	}
	about, err := o.about()
	if err != nil {
		return err
	}
	if o.setup == "" {
		return misused("evaluate needs --setup with the setup file of the titration")
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
	b, err := a.gather(names, s, o)
	if err != nil {
		return err
	}
	doc, complete, err := a.evaluateGathered(b, s, o)
	if err != nil {
		return err
	}
	doc.By, doc.Date, doc.Paper = about.By, about.Date, about.Paper
	w, err := a.create(o.out)
	if err != nil {
		return err
	}
	if err := w.close(f.Write(w, *doc)); err != nil {
		return err
	}
	if !complete {
		return fmt.Errorf("interrupted: %d of %d runs are in the report", len(doc.Evaluations), len(b.inputs))
	}
	if b.unread > 0 {
		return fmt.Errorf("files that could not be read and are not in the report: %d", b.unread)
	}
	for _, e := range doc.Evaluations {
		if e.Recommended >= 0 {
			return nil
		}
	}
	if o.method != "" {
		return fmt.Errorf("%s refuses: see the reason in the report", o.method)
	}
	return assay.ErrAllRefused
}

// about reads who, when and the paper of the report.
func (o evaluateOptions) about() (d report.Document, err error) {
	d.By = o.by
	if o.date != "" {
		if d.Date, err = time.Parse(time.DateOnly, o.date); err != nil {
			return d, misused("--date %q: a date is meant, such as 2026-03-14", o.date)
		}
	}
	if o.paper != "" && o.format != "pdf" {
		return d, misused("--paper is for --format pdf, and the format is %s", o.format)
	}
	var ok bool
	if d.Paper, ok = report.FindPaper(o.paper); !ok {
		return d, misused("--paper %q: have %s", o.paper, strings.Join(report.PaperNames(), ", "))
	}
	return d, nil
}

func (a *app) readings(name string, o evaluateOptions, drops []curve.Drop) (*curve.Record, error) {
	data, err := a.readFile(name, "the readings")
	if err != nil {
		return nil, err
	}
	return curve.Read(bytes.NewReader(data), name, curve.Options{Sheet: o.sheet, Value: o.value, Drop: drops})
}

// parseDrops reads "17: bubble in the tip".
func parseDrops(list []string) ([]curve.Drop, error) {
	var drops []curve.Drop
	for _, x := range list {
		number, reason, ok := strings.Cut(x, ":")
		row, err := strconv.Atoi(strings.TrimSpace(number))
		if err != nil || row < 1 || !ok || strings.TrimSpace(reason) == "" {
			return nil, misused("--leave-out %q: write the row number and the reason, such as \"17: bubble in the tip\"", x)
		}
		drops = append(drops, curve.Drop{Row: row, Reason: strings.TrimSpace(reason)})
	}
	return drops, nil
}

// parsePreset reads agreed readings: bare numbers for pH and pIon, potentials
// with their unit.
func parsePreset(list []string) ([]float64, error) {
	var out []float64
	for _, x := range list {
		q, err := unit.ParseQuantity(x)
		if err != nil {
			return nil, misused("--preset: %v", err)
		}
		v := q.Value
		if q.Unit != "" {
			if v, _, err = q.In(unit.DimPotential, "850 mV"); err != nil {
				return nil, misused("--preset: %v", err)
			}
		}
		out = append(out, v.Float())
	}
	return out, nil
}
