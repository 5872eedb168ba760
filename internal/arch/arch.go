// Package arch keeps the import rules of the module: which package may use
// which, and what the engine must not touch. It reads source text; it does not
// build anything.
package arch

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
)

// module is the module path that our own imports begin with.
const module = "meniscus"

// Check reads every package in tree, which is the root of the module, and
// returns what breaks the rules of rows, a line each. Test files, testdata,
// hidden folders and nested modules are left out.
func Check(tree fs.FS, rows []Row) ([]string, error) {
	var found []string
	unlisted := map[string]bool{}
	err := fs.WalkDir(tree, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() {
			if leaveOut(tree, name) {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		dir := path.Dir(name)
		row, ok := find(rows, dir)
		if !ok {
			if !unlisted[dir] {
				unlisted[dir] = true
				found = append(found, fmt.Sprintf("%s: no row in the table of packages", dir))
			}
			return nil
		}
		file, err := parse(tree, name)
		if err != nil {
			return err
		}
		found = append(found, checkFile(name, dir, file, row, rows)...)
		return nil
	})
	return found, err
}

// leaveOut says whether the folder is none of the module's packages.
func leaveOut(tree fs.FS, dir string) bool {
	if dir == "." {
		return false
	}
	base := path.Base(dir)
	if base == "testdata" || base == "node_modules" || strings.HasPrefix(base, ".") || strings.HasPrefix(base, "_") {
		return true
	}
	_, err := fs.Stat(tree, path.Join(dir, "go.mod"))
	return err == nil
}

func parse(tree fs.FS, name string) (*ast.File, error) {
	text, err := fs.ReadFile(tree, name)
	if err != nil {
		return nil, err
	}
	file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.SkipObjectResolution)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	return file, nil
}

func checkFile(name, dir string, file *ast.File, row Row, rows []Row) []string {
	var found []string
	report := func(format string, args ...any) {
		found = append(found, name+": "+fmt.Sprintf(format, args...))
	}
	engine := row.Level <= engineLevel && !slices.Contains(doesIO, row.Dir)
	for _, spec := range file.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			report("import %s: %v", spec.Path.Value, err)
			continue
		}
		ours, isOurs := strings.CutPrefix(imported, module+"/")
		switch {
		case imported == "C":
			report("imports C")
		case isOurs && !may(rows, row, ours):
			report("%s may not import %s", dir, ours)
		case engine && touchesMachine(imported):
			report("the engine may not import %s", imported)
		}
	}
	for _, d := range file.Decls {
		if f, ok := d.(*ast.FuncDecl); ok && f.Recv == nil && f.Name.Name == "init" {
			report("has func init")
		}
	}
	if engine {
		for _, call := range clockCalls(file) {
			report("the engine may not use time.%s", call)
		}
	}
	return found
}

func touchesMachine(imported string) bool {
	return slices.ContainsFunc(machine, func(m string) bool {
		return imported == m || strings.HasPrefix(imported, m+"/")
	})
}

// clockCalls returns the names in file that read the clock.
func clockCalls(file *ast.File) []string {
	name := ""
	for _, spec := range file.Imports {
		if spec.Path.Value == `"time"` {
			name = "time"
			if spec.Name != nil {
				name = spec.Name.Name
			}
		}
	}
	if name == "" {
		return nil
	}
	var found []string
	ast.Inspect(file, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := s.X.(*ast.Ident); ok && x.Name == name && slices.Contains(clock, s.Sel.Name) {
				found = append(found, s.Sel.Name)
			}
		}
		return true
	})
	return found
}

// find returns the row of the package dir.
func find(rows []Row, dir string) (Row, bool) {
	for _, r := range rows {
		if covers(r.Dir, dir) {
			return r, true
		}
	}
	return Row{}, false
}

// covers says whether pattern, a path or a path ending in "/*", names dir.
func covers(pattern, dir string) bool {
	if under, ok := strings.CutSuffix(pattern, "*"); ok {
		return strings.HasPrefix(dir, under)
	}
	return pattern == dir
}

// may says whether the package of row may import the package dir.
func may(rows []Row, row Row, dir string) bool {
	words := strings.Fields(row.May)
	below := slices.Contains(words, "below")
	for _, word := range words {
		if covers(word, dir) || inLevels(rows, word, dir) {
			return true
		}
		r, ok := find(rows, word)
		if !below || !ok || r.Dir == row.Dir {
			continue
		}
		if may(rows, Row{r.Level, r.Dir, r.May + " below"}, dir) {
			return true
		}
	}
	return false
}

// inLevels says whether word is a range of levels, "0-7", that dir lies in.
func inLevels(rows []Row, word, dir string) bool {
	from, to, ok := levels(word)
	if !ok {
		return false
	}
	r, ok := find(rows, dir)
	return ok && from <= r.Level && r.Level <= to
}

func levels(word string) (from, to int, ok bool) {
	a, b, ok := strings.Cut(word, "-")
	if !ok {
		return 0, 0, false
	}
	from, err := strconv.Atoi(a)
	if err != nil {
		return 0, 0, false
	}
	to, err = strconv.Atoi(b)
	return from, to, err == nil
}
