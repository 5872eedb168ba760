package constants

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"unicode/utf8"

	"meniscus/unit"
)

// A TableError reports a line of a table that cannot be read.
type TableError struct {
	File   string
	Line   int // from 1
	Reason string
}

func (e *TableError) Error() string {
	return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.Reason)
}

// A record is one line of a table, its cells in the order of the header.
type record struct {
	file  string
	line  int
	head  []string
	cells []string
}

// get returns the cell of a column, "" if the line ends before it.
func (r record) get(column string) string {
	if i := slices.Index(r.head, column); i >= 0 && i < len(r.cells) {
		return r.cells[i]
	}
	return ""
}

func (r record) fail(format string, args ...any) error {
	return &TableError{r.file, r.line, fmt.Sprintf(format, args...)}
}

// number reads the cell of a column; an empty cell is not known.
func (r record) number(column string) (Optional, error) {
	text := r.get(column)
	if text == "" {
		return Optional{}, nil
	}
	d, err := unit.ParseDecimal(text)
	if err != nil {
		return Optional{}, r.fail("%s: %v", column, err)
	}
	return Optional{d.Float(), true}, nil
}

// splitTable reads a table: lines that begin with # are comments, the first
// other line is the header, cells are separated by |. Empty cells at the end of
// a line may be missing. The header must name the columns wanted, in order.
func splitTable(file, text string, columns []string) ([]record, error) {
	var out []record
	var head []string
	n := 0
	for line := range strings.Lines(text) {
		n++
		at := record{file: file, line: n, head: head}
		line = strings.TrimSpace(line)
		switch {
		case !utf8.ValidString(line):
			return nil, at.fail("is not valid UTF-8")
		case line == "" || strings.HasPrefix(line, "#"):
			continue
		}
		at.cells = splitCells(line)
		if head == nil {
			if !slices.Equal(at.cells, columns) {
				return nil, at.fail("the header is %q, want %q", line, strings.Join(columns, " | "))
			}
			head = at.cells
			continue
		}
		if len(at.cells) > len(head) {
			return nil, at.fail("%d cells, but the header has %d", len(at.cells), len(head))
		}
		out = append(out, at)
	}
	if head == nil {
		return nil, &TableError{file, n, "no header"}
	}
	return out, nil
}

func splitCells(line string) []string {
	cells := strings.Split(line, "|")
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	return cells
}

// readTable reads the file of that name.
func readTable(fsys fs.FS, file, columns string) ([]record, error) {
	text, err := fs.ReadFile(fsys, file)
	if err != nil {
		return nil, fmt.Errorf("reading constants: %w", err)
	}
	return splitTable(file, string(text), splitCells(columns))
}

// A flag is one of the remarks that a row carries, "key" or "key: why".
type flag struct{ key, why string }

func splitFlags(text string) []flag {
	var out []flag
	for part := range strings.SplitSeq(text, ";") {
		key, why, _ := strings.Cut(strings.TrimSpace(part), ":")
		if key != "" {
			out = append(out, flag{key, strings.TrimSpace(why)})
		}
	}
	return out
}
