package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"meniscus/store"
)

// databaseFlag adds the flag that names the store.
func databaseFlag(c *cobra.Command, into *string) {
	c.Flags().StringVar(into, "database", "", "file or postgres:// address; without it the file in your data folder")
}

// openStore opens the store that serve uses too.
func openStore(ctx context.Context, target string) (*store.Store, error) {
	if target == "" {
		var err error
		if target, err = store.DefaultFile(); err != nil {
			return nil, err
		}
	}
	return store.Open(ctx, target, time.Now)
}

// withStore opens the store for the time of f.
func withStore(ctx context.Context, target string, f func(*store.Store) error) error {
	s, err := openStore(ctx, target)
	if err != nil {
		return err
	}
	err = f(s)
	if cerr := s.Close(); err == nil && cerr != nil {
		err = fmt.Errorf("closing the store: %w", cerr)
	}
	return err
}

func backupCommand(a *app) *cobra.Command {
	var target string
	c := &cobra.Command{
		Use:     "backup FILE",
		Short:   "all records in one zip",
		Long:    "backup writes every record with its whole history, its files and results, and the\nsettings but for the password, into one zip that restore reads back. It works while\nthe program serves.",
		Example: "  meniscus backup bench-2026-11-27.zip",
		Args:    exactly(1, "backup"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withStore(cmd.Context(), target, func(s *store.Store) error {
				w, err := a.create(args[0])
				if err != nil {
					return err
				}
				return w.close(s.Backup(cmd.Context(), w))
			})
		},
	}
	databaseFlag(c, &target)
	return c
}

func restoreCommand(a *app) *cobra.Command {
	var target string
	c := &cobra.Command{
		Use:     "restore FILE",
		Short:   "a backup into an empty store",
		Long:    "restore reads what backup wrote into a store without records, all of it or nothing.\nNothing is ever mixed or overwritten; the password is set anew.",
		Example: "  meniscus restore bench-2026-11-27.zip --database new.db",
		Args:    exactly(1, "restore"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withFile(args[0], func(f *os.File, size int64) error {
				return withStore(cmd.Context(), target, func(s *store.Store) error {
					progress, clear := a.progressOn("restoring: %d of %d records")
					n, err := s.Restore(cmd.Context(), f, size, progress)
					clear()
					if err == nil {
						fmt.Fprintf(a.out, "%s restored into %s\n", counted(n, "record"), s.Target())
					}
					return err
				})
			})
		},
	}
	databaseFlag(c, &target)
	return c
}

func withFile(name string, f func(*os.File, int64) error) error {
	file, err := os.Open(name)
	if err != nil {
		return fmt.Errorf("reading %w", err)
	}
	defer file.Close() // only read
	info, err := file.Stat()
	if err != nil {
		return fmt.Errorf("reading %s: %w", name, err)
	}
	return f(file, info.Size())
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func recordsCommand(a *app) *cobra.Command {
	var o struct{ target, tag, export, in, out string }
	var removed bool
	c := &cobra.Command{
		Use:   "records [WORD...]",
		Short: "find, export and import records",
		Long:  "records lists the records that hold all the words in title, setup, notes or tags,\nwhat was touched last first. --export writes one record as a zip that can be read\nwithout this program, and --import reads one; a record that is here already is not\nwritten again, and one whose id is taken gets a new one.",
		Example: "  meniscus records iron\n  meniscus records --export 01jd8x --output ore.zip\n" +
			"  meniscus records --import ore.zip",
		RunE: func(cmd *cobra.Command, args []string) error {
			ctx := cmd.Context()
			switch {
			case o.export != "" && o.in != "":
				return misused("--export and --import are two jobs")
			case o.in != "":
				return a.importRecord(ctx, o.target, o.in)
			case o.export != "":
				return a.exportRecord(ctx, o.target, o.export, o.out)
			}
			return withStore(ctx, o.target, func(s *store.Store) error {
				return listRecords(ctx, a.out, s, store.Query{Words: strings.Join(args, " "), Tag: o.tag, Removed: removed, Limit: 1000})
			})
		},
	}
	databaseFlag(c, &o.target)
	f := c.Flags()
	f.StringVar(&o.tag, "tag", "", "only records with this tag")
	f.BoolVar(&removed, "removed", false, "the removed records instead")
	f.StringVar(&o.export, "export", "", "id of a record to write as a zip")
	f.StringVar(&o.in, "import", "", "zip of a record to read")
	f.StringVarP(&o.out, "output", "o", "", "file for --export; ID.zip if left out")
	return c
}

func listRecords(ctx context.Context, w io.Writer, s *store.Store, q store.Query) error {
	p, err := s.Find(ctx, q)
	if err != nil {
		return err
	}
	if p.Total == 0 {
		_, err := fmt.Fprintf(w, "no records found in %s\n", s.Target())
		return err
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "id\ttouched\tby\ttitle\ttags")
	for _, r := range p.Records {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", r.ID, r.Touched.Local().Format("2006-01-02 15:04"), r.SavedBy, r.Title, strings.Join(r.Tags, ", "))
	}
	if p.Total > len(p.Records) {
		fmt.Fprintf(t, "%d more: add words\n", p.Total-len(p.Records))
	}
	return t.Flush()
}

func (a *app) exportRecord(ctx context.Context, target, id, out string) error {
	return withStore(ctx, target, func(s *store.Store) error {
		if out == "" {
			out = id + ".zip"
		}
		w, err := a.create(out)
		if err != nil {
			return err
		}
		return w.close(s.Export(ctx, id, w))
	})
}

func (a *app) importRecord(ctx context.Context, target, name string) error {
	return withFile(name, func(f *os.File, size int64) error {
		return withStore(ctx, target, func(s *store.Store) error {
			done, err := s.Import(ctx, f, size)
			if err != nil {
				return err
			}
			switch {
			case done.Already:
				fmt.Fprintf(a.out, "%s %q is here already, the same to the last byte; nothing was written\n", done.Record.ID, done.Record.Title)
			case done.Was != "":
				fmt.Fprintf(a.out, "%s %q imported; another record has its id %s, so it got a new one\n", done.Record.ID, done.Record.Title, done.Was)
			default:
				fmt.Fprintf(a.out, "%s %q imported\n", done.Record.ID, done.Record.Title)
			}
			return nil
		})
	})
}
