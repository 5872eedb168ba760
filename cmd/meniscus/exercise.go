package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/exercise"
	"meniscus/report"
	"meniscus/working"
)

type exerciseOptions struct {
	kinds           []string
	system          string
	seed            uint64
	count, students int
	number          int
	format, out     string
	key             bool
}

func exerciseCommand(a *app) *cobra.Command {
	var o exerciseOptions
	c := &cobra.Command{
		Use:   "exercise",
		Short: "problem sheets with numbers of their own, and the key to them",
		Long:  "exercise draws problem sheets: each student has numbers of their own, and the same\nseed gives the same sheets. The key, with full working, is written by the same\ncommand with --key and never stands on a sheet. Kinds of question:\n" + kindTable(),
		Example: "  meniscus exercise --seed 7\n  meniscus exercise --seed 7 --key\n" +
			"  meniscus exercise --kind curve,content --seed 7 --students 24 --format html --output sheets.html",
		Args: exactly(0, "exercise"),
		RunE: func(_ *cobra.Command, _ []string) error { return a.exercise(o) },
	}
	f := c.Flags()
	f.StringSliceVar(&o.kinds, "kind", nil, "kinds of question; all if not said")
	f.StringVar(&o.system, "system", "", "only questions about one of "+strings.Join(exercise.Systems, ", "))
	f.Uint64Var(&o.seed, "seed", 1, "where the numbers come from")
	f.IntVar(&o.count, "count", 0, "questions on a sheet; one of each kind if not said")
	f.IntVar(&o.students, "students", 1, "sheets, numbered from 1")
	f.IntVar(&o.number, "sheet", 0, "write the sheet of this number only")
	f.BoolVar(&o.key, "key", false, "write the key instead of the sheet")
	f.StringVar(&o.format, "format", "text", strings.Join(report.WorkingFormatNames(), ", "))
	f.StringVarP(&o.out, "output", "o", "", "file to write to instead of standard output")
	return c
}

func kindTable() string {
	var b strings.Builder
	for _, k := range exercise.Kinds {
		fmt.Fprintf(&b, "  %-12s %s\n", k.Name, k.Title)
	}
	return strings.TrimRight(b.String(), "\n")
}

func (a *app) exercise(o exerciseOptions) error {
	f, ok := report.WorkingFormat(o.format)
	if !ok {
		return misused("unknown format %q; have %s", o.format, strings.Join(report.WorkingFormatNames(), ", "))
	}
	if o.students < 1 || o.students > 1000 || o.count < 0 || o.count > 200 || o.number < 0 {
		return misused("--students is 1 to 1000, --count up to 200, --sheet a number from 1")
	}
	if _, err := (exercise.Options{Kinds: o.kinds, System: o.system}).Questions(); err != nil {
		return misused("%v", err)
	}
	first, last := 1, o.students
	if o.number > 0 {
		first, last = o.number, o.number
	}
	var sheets []exercise.Sheet
	for n := first; n <= last; n++ {
		s, err := exercise.New(o.seed, n, exercise.Options{Kinds: o.kinds, System: o.system, Count: o.count})
		if err != nil {
			return err
		}
		sheets = append(sheets, s)
	}
	d, err := sheetsDocument(sheets, o.key)
	if err != nil {
		return err
	}
	w, err := a.create(o.out)
	if err != nil {
		return err
	}
	return w.close(f.Write(w, d))
}

func sheetsDocument(sheets []exercise.Sheet, key bool) (*working.Document, error) {
	if key {
		return exercise.Keys(sheets), nil
	}
	return exercise.Sheets(sheets)
}
