package arch

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var quoted = regexp.MustCompile("`([^`]+)`")

// Every row of docs/validation.md that names tests names packages that have
// them, each at least one.
func TestValidationNamesTests(t *testing.T) {
	page, err := os.ReadFile("../../docs/validation.md")
	if err != nil {
		t.Fatal(err)
	}
	named := 0
	for line := range strings.Lines(string(page)) {
		cells := strings.Split(line, "|")
		if len(cells) != 6 || !strings.Contains(cells[4], "`Test") {
			continue
		}
		used := map[string]bool{}
		for _, test := range quoted.FindAllStringSubmatch(cells[4], -1) {
			named++
			found := false
			for _, dir := range quoted.FindAllStringSubmatch(cells[3], -1) {
				if hasTest(t, dir[1], test[1]) {
					found, used[dir[1]] = true, true
				}
			}
			if !found {
				t.Errorf("no %s in %s", test[1], strings.TrimSpace(cells[3]))
			}
		}
		for _, dir := range quoted.FindAllStringSubmatch(cells[3], -1) {
			if !used[dir[1]] {
				t.Errorf("%s is named but none of its tests: %s", dir[1], strings.TrimSpace(cells[4]))
			}
		}
	}
	if named < 40 {
		t.Errorf("%d tests are named; has the table another form?", named)
	}
}

func hasTest(t *testing.T, dir, name string) bool {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("../..", filepath.FromSlash(dir), "*_test.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), "\nfunc "+name+"(t *testing.T)") {
			return true
		}
	}
	return false
}
