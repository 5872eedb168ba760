// Package yamlfile reads the YAML files that people write and says where in
// them something is wrong: line, column, the keys that lead there, and the
// line itself with a mark. It knows nothing of what the files mean.
package yamlfile

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// MaxSize is the most bytes that a file may have.
const MaxSize = 1 << 20

// An Error points at what is wrong in a file.
type Error struct {
	Name    string // of the file
	Line    int    // from 1; 0 if the place is not one line
	Column  int
	Key     string // the keys from the root: flask, volume
	Message string
	Excerpt string // the line, with a mark below
}

func (e *Error) Error() string {
	var b strings.Builder
	if e.Name != "" {
		b.WriteString(e.Name)
		if e.Line > 0 {
			fmt.Fprintf(&b, ":%d", e.Line)
		}
		b.WriteString(": ")
	}
	if e.Key != "" {
		b.WriteString(e.Key + ": ")
	}
	b.WriteString(e.Message)
	if e.Excerpt != "" {
		b.WriteString("\n" + e.Excerpt)
	}
	return b.String()
}

// A File is a text in YAML with its name. The zero value is an empty file.
type File struct {
	Name string
	Data []byte
	tree *ast.File
}

// Decode reads the file into v, whose fields name all keys there are. needs says
// what a file cannot be without, for the message about an empty one; keys says
// where the keys are explained. Errors are *Error.
func (f *File) Decode(v any, needs, keys string) error {
	switch {
	case len(f.Data) > MaxSize:
		return &Error{Name: f.Name, Message: fmt.Sprintf("is %d bytes long; such a file has at most %d", len(f.Data), MaxSize)}
	case strings.TrimSpace(string(f.Data)) == "":
		return &Error{Name: f.Name, Message: "is empty; " + needs}
	}
	if line := f.notText(); line > 0 {
		return &Error{Name: f.Name, Line: line, Message: "not text in UTF-8: a file in YAML is meant, saved as plain text (UTF-8)"}
	}
	err := yaml.UnmarshalWithOptions(f.Data, v, yaml.Strict(), yaml.UseOrderedMap())
	if err == nil {
		return nil
	}
	e := &Error{Name: f.Name, Message: yaml.FormatError(err, false, false)}
	var ye yaml.Error
	if errors.As(err, &ye) {
		e.Message = ye.GetMessage()
		if t := ye.GetToken(); t != nil && t.Position != nil {
			f.Mark(e, t.Position.Line, t.Position.Column)
		}
	}
	if strings.Contains(e.Message, "unknown field") {
		e.Message = strings.Replace(e.Message, "unknown field", "unknown key", 1) + "; the keys are in " + keys
	}
	return e
}

// notText returns the first line that is not text in UTF-8, 0 if all are. The
// parser would blame the grammar for a workbook or a file in UTF-16.
func (f *File) notText() int {
	for i, line := range bytes.Split(f.Data, []byte("\n")) {
		if !utf8.Valid(line) || bytes.IndexByte(line, 0) >= 0 {
			return i + 1
		}
	}
	return 0
}

// Mark sets where the error is.
func (f *File) Mark(e *Error, line, column int) {
	e.Line, e.Column = line, column
	lines := strings.Split(string(f.Data), "\n")
	if line >= 1 && line <= len(lines) {
		e.Excerpt = fmt.Sprintf("%5d | %s\n      | %s^", line, strings.TrimRight(lines[line-1], "\r"), strings.Repeat(" ", max(column-1, 0)))
	}
}

// Fail makes an *Error at a place in the file that Decode has read: keys
// (string) and indices (int) from the root.
func (f *File) Fail(place []any, format string, args ...any) error {
	e := &Error{Name: f.Name, Message: fmt.Sprintf(format, args...)}
	var key []string
	b := (&yaml.PathBuilder{}).Root()
	for _, p := range place {
		switch p := p.(type) {
		case string:
			b = b.Child(p)
			key = append(key, p)
		case int:
			b = b.Index(uint(p))
			key = append(key, "no. "+strconv.Itoa(p+1))
		}
	}
	e.Key = strings.Join(key, ", ")
	if len(place) == 0 {
		return e
	}
	if f.tree == nil {
		f.tree, _ = parser.ParseBytes(f.Data, 0) // it has passed Decode
	}
	if node, err := b.Build().FilterFile(f.tree); err == nil && node != nil {
		if t := node.GetToken(); t != nil && t.Position != nil {
			f.Mark(e, t.Position.Line, t.Position.Column)
		}
	}
	return e
}

// Text is a scalar as it may have been typed. It does not write lists and
// mappings out: with references inside they may be far longer than their file.
func Text(v any) string {
	switch v := v.(type) {
	case yaml.MapSlice:
		return "a mapping"
	case []any:
		return "a list"
	case nil:
		return ""
	case string:
		return strings.TrimSpace(v)
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return fmt.Sprint(v)
}

// Scalar says whether v is neither a list nor a mapping.
func Scalar(v any) bool {
	switch v.(type) {
	case yaml.MapSlice, []any:
		return false
	}
	return true
}
