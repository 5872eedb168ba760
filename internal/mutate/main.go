// Command mutate breaks the code one line at a time and looks for a test that
// turns red. A break that every test survives shows a line that nothing
// checks. It never writes into the tree: the broken file reaches the compiler
// through the -overlay flag of the go command.
//
// It runs from the root of the module. The breaks are chosen by hand and stand
// in a text file (see Read); it makes none up.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"regexp"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// run returns 0 if a test turned red for every mutation, 1 if not, 2 on misuse.
func run(args []string, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("mutate", flag.ContinueOnError)
	flags.SetOutput(stderr)
	list := flags.String("list", "internal/mutate/mutations.txt", "the file of mutations")
	root := flags.String("root", ".", "the root of the module")
	only := flags.String("only", "", "run the mutations whose name matches this regular expression")
	if err := flags.Parse(args); err != nil {
		return 2
	}
	pattern, err := regexp.Compile(*only)
	if err != nil || flags.NArg() > 0 {
		fmt.Fprintln(stderr, "usage: mutate [-list FILE] [-root DIR] [-only REGEXP]")
		return 2
	}
	mutations, err := readFile(*list, pattern)
	if err != nil {
		fmt.Fprintln(stderr, "mutate:", err)
		return 1
	}
	good, err := runAll(*root, mutations, stdout)
	if err != nil {
		fmt.Fprintln(stderr, "mutate:", err)
		return 1
	}
	if !good {
		return 1
	}
	return 0
}

func readFile(name string, only *regexp.Regexp) ([]Mutation, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	all, err := Read(file)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	var chosen []Mutation
	for _, m := range all {
		if only.MatchString(m.Name) {
			chosen = append(chosen, m)
		}
	}
	if len(chosen) == 0 {
		return nil, fmt.Errorf("%s holds no mutation to run", name)
	}
	return chosen, nil
}
