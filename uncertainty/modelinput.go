package uncertainty

import (
	"math"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"

	"meniscus/unit"
	"meniscus/yamlfile"
)

// inputs reads a mapping of names to inputs, or a list of mappings with a name.
func (r *modelReader) inputs(m *Model, f *modelFile) error {
	switch v := f.Inputs.(type) {
	case yaml.MapSlice:
		for _, item := range v {
			in, err := r.input(item.Value, "inputs", yamlfile.Text(item.Key))
			if err != nil {
				return err
			}
			in.Name = yamlfile.Text(item.Key)
			m.Inputs = append(m.Inputs, in)
		}
	case []any:
		for i, item := range v {
			mapping, ok := item.(yaml.MapSlice)
			if !ok {
				return r.fail([]any{"inputs", i}, "a name and a value are meant")
			}
			at := slices.IndexFunc(mapping, func(x yaml.MapItem) bool { return yamlfile.Text(x.Key) == "name" })
			if at < 0 {
				return r.fail([]any{"inputs", i}, "has no name")
			}
			name := yamlfile.Text(mapping[at].Value)
			in, err := r.input(slices.Delete(slices.Clone(mapping), at, at+1), "inputs", i)
			if err != nil {
				return err
			}
			in.Name = name
			m.Inputs = append(m.Inputs, in)
		}
	case nil:
		return r.fail(nil, "has no inputs; write them as name: value below inputs:")
	default:
		return r.fail([]any{"inputs"}, "a mapping is meant, such as m: 0.3888 ± 0.0001 g")
	}
	return nil
}

// inputFields are the keys of an input.
var inputFields = []string{"value", "u", "half-width", "distribution", "dof", "k", "beta", "unit", "note", "type", "readings"}

func (r *modelReader) input(v any, place ...any) (Input, error) {
	mapping, ok := v.(yaml.MapSlice)
	if !ok {
		if !yamlfile.Scalar(v) {
			return Input{}, r.fail(place, "a value is meant; a list of readings goes below readings:")
		}
		return r.quantity(v, place)
	}
	f := map[string]any{}
	for _, key := range inputFields {
		f[key] = nil
	}
	if err := r.fields(mapping, f, place...); err != nil {
		return Input{}, err
	}
	in, err := r.core(f, place)
	if err != nil {
		return Input{}, err
	}
	in.Note = yamlfile.Text(f["note"])
	if t := yamlfile.Text(f["type"]); t != "" {
		if t != "A" && t != "B" {
			return Input{}, r.fail(sub(place, "type"), "%q is not A or B", t)
		}
		in.Type = t
	}
	if f["unit"] != nil {
		if in.Unit != "" && in.Unit != yamlfile.Text(f["unit"]) {
			return Input{}, r.fail(sub(place, "unit"), "the value has the unit %s", in.Unit)
		}
		in.Unit = yamlfile.Text(f["unit"])
	}
	return in, nil
}

func sub(place []any, key string) []any { return append(append([]any{}, place...), key) }

// core reads the value with its uncertainty, or the readings.
func (r *modelReader) core(f map[string]any, place []any) (Input, error) {
	if f["readings"] != nil {
		return r.readings(f, place)
	}
	if f["value"] == nil {
		return Input{}, r.fail(place, "needs a value or readings")
	}
	in, err := r.quantity(f["value"], sub(place, "value"))
	if err != nil {
		return Input{}, err
	}
	if f["dof"] != nil {
		if in.DoF, err = r.number(f["dof"], sub(place, "dof")...); err != nil {
			return Input{}, err
		}
		if in.DoF <= 0 {
			return Input{}, r.fail(sub(place, "dof"), "degrees of freedom are above 0")
		}
	}
	said := in.Stated.Width > 0
	for _, key := range []string{"u", "half-width"} {
		if f[key] == nil {
			continue
		}
		if said {
			return Input{}, r.fail(sub(place, key), "the uncertainty is stated twice")
		}
		said = true
		if in.Stated.Width, err = r.number(f[key], sub(place, key)...); err != nil {
			return Input{}, err
		}
	}
	return in, r.shape(&in, f, place)
}

// shape reads distribution, k and beta and turns u into the width of the shape.
func (r *modelReader) shape(in *Input, f map[string]any, place []any) error {
	if name := Shape(yamlfile.Text(f["distribution"])); name != "" {
		if in.Stated.shape() != Normal {
			return r.fail(sub(place, "distribution"), "the value has its distribution already")
		}
		in.Stated.Shape = name
	}
	if err := r.contradiction(in, f, place); err != nil {
		return err
	}
	var err error
	switch shape := in.Stated.shape(); {
	case f["k"] != nil:
		if in.Stated.Param, err = r.number(f["k"], sub(place, "k")...); err == nil && in.Stated.Param <= 0 {
			err = r.fail(sub(place, "k"), "a coverage factor is above 0")
		}
	case f["beta"] != nil:
		in.Stated.Param, err = r.number(f["beta"], sub(place, "beta")...)
	case shape == StudentT:
		in.Stated.Param = in.DoF
	}
	if err != nil {
		return err
	}
	u := in.Stated.Width
	if f["distribution"] != nil && f["half-width"] == nil && in.Stated.limits() { // u is a standard uncertainty
		in.Stated.Width = 1
		one, err := in.Stated.StdUnc()
		if err != nil {
			return r.fail(place, "%v", err)
		}
		in.Stated.Width = u / one
	}
	if _, err := in.Stated.StdUnc(); err != nil {
		return r.fail(place, "%v", err)
	}
	return nil
}

// limits says whether the width is a half-width between limits.
func (s Stated) limits() bool { return s.shape() != Normal && s.shape() != StudentT }

// contradiction reports keys that do not go with the distribution.
func (r *modelReader) contradiction(in *Input, f map[string]any, place []any) error {
	shape := in.Stated.shape()
	switch {
	case f["half-width"] != nil && f["distribution"] == nil:
		return r.fail(sub(place, "half-width"), "of which distribution? Add distribution: rectangular, triangular, trapezoidal or arcsine")
	case f["half-width"] != nil && !in.Stated.limits():
		return r.fail(sub(place, "half-width"), "a %s distribution has no half-width; give u", shape)
	case f["k"] != nil && shape != Normal:
		return r.fail(sub(place, "k"), "a coverage factor goes with a normal distribution")
	case f["k"] != nil && in.Stated.Param != 0:
		return r.fail(sub(place, "k"), "the coverage factor is stated twice")
	case f["beta"] != nil && shape != Trapezoidal:
		return r.fail(sub(place, "beta"), "beta is of a trapezoidal distribution")
	case f["beta"] == nil && shape == Trapezoidal:
		return r.fail(place, "a trapezoidal distribution needs beta, its top width over its base width")
	case shape == StudentT && in.DoF == 0:
		return r.fail(place, "a t distribution needs dof")
	}
	return nil
}

// readings reads a list of numbers; nothing else may state an uncertainty, or
// the same spread would count twice.
func (r *modelReader) readings(f map[string]any, place []any) (Input, error) {
	for _, key := range []string{"value", "u", "half-width", "distribution", "dof", "k", "beta"} {
		if f[key] != nil {
			return Input{}, r.fail(sub(place, key), "the readings give the value and its uncertainty; an effect they do not show is an input of its own")
		}
	}
	if t := yamlfile.Text(f["type"]); t == "B" {
		return Input{}, r.fail(sub(place, "type"), "readings are evaluated as type A")
	}
	list, ok := f["readings"].([]any)
	if !ok || len(list) < 2 {
		return Input{}, r.fail(sub(place, "readings"), "a list of two or more readings is meant, such as [18.62, 18.65, 18.64]")
	}
	in := Input{}
	for i, v := range list {
		here := append(sub(place, "readings"), i)
		one, err := r.quantity(v, here)
		if err != nil {
			return Input{}, err
		}
		if one.Stated.Width > 0 {
			return Input{}, r.fail(here, "a reading has no uncertainty of its own here; their spread is taken")
		}
		if i > 0 && one.Unit != in.Unit {
			return Input{}, r.fail(here, "all readings need the same unit")
		}
		in.Unit = one.Unit
		in.Readings = append(in.Readings, one.X)
	}
	return in, nil
}

// quantity reads a value as unit.ParseQuantity does, in the unit written.
func (r *modelReader) quantity(v any, place []any) (Input, error) {
	if v == nil {
		return Input{}, r.fail(place, "needs a value")
	}
	q, err := unit.ParseQuantity(yamlfile.Text(v))
	if err != nil {
		return Input{}, r.fail(place, "%s", strings.TrimPrefix(err.Error(), `"`+q.Text+`": `))
	}
	in := Input{Unit: q.Unit, X: q.Value.Float()}
	u := q.StdUnc
	if q.Dimension() == unit.DimFraction {
		d, fraction, err := q.In(unit.DimFraction, "99.9 %")
		if err != nil {
			return Input{}, r.fail(place, "%v", err)
		}
		in.X, u, in.Unit = d.Float(), fraction, ""
	}
	in.Stated.Width = u
	switch q.Shape {
	case unit.Rectangular:
		in.Stated = Stated{Rectangular, u * math.Sqrt(3), 0}
	case unit.Triangular:
		in.Stated = Stated{Triangular, u * math.Sqrt(6), 0}
	}
	if in.Stated.shape() == Normal && q.K > 0 {
		in.Stated = Stated{Normal, u * q.K, q.K}
	}
	return in, nil
}
