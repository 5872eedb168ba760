package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
)

const interruptedSetup = `
find: Fe^2+
flask: {volume: 50.00 mL, contains: {Fe^2+: 0.048 mol/L}, medium: 1 mol/L H2SO4}
burette: {contains: {Ce^4+: 0.1000 mol/L}}
electrode: {indicator: platinum, reference: "Ag/AgCl, 3 mol/L KCl"}
`

// TestInterrupt: Ctrl-C writes the runs that are finished, says how many of
// how many these are, and fails.
func TestInterrupt(t *testing.T) {
	const runs = 8000
	dir := t.TempDir()
	c := samples["iron-cerium"]()
	var one, all bytes.Buffer
	for _, r := range c.Readings {
		fmt.Fprintf(&one, "%.3f,%.1f\n", r.Volume.Millilitres(), r.Value*1e3)
	}
	for range runs {
		fmt.Fprintf(&all, "V (mL),E (mV)\n%s\n", one.Bytes())
	}
	for name, data := range map[string][]byte{"many.csv": all.Bytes(), "iron.yaml": []byte(interruptedSetup)} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command(os.Args[0])
	cmd.Args = []string{"meniscus", "evaluate", "many.csv", "--setup", "iron.yaml", "--format", "csv", "--progress", "--output", "part.csv"}
	cmd.Dir = dir
	pipe, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	said := bufio.NewReader(pipe)
	if line, err := said.ReadString('\n'); err != nil || line != "0 of 8000 runs\n" {
		t.Errorf("first said %q, %v", line, err)
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	rest, err := io.ReadAll(said)
	if err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait() // the exit status is looked at below
	if got := cmd.ProcessState.ExitCode(); got != failed {
		t.Errorf("exit status %d, want %d", got, failed)
	}
	m := regexp.MustCompile(`interrupted: (\d+) of 8000 runs are in the report`).FindSubmatch(rest)
	if m == nil {
		t.Fatalf("stderr: %s", rest)
	}
	n, _ := strconv.Atoi(string(m[1]))
	data, err := os.ReadFile(filepath.Join(dir, "part.csv"))
	if err != nil {
		t.Fatal(err)
	}
	if rows := bytes.Count(data, []byte("whole-curve-regression")); rows != n || n >= runs {
		t.Errorf("%d runs are written, %d said of %d", rows, n, runs)
	}
}
