package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// timeout ends tests that a mutation has put into an endless loop. Such a
// mutation counts as noticed.
const timeout = "-timeout=180s"

// runAll tries every mutation on the module at root and prints a line for
// each. It reports whether a test noticed all of them. The error says that the
// tests do not even pass on the code as it is, which would prove nothing.
func runAll(root string, mutations []Mutation, stdout io.Writer) (bool, error) {
	root, err := filepath.Abs(root)
	if err != nil {
		return false, err
	}
	var packages []string
	for _, m := range mutations {
		packages = append(packages, m.Test...)
	}
	slices.Sort(packages)
	if out, err := goCommand(root, append([]string{"test", timeout}, slices.Compact(packages)...)...); err != nil {
		return false, fmt.Errorf("testing without a mutation: %w\n%s", err, out)
	}
	noticed := 0
	for _, m := range mutations {
		verdict, err := try(root, m)
		switch {
		case err != nil:
			fmt.Fprintf(stdout, "BAD       %s: %v\n", m.Name, err)
		case verdict:
			noticed++
			fmt.Fprintf(stdout, "noticed   %s\n", m.Name)
		default:
			fmt.Fprintf(stdout, "SURVIVED  %s (%s)\n", m.Name, m.File)
		}
	}
	fmt.Fprintf(stdout, "%d of %d mutations noticed\n", noticed, len(mutations))
	return noticed == len(mutations), nil
}

// try reports whether a test turns red when m is applied.
func try(root string, m Mutation) (bool, error) {
	original := filepath.Join(root, filepath.FromSlash(m.File))
	text, err := os.ReadFile(original)
	if err != nil {
		return false, err
	}
	mutated, err := apply(string(text), m.Old, m.New)
	if err != nil {
		return false, fmt.Errorf("%s: %w", m.File, err)
	}
	dir, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return false, err
	}
	defer os.RemoveAll(dir)
	overlay, err := writeOverlay(dir, original, mutated)
	if err != nil {
		return false, err
	}
	// A mutation that does not compile would turn every test red.
	builds := m.Test
	if path.Ext(m.File) == ".go" {
		builds = []string{"./" + path.Dir(m.File)}
	}
	if out, err := goCommand(root, append([]string{"build", overlay, "-o", os.DevNull}, builds...)...); err != nil {
		return false, fmt.Errorf("does not compile: %w\n%s", err, out)
	}
	_, err = goCommand(root, append([]string{"test", overlay, "-vet=off", "-failfast", timeout}, m.Test...)...)
	return err != nil, nil
}

// apply replaces the one line of text that equals old, blanks around it apart.
func apply(text, old, with string) (string, error) {
	lines := strings.SplitAfter(text, "\n")
	at := -1
	for i, line := range lines {
		if strings.TrimSpace(line) != old {
			continue
		}
		if at >= 0 {
			return "", fmt.Errorf("lines %d and %d are both %q", at+1, i+1, old)
		}
		at = i
	}
	if at < 0 {
		return "", fmt.Errorf("no line is %q", old)
	}
	lines[at] = strings.Replace(lines[at], old, with, 1)
	return strings.Join(lines, ""), nil
}

// writeOverlay writes the mutated file and the description of the overlay into
// dir, and returns the flag that makes the go command read it.
func writeOverlay(dir, original, mutated string) (string, error) {
	file := filepath.Join(dir, "mutated"+filepath.Ext(original))
	if err := os.WriteFile(file, []byte(mutated), 0o600); err != nil {
		return "", err
	}
	description, err := json.Marshal(map[string]map[string]string{"Replace": {original: file}})
	if err != nil {
		return "", err
	}
	overlay := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(overlay, description, 0o600); err != nil {
		return "", err
	}
	return "-overlay=" + overlay, nil
}

func goCommand(dir string, args ...string) (output []byte, err error) {
	command := exec.Command("go", args...)
	command.Dir = dir
	command.Env = append(command.Environ(), "RAPID_NOFAILFILE=true") // no file in testdata for each failure
	var out bytes.Buffer
	command.Stdout, command.Stderr = &out, &out
	if err := command.Run(); err != nil {
		return out.Bytes(), fmt.Errorf("go %s: %w", strings.Join(args, " "), err)
	}
	return out.Bytes(), nil
}
