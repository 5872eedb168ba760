package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// small is a module whose test checks Add but not Sub, and a table that is
// embedded.
var small = map[string]string{
	"go.mod": "module small\n\ngo 1.26\n",
	"sum/sum.go": `package sum

import _ "embed"

//go:embed table.txt
var table string

func Add(a, b int) int {
	return a + b
}

func Sub(a, b int) int {
	return a - b
}

var x, y = 1, 1

func Twice() {
	x++
	x++
}
`,
	"sum/table.txt": "row 1\nrow 2\n",
	"sum/sum_test.go": `package sum

import "testing"

func TestAdd(t *testing.T) {
	if Add(1, 2) != 3 || table != "row 1\nrow 2\n" {
		t.Error("wrong")
	}
}
`,
}

const (
	noticed = "name: add\nfile: sum/sum.go\nold: return a + b\nnew: return a - b\ntest: ./sum\n\n"
	data    = "name: row\nfile: sum/table.txt\nold: row 2\nnew: row 3\ntest: ./sum\n\n"
	unseen  = "name: sub\nfile: sum/sum.go\nold: return a - b\nnew: return b - a\ntest: ./sum\n\n"
	broken  = "name: syntax\nfile: sum/sum.go\nold: return a + b\nnew: return a +\ntest: ./sum\n\n"
	missing = "name: gone\nfile: sum/sum.go\nold: return a * b\nnew: return 1\ntest: ./sum\n\n"
	double  = "name: twice\nfile: sum/sum.go\nold: x++\nnew:\ntest: ./sum\n\n"
)

func TestRun(t *testing.T) {
	tests := []struct {
		name, list string
		args       []string
		status     int
		want       []string
	}{
		{"all noticed", noticed + data, nil, 0, []string{"noticed   add\n", "noticed   row\n", "2 of 2"}},
		{"one survives", noticed + unseen, nil, 1, []string{"noticed   add\n", "SURVIVED  sub (sum/sum.go)", "1 of 2"}},
		{"does not compile", broken, nil, 1, []string{"BAD       syntax: does not compile"}},
		{"line is gone", missing, nil, 1, []string{`BAD       gone: sum/sum.go: no line is "return a * b"`}},
		{"line occurs twice", double, nil, 1, []string{`lines 19 and 20 are both "x++"`}},
		{"only some", noticed + unseen, []string{"-only", "^add$"}, 0, []string{"1 of 1"}},
		{"none", noticed, []string{"-only", "nothing"}, 1, []string{"holds no mutation to run"}},
		{"bad list", "name: x\n", nil, 1, []string{`"file" is missing`}},
		{"bad flag", noticed, []string{"-nosuch"}, 2, []string{"-nosuch"}},
		{"stray argument", noticed, []string{"stray"}, 2, []string{"usage: mutate"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			root := writeModule(t, small)
			status, out := runList(t, root, test.list, test.args...)
			if status != test.status {
				t.Errorf("status %d, want %d", status, test.status)
			}
			for _, want := range test.want {
				if !strings.Contains(out, want) {
					t.Errorf("output lacks %q:\n%s", want, out)
				}
			}
			for name, text := range small {
				after, err := os.ReadFile(filepath.Join(root, name))
				if err != nil || string(after) != text {
					t.Errorf("%s was changed (%v)", name, err)
				}
			}
		})
	}
}

// TestRunNeedsGreenTests: where a test is red already, nothing is proved.
func TestRunNeedsGreenTests(t *testing.T) {
	red := map[string]string{}
	for name, text := range small {
		red[name] = strings.ReplaceAll(text, "!= 3", "!= 4")
	}
	status, out := runList(t, writeModule(t, red), noticed)
	if status != 1 || !strings.Contains(out, "testing without a mutation") || strings.Contains(out, "noticed") {
		t.Errorf("status %d, output:\n%s", status, out)
	}
}

func TestReadRefuses(t *testing.T) {
	tests := map[string]string{
		"name: a\nname: b\n":                          `line 2: a second "name" in one block`,
		"name: a\ncolour: red\n":                      `line 2: "colour: red" does not begin with one of`,
		noticed + noticed:                             "a second mutation is named add",
		strings.Replace(noticed, "a - b", "a + b", 1): "add changes nothing",
	}
	for list, want := range tests {
		if _, err := Read(strings.NewReader(list)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want %q, of\n%s", err, want, list)
		}
	}
}

func TestReadTakesComments(t *testing.T) {
	got, err := Read(strings.NewReader("# a list\n\n" + strings.TrimSpace("# why\n"+double)))
	if err != nil || len(got) != 1 || got[0].Name != "twice" || got[0].New != "" {
		t.Errorf("got %+v, error %v", got, err)
	}
}

func writeModule(t *testing.T, files map[string]string) string {
	t.Helper()
	root := t.TempDir()
	for name, text := range files {
		file := filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return root
}

func runList(t *testing.T, root, list string, args ...string) (status int, output string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "list.txt")
	if err := os.WriteFile(file, []byte(list), 0o600); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	status = run(append([]string{"-root", root, "-list", file}, args...), &out, &out)
	return status, out.String()
}
