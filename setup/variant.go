package setup

import (
	"fmt"

	"github.com/goccy/go-yaml"
)

// A Change is what a variant of a setup has in place of what was written. Zero
// fields change nothing.
type Change struct {
	Medium  string
	HoldPH  *float64
	Titrant []Portion // in place of all that the burette contains
}

// A Portion is an entry under contains: 0.1 mol/L is written "0.1 mol/L".
type Portion struct{ Species, Conc string }

// With reads the setup again with something changed, as if the file had said
// so: everything that Read would refuse is refused here too. Errors are *Error
// without a place, as the text they speak of is nobody's.
func (s *Setup) With(c Change) (*Setup, error) {
	var doc yaml.MapSlice
	if err := yaml.UnmarshalWithOptions(s.source, &doc, yaml.UseOrderedMap()); err != nil {
		return nil, fmt.Errorf("reading the setup again: %w", err)
	}
	if c.Medium != "" {
		doc = put(doc, c.Medium, "flask", "medium")
	}
	if c.HoldPH != nil {
		doc = put(doc, *c.HoldPH, "hold", "pH")
	}
	if len(c.Titrant) > 0 {
		var contains yaml.MapSlice
		for _, p := range c.Titrant {
			contains = append(contains, yaml.MapItem{Key: p.Species, Value: p.Conc})
		}
		doc = put(doc, contains, "burette", "contains")
	}
	text, err := yaml.Marshal(doc)
	if err != nil {
		return nil, fmt.Errorf("writing the setup changed: %w", err)
	}
	v, err := Read(text, s.name)
	if e, ok := err.(*Error); ok {
		return nil, &Error{Message: e.Message}
	}
	return v, err
}

// put sets a key of a mapping, through mappings that it makes where there are
// none.
func put(m yaml.MapSlice, value any, key string, below ...string) yaml.MapSlice {
	if len(below) > 0 {
		var inner yaml.MapSlice
		for _, item := range m {
			if text(item.Key) == key {
				inner, _ = mapping(item.Value)
			}
		}
		value = put(inner, value, below[0], below[1:]...)
	}
	for i := range m {
		if text(m[i].Key) == key {
			out := append(yaml.MapSlice{}, m...)
			out[i].Value = value
			return out
		}
	}
	return append(append(yaml.MapSlice{}, m...), yaml.MapItem{Key: key, Value: value})
}
