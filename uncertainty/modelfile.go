package uncertainty

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"

	"meniscus/yamlfile"
)

// A ModelError points at what is wrong in the file of a Model.
type ModelError = yamlfile.Error

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
	r := &modelReader{source: yamlfile.File{Name: name, Data: data}}
	var f modelFile
	if err := r.source.Decode(&f, "a model needs an equation and its inputs", "docs/budget.md"); err != nil {
		return nil, err
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

type modelReader struct{ source yamlfile.File }

// fail makes an error at a place in the file: keys and indices from the root.
func (r *modelReader) fail(place []any, format string, args ...any) error {
	return r.source.Fail(place, format, args...)
}

// modelError finds the place of an error of the model.
func (r *modelReader) modelError(err error) error {
	e := &ModelError{Name: r.source.Name, Message: err.Error()}
	var q *EquationError
	if !errors.As(err, &q) {
		return e
	}
	e.Key, e.Message = "equation", q.Reason
	for i, line := range strings.Split(string(r.source.Data), "\n") {
		if before, _, ok := strings.Cut(line, strings.TrimSpace(q.Text)); ok {
			indent := len([]rune(q.Text)) - len([]rune(strings.TrimLeft(q.Text, " \t")))
			r.source.Mark(e, i+1, len([]rune(before))+q.Column-indent)
			return e
		}
	}
	e.Excerpt = fmt.Sprintf("      | %s\n      | %s^", q.Text, strings.Repeat(" ", max(q.Column-1, 0)))
	return e
}

// equations reads one text, or a list of texts.
func (r *modelReader) equations(m *Model, f *modelFile) error {
	switch v := f.Equation.(type) {
	case nil:
		return r.fail(nil, "has no equation; write equation: c = m / V")
	case []any:
		lines := make([]string, len(v))
		for i, line := range v {
			if !yamlfile.Scalar(line) || strings.Contains(yamlfile.Text(line), "\n") {
				return r.fail([]any{"equation", i}, "one equation is meant, such as c = m / V")
			}
			lines[i] = yamlfile.Text(line)
		}
		m.Equations = strings.Join(lines, "\n")
	default:
		if !yamlfile.Scalar(v) {
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
		m.Measurand, m.Unit = yamlfile.Text(fields["name"]), yamlfile.Text(fields["unit"])
	default:
		m.Measurand = yamlfile.Text(v)
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
		key := yamlfile.Text(item.Key)
		if _, ok := into[key]; !ok {
			return r.fail(append(append([]any{}, place...), key), "unknown key")
		}
		into[key] = item.Value
	}
	return nil
}

// number reads a plain number.
func (r *modelReader) number(v any, place ...any) (float64, error) {
	x, err := strconv.ParseFloat(yamlfile.Text(v), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, r.fail(place, "%q is not a number", yamlfile.Text(v))
	}
	return x, nil
}

// correlations reads a mapping, or a list of mappings, of "a, b: 0.3".
func (r *modelReader) correlations(m *Model, f *modelFile) error {
	add := func(pairs yaml.MapSlice, place ...any) error {
		if len(pairs) == 2 && pairs[0].Value == nil { // {a, b: 0.3}
			pairs = yaml.MapSlice{{Key: yamlfile.Text(pairs[0].Key) + ", " + yamlfile.Text(pairs[1].Key), Value: pairs[1].Value}}
		}
		for _, item := range pairs {
			a, b, ok := strings.Cut(yamlfile.Text(item.Key), ",")
			here := append(append([]any{}, place...), yamlfile.Text(item.Key))
			if !ok {
				return r.fail(here, "two inputs are meant, such as a, b: 0.3")
			}
			c := Correlation{A: strings.TrimSpace(a), B: strings.TrimSpace(b), FromReadings: yamlfile.Text(item.Value) == "from readings"}
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
