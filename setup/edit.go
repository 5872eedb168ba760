package setup

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Edit returns the text of a setup file with the value at place (keys, and
// indices of lists as digits) replaced, or added where the last keys are
// missing. All else stays as it was written: comments, order, spacing. The
// result is not checked; Read does that.
func Edit(data []byte, value string, place ...string) ([]byte, error) {
	return NewOutline(data).Edit(value, place...)
}

// An Outline finds values in the text of a setup file as they were written. The
// zero value holds nothing.
type Outline struct {
	data []byte
	root ast.Node
	err  error // why it could not be parsed
}

// NewOutline parses the text of a setup file; what cannot be parsed holds
// nothing.
func NewOutline(data []byte) Outline {
	o := Outline{data: data}
	file, err := parser.ParseBytes(data, 0)
	if o.err = err; err == nil && len(file.Docs) > 0 {
		o.root = file.Docs[0].Body
	}
	return o
}

// Edit is the function Edit on the text of the outline, which stays as it was.
func (o Outline) Edit(value string, place ...string) ([]byte, error) {
	if strings.ContainsAny(value, "\r\n") {
		return nil, fmt.Errorf("changing %s: a value of one line is meant", strings.Join(place, ", "))
	}
	if o.err != nil {
		return nil, fmt.Errorf("changing %s: %w", strings.Join(place, ", "), o.err)
	}
	at, err := locate(o.root, place)
	if err != nil {
		return nil, fmt.Errorf("changing %s: %w", strings.Join(place, ", "), err)
	}
	if at.missing > 0 {
		return insert(o.data, at, place[len(place)-at.missing:], value)
	}
	return replace(o.data, at, value)
}

// Text returns the value at a place, without quotes; false if there is none.
func (o Outline) Text(place ...string) (string, bool) {
	at, err := locate(o.root, place)
	if err != nil || at.missing > 0 {
		return "", false
	}
	return at.scalar.Value, true
}

// Keys lists the keys of the map at a place, as written; nil if there is no map.
func (o Outline) Keys(place ...string) []string {
	node := o.root
	var s spot
	for _, p := range place {
		var err error
		if node, err = s.step(node, p); err != nil || node == nil {
			return nil
		}
	}
	var list []string
	switch n := node.(type) {
	case *ast.MappingNode:
		for _, v := range n.Values {
			list = append(list, v.Key.GetToken().Value)
		}
	case *ast.MappingValueNode:
		list = append(list, n.Key.GetToken().Value)
	}
	return list
}

// A spot is where a walk along keys ended.
type spot struct {
	scalar  *token.Token // the value, if it is there
	parent  *token.Token // the first key of the map that lacks the next key; nil at an empty file
	missing int          // how many of the last keys are not there
	flow    bool         // the value stands in braces or brackets
}

func locate(node ast.Node, place []string) (spot, error) {
	s := spot{missing: len(place)}
	if node == nil {
		return s, nil
	}
	for i, p := range place {
		next, err := s.step(node, p)
		if err != nil {
			return s, err
		}
		if next == nil {
			s.missing = len(place) - i
			return s, nil
		}
		node = next
	}
	s.missing = 0
	scalar, ok := node.(ast.ScalarNode)
	if !ok || node.Type() == ast.LiteralType {
		return s, fmt.Errorf("is not a single value")
	}
	s.scalar = scalar.GetToken()
	return s, nil
}

// step goes one key down, and returns nil where there is no such key.
func (s *spot) step(node ast.Node, key string) (ast.Node, error) {
	switch n := node.(type) {
	case *ast.MappingNode:
		s.flow = s.flow || n.IsFlowStyle
		if len(n.Values) == 0 {
			return nil, fmt.Errorf("there is nothing to put %s under", key)
		}
		s.parent = n.Values[0].Key.GetToken()
		for _, v := range n.Values {
			if v.Key.GetToken().Value == key {
				return v.Value, nil
			}
		}
		return nil, nil
	case *ast.MappingValueNode:
		s.parent = n.Key.GetToken()
		if n.Key.GetToken().Value == key {
			return n.Value, nil
		}
		return nil, nil
	case *ast.SequenceNode:
		s.flow = s.flow || n.IsFlowStyle
		i, err := strconv.Atoi(key)
		if err != nil || i < 0 || i >= len(n.Values) {
			return nil, fmt.Errorf("the list has no entry %s", key)
		}
		return n.Values[i], nil
	}
	return nil, fmt.Errorf("there is no map to look for %s in", key)
}

// replace puts value where the scalar stands.
func replace(data []byte, at spot, value string) ([]byte, error) {
	lines := strings.Split(string(data), "\n")
	pos := at.scalar.Position
	if pos == nil || pos.Line < 1 || pos.Line > len(lines) {
		return nil, fmt.Errorf("the value has no place in the text")
	}
	line := lines[pos.Line-1]
	from, to, quote := extent(line, pos.Column, at.scalar.Value)
	if from < 0 {
		return nil, fmt.Errorf("line %d: the value runs over more than one line; change it in the text", pos.Line)
	}
	lines[pos.Line-1] = line[:from] + quoted(value, quote, at.flow) + line[to:]
	return []byte(strings.Join(lines, "\n")), nil
}

// extent finds a value in its line: the bytes it takes, quotes included.
func extent(line string, column int, value string) (from, to int, quote byte) {
	rest := []rune(line)
	if column < 1 || column > len(rest) {
		return -1, 0, 0
	}
	from = len(string(rest[:column-1]))
	tail := line[from:]
	if strings.HasPrefix(tail, value) && tail != "" && tail[0] != '"' && tail[0] != '\'' {
		return from, from + len(value), 0
	}
	for _, q := range []byte{'"', '\''} {
		i := strings.IndexByte(line[max(from-1, 0):], q)
		if i < 0 || i > 1 {
			continue
		}
		from = max(from-1, 0) + i
		for j := from + 1; j < len(line); j++ {
			if line[j] == '\\' && q == '"' {
				j++
			} else if line[j] == q {
				return from, j + 1, q
			}
		}
	}
	return -1, 0, 0
}

// plainValue is what needs no quotes outside braces.
var plainValue = regexp.MustCompile(`^[\p{L}\p{N}.+−][^#:"'\\{}\[\]]*$`)

func quoted(value string, quote byte, flow bool) string {
	if quote == 0 && value == strings.TrimSpace(value) && plainValue.MatchString(value) && !(flow && strings.Contains(value, ",")) {
		return value
	}
	if quote == '\'' {
		return "'" + strings.ReplaceAll(value, "'", "''") + "'"
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(value) + `"`
}

// insert adds missing keys behind the last line of the map they belong to.
func insert(data []byte, at spot, keys []string, value string) ([]byte, error) {
	if at.flow {
		return nil, fmt.Errorf("%s stands in a map in braces; write it in the text", keys[0])
	}
	lines := strings.Split(strings.TrimRight(string(data), "\n"), "\n")
	if len(lines) == 1 && lines[0] == "" {
		lines = nil
	}
	indent, end := 0, len(lines)
	if at.parent != nil {
		indent = at.parent.Position.Column - 1
		end = at.parent.Position.Line
		for i := end; i < len(lines); i++ {
			text := strings.TrimLeft(lines[i], " ")
			depth := len(lines[i]) - len(text)
			if text == "" || (strings.HasPrefix(text, "#") && depth < indent) {
				continue
			}
			if depth < indent {
				break
			}
			end = i + 1
		}
	}
	var added []string
	for i, k := range keys {
		line := strings.Repeat(" ", indent+2*i) + quoted(k, 0, false) + ":"
		if i == len(keys)-1 {
			line += " " + quoted(value, 0, false)
		}
		added = append(added, line)
	}
	out := append(append(append([]string{}, lines[:end]...), added...), lines[end:]...)
	return []byte(strings.Join(out, "\n") + "\n"), nil
}
