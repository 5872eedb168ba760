package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
)

// Exit statuses.
const (
	done   = 0
	failed = 1 // the work could not be done, or every method refuses
	misuse = 2 // the command line is wrong
)

// A usageError is a command line that cannot be meant.
type usageError struct{ err error }

func (e usageError) Error() string { return e.err.Error() }
func (e usageError) Unwrap() error { return e.err }

func misused(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// An app is where a command reads and writes.
type app struct {
	in       io.Reader
	out, err io.Writer
}

// commands lists the sub-commands, in the order of the help.
var commands = []func(*app) *cobra.Command{
	predictCommand,
	evaluateCommand,
	explainCommand,
	exerciseCommand,
	contentCommand,
	replicatesCommand,
	chainCommand,
	budgetCommand,
	planCommand,
	prepareCommand,
	standardiseCommand,
	wareCommand,
	electrodeCommand,
	nextCommand,
	constantsCommand,
	convertCommand,
	serveCommand,
	recordsCommand,
	backupCommand,
	restoreCommand,
}

// run is the program as a function of its arguments and streams.
func run(args []string, in io.Reader, out, errw io.Writer) int {
	stdout := &stream{Writer: out}
	a := &app{in, stdout, errw}
	root := &cobra.Command{
		Use:           "meniscus",
		Short:         "a bench for titrations followed with an electrode",
		Long:          "meniscus predicts the curve of a titration from its chemistry, evaluates readings\nby every method side by side, and gives each number with its uncertainty and what\nto doubt about it. It advises; it does not claim conformance to any standard.",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return misused("unknown command %q; have %s", args[0], strings.Join(names(cmd), ", "))
			}
			return cmd.Help()
		},
	}
	root.SetIn(in)
	root.SetOut(stdout)
	root.SetErr(errw)
	root.SetArgs(args)
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{belowZero(err)} })
	for _, c := range commands {
		root.AddCommand(c(a))
	}
	err := root.Execute()
	if err == nil && stdout.err != nil {
		err = fmt.Errorf("writing the results: %w", stdout.err)
	}
	return status(err, errw)
}

func names(cmd *cobra.Command) []string {
	var list []string
	for _, c := range cmd.Commands() {
		if !c.Hidden {
			list = append(list, c.Name())
		}
	}
	return list
}

func status(err error, errw io.Writer) int {
	var u usageError
	switch {
	case err == nil:
		return done
	case errors.As(err, &u):
		fmt.Fprintln(errw, "meniscus:", err)
		fmt.Fprintln(errw, "see meniscus --help")
		return misuse
	}
	fmt.Fprintln(errw, "meniscus:", err)
	return failed
}

// exactly wraps cobra's check of the number of arguments as misuse.
func exactly(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) != n {
			return misused("%s needs %s, found %d arguments: %s", what, plural(n), len(args), cmd.UseLine())
		}
		return nil
	}
}

func plural(n int) string {
	if n == 1 {
		return "1 argument"
	}
	return fmt.Sprintf("%d arguments", n)
}

// readFile reads a file, or standard input for "-". what names it in errors.
func (a *app) readFile(name, what string) ([]byte, error) {
	if name == "-" {
		data, err := io.ReadAll(a.in)
		if err != nil {
			return nil, fmt.Errorf("reading %s from standard input: %w", what, err)
		}
		return data, nil
	}
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s is a directory; the file with %s is meant", name, what)
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", what, err)
	}
	return data, nil
}

// warn writes warnings to standard error, one a line.
func (a *app) warn(list []string) {
	for _, w := range list {
		fmt.Fprintln(a.err, "warning:", w)
	}
}

// belowZero says how a number below zero is written where the parser of flags
// took its minus for that of a flag.
func belowZero(err error) error {
	text := err.Error()
	if at := strings.Index(text, " in -"); at >= 0 && len(text) > at+5 && strings.ContainsRune("0123456789.,", rune(text[at+5])) {
		return fmt.Errorf("%s: a number below zero; write -- before it, after all flags: -- '%s'", text, text[at+4:])
	}
	return err
}
