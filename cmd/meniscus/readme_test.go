package main

import (
	"bytes"
	"flag"
	"os"
	"strings"
	"testing"
)

var updateReadme = flag.Bool("update-readme", false, "write the output of the commands in README.md anew")

const prompt = "    $ go run ./cmd/meniscus "

// TestReadme runs the commands of README.md that show their output and
// compares it. The output is a golden of layout: its numbers are tested
// elsewhere.
func TestReadme(t *testing.T) {
	t.Chdir("../..")
	data, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(data), "\n")
	var out []string
	ran := 0
	for i := 0; i < len(lines); i++ {
		out = append(out, lines[i])
		command, ok := strings.CutPrefix(lines[i], prompt)
		if !ok {
			continue
		}
		end := i + 1
		for end < len(lines) && strings.HasPrefix(lines[end], "    ") || end+1 < len(lines) && lines[end] == "" && strings.HasPrefix(lines[end+1], "    ") {
			end++
		}
		if end == i+1 {
			continue
		}
		ran++
		got := indent(t, command)
		if want := strings.Join(lines[i+1:end], "\n"); got != want && !*updateReadme {
			t.Errorf("%s\nprints\n%s\nREADME.md has\n%s", command, got, want)
		}
		out = append(out, strings.Split(got, "\n")...)
		i = end - 1
	}
	if ran < 3 {
		t.Errorf("only %d commands with output found", ran)
	}
	if *updateReadme {
		if err := os.WriteFile("README.md", []byte(strings.Join(out, "\n")), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// indent runs a command line and indents what it prints.
func indent(t *testing.T, command string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if status := run(words(command), strings.NewReader(""), &stdout, &stderr); status != 0 {
		t.Fatalf("%s: exit status %d: %s", command, status, stderr.String())
	}
	lines := strings.Split(strings.TrimRight(stdout.String(), "\n"), "\n")
	for i, l := range lines {
		if l != "" {
			lines[i] = "    " + l
		}
	}
	return strings.Join(lines, "\n")
}

// words splits a command line at blanks, keeping "quoted words" whole.
func words(s string) []string {
	var list []string
	for i, part := range strings.Split(s, `"`) {
		if i%2 == 1 {
			list = append(list, part)
		} else {
			list = append(list, strings.Fields(part)...)
		}
	}
	return list
}
