package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/report"
	"meniscus/setup"
)

// manyRuns is how many runs are written in full; of more each has a line.
const manyRuns = 50

// A batch is the runs of one command.
type batch struct {
	inputs []assay.Input
	record *curve.Record
	source string
	unread int // files that could not be read
}

// gather reads all runs: the files named, or those that the setup names.
func (a *app) gather(names []string, s *setup.Setup, o evaluateOptions) (*batch, error) {
	drops, err := parseDrops(o.leaveOut)
	if err != nil {
		return nil, err
	}
	var runs []setup.Run
	for _, name := range names {
		list, err := readingsIn(name)
		if err != nil {
			return nil, err
		}
		for _, f := range list {
			runs = append(runs, setup.Run{File: f, Sheet: o.sheet})
		}
	}
	for _, name := range o.blanks {
		runs = append(runs, setup.Run{File: name, Sheet: o.sheet, Blank: true})
	}
	if len(names) == 0 {
		for _, r := range s.Runs {
			if r.Sheet == "" {
				r.Sheet = o.sheet
			}
			if !filepath.IsAbs(r.File) {
				r.File = filepath.Join(filepath.Dir(o.setup), r.File)
			}
			runs = append(runs, r)
		}
	}
	if len(runs) == len(o.blanks) {
		return nil, misused("evaluate needs READINGS, or a setup with files under runs")
	}
	if len(drops) > 0 && len(runs) > 1 {
		return nil, misused("--leave-out names a row of one file, and there are %d", len(runs))
	}
	b := &batch{source: runs[0].File}
	for _, r := range runs {
		o.sheet = r.Sheet
		record, err := a.readings(r.File, o, drops)
		if err != nil {
			if r.Blank || len(runs) == 1 { // without a blank all results would be wrong
				return nil, err
			}
			fmt.Fprintln(a.err, "meniscus:", err)
			b.unread++
			continue
		}
		b.add(record, r, len(runs) > 1)
	}
	if len(b.inputs) == 0 {
		return nil, fmt.Errorf("none of the %d files could be read", len(runs))
	}
	if len(runs) > 1 {
		b.source = fmt.Sprintf("%d files", len(runs))
	}
	return b, nil
}

// readingsIn lists the files with readings in a folder, or the file itself.
func readingsIn(name string) ([]string, error) {
	info, err := os.Stat(name)
	if name == "-" || err != nil || !info.IsDir() {
		return []string{name}, nil // reading it says what is wrong
	}
	entries, err := os.ReadDir(name)
	if err != nil {
		return nil, fmt.Errorf("reading the readings: %w", err)
	}
	var list []string
	for _, e := range entries {
		switch strings.ToLower(filepath.Ext(e.Name())) {
		case ".csv", ".tsv", ".txt", ".xlsx":
			list = append(list, filepath.Join(name, e.Name()))
		}
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("reading the readings: the folder %s holds no .csv, .tsv, .txt or .xlsx file", name)
	}
	return list, nil
}

// add takes the curves of a file; where there are several files their names
// go with what is said about them.
func (b *batch) add(record *curve.Record, r setup.Run, several bool) {
	file := filepath.Base(r.File)
	for i := range record.Curves {
		c := &record.Curves[i]
		name := c.Name
		switch {
		case several && len(record.Curves) == 1:
			name = file
		case several:
			name = fmt.Sprintf("%s, %s", file, orNumber(c.Name, i))
		default:
			name = orNumber(name, i)
		}
		b.inputs = append(b.inputs, assay.Input{Name: name, Curve: c, Blank: r.Blank, Aliquot: r.Aliquot})
	}
	if !several {
		b.record = record
		return
	}
	if b.record == nil {
		b.record = &curve.Record{}
	}
	for _, cell := range record.BadCells {
		cell.Reason += " (" + file + ")"
		b.record.BadCells = append(b.record.BadCells, cell)
	}
	b.record.MoreBad += record.MoreBad
	for _, n := range record.Notes {
		b.record.Notes = append(b.record.Notes, file+": "+n)
	}
}

func orNumber(name string, i int) string {
	if name == "" {
		return fmt.Sprint(i + 1)
	}
	return name
}

// evaluateBatch evaluates blanks, then all others on every core. It stops when
// ctx is done, and returns the runs that were finished.
func (a *app) evaluateBatch(ctx context.Context, b *batch, s *setup.Setup, opt assay.Options, progress bool) ([]assay.Run, *assay.BlankResult, error) {
	runs := make([]assay.Run, len(b.inputs))
	for i, in := range b.inputs {
		runs[i] = assay.Run{Name: in.Name, Blank: in.Blank}
		if !in.Blank {
			continue
		}
		var err error
		if runs[i].Evaluation, err = assay.EvaluateBlank(in, s, opt); err != nil {
			return nil, nil, err
		}
	}
	blank := assay.BlankOf(runs)
	var next, finished atomic.Int64
	errs := make([]error, len(runs))
	if first := slices.IndexFunc(runs, func(r assay.Run) bool { return !r.Blank }); first >= 0 && len(runs) > 1 {
		// The others start from the first, whichever is done when.
		if runs[first].Evaluation, errs[first] = assay.EvaluateRun(b.inputs[first], s, blank, opt); errs[first] == nil {
			opt.Like = runs[first].Evaluation.Fit
		}
	}
	if progress {
		stop := a.reportProgress(&finished, len(runs))
		defer stop()
	}
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(runs)) {
		wg.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(runs) {
					return
				}
				if runs[i].Evaluation == nil && errs[i] == nil { // blanks and the first are done
					runs[i].Evaluation, errs[i] = assay.EvaluateRun(b.inputs[i], s, blank, opt)
				}
				finished.Add(1)
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, nil, usageError{err}
		}
	}
	return slices.DeleteFunc(runs, func(r assay.Run) bool { return r.Evaluation == nil }), blank, nil
}

// reportProgress says at once and every two seconds how far the runs are, until the
// function that it returns is called.
func (a *app) reportProgress(finished *atomic.Int64, of int) func() {
	done := make(chan struct{})
	fmt.Fprintf(a.err, "0 of %d runs\n", of)
	var wg sync.WaitGroup
	wg.Go(func() {
		tick := time.NewTicker(2 * time.Second)
		defer tick.Stop()
		for {
			select {
			case <-done:
				fmt.Fprintf(a.err, "%d of %d runs\n", finished.Load(), of)
				return
			case <-tick.C:
				fmt.Fprintf(a.err, "%d of %d runs\n", finished.Load(), of)
			}
		}
	})
	return func() {
		close(done)
		wg.Wait()
	}
}

// longBatch is from how many runs on progress is shown in a terminal.
const longBatch = 1000

func (a *app) wantsProgress(n int, asked bool) bool {
	f, ok := a.err.(*os.File)
	if !ok || n < longBatch {
		return asked
	}
	info, err := f.Stat()
	return asked || err == nil && info.Mode()&os.ModeCharDevice != 0
}

// evaluateGathered evaluates all runs of a command into a document. complete is
// false where it was interrupted.
func (a *app) evaluateGathered(b *batch, s *setup.Setup, o evaluateOptions) (doc *report.Document, complete bool, err error) {
	preset, err := parsePreset(o.preset)
	if err != nil {
		return nil, false, err
	}
	limit, err := volumeLimit(o.concordance)
	if err != nil {
		return nil, false, err
	}
	a.warnCells(b.record)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	brief := o.brief || len(b.inputs) > manyRuns
	diagnose, err := o.diagnosis(len(b.inputs))
	if err != nil {
		return nil, false, err
	}
	lines, err := o.lines()
	if err != nil {
		return nil, false, err
	}
	opt := assay.Options{Method: o.method, Robust: o.robust, Profile: o.profile && !brief, Lines: lines, Preset: preset, Quick: brief, Diagnose: diagnose && !brief, Bias: !brief && len(b.inputs) <= diagnosedRuns}
	runs, blank, err := a.evaluateBatch(ctx, b, s, opt, a.wantsProgress(len(b.inputs), o.progress))
	if err != nil {
		return nil, false, err
	}
	doc = &report.Document{Title: s.Title, Source: b.source, Record: b.record, Brief: brief}
	for _, r := range runs {
		doc.Evaluations = append(doc.Evaluations, r.Evaluation)
		if !brief {
			a.warn(r.Evaluation.Warnings)
		}
	}
	if len(b.inputs) > 1 {
		doc.Determination = assay.Combine(runs, s, blank, limit)
	}
	return doc, len(runs) == len(b.inputs), nil
}

func (a *app) warnCells(r *curve.Record) {
	for _, b := range r.BadCells {
		fmt.Fprintln(a.err, "warning:", b)
	}
	if r.MoreBad > 0 {
		fmt.Fprintf(a.err, "warning: %d more bad cells\n", r.MoreBad)
	}
}
