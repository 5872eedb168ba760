package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"meniscus/chem"
	"meniscus/constants"
	"meniscus/plan"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/solution"
	"meniscus/unit"
)

// mostOfClass keeps the product of students, sections and replicates a number
// that can be counted: beyond it a digit slipped.
const mostOfClass = 10000

type prepareOptions struct {
	make, volume, from, medium, format, out string
	weighed, purity, salts                  []string
	students, sections, replicates          int
	spare, indicator                        string
	labels, date, lot                       string
	volumeSet                               bool
}

func prepareCommand(a *app) *cobra.Command {
	var o prepareOptions
	c := &cobra.Command{
		Use:   "prepare [SETUP]",
		Short: "how to make the solutions, and what to beware of",
		Long:  "prepare says for a solution what to weigh or to measure, in which order to mix,\nhow to dry, keep and standardise, and which cautions belong to it: for each\nsolution of a setup (the contents of its flask and burette, --volume of each, and\na buffer for a pH that is held, and\nthe indicator that fits best), or for one given by --make. --weighed gives the\nconcentration by the mass that was really weighed, with its uncertainty. With\n--from a stock, the pipette and flask to dilute it. --students counts for a class\nwhat to make, buy and set out, and the waste. --labels writes labels. Cautions are\nreminders: the supplier's safety data sheet and local rules decide.",
		Example: "  meniscus prepare --make \"0.1 mol/L Fe^2+\" --volume \"250 mL\"\n" +
			"  meniscus prepare --make \"0.1 mol/L Fe^2+\" --volume \"250 mL\" --from \"Fe(NH4)2(SO4)2·6H2O\" --weighed \"9.8123 g\"\n" +
			"  meniscus prepare --make \"0.1 mol/L HCl\" --volume \"250 mL\" --from \"1.000 ± 0.002 mol/L stock\"\n  meniscus prepare iron.yaml --volume \"500 mL\"\n" +
			"  meniscus prepare --make phenolphthalein --volume \"100 mL\"\n  meniscus prepare iron.yaml --salt \"Ce^4+=Ce(SO4)2·4H2O\" --weighed \"Fe^2+=7.8432 g\" --labels labels.pdf --date 2026-11-28\n" +
			"  meniscus prepare iron.yaml --students 24 --sections 2 --replicates 3 --spare \"25 %\" --format html --output class.html",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 || (len(args) == 1) == (o.make != "") {
				return misused("prepare needs a setup file or --make, one of them")
			}
			o.volumeSet = cmd.Flags().Changed("volume")
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return a.prepare(args, o) },
	}
	f := c.Flags()
	f.StringVar(&o.make, "make", "", "the solution to make, such as \"0.1 mol/L Fe^2+\", or an indicator by its name")
	f.StringVar(&o.volume, "volume", "1000 mL", "volume of each solution")
	f.StringVar(&o.from, "from", "", "with --make: the bottle, formula with its water, or a stock such as \"1.000 ± 0.002 mol/L stock\"")
	f.StringVar(&o.medium, "medium", "", "with --make: the medium, such as \"1 mol/L H2SO4\"")
	f.StringArrayVar(&o.salts, "salt", nil, "the bottle of a species, such as \"Ce^4+=(NH4)2Ce(NO3)6\"; again for others")
	f.StringArrayVar(&o.weighed, "weighed", nil, "mass that was weighed, such as \"9.8123 g\"; of a setup \"Fe^2+=9.8123 g\", again for others and for each lot of a class")
	f.StringVar(&o.indicator, "indicator", "", "of a setup: an indicator to make up by its name, or \"none\"; otherwise the one that fits best")
	f.StringArrayVar(&o.purity, "purity", nil, "purity of what was weighed, such as \"99.5 ± 0.2 %\"; of a setup \"Fe^2+=99.5 ± 0.2 %\"")
	f.IntVar(&o.students, "students", 0, "students in a section: counts what a class needs")
	f.IntVar(&o.sections, "sections", 1, "sections of the class")
	f.IntVar(&o.replicates, "replicates", 3, "titrations of each student")
	f.StringVar(&o.spare, "spare", "25 %", "spare on solutions")
	f.StringVar(&o.labels, "labels", "", "write labels to a file, .html or .pdf")
	f.StringVar(&o.date, "date", "", "date of making for the labels, such as 2026-11-28; otherwise left to write in")
	f.StringVar(&o.lot, "lot", "", "lot for the labels; otherwise left to write in")
	f.StringVar(&o.format, "format", "text", strings.Join(report.PrepareFormats.Names(), ", "))
	f.StringVarP(&o.out, "output", "o", "", "file to write to instead of standard output")
	return c
}

func (o prepareOptions) check(setupGiven bool) error {
	if setupGiven && (o.from != "" || o.medium != "") {
		return misused("--from and --medium belong to --make; of a setup the bottle is --salt \"Fe^2+=FeSO4·7H2O\"")
	}
	if o.indicator != "" && !setupGiven {
		return misused("--indicator belongs to a setup; make one up with --make %q", o.indicator)
	}
	if o.students != 0 && !setupGiven {
		return misused("--students needs a setup: it says how much a titration takes")
	}
	if o.students != 0 && o.volumeSet {
		return misused("--volume and --students exclude each other: the class says how much to make")
	}
	if o.students < 0 || o.sections < 1 || o.replicates < 1 {
		return misused("--students, --sections and --replicates are numbers from 1")
	}
	if most := max(o.students, o.sections, o.replicates); most > mostOfClass {
		return misused("%d: --students, --sections and --replicates are numbers from 1 to %d", most, mostOfClass)
	}
	return nil
}

func (a *app) prepare(args []string, o prepareOptions) error {
	format, ok := report.PrepareFormats.Find(o.format)
	if !ok {
		return misused("unknown format %q; have %s", o.format, strings.Join(report.PrepareFormats.Names(), ", "))
	}
	if err := o.check(len(args) == 1); err != nil {
		return err
	}
	labels, err := o.readLabels()
	if err != nil {
		return err
	}
	volume, err := quantity(o.volume, unit.DimVolume, "250 mL", "--volume")
	if err != nil {
		return err
	}
	var p *report.Preparation
	if len(args) == 1 {
		p, err = a.prepareSetup(args[0], unit.Volume(volume), o)
	} else {
		p, err = prepareOne(o, unit.Volume(volume))
	}
	var beyond *solution.LimitError
	if errors.As(err, &beyond) && (o.make != "" || o.volumeSet || o.students > 0) {
		return usageError{err}
	}
	var unmade *solution.BottleError
	if err != nil && !(errors.As(err, &unmade) && p != nil && len(p.Solutions) > 0) {
		return err
	}
	if werr := a.writePreparation(p, format, labels, o); werr != nil {
		return werr
	}
	return err
}

func (a *app) writePreparation(p *report.Preparation, format report.FormatOf[report.Preparation], labels labelSheet, o prepareOptions) error {
	w, err := a.create(o.out)
	if err != nil {
		return err
	}
	if err := w.close(format.Write(w, p)); err != nil || labels.write == nil {
		return err
	}
	l, err := a.create(o.labels)
	if err != nil {
		return err
	}
	return l.close(labels.write(l, p.Labels(labels.made, o.lot)))
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

func prepareOne(o prepareOptions, volume unit.Volume) (*report.Preparation, error) {
	name := constants.WithoutConcentration(o.make)
	conc, err := quantity(strings.TrimSuffix(strings.TrimSpace(o.make), name), unit.DimConc, "0.1 mol/L Fe^2+", "--make")
	if err != nil {
		return nil, err
	}
	if stock, ok := stockOf(o.from); ok {
		return dilute(o, name, unit.Concentration(conc), volume, stock)
	}
	if conc == 0 { // the name of an indicator, or nothing that can be made
		if _, ok, err := constants.FindIndicatorSolution(name); err != nil || ok {
			return prepareIndicator(name, o, volume)
		}
	}
	from := o.from
	for _, s := range o.salts {
		_, bottle, ok := strings.Cut(s, "=")
		if !ok || from != "" {
			return nil, misused("--salt %q: such as \"Fe^2+=FeSO4·7H2O\" is meant, and not beside --from", s)
		}
		from = bottle
	}
	if name == "" || conc == 0 {
		return nil, misused("--make %q: a concentration and what it is of are meant, such as \"0.1 mol/L Fe^2+\"", o.make)
	}
	r, err := solution.Make(solution.Wanted{
		Solutes: []solution.Solute{{Name: name, Conc: unit.Concentration(conc), From: from}}, Medium: o.medium, Volume: volume,
	})
	if err != nil {
		return nil, err
	}
	p := &report.Preparation{Solutions: []report.Prepared{{Recipe: r}}}
	return p, weigh(p, o)
}

// stockOf reads "1.000 ± 0.002 mol/L stock".
func stockOf(from string) (unit.Quantity, bool) {
	words := strings.Fields(from)
	for n := len(words); n > 0; n-- {
		if q, err := unit.ParseQuantity(strings.Join(words[:n], " ")); err == nil && q.Dimension() == unit.DimConc {
			return q, true
		}
	}
	return unit.Quantity{}, false
}

func dilute(o prepareOptions, name string, want unit.Concentration, volume unit.Volume, stock unit.Quantity) (*report.Preparation, error) {
	if len(o.weighed)+len(o.purity)+len(o.salts) > 0 {
		return nil, misused("--weighed, --purity and --salt belong to a bottle, not to a stock")
	}
	x, u, err := stock.In(unit.DimConc, "1.000 ± 0.002 mol/L")
	if err != nil {
		return nil, misused("--from: %v", err)
	}
	if !(x.Float() > 0) || u > x.Float()/10 {
		return nil, misused("--from %q: a stock of a concentration above 0, known to a tenth at least, is meant, such as \"1.000 ± 0.002 mol/L stock\"", o.from)
	}
	s := solution.Stock{Conc: unit.Concentration(x.Float()), U: unit.Concentration(u)}
	ways, err := solution.Dilute(s, want, volume)
	if err != nil {
		return nil, err
	}
	p := &report.Preparation{Diluted: &report.Diluted{Name: name, Want: want, Stock: s, Ways: ways}}
	if !stock.Stated {
		p.Notes = append(p.Notes, "the stock was stated without an uncertainty: that of the result leaves it out; write \"1.000 ± 0.002 mol/L stock\"")
	}
	return p, nil
}

// named reads "Fe^2+=9.8123 g", or "9.8123 g" where there is one solution.
func named(flag, text string, one bool) (name, value string, err error) {
	name, value, ok := strings.Cut(text, "=")
	if !ok && one {
		return "", text, nil
	}
	if !ok {
		return "", "", misused("%s %q: say of which species, such as \"Fe^2+=%s\"", flag, text, text)
	}
	return strings.TrimSpace(name), strings.TrimSpace(value), nil
}

// readSalts reads "Ce^4+=(NH4)2Ce(NO3)6", by the canonical name of the species.
func (o prepareOptions) readSalts() (map[string]string, error) {
	m := map[string]string{}
	for _, text := range o.salts {
		name, bottle, ok := strings.Cut(text, "=")
		s, err := chem.ParseSpecies(strings.TrimSpace(name))
		switch {
		case !ok || strings.TrimSpace(name) == "" || strings.TrimSpace(bottle) == "":
			return nil, misused("--salt %q: such as \"Ce^4+=(NH4)2Ce(NO3)6\" is meant", text)
		case err != nil:
			return nil, misused("--salt %q: %v", text, err)
		}
		m[s.Name] = strings.TrimSpace(bottle)
	}
	return m, nil
}

func (a *app) prepareSetup(name string, volume unit.Volume, o prepareOptions) (*report.Preparation, error) {
	data, err := a.readFile(name, "the setup")
	if err != nil {
		return nil, err
	}
	s, err := setup.Read(data, name)
	if err != nil {
		return nil, err
	}
	salts, err := o.readSalts()
	if err != nil {
		return nil, err
	}
	uses, err := plan.Solutions(s, salts, volume)
	if err != nil {
		return nil, usageError{fmt.Errorf("--salt: %w", err)}
	}
	p := &report.Preparation{Title: s.Title}
	if o.students > 0 {
		if p.Stockroom, err = o.class(s, uses); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		for _, b := range p.Stockroom.Batches {
			p.Solutions = append(p.Solutions, report.Prepared{Place: b.Place, Recipe: b.Recipe, Lots: b.Lots, Flasks: b.Flasks})
		}
		p.HoldPH(setup.NewOutline(data), volume)
		if err := o.addIndicators(p, s); err != nil {
			return nil, err
		}
		return p, weigh(p, o)
	}
	var missing error
	for _, u := range uses {
		r, err := solution.Make(u.Wanted)
		if err != nil {
			missing = errors.Join(missing, fmt.Errorf("%s: solution for the %s: %w", name, u.Place, err))
			continue
		}
		p.Solutions = append(p.Solutions, report.Prepared{Place: u.Place, Recipe: r})
	}
	if missing != nil && len(p.Solutions) == 0 {
		return nil, missing
	}
	p.HoldPH(setup.NewOutline(data), volume)
	if err := o.addIndicators(p, s); err != nil {
		return nil, err
	}
	if err := weigh(p, o); err != nil {
		return nil, err
	}
	return p, missing
}

// prepareIndicator makes up an indicator alone.
func prepareIndicator(name string, o prepareOptions, volume unit.Volume) (*report.Preparation, error) {
	if o.from != "" || o.medium != "" || len(o.weighed)+len(o.purity)+len(o.salts) > 0 {
		return nil, misused("--from, --medium, --salt, --weighed and --purity do not belong to an indicator: its strength need not be known")
	}
	d, err := solution.Indicator(name, indicatorVolume(o, volume))
	return &report.Preparation{Indicators: []report.PreparedIndicator{{Drops: d}}}, err
}

// indicatorVolume is the volume asked for; a dropping bottle's where none was.
func indicatorVolume(o prepareOptions, volume unit.Volume) unit.Volume {
	if o.volumeSet {
		return volume
	}
	return 0
}

// addIndicators makes up the indicator that was asked for, or the one that fits
// each end point best.
func (o prepareOptions) addIndicators(p *report.Preparation, s *setup.Setup) error {
	if o.indicator == "none" {
		return nil
	}
	if o.indicator != "" {
		if _, ok, err := constants.FindIndicatorSolution(o.indicator); err != nil || !ok {
			_, err = solution.Indicator(o.indicator, 0)
			return usageError{fmt.Errorf("--indicator: %w", err)}
		}
		return p.AddIndicator(o.indicator, "")
	}
	list, err := plan.Suggest(s, 0)
	if err != nil {
		p.Notes = append(p.Notes, "no indicator was looked for: "+err.Error())
		return nil
	}
	return p.AddSuggested(list)
}

func (o prepareOptions) class(s *setup.Setup, uses []solution.Use) (*solution.Stockroom, error) {
	spare, err := percentage("--spare", o.spare, spareSpan)
	if err != nil {
		return nil, err
	}
	c := solution.Class{Students: o.students, Sections: o.sections, Replicates: o.replicates, Spare: spare}
	room, err := c.For(uses, plan.BuretteVolume(s), plan.FlaskVolume(s))
	if err != nil {
		return nil, err
	}
	plan.AddGear(room, s)
	return room, nil
}

// cautionLines are the cautions of reagents, a line each.
func cautionLines(c constants.Cautions) []string {
	b := report.CautionWords(c)
	return slices.Concat([]string{"cautions"}, b.Say, b.Items)
}

// A labelSheet is what --labels asks for.
type labelSheet struct {
	write report.LabelWriter
	made  time.Time
}

func (o prepareOptions) readLabels() (labelSheet, error) {
	var l labelSheet
	if o.labels == "" {
		if o.date != "" || o.lot != "" {
			return l, misused("--date and --lot belong to --labels")
		}
		return l, nil
	}
	var ok bool
	if l.write, ok = report.FindLabelWriter(o.labels); !ok {
		return l, misused("--labels %s: a file that ends in .html or .pdf is meant", o.labels)
	}
	if o.date != "" {
		t, err := time.Parse("2006-01-02", o.date)
		if err != nil {
			return l, misused("--date %q: a date such as 2026-11-28 is meant", o.date)
		}
		l.made = t
	}
	return l, nil
}
