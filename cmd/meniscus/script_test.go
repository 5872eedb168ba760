package main

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"meniscus/store"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"meniscus": func() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// TestScripts runs the stories in testdata/script. Besides the usual commands
// they have
//
//	status N COMMAND...        the command ends with exit status N
//	readings NAME FILE         writes readings of samples, see lab_test.go
//	million FILE               writes a million exact readings, V_eq 22 mL
//	json PATH WANT [TOL]       a value in the JSON on standard output
//	cell ROW COLUMN WANT TOL   a number in the CSV on standard output, row 1 after the header
//	digits COLUMN N            each number of a CSV column has N significant digits or is whole
//	magic FILE TEXT            the file, or stdout, begins with the text (escapes as in Go)
//	record DATABASE TITLE NAME makes a record; its id is $ID and in the file NAME
//	leftovers                  fails if a file under another name was left behind
func TestScripts(t *testing.T) {
	examples, err := filepath.Abs("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("EXAMPLES", examples)
			return nil
		},
		Condition: func(c string) (bool, error) {
			if c != "full" {
				return false, fmt.Errorf("unknown condition %q", c)
			}
			_, err := os.Stat("/dev/full")
			return err == nil, nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": statusCmd, "readings": readingsCmd, "million": millionCmd,
			"json": jsonCmd, "cell": cellCmd, "digits": digitsCmd, "magic": magicCmd, "leftovers": leftoversCmd, "record": recordCmd,
		},
	})
}

// usage stops a script that calls a command in a wrong way.
func usage(ts *testscript.TestScript, ok bool, text string) {
	if !ok {
		ts.Fatalf("usage: %s", text)
	}
}

func statusCmd(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) > 1, "status N COMMAND...")
	err := ts.Exec(args[1], args[2:]...)
	got := 0
	var e *exec.ExitError
	if errors.As(err, &e) {
		got = e.ExitCode()
	} else {
		ts.Check(err)
	}
	if strconv.Itoa(got) != args[0] {
		ts.Fatalf("exit status %d, want %s", got, args[0])
	}
	for _, sign := range []string{"panic", "goroutine ", "runtime error", "%!"} {
		if strings.Contains(ts.ReadFile("stderr"), sign) {
			ts.Fatalf("standard error holds %q", sign)
		}
	}
}

func recordCmd(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 3, "record DATABASE TITLE NAME")
	s, err := store.Open(context.Background(), ts.MkAbs(args[0]), time.Now)
	ts.Check(err)
	r, err := s.Create(context.Background(), store.Record{Title: args[1], Setup: "title: " + args[1] + "\n"}, store.By{Author: "R. K."})
	ts.Check(err)
	ts.Check(s.Close())
	ts.Setenv("ID", r.ID)
	ts.Check(os.WriteFile(ts.MkAbs(args[2]), []byte(r.ID), 0o600))
}

func jsonCmd(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && (len(args) == 2 || len(args) == 3), "json PATH WANT [TOL]")
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &v))
	for _, key := range strings.Split(args[0], ".") {
		switch x := v.(type) {
		case map[string]any:
			var ok bool
			if v, ok = x[key]; !ok {
				ts.Fatalf("%s: no key %q", args[0], key)
			}
		case []any:
			i, err := strconv.Atoi(key)
			if key == "length" {
				v = float64(len(x))
				continue
			}
			if err != nil || i < 0 || i >= len(x) {
				ts.Fatalf("%s: %q of %d elements", args[0], key, len(x))
			}
			v = x[i]
		default:
			ts.Fatalf("%s: nothing under %q", args[0], key)
		}
	}
	if len(args) == 2 {
		if got := fmt.Sprint(v); got != args[1] {
			ts.Fatalf("%s is %s, want %s", args[0], got, args[1])
		}
		return
	}
	got, ok := v.(float64)
	if !ok {
		ts.Fatalf("%s is %v, not a number", args[0], v)
	}
	within(ts, args[0], got, args[1], args[2])
}

func within(ts *testscript.TestScript, what string, got float64, want, tolerance string) {
	w, err := strconv.ParseFloat(want, 64)
	ts.Check(err)
	tol, err := strconv.ParseFloat(tolerance, 64)
	ts.Check(err)
	if !(math.Abs(got-w) <= tol) {
		ts.Fatalf("%s is %.15g, want %s within %s", what, got, want, tolerance)
	}
}

// column reads standard output as CSV and returns one column, header first.
func column(ts *testscript.TestScript, name string) []string {
	rows, err := csv.NewReader(strings.NewReader(ts.ReadFile("stdout"))).ReadAll()
	ts.Check(err)
	for i, h := range rows[0] {
		if h == name {
			var list []string
			for _, r := range rows {
				list = append(list, r[i])
			}
			return list
		}
	}
	ts.Fatalf("no column %q in %q", name, rows[0])
	return nil
}

func cellCmd(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && (len(args) == 3 || len(args) == 4), "cell ROW COLUMN WANT [TOL]")
	list := column(ts, args[1])
	row, err := strconv.Atoi(args[0])
	ts.Check(err)
	if row >= len(list) {
		ts.Fatalf("%d rows", len(list)-1)
	}
	if len(args) == 3 {
		if list[row] != args[2] {
			ts.Fatalf("row %d is %q, want %q", row, list[row], args[2])
		}
		return
	}
	got, err := strconv.ParseFloat(list[row], 64)
	ts.Check(err)
	within(ts, args[1], got, args[2], args[3])
}

func digitsCmd(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 2, "digits COLUMN N")
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	for _, text := range column(ts, args[0])[1:] {
		x, err := strconv.ParseFloat(text, 64)
		ts.Check(err)
		digits := strings.Trim(strings.ReplaceAll(text, ".", ""), "-0")
		if len(digits) < n && strconv.FormatFloat(x, 'g', -1, 64) != text {
			ts.Fatalf("%s has %d digits, and more are known", text, len(digits))
		}
	}
}

func magicCmd(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 2, "magic FILE TEXT")
	want, err := strconv.Unquote(`"` + args[1] + `"`)
	ts.Check(err)
	if data := ts.ReadFile(args[0]); !strings.HasPrefix(data, want) {
		ts.Fatalf("%s begins with %.20q", args[0], data)
	}
}

func leftoversCmd(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 0, "leftovers")
	list, err := filepath.Glob(filepath.Join(ts.MkAbs("."), ".*.part"))
	ts.Check(err)
	if len(list) > 0 {
		ts.Fatalf("left behind: %q", list)
	}
}
