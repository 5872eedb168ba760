package uncertainty

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// A ModelError points at what is wrong in the file of a Model.
type ModelError struct {
	Name    string // of the file
	Line    int    // from 1; 0 if the place is not one line
	Column  int
	Key     string // where in the file: inputs, m, u
	Message string
	Excerpt string // the line, with a mark below
}

func (e *ModelError) Error() string {
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

const maxModelFile = 1 << 20

// modelFile is the outermost mapping.
type modelFile struct {
	Title        string `yaml:"title"`
	Measurand    any    `yaml:"measurand"`
	Equation     any    `yaml:"equation"`
	Inputs       any    `yaml:"inputs"`
	Correlations any    `yaml:"correlations"`
}

// ReadModel reads a model from YAML; name stands in messages. The keys are in
// docs/budget.md. Values stay in the units written, but for %, ‰ and ppm, which
// count as the fractions they are. Errors, also of the model, are *ModelError.
func ReadModel(data []byte, name string) (*Model, error) {
	r := &modelReader{data: data, name: name}
	switch {
	case len(data) > maxModelFile:
		return nil, &ModelError{Name: name, Message: fmt.Sprintf("is %d bytes long; a model has at most %d", len(data), maxModelFile)}
	case strings.TrimSpace(string(data)) == "":
		return nil, &ModelError{Name: name, Message: "is empty; a model needs an equation and its inputs"}
	}
	var f modelFile
	if err := yaml.UnmarshalWithOptions(data, &f, yaml.Strict(), yaml.UseOrderedMap()); err != nil {
		return nil, r.yamlError(err)
	}
	m := &Model{Title: f.Title}
	for _, step := range []func(*Model, *modelFile) error{r.equations, r.measurand, r.inputs, r.correlations} {
		if err := step(m, &f); err != nil {
			return nil, err
		}
	}
	if _, err := m.compile(); err != nil {
		return nil, r.modelError(err)
	}
	return m, nil
}

type modelReader struct {
	data []byte
	name string
	file *ast.File
}

// yamlError turns a message of the YAML reader into one with the place.
func (r *modelReader) yamlError(err error) error {
	e := &ModelError{Name: r.name, Message: yaml.FormatError(err, false, false)}
	var ye yaml.Error
	if errors.As(err, &ye) {
		e.Message = strings.Replace(ye.GetMessage(), "unknown field", "unknown key", 1)
		if t := ye.GetToken(); t != nil && t.Position != nil {
			r.place(e, t.Position.Line, t.Position.Column)
		}
	}
	return e
}

// place sets where the error is.
func (r *modelReader) place(e *ModelError, line, column int) {
	e.Line, e.Column = line, column
	lines := strings.Split(string(r.data), "\n")
	if line >= 1 && line <= len(lines) {
		e.Excerpt = fmt.Sprintf("%5d | %s\n      | %s^", line, strings.TrimRight(lines[line-1], "\r"), strings.Repeat(" ", max(column-1, 0)))
	}
}

// fail makes an error at a place in the file: keys and indices from the root.
func (r *modelReader) fail(place []any, format string, args ...any) error {
	e := &ModelError{Name: r.name, Message: fmt.Sprintf(format, args...)}
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
	if r.file == nil {
		r.file, _ = parser.ParseBytes(r.data, 0) // has been parsed before
	}
	if node, err := b.Build().FilterFile(r.file); err == nil && node != nil {
		if t := node.GetToken(); t != nil && t.Position != nil {
			r.place(e, t.Position.Line, t.Position.Column)
		}
	}
	return e
}

// modelError finds the place of an error of the model.
func (r *modelReader) modelError(err error) error {
	e := &ModelError{Name: r.name, Message: err.Error()}
	var q *EquationError
	if !errors.As(err, &q) {
		return e
	}
	e.Key, e.Message = "equation", q.Reason
	for i, line := range strings.Split(string(r.data), "\n") {
		if before, _, ok := strings.Cut(line, strings.TrimSpace(q.Text)); ok {
			indent := len([]rune(q.Text)) - len([]rune(strings.TrimLeft(q.Text, " \t")))
			r.place(e, i+1, len([]rune(before))+q.Column-indent)
			return e
		}
	}
	e.Excerpt = fmt.Sprintf("      | %s\n      | %s^", q.Text, strings.Repeat(" ", max(q.Column-1, 0)))
	return e
}

// plain writes a scalar of YAML as it may have been typed. It does not write
// lists out: with references inside they may be far longer than their file.
func plain(v any) string {
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

func isScalar(v any) bool {
	switch v.(type) {
	case yaml.MapSlice, []any:
		return false
	}
	return true
}

// equations reads one text, or a list of texts.
func (r *modelReader) equations(m *Model, f *modelFile) error {
	switch v := f.Equation.(type) {
	case nil:
		return r.fail(nil, "has no equation; write equation: c = m / V")
	case []any:
		lines := make([]string, len(v))
		for i, line := range v {
			if !isScalar(line) || strings.Contains(plain(line), "\n") {
				return r.fail([]any{"equation", i}, "one equation is meant, such as c = m / V")
			}
			lines[i] = plain(line)
		}
		m.Equations = strings.Join(lines, "\n")
	default:
		if !isScalar(v) {
			return r.fail([]any{"equation"}, "an equation is text, such as c = m / V")
		}
		m.Equations = strings.TrimRight(fmt.Sprint(v), "\n ")
	}
	return nil
}

// measurand reads a name, or name and unit; without it the first equation
// gives the measurand.
func (r *modelReader) measurand(m *Model, f *modelFile) error {
	switch v := f.Measurand.(type) {
	case nil:
		for _, line := range strings.Split(m.Equations, "\n") {
			if name, _, ok := strings.Cut(line, "="); ok && !strings.HasPrefix(strings.TrimSpace(line), "#") {
				m.Measurand = strings.TrimSpace(name)
				return nil
			}
		}
	case yaml.MapSlice:
		fields := map[string]any{"name": nil, "unit": nil}
		if err := r.fields(v, fields, "measurand"); err != nil {
			return err
		}
		m.Measurand, m.Unit = plain(fields["name"]), plain(fields["unit"])
	default:
		m.Measurand = plain(v)
	}
	if m.Measurand == "" {
		return r.fail([]any{"measurand"}, "needs a name, the left side of an equation")
	}
	return nil
}

// fields fills the scalars and lists of a mapping into into, whose keys are
// the known ones.
func (r *modelReader) fields(v yaml.MapSlice, into map[string]any, place ...any) error {
	for _, item := range v {
		key := plain(item.Key)
		if _, ok := into[key]; !ok {
			return r.fail(append(append([]any{}, place...), key), "unknown key")
		}
		into[key] = item.Value
	}
	return nil
}

// number reads a plain number.
func (r *modelReader) number(v any, place ...any) (float64, error) {
	x, err := strconv.ParseFloat(plain(v), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, r.fail(place, "%q is not a number", plain(v))
	}
	return x, nil
}

// correlations reads a mapping, or a list of mappings, of "a, b: 0.3".
func (r *modelReader) correlations(m *Model, f *modelFile) error {
	add := func(pairs yaml.MapSlice, place ...any) error {
		if len(pairs) == 2 && pairs[0].Value == nil { // {a, b: 0.3}
			pairs = yaml.MapSlice{{Key: plain(pairs[0].Key) + ", " + plain(pairs[1].Key), Value: pairs[1].Value}}
		}
		for _, item := range pairs {
			a, b, ok := strings.Cut(plain(item.Key), ",")
			here := append(append([]any{}, place...), plain(item.Key))
			if !ok {
				return r.fail(here, "two inputs are meant, such as a, b: 0.3")
			}
			c := Correlation{A: strings.TrimSpace(a), B: strings.TrimSpace(b), FromReadings: plain(item.Value) == "from readings"}
			if !c.FromReadings {
				var err error
				if c.R, err = r.number(item.Value, here...); err != nil {
					return err
				}
			}
			m.Correlations = append(m.Correlations, c)
		}
		return nil
	}
	switch v := f.Correlations.(type) {
	case nil:
	case yaml.MapSlice:
		return add(v, "correlations")
	case []any:
		for i, item := range v {
			pairs, ok := item.(yaml.MapSlice)
			if !ok {
				return r.fail([]any{"correlations", i}, "two inputs and a number are meant, such as a, b: 0.3")
			}
			if err := add(pairs, "correlations", i); err != nil {
				return err
			}
		}
	default:
		return r.fail([]any{"correlations"}, "pairs of inputs are meant, such as a, b: 0.3")
	}
	return nil
}
